// A copy of the page with bench and evidence inside: rebuilt from the fixed frame and the text of the page's own parts, never
// from what is on the screen. It opens anywhere and goes on working.
import type { Bench } from "../bench.gen.ts"
import { blockTexts, fold, packed, unfold, unpacked } from "../blocks.ts"
import { bytes as sized } from "../format.ts"
import { skeleton } from "../skeleton.mjs"
import { benchFrom } from "./bench-file.ts"
import { bench, files, type Entry } from "./sheet.ts"

/** The block that holds bench and evidence in a saved page. */
export const insideID = "evidence-inside"
const benchName = "bench.json"

/** Larger evidence would make a page that browsers open slowly or not at all. */
const most = 150_000_000

async function bytesOf(entry: Entry): Promise<Uint8Array<ArrayBuffer>> {
  const { source } = entry
  if (source instanceof Uint8Array) return new Uint8Array(source)
  const file = source instanceof File ? source : await source.getFile()
  return new Uint8Array(await file.arrayBuffer())
}

/** The page's text with everything on the sheet inside. */
export async function pageWithEvidence(): Promise<string> {
  const total = files.value.reduce((n, f) => n + f.size, 0)
  if (total > most) throw new Error(`the evidence is ${sized(total)}, and a page may hold ${sized(most)}; save the bench, and keep the logs beside it`)
  const inside = [{ name: benchName, bytes: new TextEncoder().encode(JSON.stringify(bench.value)) }]
  for (const entry of files.value) inside.push({ name: entry.name, bytes: await bytesOf(entry) })
  const textOf = (part: string) => document.getElementById(part)?.textContent ?? ""
  const policy = document.querySelector('meta[http-equiv="Content-Security-Policy"]')?.getAttribute("content") ?? ""
  const blocks = blockTexts().filter(([name]) => name !== insideID)
  return skeleton({ policy, css: textOf("sheet"), script: textOf("page"), blocks: [...blocks, [insideID, await packed(fold(inside))]] })
}

/** What the block of a saved page holds, checked, since anybody may have written it. */
export async function insideOf(block: string): Promise<{ bench: Bench | null; files: Omit<Entry, "id">[] }> {
  const [first, ...rest] = unfold(await unpacked(block, 2 * most))
  const files = rest.map(({ name, bytes }) => ({ name, size: bytes.length, source: bytes }))
  return { bench: first ? benchFrom(new TextDecoder().decode(first.bytes)) : null, files }
}

/** The block in the text of a saved page; nothing of the page is run. Null: it is no such page. */
export function blockInside(page: string): string | null {
  const open = `<script type="text/plain" id="${insideID}">`
  const at = page.lastIndexOf(open)
  const end = at < 0 ? -1 : page.indexOf("<", at + open.length)
  return end < 0 ? null : page.slice(at + open.length, end)
}
