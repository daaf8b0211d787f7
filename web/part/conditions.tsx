// Whether the pair was tested alike: each condition with its state, both values, and a note.
import { UnitName } from "../figure/mark.tsx"
import type { Comparison } from "../report.gen.ts"
import { pair } from "../state/selection.ts"
import { useView } from "../view.ts"
import { State } from "./condition.tsx"
import { Part } from "./part.tsx"
import { PairChoice, tallied, worst } from "./result.tsx"
import { Table, type Group } from "./table.tsx"

export function ConditionsPart() {
  const { report, live } = useView()
  const c = report.comparisons[pair.value] ?? report.comparisons[0]
  if (!c || c.conditions.length === 0) return null
  const may = worst(c) === "mismatch" ? "what differs is named, and the draw is ranked only where that is allowed" : "the draws may be compared"
  return (
    <Part id="conditions" name="Test conditions" line={`${tallied(c)}: ${may}.`} foldable>
      {live && report.comparisons.length > 1 && <p>Compared: <PairChoice /></p>}
      <ConditionTable of={c} />
      <AlikeLine of={c} />
      {c.groups.map((g) => (g.conditions.length > 0 ? (
        <div key={g.label}>
          <h3>{g.label || "Without a label"}: {tallied(g)}</h3>
          <ConditionTable of={g} />
        </div>
      ) : null))}
    </Part>
  )
}

function ConditionTable({ of }: { of: Comparison }) {
  const { report } = useView()
  const index = (name: string) => report.units.findIndex((u) => u.name === name)
  const group: Group = {
    key: of.label, name: null,
    lines: of.conditions.map((c) => ({ key: c.check, cells: [c.name, <State of={c.state} />, c.a, c.b, <span class="aside">{c.text}</span>] })),
  }
  const heads = [
    { name: "Condition" }, { name: "State" }, { name: of.a, shown: <UnitName name={of.a} index={index(of.a)} /> },
    { name: of.b, shown: <UnitName name={of.b} index={index(of.b)} /> }, { name: "Note", kind: "grow" as const },
  ]
  return <Table caption={`Conditions of ${of.a} and ${of.b}${of.label ? `, ${of.label}` : ""}`} heads={heads} groups={[group]} fixed="conditions" />
}

function AlikeLine({ of }: { of: Comparison }) {
  return of.alike.text === "" ? null : <p class="note">{of.alike.text}</p>
}
