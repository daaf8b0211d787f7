// Generated from core/bench/bench.go by make types. Do not edit.

export interface Bench {
  schema: string
  title?: string
  author?: string
  remarks?: string
  display_zone?: string
  files?: File[]
  units?: Unit[]
  compare?: Compare | null
  outlook?: Outlook | null
  options?: Options | null
}

export interface File {
  name: string
  sha256?: string | null
  zone?: string
  day_order?: string
  half_day?: string
  date?: string
  clock_offset_s?: number
  watched?: Watch[]
  columns?: Column[]
  recorded_by?: string
}

export interface Watch {
  from?: string | null
  until?: string | null
}

export interface Column {
  header: string
  meaning: string
}

export interface Unit {
  name: string
  kind?: string
  match?: Match[]
  battery?: Battery | null
  tx?: TX | null
  first_beacon?: string
  conditions?: Conditions | null
  tracks?: string[]
  meters?: string[]
  runs?: Run[]
  saved?: Saved[]
}

export interface Match {
  station?: string
  comment?: string
  destination?: string
  symbol?: string
  encoding?: string
  from?: string | null
  until?: string | null
}

export interface Battery {
  pack?: string
  supply?: string
  capacity_mah?: number | null
  basis?: string
  tolerance_pct?: number | null
  nominal_v?: number | null
  energy_wh?: number | null
}

export interface TX {
  power_w?: number | null
  power_basis?: string
  meter_pct?: number | null
  current_ma?: number | null
  modulation?: string
  lora?: LoRa | null
  tx_delay_s?: number | null
  tx_tail_s?: number | null
}

export interface LoRa {
  sf: number
  bandwidth_hz: number
  coding: string
}

export interface Conditions {
  fix?: string
  second_receiver?: string
  audio?: string
  power_saver?: string
  auto_power_off?: string
  repeating?: string
  temperature_c?: number | null
  antenna?: string
  firmware?: string
}

export interface Run {
  label?: string
  power_on?: Moment | null
  events?: Event[]
  battery?: Battery | null
  charge_used_mah?: number | null
  charge_basis?: string
  instrument?: string
  exclude?: Watch[]
  typed?: Typed | null
}

export interface Moment {
  at: string
  precision_s?: number
}

export interface Event {
  at: string
  precision_s?: number
  what: string
  text?: string
}

export interface Typed {
  off: Moment
  transmissions?: number | null
}

export interface Compare {
  margin_pct?: number | null
  assumed_cv_pct?: number | null
  stated?: string
}

export interface Options {
  duplicate_window_s?: number | null
  default_zone?: string
}

export interface Outlook {
  packs?: Battery[]
  intervals_s?: number[]
  routes?: Route[]
  duties?: Duty[]
  shift?: Shift | null
}

export interface Route {
  file: string
  unit?: string
}

export interface Duty {
  tx_pct: number
  rx_pct: number
  tx_ma?: number | null
  rx_ma?: number | null
  standby_ma?: number | null
}

export interface Shift {
  hours: number
  reserve_pct?: number
  units?: number
  spread_pct?: number
  cold?: boolean
  interval_s?: number
  voice_per_h?: number
  voice_s?: number
  repeats?: number
}

export interface Saved {
  from: Origin
  label?: string
  start?: string | null
  end?: string | null
  end_earliest?: string | null
  end_latest?: string | null
  state: string
  rankable?: boolean
  one_charge?: boolean
  runtime_s: Bounds
  over_s?: number | null
  transmissions?: number
  sent?: Bounds | null
  rate_per_h?: Bounds | null
  airtime_s?: Bounds | null
  missed?: Bounds | null
  share_heard?: Bounds | null
  last_heard?: string | null
  relayed?: number
  relays_known?: boolean
  path?: string | null
  busy_pct?: number | null
  schedule?: string
  fix_pct?: number | null
  moving_pct?: number | null
  battery?: Battery | null
  charge_used_mah?: number | null
  charge_basis?: string
  instrument?: string
  tx?: TX | null
  conditions?: Conditions | null
}

export interface Origin {
  file: string
  sha256: string
  version: string
  unit: string
  run: number
}

export interface Bounds {
  low: number | null
  best: number | null
  high: number | null
}

/** What each object may hold, for checking files from outside: the kind of every property; ? may be left out, ~ may be null. */
export const shapes: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  Bench: { schema: "string", title: "string?", author: "string?", remarks: "string?", display_zone: "string?", files: "File[]?", units: "Unit[]?", compare: "Compare?", outlook: "Outlook?", options: "Options?" },
  File: { name: "string", sha256: "string?", zone: "string?", day_order: "string?", half_day: "string?", date: "string?", clock_offset_s: "number?", watched: "Watch[]?", columns: "Column[]?", recorded_by: "string?" },
  Watch: { from: "string?", until: "string?" },
  Column: { header: "string", meaning: "string" },
  Unit: { name: "string", kind: "string?", match: "Match[]?", battery: "Battery?", tx: "TX?", first_beacon: "string?", conditions: "Conditions?", tracks: "string[]?", meters: "string[]?", runs: "Run[]?", saved: "Saved[]?" },
  Match: { station: "string?", comment: "string?", destination: "string?", symbol: "string?", encoding: "string?", from: "string?", until: "string?" },
  Battery: { pack: "string?", supply: "string?", capacity_mah: "number?", basis: "string?", tolerance_pct: "number?", nominal_v: "number?", energy_wh: "number?" },
  TX: { power_w: "number?", power_basis: "string?", meter_pct: "number?", current_ma: "number?", modulation: "string?", lora: "LoRa?", tx_delay_s: "number?", tx_tail_s: "number?" },
  LoRa: { sf: "number", bandwidth_hz: "number", coding: "string" },
  Conditions: { fix: "string?", second_receiver: "string?", audio: "string?", power_saver: "string?", auto_power_off: "string?", repeating: "string?", temperature_c: "number?", antenna: "string?", firmware: "string?" },
  Run: { label: "string?", power_on: "Moment?", events: "Event[]?", battery: "Battery?", charge_used_mah: "number?", charge_basis: "string?", instrument: "string?", exclude: "Watch[]?", typed: "Typed?" },
  Moment: { at: "string", precision_s: "number?" },
  Event: { at: "string", precision_s: "number?", what: "string", text: "string?" },
  Typed: { off: "Moment", transmissions: "number?" },
  Compare: { margin_pct: "number?", assumed_cv_pct: "number?", stated: "string?" },
  Options: { duplicate_window_s: "number?", default_zone: "string?" },
  Outlook: { packs: "Battery[]?", intervals_s: "number[]?", routes: "Route[]?", duties: "Duty[]?", shift: "Shift?" },
  Route: { file: "string", unit: "string?" },
  Duty: { tx_pct: "number", rx_pct: "number", tx_ma: "number?", rx_ma: "number?", standby_ma: "number?" },
  Shift: { hours: "number", reserve_pct: "number?", units: "number?", spread_pct: "number?", cold: "boolean?", interval_s: "number?", voice_per_h: "number?", voice_s: "number?", repeats: "number?" },
  Saved: { from: "Origin", label: "string?", start: "string?", end: "string?", end_earliest: "string?", end_latest: "string?", state: "string", rankable: "boolean?", one_charge: "boolean?", runtime_s: "Bounds", over_s: "number?", transmissions: "number?", sent: "Bounds?", rate_per_h: "Bounds?", airtime_s: "Bounds?", missed: "Bounds?", share_heard: "Bounds?", last_heard: "string?", relayed: "number?", relays_known: "boolean?", path: "string?", busy_pct: "number?", schedule: "string?", fix_pct: "number?", moving_pct: "number?", battery: "Battery?", charge_used_mah: "number?", charge_basis: "string?", instrument: "string?", tx: "TX?", conditions: "Conditions?" },
  Origin: { file: "string", sha256: "string", version: "string", unit: "string", run: "number" },
  Bounds: { low: "number~", best: "number~", high: "number~" },
}
