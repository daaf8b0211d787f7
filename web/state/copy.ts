// A copy of the page with bench and evidence inside: rebuilt from the fixed frame and the text of the page's own parts, never
// from what is on the screen. It opens anywhere and goes on working.
import { blockTexts, fold, hasBlock, packed, unfold, unpacked } from "../blocks.ts"
import { bytes as sized } from "../format.ts"
import { skeleton } from "../skeleton.mjs"
import { benchFrom } from "./edits.ts"
import { addFiles, bench, files, markSaved, type Entry } from "./sheet.ts"

const id = "evidence-inside"
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
  const blocks = blockTexts().filter(([name]) => name !== id)
  return skeleton({ policy, css: textOf("sheet"), script: textOf("page"), blocks: [...blocks, [id, await packed(fold(inside))]] })
}

/** Opens what a saved page holds inside; nothing when it is a page as built. */
export async function openInside() {
  if (!(await hasBlock(id))) return
  const [first, ...rest] = unfold(await unpacked(document.getElementById(id)?.textContent ?? ""))
  const found = rest.map(({ name, bytes }) => ({ name, size: bytes.length, source: bytes }))
  addFiles(found, (first && benchFrom(new TextDecoder().decode(first.bytes))) ?? undefined)
  markSaved()
}
