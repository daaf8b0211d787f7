// The large blocks of the page: worker, engine and example lie in it as text that the policy's hashes do not cover. Each is
// compared with the digest that the hashed page script carries before anything is made of it.
import { bytesOf, textOf } from "./packing.mjs"

/** A block is not what this page was built with. */
export class BlockFault extends Error {
  override name = "BlockFault"
}

/** The text of a block, checked. Waits until the whole file has been read by the browser. */
export async function blockText(id: string): Promise<string> {
  await wholePage()
  const text = document.getElementById(id)?.textContent ?? ""
  const want = BLOCK_DIGESTS[id]
  // Without a secure context there is no digest; whoever could change the block could then change this script as well.
  if (crypto.subtle && want !== (await digest(text))) {
    throw new BlockFault(`the part "${id}" of this file is not as it was built; the file may be cut short or changed`)
  }
  return text
}

/** A block of gzip, unpacked. */
export async function blockBytes(id: string): Promise<Uint8Array<ArrayBuffer>> {
  return unpacked(await blockText(id))
}

/** The blocks of this page as they lie in it, in order. */
export function blockTexts(): [string, string][] {
  return [...document.querySelectorAll('script[type="text/plain"]')].map((b) => [b.id, b.textContent ?? ""])
}

/** Whether the page carries a block. */
export async function hasBlock(id: string): Promise<boolean> {
  await wholePage()
  return document.getElementById(id) !== null
}

/** Bytes as gzip in text, as the blocks hold them. */
export async function packed(bytes: Uint8Array<ArrayBuffer>): Promise<string> {
  const stream = new Blob([bytes]).stream().pipeThrough(new CompressionStream("gzip"))
  return textOf(new Uint8Array(await new Response(stream).arrayBuffer()))
}

/** Gzip in text, unpacked; at most so many bytes. */
export async function unpacked(text: string, most = Infinity): Promise<Uint8Array<ArrayBuffer>> {
  let size = 0
  const limit = new TransformStream<Uint8Array, Uint8Array>({
    transform(chunk, out) {
      size += chunk.byteLength
      if (size > most) out.error()
      else out.enqueue(chunk)
    },
  })
  const stream = new Blob([bytesOf(text)]).stream().pipeThrough(new DecompressionStream("gzip")).pipeThrough(limit)
  try {
    return new Uint8Array(await new Response(stream).arrayBuffer())
  } catch {
    // The browser says of any broken stream that it failed to fetch, which nothing here does.
    throw size > most ? new Error("it unpacks to more than a page may hold") : damaged()
  }
}

/** Starts a worker from its block. */
export function workerFrom(text: string): Worker {
  const url = URL.createObjectURL(new Blob([text], { type: "text/javascript" }))
  const worker = new Worker(url)
  URL.revokeObjectURL(url)
  return worker
}

/** SHA-256 of a text as hex. */
export async function digest(text: string): Promise<string> {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)))
  return Array.from(sum, (b) => b.toString(16).padStart(2, "0")).join("")
}

function wholePage(): Promise<void> {
  if (document.readyState !== "loading") return Promise.resolve()
  return new Promise((done) => document.addEventListener("DOMContentLoaded", () => done(), { once: true }))
}

/** What unfold takes apart again. */
export function fold(files: readonly { name: string; bytes: Uint8Array<ArrayBuffer> }[]): Uint8Array<ArrayBuffer> {
  const head = new TextEncoder().encode(JSON.stringify(files.map(({ name, bytes }) => ({ name, size: bytes.length }))) + "\n")
  const all = new Uint8Array(head.length + files.reduce((n, f) => n + f.bytes.length, 0))
  all.set(head)
  let at = head.length
  for (const { bytes } of files) {
    all.set(bytes, at)
    at += bytes.length
  }
  return all
}

/** Files folded into one block: a line of JSON with names and sizes, then their bytes one after the other. */
export function unfold(bytes: Uint8Array<ArrayBuffer>): { name: string; bytes: Uint8Array<ArrayBuffer> }[] {
  let at = bytes.indexOf(10) + 1
  return sizesIn(new TextDecoder().decode(bytes.subarray(0, at))).map(({ name, size }) => {
    if (at + size > bytes.length) throw damaged()
    return { name, bytes: bytes.slice(at, (at += size)) }
  })
}

function sizesIn(line: string): { name: string; size: number }[] {
  const list: unknown = JSON.parse(line || "null")
  if (!Array.isArray(list)) throw damaged()
  return list.map((entry: unknown) => {
    const { name, size } = (entry ?? {}) as { name?: unknown; size?: unknown }
    if (typeof name !== "string" || typeof size !== "number" || !Number.isSafeInteger(size) || size < 0) throw damaged()
    return { name, size }
  })
}

function damaged(): Error {
  return new Error("what is inside it is damaged")
}
