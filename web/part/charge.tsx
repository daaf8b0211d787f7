// What is noted of single runs: their pack, where it is not the unit's, and the charge that a charger put back or a meter counted.
import type { Battery, Run as Noted } from "../bench.gen.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Run, Unit } from "../report.gen.ts"
import { packCalled } from "../state/edits.ts"
import { changeRun, notedOf } from "../state/runs.ts"
import { bench } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { Choice, Field, NumberField, type Option } from "./field.tsx"
import { Fold } from "./part.tsx"

/** What a pack's capacity may rest on. */
export const capacityBases: Option[] = [
  { value: "", text: "basis not known" }, { value: "measured", text: "from an analyser" }, { value: "recharged", text: "from the charger" },
  { value: "printed", text: "printed, new pack" }, { value: "printed_used", text: "printed, used pack" },
]

const bases: Option[] = [{ value: "recharged", text: "put back by the charger" }, { value: "meter", text: "counted by a meter" }]

interface Row {
  unit: Unit
  index: number
  run: Run
  no: number
  noted: Noted
}

export function SingleRuns() {
  const { report, live, bench } = useView()
  const notedIn = (index: number, no: number, run: Run) => live ? notedOf(index, no) : bench.units?.[index]?.runs?.[run.noted] ?? {}
  const rows = report.units.flatMap((unit, index) => unit.runs.flatMap((run, no): Row[] => (run.saved ? [] : [{ unit, index, run, no, noted: notedIn(index, no, run) }])))
    .filter(({ noted }) => live || noted.battery || noted.charge_used_mah != null)
  if (rows.length === 0) return null
  return (
    <Fold title="Pack and measured charge of single runs">
      {live && <p class="note">A charge measured for a run counts before the pack's capacity, and serves a run that was stopped on purpose. Runs measured by one instrument of one name share its error, which then cancels between units.</p>}
      {rows.map((r) => (
        <p key={`${r.unit.name} ${r.no}`} class="lead">
          <UnitName name={r.unit.name} index={r.index} /> {calledRun(r)}: {packs(r) && <><RunPack {...r} />; </>}<MeasuredCharge {...r} />
        </p>
      ))}
    </Fold>
  )
}

const calledRun = ({ run, no }: Row) => run.label || `run ${no + 1}`

/** Whether a run may have had another pack than its unit: of one run the unit's pack says it all. */
const packs = ({ unit, noted }: Row) => noted.battery || unit.runs.filter((r) => !r.saved).length > 1

function RunPack(row: Row) {
  const { unit, index, no, noted } = row, { bench: seen } = useView()
  const own = noted.battery ?? {}, usual = seen.units?.[index]?.battery ?? {}
  const of = `${calledRun(row)} of ${unit.name}`, other = (own.pack ?? "") !== "" && own.pack !== usual.pack
  const note = (battery: Battery | null) => changeRun(`note the pack of ${of}`, index, no, (r) => ({ ...r, battery }))
  const name = (pack: string) => (note(pack === "" || pack === usual.pack ? null : packCalled(bench.value, pack) ?? { ...own, pack }), null)
  return (
    <>
      pack <Field label={`Name of the pack, ${of}`} value={own.pack ?? usual.pack ?? ""} size={6} onCommit={name} />
      {other && <>
        {" of "}<NumberField label={`Capacity of the pack, ${of}`} value={own.capacity_mah} unit="mAh" onChange={(v) => note({ ...own, capacity_mah: v })} />
        {", "}<Choice label={`What the capacity rests on, ${of}`} value={own.basis ?? ""} options={capacityBases} onChange={(basis) => note({ ...own, basis })} />
        {own.capacity_mah == null && usual.capacity_mah != null && <span class="note"> (until it is noted, that of {usual.pack || "the unit's pack"} counts)</span>}
      </>}
    </>
  )
}

function MeasuredCharge(row: Row) {
  const { unit, index, no, noted } = row, of = `${calledRun(row)} of ${unit.name}`
  const note = (part: Partial<Noted>) => changeRun(`note the charge of ${of}`, index, no, (r) => ({ ...r, ...part }))
  return (
    <>
      charge <NumberField label={`Charge measured, ${of}`} value={noted.charge_used_mah} unit="mAh" onChange={(v) => note({ charge_used_mah: v, charge_basis: v === null ? "" : noted.charge_basis ?? "recharged" })} />
      {noted.charge_used_mah != null && <>
        {", "}<Choice label={`How it was measured, ${of}`} value={noted.charge_basis ?? "recharged"} options={bases} onChange={(charge_basis) => note({ charge_basis })} />
        {" called "}<Field label={`Name of the charger or meter, ${of}`} value={noted.instrument ?? ""} onCommit={(instrument) => (note({ instrument }), null)} />
      </>}
    </>
  )
}
