// Saving and sharing: the report, the page with its evidence, the bench, the numbers; and what other eyes need not see.
import { useSignal } from "@preact/signals"
import { listed, many } from "../format.ts"
import { fileName, saveAs } from "../figure/save.ts"
import type { Lane, Report } from "../report.gen.ts"
import type { Bench } from "../bench.gen.ts"
import { reportPage } from "../report-page.tsx"
import { pageWithEvidence } from "../state/copy.ts"
import { engine, lanes, report } from "../state/engine.ts"
import { mapped, Names, withoutLines } from "../state/share.ts"
import { bench, markSaved, unsaved } from "../state/sheet.ts"
import { Part } from "./part.tsx"

/** What is left out for other eyes. */
interface Discretion {
  calls: boolean
  lines: boolean
}

interface Kind {
  value: string
  text: string
  note: string
  discreet: boolean // whether the two choices apply
  save: (discretion: Discretion) => Promise<void>
}

const title = () => bench.value.title ?? ""

/** The sheet as others may see it. */
export function shared(whole: { report: Report; lanes: readonly Lane[]; bench: Bench }, { calls, lines }: Discretion): typeof whole {
  const left = lines ? { ...whole, report: withoutLines(whole.report) } : whole
  if (!calls) return left
  const names = new Names(left.report, left.bench)
  return mapped(left, (text) => names.renamed(text))
}

function sheetNow(discretion: Discretion) {
  if (!report.value) throw new Error("there is no report yet")
  return shared({ report: report.value, lanes: lanes.value, bench: bench.value }, discretion)
}

/** A text that the engine wrote, with call signs renamed where that is wanted. */
async function written(kind: "csv" | "md" | "json" | "transmissions", { calls }: Discretion): Promise<string> {
  const text = new TextDecoder().decode(await engine()?.export(kind))
  return calls && report.value ? new Names(report.value, bench.value).renamed(text) : text
}

const kinds: Kind[] = [
  { value: "html", text: "The report: one light page with figures and tables, without the engine", note: "", discreet: true, save: async (d) => {
    const now = sheetNow(d)
    saveAs(fileName(now.bench.title ?? "", "html"), "text/html", reportPage(now.report, now.lanes, now.bench))
  } },
  { value: "page", text: "This page with the evidence inside, to open and go on anywhere", note: "holds every line as received", discreet: false, save: async () => {
    saveAs(fileName(title() || "lastbeacon", "page.html"), "text/html", await pageWithEvidence())
    markSaved()
  } },
  { value: "bench", text: "The bench alone, to drop in again beside the logs", note: "", discreet: false, save: async () => {
    saveAs(fileName(title(), "bench.json"), "application/json", JSON.stringify(bench.value, null, 1) + "\n")
    markSaved()
  } },
  { value: "json", text: "Numbers, JSON: everything in the report", note: "", discreet: true, save: async (d) => {
    const text = d.calls || d.lines ? JSON.stringify(sheetNow(d).report, null, 1) + "\n" : await written("json", d)
    saveAs(fileName(title(), "json"), "application/json", text)
  } },
  { value: "csv", text: "Numbers, CSV: a row a run", note: "", discreet: true, save: async (d) => saveAs(fileName(title(), "csv"), "text/csv", await written("csv", d)) },
  { value: "md", text: "Markdown: sentences and tables", note: "", discreet: true, save: async (d) => saveAs(fileName(title(), "md"), "text/markdown", await written("md", d)) },
  { value: "transmissions", text: "Every transmission of every unit, with the lines it stands in (JSON lines)", note: "with places", discreet: false, save: async () => {
    saveAs(fileName(title(), "transmissions.jsonl"), "application/jsonl", await written("transmissions", { calls: false, lines: false }))
  } },
  { value: "packets", text: "Every line of the evidence, decoded (JSON lines)", note: "with places; reads the files again", discreet: false, save: async () => {
    const blob = await engine()?.exportPackets()
    if (blob) saveAs(fileName(title(), "packets.jsonl"), "application/jsonl", blob)
  } },
]

const verbs: Record<string, string> = { html: "Save the report", page: "Save the page", bench: "Save the bench" }

export function Save() {
  const chosen = useSignal("html"), calls = useSignal(false), lines = useSignal(false), failed = useSignal("")
  const kind = kinds.find((k) => k.value === chosen.value) ?? kinds[0]
  const save = () => {
    failed.value = ""
    kind?.save({ calls: calls.value, lines: lines.value }).catch((reason: Error) => (failed.value = reason.message))
  }
  const line = unsaved.value > 0 ? `Closing this page now would lose ${many(unsaved.value, "step")}; the bench file keeps your answers.` : "Nothing here is unsaved."
  return (
    <Part id="save" name="Save and share" line={line} noPrint>
      <div class="saving">
        <fieldset class="radios">
          <legend>What</legend>
          {kinds.map((k) => (
            <label key={k.value}>
              <input type="radio" name="save" value={k.value} checked={chosen.value === k.value} onChange={() => (chosen.value = k.value)} />
              <span>{k.text}{k.note && <span class="aside"> ({k.note})</span>}</span>
            </label>
          ))}
        </fieldset>
        <fieldset class="radios" disabled={!kind?.discreet}>
          <legend>For other eyes</legend>
          <label><input type="checkbox" checked={calls.value} onChange={() => (calls.value = !calls.value)} /><span>Call signs renamed</span></label>
          <label><input type="checkbox" checked={lines.value} onChange={() => (lines.value = !lines.value)} /><span>Without lines as received, which hold places</span></label>
          {!kind?.discreet && <p class="note">This kind holds everything as it is.</p>}
          {kind?.discreet && calls.value && <Preview />}
        </fieldset>
      </div>
      <div class="buttons"><button class="filled" type="button" onClick={save}>{verbs[chosen.value] ?? "Save the file"}</button></div>
      {failed.value && <p class="wrongtext" role="alert">It was not saved: {failed.value}</p>}
      <p class="note saved-note">A report names stations and holds times and distances, no latitude or longitude outside of lines as received. Titles, comments and remarks stay as written: look at a file before you give it away.</p>
    </Part>
  )
}

/** How the call signs will read. */
function Preview() {
  if (!report.value) return null
  const list = new Names(report.value, bench.value).list
  const some = list.slice(0, 4).map(([call, name]) => `${call} becomes ${name}`)
  return <p class="note">{listed(list.length > 4 ? [...some, `${many(list.length - 4, "other")} likewise`] : some)}.</p>
}
