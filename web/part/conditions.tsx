// Whether the pair was tested alike: each condition with its state, both values, and a note.
import { UnitName } from "../figure/mark.tsx"
import type { Comparison, Condition, Unit } from "../report.gen.ts"
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

/** What a condition's sentence adds to its name, state and values. */
export function noteOf(c: Condition): string {
  const said = [`${c.name} matches: ${c.a} and ${c.b}`, `${c.name} matches: ${c.a} both`].find((t) => c.text.startsWith(t))
  if (c.text === `${c.name} is not noted.`) return ""
  return said === undefined ? c.text : c.text.slice(said.length).replace(/^[.,;\s]+/, "")
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

/** One unit's side of a condition: what its packets say opens them. */
function Side({ of, unit, label, children }: { of: Condition; unit: Unit | undefined; label: string; children: string }) {
  const run = unit?.runs.findIndex((r) => label !== "" && r.label === label) ?? -1
  if (!unit || children === "" || !heard.includes(of.check)) return <>{children}</>
  const query = run < 0 ? { unit: unit.name } : { unit: unit.name, run }
  return <Num place={`condition ${label} ${of.check}`} number={unit.name} title={`${unit.name}: ${of.name}, ${children}`} query={query}>{children}</Num>
}

function AlikeLine({ of }: { of: Comparison }) {
  return of.alike.text === "" ? null : <p class="note">{of.alike.text}</p>
}
