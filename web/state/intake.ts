// What comes onto the sheet: dropped or chosen files and folders, pasted text, the example, a bench file, a saved page.
import { signal } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import { blockBytes, hasBlock, unfold } from "../blocks.ts"
import { fileOf, type Evidence } from "../dropped.ts"
import { many } from "../format.ts"
import { benchFrom } from "./bench-file.ts"
import { blockInside, insideID, insideOf } from "./copy.ts"
import { finished, goOn, reportFile } from "./finished.ts"
import { said } from "./selection.ts"
import { addFiles, markSaved, type Entry } from "./sheet.ts"

type Found = Omit<Entry, "id">

/** Bench files are small; a larger JSON file is evidence or nothing we know. The same for pages with evidence inside. */
const largestBench = 4_000_000
const largestPage = 300_000_000

/** Bench files and saved pages that could not be opened, and why; nothing else is lost by them. */
export const notOpened = signal<readonly string[]>([])

/** Takes files onto the sheet; a bench file among them becomes the bench, a saved page gives what it holds. */
export async function take(found: readonly Found[]) {
  let bench: Bench | undefined
  const evidence: Found[] = [], failed: string[] = []
  for (const file of found) {
    try {
      const inside = await insideFile(file)
      bench = inside?.bench ?? bench
      evidence.push(...(inside ? inside.files : [file]))
    } catch (reason) {
      failed.push(`${file.name}: ${(reason as Error).message}`)
    }
  }
  notOpened.value = failed
  if (evidence.length === 0 && !bench) return
  if (finished.value) goOn()
  addFiles(evidence, bench)
  const more = evidence.length > 0 ? `${many(evidence.length, "file")} added` : ""
  said.value = [more, bench ? "bench file opened" : ""].filter((t) => t !== "").join(", ")
}

interface Inside {
  bench: Bench | null
  files: Found[]
}

/** What a bench file or a saved page holds; null for anything else, which is evidence (a saved report too). */
async function insideFile(file: Found): Promise<Inside | null> {
  if (/\.json$/i.test(file.name) && file.size < largestBench) {
    const bench = benchFrom(await textOf(file.source))
    return bench && { bench, files: [] }
  }
  if (!/\.html?$/i.test(file.name) || file.size > largestPage) return null
  const block = blockInside(await textOf(file.source))
  if (block === null) return null
  const { bench, files, finished: report } = await insideOf(block)
  return report ? { bench: null, files: [reportFile(file.name, report)] } : { bench, files }
}

/** Opens what this page holds inside when it is a saved one. */
export async function openInside() {
  if (!(await hasBlock(insideID))) return
  try {
    const inside = await insideOf(document.getElementById(insideID)?.textContent ?? "")
    if (inside.finished) {
      finished.value = inside.finished
      return
    }
    addFiles(inside.files, inside.bench ?? undefined)
    markSaved()
  } catch (reason) {
    notOpened.value = [`This page: ${(reason as Error).message}`]
  }
}

async function textOf(source: Evidence): Promise<string> {
  if (source instanceof Uint8Array) return new TextDecoder().decode(source)
  return (await fileOf(source)).text()
}

function ofFile(file: File): Found {
  return { name: file.name, size: file.size, source: file }
}

export function takeFiles(list: FileList | null) {
  void take([...(list ?? [])].filter((f) => !f.name.startsWith(".")).map(ofFile))
}

let pasted = 0

export function takeText(text: string) {
  if (text.trim() === "") return
  const bytes = new TextEncoder().encode(text)
  void take([{ name: `pasted ${++pasted}`, size: bytes.byteLength, source: bytes }])
}

export async function exampleFiles(): Promise<{ name: string; bytes: Uint8Array<ArrayBuffer> }[]> {
  return unfold(await blockBytes("example"))
}

export async function takeExample() {
  await take((await exampleFiles()).map(({ name, bytes }) => ({ name, size: bytes.byteLength, source: bytes })))
  markSaved() // it can be had again at any time
}

/** What a drop holds. Handles are kept where the browser gives them, so that a log that grows can be read again. */
export async function takeDrop(data: DataTransfer) {
  const text = data.files.length === 0 ? data.getData("text/plain") : ""
  if (text !== "") return takeText(text)
  const plain = [...data.files]
  // The handles must be asked for at once: the drop's data is gone after the first wait.
  const asked = [...data.items].filter((item) => item.kind === "file").map((item) => handleOf(item))
  const handles = await Promise.all(asked)
  const found: Found[] = []
  for (const handle of handles) if (handle) await gather(handle, found, 0)
  await take(found.length > 0 ? found : plain.map(ofFile))
}

type Handle = FileSystemFileHandle | FileSystemDirectoryHandle

function handleOf(item: DataTransferItem): Promise<Handle | null> {
  const ask = (item as unknown as { getAsFileSystemHandle?: () => Promise<Handle | null> }).getAsFileSystemHandle
  return ask ? ask.call(item).catch(() => null) : Promise.resolve(null)
}

async function gather(handle: Handle, found: Found[], depth: number) {
  if (handle.name.startsWith(".")) return
  if (handle.kind === "file") {
    const file = await handle.getFile()
    found.push({ name: file.name, size: file.size, source: handle })
  } else if (depth < 8) {
    const inside = (handle as unknown as { values(): AsyncIterable<Handle> }).values()
    for await (const one of inside) await gather(one, found, depth + 1)
  }
}
