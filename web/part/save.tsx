// Saving and sharing: the report, the page with its evidence, the bench, the numbers; and what other eyes need not see.
import { useSignal } from "@preact/signals"
import { count, many } from "../format.ts"
import { fileName, saveAs } from "../figure/save.ts"
import { withDecimalComma } from "../figure/table.ts"
import type { ExportKind } from "../client.ts"
import { reportPage } from "../report-page.tsx"
import { pageWithEvidence } from "../state/copy.ts"
import { engine, lanes, report } from "../state/engine.ts"
import { settings } from "../state/settings.ts"
import { discretion, forOthers, Names, shared, type Discretion, type Whole } from "../state/share.ts"
import { bench, markSaved, unsaved } from "../state/sheet.ts"
import { Part } from "./part.tsx"

interface Kind {
  value: string
  text: string
  note?: string
  ending: string
  type: string
  holds: string // what nothing can be left out of, or what there is nothing of
  discreet?: (keyof Discretion)[] // what can be left out
  keeps?: boolean // whether it keeps the reader's answers
  content: (discretion: Discretion) => Promise<BlobPart>
}

function sheetNow(discretion: Discretion): Whole {
  if (!report.value) throw new Error("there is no report yet")
  return shared({ report: report.value, lanes: lanes.value, bench: bench.value }, discretion)
}

/** A text that the engine wrote. It holds no line as received and no way; call signs are renamed where that is wanted. */
async function written(kind: ExportKind, discretion: Discretion): Promise<string> {
  return discreetly(new TextDecoder().decode(await engine()?.export(kind)), discretion)
}

function discreetly(text: string, discretion: Discretion): string {
  return report.value ? forOthers(text, { report: report.value, bench: bench.value }, discretion) : text
}

const noLines = "No line as received and no drawn way stands in this kind."

const kinds: Kind[] = [
  { value: "html", text: "The report: one light page with figures and tables, without the engine", ending: "html", type: "text/html", holds: "", discreet: ["calls", "lines", "ways"], content: async (d) => {
    const now = sheetNow(d)
    return reportPage(now.report, now.lanes, now.bench, settings.value.measure)
  } },
  { value: "page", text: "This page with the evidence inside, to open and go on anywhere", note: "holds every line as received", ending: "page.html", type: "text/html", holds: "The copy holds every line as received, with its call signs and places.", keeps: true, content: pageWithEvidence },
  { value: "bench", text: "The bench alone, to drop in again beside the logs", ending: "bench.json", type: "application/json", holds: "The bench holds what you noted: call signs in rules and names too, but no packet and no place of one.", keeps: true, content: async () => JSON.stringify(bench.value, null, 1) + "\n" },
  { value: "json", text: "Numbers, JSON: everything in the report", ending: "json", type: "application/json", holds: "No drawn way stands in this kind.", discreet: ["calls", "lines"],
    content: async (d) => (d.calls || d.lines ? JSON.stringify(sheetNow(d).report, null, 1) + "\n" : written("json", d)) },
  { value: "csv", text: "Numbers, CSV: a row a run", ending: "csv", type: "text/csv", holds: noLines, discreet: ["calls"], content: async (d) => {
    const text = await written("csv", d)
    return settings.value.decimal === "comma" ? withDecimalComma(text) : text
  } },
  { value: "md", text: "Markdown: sentences and tables", ending: "md", type: "text/markdown", holds: noLines, discreet: ["calls"], content: (d) => written("md", d) },
  { value: "transmissions", text: "Every transmission of every unit, with the lines it stands in (JSON lines)", note: "with places", ending: "transmissions.jsonl", type: "application/jsonl", holds: "Each transmission keeps its place and its unit\u2019s name, which may be a call sign.", content: () => written("transmissions", { calls: false, lines: false, ways: false }) },
  { value: "packets", text: "Every line of the evidence, decoded (JSON lines)", note: "with places; reads the files again", ending: "packets.jsonl", type: "application/jsonl", holds: "Each packet keeps its call signs, its place and its words.", content: async () => (await engine()?.exportPackets()) ?? "" },
]

const verbs: Record<string, string> = { html: "Save the report", page: "Save the page", bench: "Save the bench" }

async function saveNow(kind: Kind) {
  const d = discretion.value
  const title = bench.value.title ?? ""
  const name = kind.discreet ? discreetly(title, d) : title
  saveAs(fileName(name, kind.ending), kind.type, await kind.content(d))
  if (kind.keeps) markSaved()
}

export function Save() {
  const chosen = useSignal("html"), failed = useSignal("")
  const kind = kinds.find((k) => k.value === chosen.value)
  const save = () => {
    failed.value = ""
    if (kind) saveNow(kind).catch((reason: Error) => (failed.value = reason.message))
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
        <ForOtherEyes kind={kind} />
      </div>
      <div class="buttons"><button class="filled" type="button" onClick={save}>{verbs[chosen.value] ?? "Save the file"}</button></div>
      {failed.value && <p class="wrongtext" role="alert">It was not saved: {failed.value}</p>}
      {kind?.discreet && <Preview key={kind.value} kind={kind} />}
      <p class="note saved-note">A report names stations and holds times and distances, no latitude or longitude outside of lines as received; a way is drawn in metres from its first spot. Titles, names of units and files, your rules and remarks stay as written: look at a file before you give it away.</p>
    </Part>
  )
}

const choices: [keyof Discretion, string][] = [
  ["calls", "Call signs renamed, in saved figures too"], ["lines", "Without lines, comments and destinations as received, which may hold places"], ["ways", "Without the drawn ways"],
]

function ForOtherEyes({ kind }: { kind: Kind | undefined }) {
  return (
    <fieldset class="radios">
      <legend>For other eyes</legend>
      {choices.map(([what, text]) => {
        const can = kind?.discreet?.includes(what) ?? false
        return (
          <label key={what} class={can ? "" : "aside"}>
            <input type="checkbox" disabled={!can} checked={can && discretion.value[what]} aria-describedby="kind-holds" onChange={() => (discretion.value = { ...discretion.value, [what]: !discretion.value[what] })} /><span>{text}</span>
          </label>
        )
      })}
      <p class="note" id="kind-holds">{kind?.holds}</p>
    </fieldset>
  )
}

/** How much of a file is shown before it is saved, characters. */
const most = 20_000

/** What the file will say, and how call signs will read, before anything is given away. */
function Preview({ kind }: { kind: Kind }) {
  const seen = useSignal<string | null>(null)
  const d = discretion.value
  const show = () => void kind.content(d).then((content) => (seen.value = asRead(String(content))), (reason: Error) => (seen.value = reason.message))
  const names = d.calls && report.value ? new Names(report.value, bench.value).list : []
  return (
    <details class="fold" key={JSON.stringify(d)} onToggle={(e) => e.currentTarget.open && show()}>
      <summary>Look at it first</summary>
      {names.length > 0 && <p class="note">{names.map(([call, name]) => `${call} becomes ${name}`).join(", ")}.</p>}
      {seen.value !== null && <pre class="rawlines preview" tabIndex={0} role="region" aria-label="What the file will say">{seen.value.slice(0, most)}</pre>}
      {seen.value !== null && seen.value.length > most && <p class="note">The first {count(most)} of {count(seen.value.length)} characters.</p>}
    </details>
  )
}

/** A file's text as people read it: of a page its words, without marks. */
function asRead(text: string): string {
  if (!text.startsWith("<!doctype html>")) return text
  const page = new DOMParser().parseFromString(text.replace(/<svg[^]*?<\/svg>/g, " ").replace(/<\/(?:p|h\d|li|tr|summary)>/g, "\n$&").replace(/<\/t[dh]>/g, "\t$&"), "text/html")
  return (page.body.textContent ?? "").replace(/\n\s*\n+/g, "\n")
}
