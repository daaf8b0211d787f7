// A copy of the page with bench and evidence inside: rebuilt from the fixed frame and the text of the page's own parts, never
// from what is on the screen. It opens anywhere and goes on working. For other eyes it holds the finished report in place of
// the evidence.
import type { Bench } from "../bench.gen.ts"
import { shapes, type Lane, type Report } from "../report.gen.ts"
import { blockTexts, fold, packed, unfold, unpacked } from "../blocks.ts"
import { fileOf } from "../dropped.ts"
import { bytes as sized } from "../format.ts"
import { skeleton } from "../skeleton.mjs"
import { emptyReport } from "../view.ts"
import { benchFrom } from "./bench-file.ts"
import { Shaper } from "./shape.ts"
import { bench, files, type Entry } from "./sheet.ts"

/** The block that holds bench and evidence in a saved page. */
export const insideID = "evidence-inside"
const benchName = "bench.json"
/** What stands first in a copy without evidence. A file of evidence never does: the bench does. */
const finishedName = "finished.json"

/** A report with what its figures draw and the bench it was made under; left says what is not in it. */
export interface Finished {
  report: Report
  lanes: readonly Lane[]
  bench: Bench
  left: readonly string[]
}

/** Larger evidence would make a page that browsers open slowly or not at all. */
const most = 150_000_000

async function bytesOf(entry: Entry): Promise<Uint8Array<ArrayBuffer>> {
  const { source } = entry
  if (source instanceof Uint8Array) return new Uint8Array(source)
  return new Uint8Array(await (await fileOf(source)).arrayBuffer())
}

/** The page's text with everything on the sheet inside. */
export async function pageWithEvidence(): Promise<string> {
  const total = files.value.reduce((n, f) => n + f.size, 0)
  if (total > most) throw new Error(`the evidence is ${sized(total)}, and a page may hold ${sized(most)}; save the bench, and keep the logs beside it`)
  const inside = [{ name: benchName, bytes: bytesOfJSON(bench.value) }]
  for (const entry of files.value) inside.push({ name: entry.name, bytes: await bytesOf(entry) })
  return pageWith(inside)
}

/** The page's text with a finished report inside and no evidence. */
export function pageWithReport(finished: Finished): Promise<string> {
  return pageWith([{ name: finishedName, bytes: bytesOfJSON(finished) }])
}

function bytesOfJSON(value: unknown): Uint8Array<ArrayBuffer> {
  return new TextEncoder().encode(JSON.stringify(value))
}

async function pageWith(inside: readonly { name: string; bytes: Uint8Array<ArrayBuffer> }[]): Promise<string> {
  const textOf = (part: string) => document.getElementById(part)?.textContent ?? ""
  const policy = document.querySelector('meta[http-equiv="Content-Security-Policy"]')?.getAttribute("content") ?? ""
  const blocks = blockTexts().filter(([name]) => name !== insideID)
  return skeleton({ policy, css: textOf("sheet"), script: textOf("page"), blocks: [...blocks, [insideID, await packed(fold(inside))]] })
}

interface Inside {
  bench: Bench | null
  files: Omit<Entry, "id">[]
  finished: Finished | null
}

/** What the block of a saved page holds, checked, since anybody may have written it. */
export async function insideOf(block: string): Promise<Inside> {
  const [first, ...rest] = unfold(await unpacked(block, 2 * most))
  if (first?.name === finishedName) return { bench: null, files: [], finished: finishedFrom(new TextDecoder().decode(first.bytes)) }
  const files = rest.map(({ name, bytes }) => ({ name, size: bytes.length, source: bytes }))
  return { bench: first ? benchFrom(new TextDecoder().decode(first.bytes)) : null, files, finished: null }
}

/** No finished report holds as many objects, of which the figures draw most; a file made to hurt may. */
const mostObjects = 500_000

/** A finished report, as the schema knows it; the engine checks what its runs mean when they are taken over. */
function finishedFrom(text: string): Finished {
  const { report, lanes, bench, left } = (JSON.parse(text) ?? {}) as Partial<Finished>
  const known = benchFrom(JSON.stringify(bench))
  if (!known || report?.schema !== emptyReport.schema) throw new Error("what is inside it is no finished report")
  const shaper = new Shaper(shapes, "the report", mostObjects)
  return {
    report: shaper.of({ ...emptyReport, ...report }, "Report", "") as Report, lanes: shaper.of(lanes, "Lane[]", "lanes") as Lane[], bench: known,
    left: shaper.of(left, "string[]", "left") as string[],
  }
}

/** The block in the text of a saved page; nothing of the page is run. Null: it is no such page. */
export function blockInside(page: string): string | null {
  const open = `<script type="text/plain" id="${insideID}">`
  const at = page.lastIndexOf(open)
  const end = at < 0 ? -1 : page.indexOf("<", at + open.length)
  return end < 0 ? null : page.slice(at + open.length, end)
}
