// Whose a track or a meter's file is: no packet tells, and what a unit drew or where it went hangs on it.
import { listed } from "../format.ts"
import type { Bench, Unit } from "../bench.gen.ts"
import type { File, Report } from "../report.gen.ts"
import { fileNamed, withFileNamed, withUnitAt } from "../state/edits.ts"
import { bench, changeBench } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { Asked, Choice, type Option } from "./field.tsx"

/** Where a unit names its files of a kind. */
type Kind = "tracks" | "meters"

/** What a file holds that belongs to units: a table of readings may hold places too, and is a meter's all the same. */
export function kindOf(file: File): Kind | null {
  return file.readings > 0 ? "meters" : file.fixes > 0 ? "tracks" : null
}

/** Whether there is a unit that a file may belong to. */
export function ownable(file: File, bench: Bench): boolean {
  return kindOf(file) !== null && (bench.units?.length ?? 0) > 0
}

const has = (unit: Unit, kind: Kind, name: string) => (unit[kind] ?? []).includes(name)

/** Says or unsays that a file is a unit's. */
export function withOwner(bench: Bench, at: number, kind: Kind, name: string, owns: boolean): Bench {
  return withUnitAt(bench, at, (u) => ({ ...u, [kind]: [...(u[kind] ?? []).filter((n) => n !== name), ...(owns ? [name] : [])] }))
}

/** The units, by their places, that were on while a file was recorded. */
export function whileOn(report: Report, file: File): number[] {
  const [from, until] = [Date.parse(file.first ?? ""), Date.parse(file.last ?? "")]
  return report.units.flatMap((u, at) => (u.runs.some((r) => !r.saved && Date.parse(r.start.best ?? r.first_heard ?? "") < until && Date.parse(r.last_heard ?? "") > from) ? [at] : []))
}

/** Files that a unit might own, of which nobody said whose they are. */
export function orphans(report: Report, bench: Bench): File[] {
  const routes = (bench.outlook?.routes ?? []).map((r) => r.file)
  return report.evidence.filter((f) => {
    const kind = kindOf(f)
    return kind && f.packets === 0 && !routes.includes(f.file) && !bench.units?.some((u) => has(u, kind, f.file)) && whileOn(report, f).length > 0
  })
}

/** Asks whose a file is, of the units that were on at the time. */
export function OwnerAsk({ file }: { file: File }) {
  const { report } = useView()
  const kind = kindOf(file), able = whileOn(report, file)
  if (!kind) return null
  const why = kind === "meters" ? "What it counted then gives the charge and the draw of that unit's runs." : "Its fixes tell when the unit stood still and when it moved, better than the places in its packets."
  const only = able.length === 1 ? ` Of the units only ${report.units[able[0] ?? 0]?.name} was on while it was recorded.` : ""
  return (
    <Asked question={kind === "meters" ? `Which unit did the meter of ${file.file} measure?` : `Which unit was carried along the track ${file.file}?`} why={why + only}>
      <span class="buttons">
        {able.slice(0, 6).map((at) => {
          const name = report.units[at]?.name ?? ""
          return <button key={at} class="outline" type="button" onClick={() => changeBench(`say that ${file.file} is of ${name}`, withOwner(bench.value, at, kind, file.file, true))}>{name}<span class="sr"> for {file.file}</span></button>
        })}
      </span>
    </Asked>
  )
}

const recorders: Option[] = [{ value: "", text: "not noted" }, { value: "unit", text: "the unit itself" }, { value: "companion", text: "a logger carried along" }]

/** Beneath a file's row: the units that it is said to belong to. */
export function Owners({ file }: { file: File }) {
  const { live, bench: seen } = useView()
  const kind = kindOf(file), units = seen.units ?? []
  if (!kind || units.length === 0) return null
  const owners = units.filter((u) => has(u, kind, file.file)).map((u) => u.name)
  const says = kind === "meters" ? "Measured" : "Carried along"
  const by = fileNamed(seen, file.file).recorded_by ?? ""
  if (!live) return owners.length > 0 ? <span class="note">{says}: {listed(owners)}.</span> : null
  return (
    <span class="note owners">
      {says}:{" "}
      {units.map((u, at) => (
        <label key={at} class="nobreak">
          <input type="checkbox" aria-label={`${says}, ${file.file}: ${u.name}`} checked={has(u, kind, file.file)}
            onChange={(e) => changeBench(`say whose ${file.file} is`, withOwner(bench.value, at, kind, file.file, e.currentTarget.checked))} /> {u.name}{" "}
        </label>
      ))}
      {kind === "tracks" && owners.length > 0 && <>
        {" recorded by "}<Choice label={`What recorded ${file.file}`} value={by === "receiver" ? "" : by} options={recorders}
          onChange={(recorded_by) => changeBench(`say what recorded ${file.file}`, withFileNamed(bench.value, file.file, (f) => ({ ...f, recorded_by })))} />
        {by === "unit" && ": its own log proves that it was on"}
      </>}
    </span>
  )
}
