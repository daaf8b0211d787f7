// Saving and sharing: the report, the bench, the numbers.
import { useSignal } from "@preact/signals"
import { many } from "../format.ts"
import { fileName, saveAs } from "../figure/save.ts"
import { reportPage } from "../report-page.tsx"
import { engine, lanes, report } from "../state/engine.ts"
import { bench, markSaved, unsaved } from "../state/sheet.ts"
import { Part } from "./part.tsx"

interface Kind {
  value: string
  text: string
  note: string
  save: () => Promise<void>
}

const title = () => bench.value.title ?? ""
const decoder = new TextDecoder()

async function exported(kind: "csv" | "md" | "json" | "transmissions", ending: string, type: string) {
  const bytes = await engine()?.export(kind)
  if (bytes) saveAs(fileName(title(), ending), type, decoder.decode(bytes))
}

const kinds: Kind[] = [
  { value: "html", text: "The report: one light page with figures and tables, without the engine", note: "", save: async () => {
    if (report.value) saveAs(fileName(title(), "html"), "text/html", reportPage(report.value, lanes.value, bench.value))
  } },
  { value: "bench", text: "The bench alone, to drop in again beside the logs", note: "", save: async () => {
    saveAs(fileName(title(), "bench.json"), "application/json", JSON.stringify(bench.value, null, 1) + "\n")
    markSaved()
  } },
  { value: "json", text: "Numbers, JSON: everything in the report", note: "", save: () => exported("json", "json", "application/json") },
  { value: "csv", text: "Numbers, CSV: a row a run", note: "", save: () => exported("csv", "csv", "text/csv") },
  { value: "md", text: "Markdown: sentences and tables", note: "", save: () => exported("md", "md", "text/markdown") },
  { value: "transmissions", text: "Every transmission of every unit, with the lines it stands in (JSON lines)", note: "with places", save: () => exported("transmissions", "transmissions.jsonl", "application/jsonl") },
  { value: "packets", text: "Every line of the evidence, decoded (JSON lines)", note: "with places; reads the files again", save: async () => {
    const blob = await engine()?.exportPackets()
    if (blob) saveAs(fileName(title(), "packets.jsonl"), "application/jsonl", blob)
  } },
]

export function Save() {
  const chosen = useSignal("html")
  const failed = useSignal("")
  const kind = kinds.find((k) => k.value === chosen.value) ?? kinds[0]
  const save = () => {
    failed.value = ""
    kind?.save().catch((reason: Error) => (failed.value = reason.message))
  }
  const line = unsaved.value > 0 ? `Closing this page now would lose ${many(unsaved.value, "step")}; the bench file keeps your answers.` : "Nothing here is unsaved."
  return (
    <Part id="save" name="Save and share" line={line} noPrint>
      <fieldset class="radios">
        <legend>What</legend>
        {kinds.map((k) => (
          <label key={k.value}>
            <input type="radio" name="save" value={k.value} checked={chosen.value === k.value} onChange={() => (chosen.value = k.value)} />
            <span>{k.text}{k.note && <span class="aside"> ({k.note})</span>}</span>
          </label>
        ))}
      </fieldset>
      <div class="buttons"><button class="filled" type="button" onClick={save}>{chosen.value === "html" ? "Save the report" : chosen.value === "bench" ? "Save the bench" : "Save the file"}</button></div>
      {failed.value && <p class="wrongtext" role="alert">It was not saved: {failed.value}</p>}
      <p class="note">A report names call signs and holds times and distances; the two line exports hold raw lines with places. Look at a file before you give it to others.</p>
    </Part>
  )
}
