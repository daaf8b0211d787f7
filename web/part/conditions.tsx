// Whether the pair was tested alike: each condition with its state, both values, and a note.
import { instant } from "../format.ts"
import type { Behind } from "../figure/table.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Comparison, Condition, Run, Unit } from "../report.gen.ts"
import { onAirOf } from "../figure/words.ts"
import { stationsOf } from "../state/edits.ts"
import { pair } from "../state/selection.ts"
import { useView } from "../view.ts"
import { State } from "./condition.tsx"
import { Num } from "./number.tsx"
import { Fold, Part } from "./part.tsx"
import { PairChoice, tallied } from "./result.tsx"
import { Table, type Group } from "./table.tsx"

export function ConditionsPart() {
  const { report, live } = useView()
  const c = report.comparisons[pair.value] ?? report.comparisons[0]
  if (!c || c.conditions.length === 0) return null
  return (
    <Part id="conditions" name="Test conditions" line={`${c.label ? `${c.label}: ` : ""}${c.fairness || `${tallied(c)}.`}`} foldable>
      {live && report.comparisons.length > 1 && <p>Compared: <PairChoice /></p>}
      <ConditionTable of={c} />
      <AlikeLine of={c} />
      {c.groups.length > 1 && c.groups.map((g) => (g.label !== c.label && g.conditions.length > 0 ? (
        <Fold key={g.label} title={`${g.label || "Without a label"}: ${tallied(g)}`}><ConditionTable of={g} /></Fold>
      ) : null))}
    </Part>
  )
}

/** What a condition's sentence adds to its name, state and values, which stand beside it. */
export function noteOf({ name, a, b, text }: Condition): string {
  if (text === `${name} is not noted.` || text === `${name} is not known.`) return ""
  const said = [`${a} against ${b}`, `${a} and ${b}`, `${a} both`].find((sides) => text.includes(sides))
  const rest = said === undefined ? text : text.slice(text.indexOf(said) + said.length).replace(/^[.,:;\s]+/, "").replace(/^(?:which|so|but|and is|and) /, "")
  return rest.slice(0, 1).toUpperCase() + rest.slice(1)
}

function ConditionTable({ of }: { of: Comparison }) {
  const { report } = useView()
  const index = (name: string) => report.units.findIndex((u) => u.name === name)
  const side = (c: Condition, name: string, value: string) => <Side of={c} unit={report.units[index(name)]} label={of.label}>{value}</Side>
  const group: Group = {
    key: of.label, name: null,
    lines: of.conditions.map((c) => ({ key: c.check, place: `condition ${of.label} ${c.check}`, cells: [c.name, <State of={c.state} />, side(c, of.a, c.a), side(c, of.b, c.b), noteOf(c) === "" ? null : <span class="aside">{noteOf(c)}</span>] })),
  }
  const heads = [
    { name: "Condition" }, { name: "State" }, { name: of.a, shown: <UnitName name={of.a} index={index(of.a)} /> },
    { name: of.b, shown: <UnitName name={of.b} index={index(of.b)} /> }, { name: "Note", kind: "grow" as const },
  ]
  return <Table caption={`Conditions of ${of.a} and ${of.b}${of.label ? `, ${of.label}` : ""}`} heads={heads} groups={[group]} fixed="conditions" />
}

/** Conditions that packets answer; people noted the others. */
const heard = ["transmit_rate", "airtime", "path", "schedule", "fix", "motion", "overlap"]

/** The packets that tell one unit's side of a condition: its own, those it repeated, or what others sent meanwhile. */
function sideQuery(check: string, unit: Unit, run: number, runs: readonly Run[], stations: readonly string[]): Behind | null {
  const times = runs.flatMap((r) => [instant(r.first_heard), instant(r.last_heard)]).filter((t): t is number => t !== null)
  const span = times.length > 0 ? { from: Math.min(...times), until: Math.max(...times) } : {}
  if (check === "repeating") return stations.length > 0 ? { by: stations } : null
  if (check === "channel_load") return times.length > 0 ? { why: "unassigned", ...span } : null
  if (!heard.includes(check)) return null
  return run < 0 ? { unit: unit.name } : { unit: unit.name, run }
}

/** One unit's side of a condition: what packets say opens them. */
function Side({ of, unit, label, children }: { of: Condition; unit: Unit | undefined; label: string; children: string }) {
  const { bench } = useView()
  const run = unit?.runs.findIndex((r) => label !== "" && r.label === label) ?? -1
  const stations = stationsOf(bench, unit?.name), runs = run < 0 ? unit?.runs ?? [] : unit?.runs.slice(run, run + 1) ?? []
  const query = unit && sideQuery(of.check, unit, run, runs, stations)
  if (of.state === "not_noted" && of.a === of.b) return <></> // its state says so
  const none = children === "not noted" || runs.every((r) => r.saved) || !heard.includes(of.check) && /(?:^|, )0(?![.,\d])/.test(children)
  if (!query || none || children === "") return <>{children}</>
  return <Num place={`condition ${label} ${of.check}`} number={unit.name} title={`${unit.name}: ${of.name}, ${children}${of.check === "airtime" ? `, ${onAirOf(bench, unit.name)}` : ""}`} query={query}>{children}</Num>
}

function AlikeLine({ of }: { of: Comparison }) {
  return of.alike.text === "" ? null : <p class="note">{of.alike.text}</p>
}
