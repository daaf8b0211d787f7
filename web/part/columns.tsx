// What the columns of a table, or the fields of objects, were taken for: shown for every such file, and each can be said
// otherwise. What was said stands in the bench.
import { withFileNamed } from "../state/edits.ts"
import { bench, changeBench } from "../state/sheet.ts"
import type { Column, File as ReportFile } from "../report.gen.ts"
import { Asked, Choice, type Option } from "./field.tsx"
import { Fold } from "./part.tsx"
import { Table, type Head } from "./table.tsx"

const meanings: readonly Option[] = [
  ["none", "not used"], ["time", "time"], ["date", "date"], ["lat", "latitude"], ["lat 1e-7", "latitude, 1e-7 degrees"], ["lon", "longitude"], ["lon 1e-7", "longitude, 1e-7 degrees"],
  ["speed", "speed, unit not known"], ["speed m/s", "speed, m/s"], ["speed km/h", "speed, km/h"], ["speed kn", "speed, knots"], ["speed mph", "speed, mph"], ["course", "course, degrees"],
  ["volts", "voltage, unit not known"], ["volts V", "voltage, V"], ["volts mV", "voltage, mV"], ["amps", "current, unit not known"], ["amps A", "current, A"], ["amps mA", "current, mA"],
  ["packet", "packet as monitor text"], ["from", "sender"], ["to", "destination"], ["path", "path"], ["info", "information of the packet"], ["comment", "comment"],
].map(([value = "", text = ""]) => ({ value, text }))

/** The mapping in use, folded; open where it is asked. */
export function Columns({ file }: { file: ReportFile }) {
  if (file.columns.length === 0 || file.asks.some((a) => a.field === "columns")) return null
  return <Fold title={`What the columns of ${file.file} were taken for`}><Mapping file={file} /></Fold>
}

export function ColumnsAsk({ file, why }: { file: ReportFile; why: string }) {
  return (
    <>
      <Asked question={`What do the columns of ${file.file} mean?`} why={`${why} Say it of those that matter; the others stay out of use.`} />
      <Mapping file={file} />
    </>
  )
}

const heads: Head[] = [{ name: "Column" }, { name: "First value", kind: "grow" }, { name: "Taken for" }, { name: "Because" }]

function Mapping({ file }: { file: ReportFile }) {
  const lines = file.columns.map((c) => ({
    key: String(c.no),
    cells: [
      <span class="raw">{c.header || `column ${c.no}`}</span>, <span class="raw">{c.sample}</span>,
      <Choice label={`What ${c.header || `column ${c.no}`} of ${file.file} holds`} value={c.meaning} options={optionsFor(c)} onChange={(meaning) => say(file, c, meaning)} />,
      c.said ? "set by you" : c.meaning === "none" ? null : "its header or values say so",
    ],
  }))
  return <Table caption={`Columns of ${file.file}`} heads={heads} groups={[{ key: "columns", name: null, lines }]} />
}

/** A unit that is not known can only be found, not said. */
function optionsFor(c: Column): readonly Option[] {
  return meanings.filter((m) => !m.text.endsWith("unit not known") || m.value === c.meaning)
}

/** Notes what a column holds; another column of which the same was said gives way. */
function say(file: ReportFile, c: Column, meaning: string): void {
  const alone = c.header !== "" && file.columns.filter((o) => o.header === c.header).length === 1
  const header = alone ? c.header : String(c.no)
  const kind = meaning.split(" ")[0]
  changeBench(`say what ${c.header || `column ${c.no}`} of ${file.file} holds`, withFileNamed(bench.value, file.file, (f) => ({
    ...f, columns: [...(f.columns ?? []).filter((o) => o.header !== header && (meaning === "none" || o.meaning.split(" ")[0] !== kind)), { header, meaning }],
  })))
}
