// The charge measured for single runs: what a charger put back or a meter counted, and which instrument it was.
import { UnitName } from "../figure/mark.tsx"
import { withRunAt } from "../state/edits.ts"
import { bench, changeBench } from "../state/sheet.ts"
import type { Run, Unit } from "../report.gen.ts"
import { useView } from "../view.ts"
import { Choice, Field, NumberField, type Option } from "./field.tsx"
import { Fold } from "./part.tsx"

const bases: Option[] = [{ value: "recharged", text: "put back by the charger" }, { value: "meter", text: "counted by a meter" }]

export function MeasuredCharges() {
  const { report, live } = useView()
  const rows = report.units.flatMap((unit, index) => unit.runs.flatMap((run, no) => (run.saved ? [] : [{ unit, index, run, no }])))
  if (!live || rows.length === 0) return null
  return (
    <Fold title="Charge measured for single runs">
      <p class="note">It counts before the pack's capacity, and serves a run that was stopped on purpose. Runs measured by one instrument of one name share its error, which then cancels between units.</p>
      {rows.map((r) => <MeasuredCharge key={`${r.unit.name} ${r.no}`} {...r} />)}
    </Fold>
  )
}

function MeasuredCharge({ unit, index, run, no }: { unit: Unit; index: number; run: Run; no: number }) {
  const runs = bench.value.units?.[index]?.runs ?? []
  const at = run.noted >= 0 ? run.noted : runs.length
  const noted = runs[at] ?? {}
  const of = `${run.label || `run ${no + 1}`} of ${unit.name}`
  const note = (part: Partial<typeof noted>) => changeBench(`note the charge of ${of}`, withRunAt(bench.value, index, at, (r) => ({ ...r, ...part })))
  return (
    <p class="lead">
      <UnitName name={unit.name} index={index} /> {run.label || `run ${no + 1}`}:{" "}
      <NumberField label={`Charge measured, ${of}`} value={noted.charge_used_mah} unit="mAh" onChange={(v) => note({ charge_used_mah: v, charge_basis: v === null ? "" : noted.charge_basis ?? "recharged" })} />
      {noted.charge_used_mah != null && <>
        {", "}<Choice label={`How it was measured, ${of}`} value={noted.charge_basis ?? "recharged"} options={bases} onChange={(charge_basis) => note({ charge_basis })} />
        {" called "}<Field label={`Name of the charger or meter, ${of}`} value={noted.instrument ?? ""} onCommit={(instrument) => (note({ instrument }), null)} />
      </>}
    </p>
  )
}
