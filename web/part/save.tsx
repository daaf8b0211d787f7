// Saving and sharing: the report, the page with its evidence, the bench, the numbers; and what other eyes need not see.
import { useSignal } from "@preact/signals"
import { count, listed, many } from "../format.ts"
import { fileName, saveAs } from "../figure/save.ts"
import { sheetStyle } from "../figure/style.ts"
import { withDecimalComma } from "../figure/table.ts"
import type { ExportKind } from "../client.ts"
import { reportPage } from "../report-page.tsx"
import { pageWithEvidence, pageWithReport } from "../state/copy.ts"
import { analysing, engine, lanes, reading, refusal, report, settled } from "../state/engine.ts"
import { settings } from "../state/settings.ts"
import { rowsForOthers } from "../state/rows.ts"
import { discreet, discretion, forOthers, Names, nothingLeftOut, shared, withoutText, type Discretion, type Whole } from "../state/share.ts"
import { bench, files, markSaved, unsaved } from "../state/sheet.ts"
import { Choice, type Option } from "./field.tsx"
import { Part } from "./part.tsx"

interface Kind {
  value: string
  text: string
  note?: string
  ending: string
  type: string
  holds: (discretion: Discretion) => string // what stays in it, or what there is nothing of
  discreet: (keyof Discretion)[] // what can be left out
  keeps?: boolean // whether it keeps the reader's answers, as long as nothing is left out
  content: (discretion: Discretion) => Promise<BlobPart>
  preview?: (discretion: Discretion) => Promise<string> // of a file that is no text to read
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

/** An export of an object a line, without what is left out of it. */
function rows(exported: Blob, d: Discretion): Promise<Blob> | Blob {
  return discreet(d) ? rowsForOthers(exported, d, d.calls && report.value ? new Names(report.value, bench.value) : null) : exported
}

function reportNow(d: Discretion): string {
  const now = sheetNow(d)
  return reportPage(now.report, now.lanes, now.bench, sheetStyle(), settings.value.measure)
}

const leftOut = {
  calls: "call signs are renamed", lines: "nothing that packets say stands in it",
  metres: "places stand as metres from the first one of each run only", none: "places and ways are left out",
}

/** What a copy without evidence says of itself. */
function left(d: Discretion): string[] {
  return [d.calls ? leftOut.calls : "", withoutText(d) ? leftOut.lines : "", d.places === "none" ? leftOut.none : d.places === "metres" ? leftOut.metres : ""].filter((t) => t !== "")
}

const benchText = (d: Discretion) => JSON.stringify(discreet(d) ? sheetNow(d).bench : bench.value, null, 1) + "\n"

const noLines = "No line as received and no drawn way stands in this kind."

const kinds: Kind[] = [
  { value: "html", text: "The report: one light page with figures and tables, without the engine", ending: "html", type: "text/html", holds: () => "", discreet: ["calls", "lines", "places"], content: async (d) => reportNow(d) },
  { value: "page", text: "This page with the evidence inside, to open and go on anywhere", note: "holds every line as received, unless something is left out", ending: "page.html", type: "text/html", discreet: ["calls", "lines", "places"],
    holds: (d) => (discreet(d) ? "With something left out, the copy holds the finished report in place of the evidence: it says so, opens no packets, and its runs can join a sheet as finished ones." : "The copy holds every line as received, with its call signs and places."),
    keeps: true, content: (d) => (discreet(d) ? pageWithReport({ ...sheetNow(d), left: left(d) }) : pageWithEvidence()),
    preview: async (d) => (discreet(d) ? `A copy without its evidence: ${listed(left(d))}.\n\n${asRead(reportNow(d))}` : `Bench, and as they were dropped: ${listed(files.value.map((f) => f.name))}.\n\n${benchText(d)}`) },
  { value: "bench", text: "The bench alone, to drop in again beside the logs", ending: "bench.json", type: "application/json", discreet: ["calls", "lines"],
    holds: (d) => (discreet(d) ? "With something left out, its rules fit these logs no more." : "The bench holds what you noted: call signs in rules and names too, but no packet and no place of one."), keeps: true, content: async (d) => benchText(d) },
  { value: "json", text: "Numbers, JSON: everything in the report", ending: "json", type: "application/json", holds: () => "No drawn way stands in this kind.", discreet: ["calls", "lines"],
    content: async (d) => (discreet(d) ? JSON.stringify(sheetNow(d).report, null, 1) + "\n" : written("json", d)) },
  { value: "csv", text: "Numbers, CSV: a row a run", ending: "csv", type: "text/csv", holds: () => noLines, discreet: ["calls"], content: async (d) => {
    const text = await written("csv", d)
    return settings.value.decimal === "comma" ? withDecimalComma(text) : text
  } },
  { value: "md", text: "Markdown: sentences and tables", ending: "md", type: "text/markdown", holds: () => noLines, discreet: ["calls"], content: (d) => written("md", d) },
  { value: "transmissions", text: "Every transmission of every unit, with the lines it stands in (JSON lines)", note: "with places", ending: "transmissions.jsonl", type: "application/jsonl", discreet: ["calls", "places"],
    holds: ({ places }) => (places === "kept" ? "Each transmission keeps its place." : ""), content: async (d) => rows(new Blob([await written("transmissions", nothingLeftOut)]), d) },
  { value: "packets", text: "Every line of the evidence, decoded (JSON lines)", note: "with places; reads the files again", ending: "packets.jsonl", type: "application/jsonl", discreet: ["calls", "lines", "places"],
    holds: (d) => (withoutText(d) ? "Kinds, times, speeds and counts stay; words, paths and destinations go with the lines." : "Each packet keeps its place and its words."),
    content: async (d) => { const exported = await engine()?.exportPackets(); return exported ? rows(exported, d) : "" } },
]

/** What of the reader's wishes a kind can follow. Places that are left out take the lines with them, which may hold them. */
function within(kind: Kind | undefined, d: Discretion): Discretion {
  const can = (what: keyof Discretion) => kind?.discreet.includes(what) ?? false
  return { calls: d.calls && can("calls"), lines: can("lines") && withoutText(d), places: can("places") ? d.places : "kept" }
}

const verbs: Record<string, string> = { html: "Save the report", page: "Save the page", bench: "Save the bench" }

/** Saves once everything is worked out. Of a sheet that the engine refused there is no report, but what keeps the answers can be saved. */
async function saveNow(kind: Kind) {
  await settled()
  const d = within(kind, discretion.value)
  if (refusal.value !== "" && !(kind.keeps && !discreet(d))) throw new Error(`the engine refused this sheet (${refusal.value}), so that there is no report of it`)
  saveAs(fileName(discreetly(bench.value.title ?? "", d), kind.ending), kind.type, await kind.content(d))
  if (kind.keeps && !discreet(d)) markSaved()
}

export function Save() {
  const chosen = useSignal("html"), failed = useSignal(""), waits = useSignal(false)
  const kind = kinds.find((k) => k.value === chosen.value) ?? kinds[0]!
  const save = () => {
    failed.value = ""
    waits.value = reading.value || analysing.value
    void saveNow(kind).catch((reason: Error) => (failed.value = reason.message)).then(() => (waits.value = false))
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
      {waits.value && <p class="note" role="status">It is saved once everything has been read and worked out.</p>}
      {failed.value && <p class="wrongtext" role="alert">It was not saved: {failed.value}</p>}
      <Preview key={kind.value} kind={kind} />
      <p class="note saved-note">A report names stations and holds times and distances, no latitude or longitude outside of lines as received; a way is drawn in metres from its first spot. Titles, names of units, files and runs, and remarks stay as written but for call signs: look at a file before you give it away.</p>
    </Part>
  )
}

const places: Option[] = [
  { value: "kept", text: "as they stand" }, { value: "metres", text: "as metres from the first one only" }, { value: "none", text: "left out" },
]

function ForOtherEyes({ kind }: { kind: Kind }) {
  const wanted = discretion.value, now = within(kind, wanted)
  const set = (change: Partial<Discretion>) => (discretion.value = { ...wanted, ...change })
  const box = (what: "calls" | "lines", text: string, disabled: boolean) => (
    <label class={disabled ? "aside" : ""}>
      <input type="checkbox" disabled={disabled} checked={now[what]} aria-describedby="kind-holds" onChange={() => set({ [what]: !wanted[what] })} /><span>{text}</span>
    </label>
  )
  return (
    <fieldset class="radios">
      <legend>For other eyes</legend>
      {box("calls", "Call signs renamed, in saved figures too", !kind.discreet.includes("calls"))}
      {box("lines", "Without lines, comments and destinations as received, which may hold places", !kind.discreet.includes("lines") || wanted.places !== "kept")}
      <p class={kind.discreet.includes("places") ? "places" : "places aside"}>Places <Choice label="Places" value={now.places} options={places} disabled={!kind.discreet.includes("places")} onChange={(v) => set({ places: v as Discretion["places"] })} /></p>
      <p class="note" id="kind-holds">{kind.holds(now)}</p>
    </fieldset>
  )
}

/** How much of a file is shown before it is saved, characters. */
const most = 20_000

/** What the file will say, and how call signs will read, before anything is given away. */
function Preview({ kind }: { kind: Kind }) {
  const seen = useSignal<string | null>(null)
  const d = within(kind, discretion.value)
  const show = () => void previewOf(kind, d).then((text) => (seen.value = text), (reason: Error) => (seen.value = reason.message))
  const names = d.calls && report.value ? new Names(report.value, bench.value).list : []
  return (
    <details class="fold" key={JSON.stringify(d)} onToggle={(e) => e.currentTarget.open && show()}>
      <summary>Look at it first</summary>
      {names.length > 0 && <p class="note">{names.slice(0, 40).map(([call, name]) => `${call} becomes ${name}`).join(", ")}{names.length > 40 && `, and ${count(names.length - 40)} more`}.</p>}
      {seen.value !== null && <pre class="rawlines preview" tabIndex={0} role="region" aria-label="What the file will say">{seen.value.slice(0, most)}</pre>}
      {seen.value !== null && seen.value.length > most && <p class="note">The first {count(most)} characters of it.</p>}
    </details>
  )
}

async function previewOf(kind: Kind, d: Discretion): Promise<string> {
  if (kind.preview) return kind.preview(d)
  const content = await kind.content(d)
  return asRead(content instanceof Blob ? await content.slice(0, 4 * most).text() : String(content))
}

/** A file's text as people read it: of a page its words, without marks. */
function asRead(text: string): string {
  if (!text.startsWith("<!doctype html>")) return text
  const page = new DOMParser().parseFromString(text.replace(/<svg[^]*?<\/svg>/g, " ").replace(/<\/(?:p|h\d|li|tr|summary)>/g, "\n$&").replace(/<\/t[dh]>/g, "\t$&"), "text/html")
  return (page.body.textContent ?? "").replace(/\n\s*\n+/g, "\n")
}
