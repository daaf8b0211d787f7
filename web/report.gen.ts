// Generated from core/report/report.go by make types. Do not edit.

export interface Estimate {
  low: number | null
  best: number | null
  high: number | null
}

export interface Report {
  schema: string
  version: string
  title: string
  display_zone: string
  evidence: File[]
  notes: Note[]
  stations: Station[]
  stations_all: number
  tracks: Track[]
  proposals: Proposal[]
  units: Unit[]
  comparisons: Comparison[]
  kinds: Comparison[]
  outlook: Outlook[]
  next_test: NextTest | null
  questions: Question[]
  cautions: Caution[]
}

export interface File {
  id: number
  file: string
  sha256: string
  kind: string
  format: string
  bytes: number
  lines: number
  packets: number
  fixes: number
  readings: number
  not_used: number
  empty: number
  again: number
  first: string | null
  last: string | null
  zone: string
  zone_basis: string
  time_resolution_s: number
  suggested_offset_s: Estimate | null
  offset_basis: string
  offset_against: string
  offset_either: boolean
  suggested_zone: string
  watched: Watch[]
  asks: Ask[]
  columns: Column[]
}

export interface Column {
  no: number
  header: string
  sample: string
  meaning: string
  said: boolean
}

export interface Watch {
  from: string
  until: string
  basis: string
}

export interface Ask {
  field: string
  choices: string[]
  taken: string
  why: string
  lines: number[]
  samples: string[]
}

export interface Note {
  file: string
  line: number
  column: number
  code: string
  text: string
  help: string
  excerpt: string
  count: number
  unused: boolean
}

export interface Station {
  station: string
  destinations: string[]
  comments: string[]
  comment_sample: string
  heard: number
  duplicates: number
  transmissions: number
  first: string | null
  last: string | null
  typical_interval_s: number | null
  internet: number
  units: string[]
}

export interface Track {
  file: string
  name: string
  unit: string
  fixes: number
  distance_m: number
  periods: Period[]
}

export interface Proposal {
  name: string
  match: Match[]
  transmissions: number
  text: string
  strong: boolean
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

export interface Unit {
  name: string
  heard: number
  duplicates: number
  transmissions: number
  unassigned: number
  contested: number
  relayed: number
  internet: number
  kind: string
  acknowledged: number
  for_others_s: Estimate | null
  current_fix_pct: number | null
  runs: Run[]
  idle_and_beacon: IdleAndBeacon | null
}

export interface Counts {
  name: string
  heard: number
  duplicates: number
  transmissions: number
  unassigned: number
  contested: number
  relayed: number
  internet: number
}

export interface Run {
  label: string
  noted: number
  start: Start
  last_heard: string | null
  first_heard: string | null
  end: End
  runtime_s: Estimate | null
  rankable: boolean
  transmissions: number
  missed: Estimate | null
  share_heard: Estimate | null
  sent: Estimate | null
  rate_per_h: Estimate | null
  schedule: Schedule
  periods: Period[]
  airtime_s: Estimate | null
  path: string | null
  busy_pct: number | null
  charge: Charge | null
  draw: Draw | null
  budget: Part[]
  series: Series[]
  events: Event[]
  flags: Flag[]
  schedules: Scheduled[]
  now: Now | null
  saved: SavedFrom | null
}

export interface SavedFrom {
  file: string
  sha256: string
  version: string
  unit: string
  run: number
}

export interface Scheduled {
  from: string
  until: string
  schedule: Schedule
}

export interface Now {
  listened_until: string
  since_last_heard_s: number
  due_missed: number | null
  chance_by_loss_alone: number | null
  slowing_since: string | null
  expected_end: Bounds | null
  outlook: string
  text: string
}

export interface Bounds {
  earliest: string | null
  best: string | null
  latest: string | null
}

export interface Start {
  earliest: string | null
  best: string | null
  latest: string | null
  basis: string
  law: LawPoint[]
}

export interface End {
  earliest: string | null
  best: string | null
  latest: string | null
  state: string
  text: string
  reason: string
  law: LawPoint[]
}

export interface LawPoint {
  at: string
  p: number
}

export interface Schedule {
  kind: string
  interval_s: Estimate | null
  jitter_s: number | null
  beacons_before_decay: number | null
  growth: number | null
  longest_s: number | null
  slow_interval_s: number | null
  fast_interval_s: number | null
  slow_speed_mps: number | null
  fast_speed_mps: number | null
  metres_between_beacons: number | null
  resolved: string[]
  as_far_as_heard: boolean
  text: string
}

export interface Period {
  state: string
  start: string
  end: string
  start_between: [(string | null), (string | null)]
  end_between: [(string | null), (string | null)]
  inferred: boolean
  transmissions: number
  missed: Estimate | null
  interval_s: Interval | null
  rate_per_h: Estimate | null
  distance_m: Estimate | null
  mean_mps: number | null
  max_mps: number | null
}

export interface Interval {
  min: number
  median: number
  mean: number
  max: number
}

export interface Charge {
  mah: Estimate | null
  basis: string
}

export interface Draw {
  mean_ma: Estimate | null
  mah_per_min: Estimate | null
  mean_mw: Estimate | null
  energy_mwh: Estimate | null
  c_rate: Estimate | null
  mah_per_transmission: Estimate | null
  text: string
}

export interface Part {
  source: string
  name: string
  type: string
  relative_pct: number
  assumed: boolean
}

export interface Series {
  name: string
  unit: string
  source: string
  first: number
  last: number
  points: SeriesPoint[]
}

export interface SeriesPoint {
  at: string
  v: number
}

export interface Event {
  at: string
  precision_s: number
  what: string
  basis: string
  text: string
}

export interface Flag {
  code: string
  text: string
}

export interface IdleAndBeacon {
  idle_ma: Estimate | null
  mah_per_beacon: Estimate | null
  basis: string
  runs: number
  resolved: boolean
  text: string
}

export interface Comparison {
  a: string
  b: string
  runtime: Verdict
  draw: Verdict
  rate_ratio: Estimate | null
  rate_explains_ma: Estimate | null
  at_equal_rate: EqualRate | null
  conditions: Condition[]
  alike: Alike
  like_for_like: string
  fairness: string
  groups: Comparison[]
  label: string
  exchanged: Exchanged | null
}

export interface Exchanged {
  unit_ratio: Estimate | null
  pack_ratio: Estimate | null
  first: string
  second: string
}

export interface Verdict {
  ratio: Estimate | null
  verdict: string
  text: string
  basis: string
  a: Estimate | null
  b: Estimate | null
}

export interface EqualRate {
  rate_per_h: number
  ratio: Estimate | null
}

export interface Condition {
  check: string
  name: string
  state: string
  a: string
  b: string
  text: string
}

export interface Alike {
  verdict: string
  certain_at: string | null
  text: string
}

export interface Outlook {
  unit: string
  kind: string
  of: string
  text: string
  runtime_s: Estimate | null
  draw_ma: Estimate | null
  transmissions: Estimate | null
  extrapolated: boolean
  refused: string
  ends_after_s: Estimate | null
  ends_along_m: Estimate | null
  age_moving_s: number | null
  age_parked_s: number | null
  channel_load: number | null
  channel_lost: number | null
}

export interface NextTest {
  difference_pct: number
  power_pct: number
  spread_pct: number
  runs: number
  runs_equal: number
  interval_s: number
  watch_from_s: number
  listen_s: number
  text: string
}

export interface Question {
  id: string
  code: string
  file: string
  unit: string
  run: number
  ask: string
  why: string
}

export interface Caution {
  topic: string
  text: string
}

export interface Transmission {
  unit: string
  run: number
  n: number
  at: string
  lat?: number | null
  lon?: number | null
  lines: LineRef[]
}

export interface LineRef {
  file: string
  line: number
}

export interface Lane {
  unit: string
  run: number
  sent: number[]
  missed: number[]
  due: Due[]
  silent: Silence[]
  way: Spot[]
  places: Spot[]
  paces: Pace[]
  curve: Pace[]
}

export interface Pace {
  at: number
  speed_mps: number
  interval_s: number
  single: boolean
}

export interface Spot {
  at: number
  east_m: number
  north_m: number
  gap: boolean
  corner: boolean
}

export interface Due {
  at: number
  interval_s: number
}

export interface Silence {
  start: number
  end: number
}

/** What each object may hold, for checking files from outside: the kind of every property; ? may be left out, ~ may be null. */
export const shapes: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  Estimate: { low: "number~", best: "number~", high: "number~" },
  Report: { schema: "string", version: "string", title: "string", display_zone: "string", evidence: "File[]", notes: "Note[]", stations: "Station[]", stations_all: "number", tracks: "Track[]", proposals: "Proposal[]", units: "Unit[]", comparisons: "Comparison[]", kinds: "Comparison[]", outlook: "Outlook[]", next_test: "NextTest~", questions: "Question[]", cautions: "Caution[]" },
  File: { id: "number", file: "string", sha256: "string", kind: "string", format: "string", bytes: "number", lines: "number", packets: "number", fixes: "number", readings: "number", not_used: "number", empty: "number", again: "number", first: "time~", last: "time~", zone: "string", zone_basis: "string", time_resolution_s: "number", suggested_offset_s: "Estimate~", offset_basis: "string", offset_against: "string", offset_either: "boolean", suggested_zone: "string", watched: "Watch[]", asks: "Ask[]", columns: "Column[]" },
  Column: { no: "number", header: "string", sample: "string", meaning: "string", said: "boolean" },
  Watch: { from: "time", until: "time", basis: "string" },
  Ask: { field: "string", choices: "string[]", taken: "string", why: "string", lines: "number[]", samples: "string[]" },
  Note: { file: "string", line: "number", column: "number", code: "string", text: "string", help: "string", excerpt: "string", count: "number", unused: "boolean" },
  Station: { station: "string", destinations: "string[]", comments: "string[]", comment_sample: "string", heard: "number", duplicates: "number", transmissions: "number", first: "time~", last: "time~", typical_interval_s: "number~", internet: "number", units: "string[]" },
  Track: { file: "string", name: "string", unit: "string", fixes: "number", distance_m: "number", periods: "Period[]" },
  Proposal: { name: "string", match: "Match[]", transmissions: "number", text: "string", strong: "boolean" },
  Match: { station: "string?", comment: "string?", destination: "string?", symbol: "string?", encoding: "string?", from: "time?", until: "time?" },
  Unit: { name: "string", heard: "number", duplicates: "number", transmissions: "number", unassigned: "number", contested: "number", relayed: "number", internet: "number", kind: "string", acknowledged: "number", for_others_s: "Estimate~", current_fix_pct: "number~", runs: "Run[]", idle_and_beacon: "IdleAndBeacon~" },
  Counts: { name: "string", heard: "number", duplicates: "number", transmissions: "number", unassigned: "number", contested: "number", relayed: "number", internet: "number" },
  Run: { label: "string", noted: "number", start: "Start", last_heard: "time~", first_heard: "time~", end: "End", runtime_s: "Estimate~", rankable: "boolean", transmissions: "number", missed: "Estimate~", share_heard: "Estimate~", sent: "Estimate~", rate_per_h: "Estimate~", schedule: "Schedule", periods: "Period[]", airtime_s: "Estimate~", path: "string~", busy_pct: "number~", charge: "Charge~", draw: "Draw~", budget: "Part[]", series: "Series[]", events: "Event[]", flags: "Flag[]", schedules: "Scheduled[]", now: "Now~", saved: "SavedFrom~" },
  SavedFrom: { file: "string", sha256: "string", version: "string", unit: "string", run: "number" },
  Scheduled: { from: "time", until: "time", schedule: "Schedule" },
  Now: { listened_until: "time", since_last_heard_s: "number", due_missed: "number~", chance_by_loss_alone: "number~", slowing_since: "time~", expected_end: "Bounds~", outlook: "string", text: "string" },
  Bounds: { earliest: "time~", best: "time~", latest: "time~" },
  Start: { earliest: "time~", best: "time~", latest: "time~", basis: "string", law: "LawPoint[]" },
  End: { earliest: "time~", best: "time~", latest: "time~", state: "string", text: "string", reason: "string", law: "LawPoint[]" },
  LawPoint: { at: "time", p: "number" },
  Schedule: { kind: "string", interval_s: "Estimate~", jitter_s: "number~", beacons_before_decay: "number~", growth: "number~", longest_s: "number~", slow_interval_s: "number~", fast_interval_s: "number~", slow_speed_mps: "number~", fast_speed_mps: "number~", metres_between_beacons: "number~", resolved: "string[]", as_far_as_heard: "boolean", text: "string" },
  Period: { state: "string", start: "time", end: "time", start_between: "(time~)[]", end_between: "(time~)[]", inferred: "boolean", transmissions: "number", missed: "Estimate~", interval_s: "Interval~", rate_per_h: "Estimate~", distance_m: "Estimate~", mean_mps: "number~", max_mps: "number~" },
  Interval: { min: "number", median: "number", mean: "number", max: "number" },
  Charge: { mah: "Estimate~", basis: "string" },
  Draw: { mean_ma: "Estimate~", mah_per_min: "Estimate~", mean_mw: "Estimate~", energy_mwh: "Estimate~", c_rate: "Estimate~", mah_per_transmission: "Estimate~", text: "string" },
  Part: { source: "string", name: "string", type: "string", relative_pct: "number", assumed: "boolean" },
  Series: { name: "string", unit: "string", source: "string", first: "number", last: "number", points: "SeriesPoint[]" },
  SeriesPoint: { at: "time", v: "number" },
  Event: { at: "time", precision_s: "number", what: "string", basis: "string", text: "string" },
  Flag: { code: "string", text: "string" },
  IdleAndBeacon: { idle_ma: "Estimate~", mah_per_beacon: "Estimate~", basis: "string", runs: "number", resolved: "boolean", text: "string" },
  Comparison: { a: "string", b: "string", runtime: "Verdict", draw: "Verdict", rate_ratio: "Estimate~", rate_explains_ma: "Estimate~", at_equal_rate: "EqualRate~", conditions: "Condition[]", alike: "Alike", like_for_like: "string", fairness: "string", groups: "Comparison[]", label: "string", exchanged: "Exchanged~" },
  Exchanged: { unit_ratio: "Estimate~", pack_ratio: "Estimate~", first: "string", second: "string" },
  Verdict: { ratio: "Estimate~", verdict: "string", text: "string", basis: "string", a: "Estimate~", b: "Estimate~" },
  EqualRate: { rate_per_h: "number", ratio: "Estimate~" },
  Condition: { check: "string", name: "string", state: "string", a: "string", b: "string", text: "string" },
  Alike: { verdict: "string", certain_at: "time~", text: "string" },
  Outlook: { unit: "string", kind: "string", of: "string", text: "string", runtime_s: "Estimate~", draw_ma: "Estimate~", transmissions: "Estimate~", extrapolated: "boolean", refused: "string", ends_after_s: "Estimate~", ends_along_m: "Estimate~", age_moving_s: "number~", age_parked_s: "number~", channel_load: "number~", channel_lost: "number~" },
  NextTest: { difference_pct: "number", power_pct: "number", spread_pct: "number", runs: "number", runs_equal: "number", interval_s: "number", watch_from_s: "number", listen_s: "number", text: "string" },
  Question: { id: "string", code: "string", file: "string", unit: "string", run: "number", ask: "string", why: "string" },
  Caution: { topic: "string", text: "string" },
  Transmission: { unit: "string", run: "number", n: "number", at: "time", lat: "number?", lon: "number?", lines: "LineRef[]" },
  LineRef: { file: "string", line: "number" },
  Lane: { unit: "string", run: "number", sent: "instant[]", missed: "instant[]", due: "Due[]", silent: "Silence[]", way: "Spot[]", places: "Spot[]", paces: "Pace[]", curve: "Pace[]" },
  Pace: { at: "instant", speed_mps: "number", interval_s: "number", single: "boolean" },
  Spot: { at: "instant", east_m: "number", north_m: "number", gap: "boolean", corner: "boolean" },
  Due: { at: "instant", interval_s: "number" },
  Silence: { start: "instant", end: "instant" },
}
