// Units and their runs: what people know and no packet tells, in place; and what each run came to.
import { Fragment, type ComponentChildren } from "preact"
import type { Battery, Conditions, Match, TX, Unit } from "../bench.gen.ts"
import { counted, count, instant, listed, many, moment, passed, share, spanOf, zoneName } from "../format.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Behind } from "../figure/table.ts"
import { onAirBy, scheduleInShort } from "../figure/words.ts"
import type { Run, SavedFrom, Unit as ReportUnit } from "../report.gen.ts"
import { stationsOf, withoutUnit, withoutSaved, withUnitAt } from "../state/edits.ts"
import { analysing, counts } from "../state/engine.ts"
import { changeRun, notedOf } from "../state/runs.ts"
import { allUnits } from "../state/selection.ts"
import { bench, change, changeBench, sheet } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { capacityBases, SingleRuns } from "./charge.tsx"
import { Drawer } from "./drawer.tsx"
import { Choice, Field, NumberField, WhenField, type Option } from "./field.tsx"
import { Num, Stacked } from "./number.tsx"
import { Fold, Part } from "./part.tsx"
import { asked, openQuestions, Questions } from "./questions.tsx"
import { InTurn } from "./turn.tsx"
import { Facts, Table, type Group, type Head } from "./table.tsx"

export function Units() {
  const { report, bench, live } = useView()
  const busy = live && analysing.value
  const units = bench.units ?? []
  if (units.length === 0) return null
  const runs = report.units.reduce((n, u) => n + u.runs.length, 0)
  const open = openQuestions(report.questions).length
  const line = <>{many(units.length, "unit")}, {busy && runs === 0 ? "their runs are being worked out" : many(runs, "run")}.{live && open > 0 && <> <b>{many(open, "question")}</b> {open === 1 ? "is" : "are"} open; each may stay empty.</>}</>
  return (
    <Part id="units" name="Units and runs" line={line} foldable>
      {live && <Questions />}
      <UnitFacts />
      <InTurn><Runs /></InTurn>
      <InTurn><SingleRuns /></InTurn>
      <InTurn><AboutRuns /></InTurn>
    </Part>
  )
}

type Edit<T> = (part: T) => T

/** Edits of one unit, each as a step with its name. */
function editor(at: number, name: string) {
  const unit = (says: string, edit: Edit<Unit>) => changeBench(`${says} of ${name}`, withUnitAt(bench.value, at, edit))
  return {
    unit,
    battery: (says: string, part: Partial<Battery>) => unit(says, (u) => ({ ...u, battery: { ...u.battery, ...part } })),
    tx: (says: string, part: Partial<TX>) => unit(says, (u) => ({ ...u, tx: { ...u.tx, ...part } })),
    conditions: (says: string, part: Partial<Conditions>) => unit(says, (u) => ({ ...u, conditions: { ...u.conditions, ...part } })),
    match: (says: string, rule: number, part: Partial<Match>) =>
      unit(says, (u) => ({ ...u, match: (u.match ?? []).map((m, i) => (i === rule ? { ...m, ...part } : m)) })),
  }
}

interface CellProps {
  unit: Unit
  at: number
}

const supplies: Option[] = [
  { value: "", text: "own pack" }, { value: "usb_bank", text: "USB power bank" }, { value: "primary", text: "primary cells" }, { value: "external", text: "outside supply" },
]

/** Parts two fields of a cell, unless a fault stands between them. */
const Comma = () => <span class="comma">{", "}</span>

export function Charge({ unit, at }: CellProps) {
  const edit = editor(at, unit.name)
  return (
    <>
      <NumberField label={`Capacity of the pack, ${unit.name}`} value={unit.battery?.capacity_mah} unit="mAh" asked={asked("capacity", unit.name)}
        onChange={(v) => edit.battery("change the capacity", { capacity_mah: v })} /><Comma />
      <Choice label={`What the capacity of ${unit.name} rests on`} value={unit.battery?.basis === "unknown" ? "" : unit.battery?.basis ?? ""} options={capacityBases}
        onChange={(basis) => edit.battery("change the basis of the capacity", { basis })} />
    </>
  )
}

export function Volts({ unit, at }: CellProps) {
  return <NumberField label={`Nominal voltage of the pack, ${unit.name}`} value={unit.battery?.nominal_v} unit="V" size={4} most={100} asked={asked("nominal_v", unit.name)}
    onChange={(v) => editor(at, unit.name).battery("change the voltage", { nominal_v: v })} />
}

function Pack({ unit, at }: CellProps) {
  const edit = editor(at, unit.name)
  return (
    <>
      <Field label={`Name of the pack, ${unit.name}`} value={unit.battery?.pack ?? ""} size={6} onCommit={(pack) => (edit.battery("name the pack", { pack }), null)} /><Comma />
      <Volts unit={unit} at={at} /><Comma />
      <Choice label={`Supply of ${unit.name}`} value={unit.battery?.supply === "pack" ? "" : unit.battery?.supply ?? ""} options={supplies} onChange={(supply) => edit.battery("change the supply", { supply })} />
    </>
  )
}

const powerBases: Option[] = [{ value: "", text: "basis not known" }, { value: "measured", text: "measured" }, { value: "printed", text: "as printed" }, { value: "setting", text: "by its setting" }]

export function Power({ unit, at }: CellProps) {
  const edit = editor(at, unit.name)
  return (
    <>
      <NumberField label={`RF power of ${unit.name}`} value={unit.tx?.power_w} unit="W" size={5} most={2000} asked={asked("rf_power", unit.name)}
        onChange={(v) => edit.tx("change the RF power", { power_w: v })} /><Comma />
      <Choice label={`What the RF power of ${unit.name} rests on`} value={unit.tx?.power_basis ?? ""} options={powerBases} onChange={(power_basis) => edit.tx("change the basis of the RF power", { power_basis })} />
      {unit.tx?.power_basis === "measured" && <>{" "}<span class="whole">{"\u00b1\u00a0"}<NumberField label={`Accuracy of the power meter, ${unit.name}`} value={unit.tx?.meter_pct} unit="%" size={3} most={100}
        onChange={(v) => edit.tx("change the meter's accuracy", { meter_pct: v })} /></span></>}
    </>
  )
}

function Current({ unit, at }: CellProps) {
  const amps = unit.tx?.current_ma == null ? null : unit.tx.current_ma / 1000
  return <NumberField label={`Current while transmitting, ${unit.name}`} value={amps} unit="A" size={5} most={100}
    onChange={(v) => editor(at, unit.name).tx("change the transmit current", { current_ma: v === null ? null : v * 1000 })} />
}

const modulations: Option[] = [{ value: "", text: "not noted" }, { value: "afsk1200", text: "AFSK, 1200 baud" }, { value: "fsk9600", text: "FSK, 9600 baud" }, { value: "lora", text: "LoRa" }]

function Modulation({ unit, at }: CellProps) {
  const { live } = useView()
  const edit = editor(at, unit.name)
  const lora = unit.tx?.lora ?? { sf: 12, bandwidth_hz: 125000, coding: "4/5" }
  const set = (modulation: string) => edit.tx("change the modulation", { modulation, lora: modulation === "lora" ? lora : null })
  return (
    <>
      <Choice label={`Modulation of ${unit.name}`} value={unit.tx?.modulation ?? ""} options={modulations} onChange={set} />
      {unit.tx?.modulation === "lora" && (
        <>
          {", SF\u00a0"}<NumberField label={`Spreading factor, ${unit.name}`} value={lora.sf} unit="" size={2} least={5} most={12} onChange={(v) => edit.tx("change the spreading factor", { lora: { ...lora, sf: v ?? 12 } })} />
          {", "}<NumberField label={`Bandwidth, ${unit.name}`} value={lora.bandwidth_hz / 1000} unit="kHz" size={4} most={1000} onChange={(v) => edit.tx("change the bandwidth", { lora: { ...lora, bandwidth_hz: (v ?? 125) * 1000 } })} />
          {", coding\u00a0"}<Choice label={`Coding rate, ${unit.name}`} value={lora.coding} options={["4/5", "4/6", "4/7", "4/8"].map((c) => ({ value: c, text: c }))} onChange={(coding) => edit.tx("change the coding rate", { lora: { ...lora, coding } })} />
        </>
      )}
      <Comma />
      <span class="whole">TX delay <NumberField label={`TX delay of ${unit.name}`} value={unit.tx?.tx_delay_s} unit="s" size={4} most={10} onChange={(v) => edit.tx("change the TX delay", { tx_delay_s: v })} /></span><Comma />
      <span class="whole">tail <NumberField label={`TX tail of ${unit.name}`} value={unit.tx?.tx_tail_s} unit="s" size={4} most={10} onChange={(v) => edit.tx("change the TX tail", { tx_tail_s: v })} /></span>
      {live && <span class="note block">Time on the air {onAirBy(unit.tx)}.</span>}
    </>
  )
}

const onOff: Option[] = [{ value: "", text: "not noted" }, { value: "off", text: "off" }, { value: "on", text: "on" }]

const firsts: Option[] = [
  { value: "", text: "not known" }, { value: "at_once", text: "at once" }, { value: "after_fix", text: "after the first fix" }, { value: "after_interval", text: "one interval later" },
]

export function FirstBeacon({ unit, at }: CellProps) {
  return <Choice label={`First beacon of ${unit.name} after power-on`} value={unit.first_beacon === "unknown" ? "" : unit.first_beacon ?? ""} options={firsts} asked={asked("first_beacon", unit.name)}
    onChange={(first_beacon) => editor(at, unit.name).unit("change the first beacon", (u) => ({ ...u, first_beacon }))} />
}

export function Temperature({ unit, at }: CellProps) {
  return <NumberField label={`Temperature at ${unit.name}`} value={unit.conditions?.temperature_c} unit={"\u00b0C"} size={4} least={-60} most={80} asked={asked("temperature", unit.name)}
    onChange={(v) => editor(at, unit.name).conditions("change the temperature", { temperature_c: v })} />
}

export const switches: [keyof Conditions, string][] = [
  ["second_receiver", "Second receiver"], ["audio", "Audio"], ["power_saver", "Power saver"], ["auto_power_off", "Automatic power-off"], ["repeating", "Repeating for others"], ["fix", "GPS receiver"],
]

export function Switch({ unit, at, what, name }: CellProps & { what: keyof Conditions; name: string }) {
  return <Choice label={`${name} of ${unit.name}`} value={String(unit.conditions?.[what] ?? "")} options={onOff} asked={asked(what, unit.name)}
    onChange={(v) => editor(at, unit.name).conditions(`change ${name.toLowerCase()}`, { [what]: v })} />
}

function Words({ unit, at, what, name }: CellProps & { what: "antenna" | "firmware"; name: string }) {
  return <Field label={`${name} of ${unit.name}`} value={unit.conditions?.[what] ?? ""} size={16} onCommit={(v) => (editor(at, unit.name).conditions(`change ${name.toLowerCase()}`, { [what]: v }), null)} />
}

/** From when until when a rule holds, where it says so. */
function RuleTimes({ m }: { m: Match }) {
  const { zone } = useView()
  const from = instant(m.from), until = instant(m.until)
  if (from === null && until === null) return null
  return <span class="note">{from !== null && <>{" "}<span class="whole">from {moment(from, zone)}</span></>}{until !== null && <>{" "}<span class="whole">until {moment(until, zone)}</span></>}</span>
}

function ruleInWords(m: Match): string {
  const parts = [m.station ?? "any station", m.comment && `with comment \u201c${m.comment}\u201d`, m.destination && `to ${m.destination}`, m.symbol && `symbol ${m.symbol}`, m.encoding]
  return parts.filter((p) => p).join(", ")
}

/** The rules that say which packets are the unit's. */
function Rules({ unit, at }: CellProps) {
  const edit = editor(at, unit.name)
  const rules = unit.match ?? []
  const { live } = useView()
  if (!live) return <>{rules.map((m, i) => <span key={i} class="rule">{i > 0 && "or "}{ruleInWords(m)}<RuleTimes m={m} /></span>)}</>
  return (
    <>
      {rules.map((m, i) => (
        <span key={i} class="rule">
          {i > 0 && "or "}
          <Field label={`Station of rule ${i + 1}, ${unit.name}`} value={m.station ?? ""} size={10} onCommit={(station) => (edit.match("change the station", i, { station: station.toUpperCase() }), null)} />
          {" with comment "}
          <Field label={`Comment holds, rule ${i + 1}, ${unit.name}`} value={m.comment ?? ""} size={14} onCommit={(comment) => (edit.match("change the comment", i, { comment }), null)} />
          {m.destination && <> to {m.destination}</>}
          {m.encoding && <>, {m.encoding}</>}
          <RuleTimes m={m} />
        </span>
      ))}
      {<button class="bare small" type="button" onClick={() => edit.unit("add a rule", (u) => ({ ...u, match: [...rules, { station: rules[0]?.station ?? "N0CALL" }] }))}>Add a rule<span class="sr"> for {unit.name}</span></button>}
      {rules.length > 1 && <button class="bare small" type="button" onClick={() => edit.unit("take away the last rule", (u) => ({ ...u, match: rules.slice(0, -1) }))}>Take the last away<span class="sr"> from {unit.name}</span></button>}
    </>
  )
}

function Name({ unit, at }: CellProps) {
  const { live } = useView()
  if (!live) return <UnitName name={unit.name} index={at} />
  const rename = (name: string) => {
    if (name === "") return "a unit needs a name"
    if (bench.value.units?.some((u, i) => i !== at && u.name === name)) return `another unit is called ${name}`
    editor(at, unit.name).unit("change the name", (u) => ({ ...u, name }))
    return null
  }
  return <span class="unithead"><UnitName name="" index={at} /><Field label={`Name of unit ${at + 1}`} value={unit.name} size={12} onCommit={rename} />
    <button class="bare small" type="button" onClick={() => changeBench(`take ${unit.name} off the sheet`, withoutUnit(bench.value, at))}>Remove<span class="sr"> {unit.name}</span></button></span>
}

/** How many units are shown before the reader asks for all of them. */
const few = 12

/** Units side by side, so many at a time that their fields have room. A report without an engine does not know its width. */
function UnitFacts() {
  const { live, bench, width } = useView()
  const abreast = live && width >= 720 ? 3 : 2
  const units = (bench.units ?? []).map((unit, at) => ({ unit, at })), shown = live && !allUnits.value ? units.slice(0, few) : units
  const rows = Array.from({ length: Math.ceil(shown.length / abreast) }, (_, i) => shown.slice(i * abreast, (i + 1) * abreast))
  return <>{rows.map((some) => <InTurn key={some[0]?.at}><FactsOf units={some} /></InTurn>)}<AllUnits /></>
}

/** Offers the units that a long sheet leaves out. */
function AllUnits() {
  const { live, bench } = useView()
  const all = bench.units?.length ?? 0
  if (!live || allUnits.value || all <= few) return null
  return <div class="buttons"><button class="outline" type="button" onClick={() => (allUnits.value = true)}>Show all {count(all)} units</button><span class="note">The first {few} are shown; every export holds all.</span></div>
}

/** What may be asked of a unit that stands below its fold. */
const askedBelow = ["nominal_v", "temperature", ...switches.map(([what]) => what)]

function FactsOf({ units }: { units: readonly CellProps[] }) {
  const { live } = useView()
  const cells = (of: (p: CellProps) => ComponentChildren) => units.map(of)
  const first = [
    { name: "Packets", cells: cells((p) => <Rules {...p} />) },
    { name: "Charge of the pack", cells: cells((p) => <Charge {...p} />) },
    { name: "RF power", cells: cells((p) => <Power {...p} />) },
    { name: "First beacon", cells: cells((p) => <FirstBeacon {...p} />) },
  ]
  const rest = [
    { name: "Pack, voltage, supply", cells: cells((p) => <Pack {...p} />) },
    { name: "Transmit current", cells: cells((p) => <Current {...p} />) },
    { name: "Modulation", cells: cells((p) => <Modulation {...p} />) },
    ...switches.map(([what, name]) => ({ name, cells: cells((p) => <Switch {...p} what={what} name={name} />) })),
    { name: "Temperature", cells: cells((p) => <Temperature {...p} />) },
    { name: "Antenna", cells: cells((p) => <Words {...p} what="antenna" name="Antenna" />) },
    { name: "Firmware", cells: cells((p) => <Words {...p} what="firmware" name="Firmware" />) },
  ]
  const names = units.map(({ unit, at }) => <Name key={at} unit={unit} at={at} />)
  const which = units.map(({ unit }) => unit.name)
  return (
    <>
      <Facts caption={`Units: ${listed(which)}`} units={names} rows={first} />
      <Fold open={live && which.some((name) => askedBelow.some((code) => asked(code, name)))} title={<>Pack, transmitter, settings and surroundings of {listed(which)}</>}>
        <Facts caption={`More about ${listed(which)}`} units={units.map(({ unit, at }) => <UnitName key={at} name={unit.name} index={at} />)} rows={rest} />
      </Fold>
    </>
  )
}

const runHeads: Head[] = [
  { name: "Run" }, { name: "On", kind: "num" }, { name: "Last heard", kind: "num" }, { name: "Ended", kind: "num" }, { name: "Run time", kind: "num" },
  { name: "Heard", kind: "num" }, { name: "Due, not heard", kind: "num" }, { name: "Share heard", kind: "num" }, { name: "Schedule in use", kind: "grow" },
]

function Runs() {
  const { report, zone, live } = useView()
  const shown = live && !allUnits.value ? report.units.slice(0, few) : report.units
  const groups: Group[] = shown.map((u, index) => ({
    key: u.name, name: <UnitName name={u.name} index={index} />, lines: u.runs.map((run, no) => runLine(u, index, run, no)),
  }))
  if (groups.every((g) => g.lines.length === 0)) return <p class="note">{analysing.value ? "Working the runs out." : "No packet of these units was heard, so there is no run."}</p>
  const heads = runHeads.map((h) => (h.name === "On" ? { ...h, shown: <>On, {zoneName(zone)}</> } : h))
  return <><Table caption="Runs" heads={heads} groups={groups} fixed="runs" /><AllUnits /></>
}

function runLine(unit: ReportUnit, index: number, run: Run, no: number) {
  const place = `run ${unit.name} ${no}`
  const behind = (number: string, title: string, children: ComponentChildren) => (run.saved || run.transmissions === 0 ? children : <Num place={place} number={number} title={`${unit.name}: ${title}`} query={{ unit: unit.name, run: no }}>{children}</Num>)
  return {
    key: place, place, under: <RunRemarks run={run} before={unit.runs[no - 1]} />,
    cells: [
      <RunLabel unit={unit} index={index} run={run} no={no} />,
      <PowerOn unit={unit} index={index} run={run} no={no} inTable />,
      <NearEnd unit={unit} run={run} no={no} place={place} number="last"><Clocked at={run.last_heard} near={run.start.best} /></NearEnd>,
      <NearEnd unit={unit} run={run} no={no} place={place} number="end"><Ended run={run} /></NearEnd>,
      behind("time", "from the first packet to the last", <Stacked of={spanOf(run.runtime_s)} />),
      behind("heard", `${many(run.transmissions, "transmission")} heard`, count(run.transmissions)),
      <Missed unit={unit} run={run} no={no} place={place} number="missed"><Stacked of={counted(run.missed)} /></Missed>,
      <Missed unit={unit} run={run} no={no} place={place} number="share"><Stacked of={share(run.share_heard)} /></Missed>,
      behind("schedule", run.schedule.text, <Schedule run={run} />),
    ],
  }
}

/** What the last packet and the end rest on: the last ten intervals of the run. */
function NearEnd({ unit, run, no, place, number, children }: { unit: ReportUnit; run: Run; no: number; place: string; number: string; children: ComponentChildren }) {
  const { lanes } = useView()
  const last = instant(run.last_heard)
  if (last === null || run.saved) return <>{children}</>
  const interval = lanes.find((l) => l.unit === unit.name && l.run === no)?.due.at(-1)?.interval_s ?? 360
  return <Num place={place} number={number} title={`${unit.name}: its last packets`} query={{ unit: unit.name, run: no, from: last - 10_500 * interval }}>{children}</Num>
}

function Schedule({ run }: { run: Run }) {
  const { measure } = useView()
  return <span title={run.schedule.text}>{scheduleInShort(run.schedule, measure)}</span>
}

/** A number that rests on what was due and not heard. */
function Missed({ unit, run, no, place, number, children }: { unit: ReportUnit; run: Run; no: number; place: string; number: string; children: ComponentChildren }) {
  const { lanes } = useView()
  const missed = lanes.find((l) => l.unit === unit.name && l.run === no)?.missed
  if (!run.missed || run.saved) return <>{children}</>
  return <Num place={place} number={number} title={`${unit.name}: ${counted(run.missed).best} due and not heard`} query={{ unit: unit.name, run: no }} missed={missed}>{children}</Num>
}

function Clocked({ at, near }: { at: string | null; near?: string | null }) {
  const { zone } = useView()
  const ms = instant(at)
  return ms === null ? <span class="aside">not known</span> : <>{moment(ms, zone, instant(near))}</>
}

export function Ended({ run }: { run: Run }) {
  const { zone } = useView()
  const near = instant(run.start.best)
  const best = instant(run.end.best), from = instant(run.end.earliest), until = instant(run.end.latest)
  if (until === null || best === null) return from === null ? <span class="aside">not known</span> : <>after {moment(from, zone, near)}</>
  return <>{moment(best, zone, near)}{from !== null && from !== until && <span class="bounds">{moment(from, zone, best)} to {moment(passed(until), zone, best)}</span>}</>
}

function RunLabel({ unit, index, run, no }: { unit: ReportUnit; index: number; run: Run; no: number }) {
  const { live } = useView()
  const from = run.saved
  if (from) {
    return (
      <span>
        {run.label || `run ${from.run}`}, saved{" "}
        {live && <button type="button" onClick={() => removeSaved(index, from)}>Remove</button>}
      </span>
    )
  }
  return <Field label={`Name of run ${no + 1} of ${unit.name}`} value={run.label} usual={`run ${no + 1}`} size={10} onCommit={(label) => (changeRun("name the run", index, no, (r) => ({ ...r, label })), null)} />
}

/** Takes a saved run away, and with it the report that it came from, which would bring it back. */
function removeSaved(index: number, from: SavedFrom) {
  change("remove the saved run", { bench: withoutSaved(bench.value, index, from), files: sheet.value.files.filter((f) => f.name !== from.file) })
}

/** Whether nothing but its first packet tells when a run began. */
export function unnoted({ start }: Run): boolean {
  return start.basis === "first_heard" && start.latest !== null
}

export function PowerOn({ unit, index, run, no, inTable }: { unit: ReportUnit; index: number; run: Run; no: number; inTable?: boolean }) {
  const { zone, live } = useView()
  const near = instant(run.start.best) ?? instant(run.first_heard) ?? 0
  const noted = notedOf(index, no).power_on ?? null
  if (!live || run.saved) return unnoted(run) ? <>by <Clocked at={run.start.latest} /></> : <Clocked at={run.start.best} />
  const latest = instant(run.start.latest)
  return (
    <>
      <WhenField label={`Switched on, run ${no + 1} of ${unit.name}`} value={noted} near={near} asked={asked("power_on", unit.name, no)} inTable={inTable ?? false}
        onChange={(power_on) => changeRun(`note when ${unit.name} was switched on`, index, no, (r) => ({ ...r, power_on }))} />
      {inTable && !noted && latest !== null && <span class="bounds">by {moment(passed(latest), zone)}</span>}
    </>
  )
}

/** What a run's end rests on, and what is odd about it; what the run before it says of the same saved report is not said again. */
function RunRemarks({ run, before }: { run: Run; before: Run | undefined }) {
  if (run.transmissions === 0 && run.last_heard === null && run.start.basis !== "typed") return <p class="note remarks">No packet of this run is on the sheet.</p>
  const said = new Set(run.saved ? before?.flags.map((f) => f.text) : [])
  const remarks = [run.end.reason, ...run.flags.map((f) => f.text)].filter((t) => t !== "" && !said.has(t))
  if (remarks.length === 0) return <></>
  return <p class="note remarks">{remarks.join(" ")}</p>
}

/** What was counted of each unit, so that nothing drops in silence. */
function AboutRuns() {
  const { report, live } = useView()
  return <div class="note">{(live && !allUnits.value ? report.units.slice(0, few) : report.units).map((u, index) => <Counts key={u.name} unit={u} index={index} />)}</div>
}

/** What was counted of one unit, each count before its packets. */
function Counts({ unit, index }: { unit: ReportUnit; index: number }) {
  const u = { ...unit, ...(useView().live && counts.value.get(unit.name)) }
  const place = `counts ${u.name}`, sent = u.runs.reduce((n, r) => n + r.transmissions, 0)
  if (u.heard === 0 && u.runs.length > 0 && u.runs.every((r) => r.saved)) return <p><UnitName name={u.name} index={index} />: {many(sent, "transmission")} heard, from a saved report.</p>
  const stations = stationsOf(useView().bench, u.name)
  const untimed = u.heard - u.transmissions - u.duplicates - u.internet
  const number = (n: number, what: string, query: Behind) => n === 0 ? "0" : <Num place={place} number={what} title={`${u.name}: ${count(n)} ${what}`} query={query}>{count(n)}</Num>
  const counted = (n: number, what: string, why: Behind["why"], more: Behind = { unit: u.name }) => n > 0 && <>, {number(n, what, { ...more, ...(why ? { why } : {}) })} {what}</>
  const works = [
    u.relayed > 0 && <>repeated {number(u.relayed, u.relayed === 1 ? "packet of others" : "packets of others", { by: stations })} {u.relayed === 1 ? "packet" : "packets"} of others</>,
    u.acknowledged > 0 && <>answered {number(u.acknowledged, u.acknowledged === 1 ? "message" : "messages", { unit: u.name, why: "answer" })} {u.acknowledged === 1 ? "message" : "messages"}</>,
  ].filter((w) => w !== false)
  return (
    <>
      <p>
        <UnitName name={u.name} index={index} />: {number(u.heard, u.heard === 1 ? "packet heard" : "packets heard", { unit: u.name })} {u.heard === 1 ? "packet" : "packets"} heard
        {counted(u.transmissions, u.transmissions === 1 ? "transmission" : "transmissions", "counted")}{counted(u.duplicates, u.duplicates === 1 ? "copy" : "copies", "copy")}
        {counted(u.internet, "by internet", "internet")}{counted(untimed, "without a time", "untimed")}
        {counted(u.unassigned, `of its call ${stations.length === 1 ? "sign" : "signs"} ${u.unassigned === 1 ? "belongs" : "belong"} to no unit`, "unassigned", { stations })}
        {counted(u.contested, u.contested === 1 ? "fits another unit too" : "fit another unit too", "contested")}
        {works.length > 0 && <>, it {works.map((w, i) => <Fragment key={i}>{i > 0 && " and "}{w}</Fragment>)}{u.for_others_s && ` (${spanOf(u.for_others_s).best} on the air)`}</>}.
      </p>
      <Drawer place={place} />
    </>
  )
}
