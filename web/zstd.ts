// Undoes zstd (RFC 8878), which no browser does by itself. The decoder is WebAssembly: the engine is unpacked once and cold, when a
// decoder in JavaScript would still be run without having been compiled.
import { wasm } from "zstddec"

declare module "zstddec" {
  /** The decoder, WebAssembly in base64; bare-decoder.mjs has the package give it away. */
  export const wasm: string
}

interface Decoder {
  memory: WebAssembly.Memory
  malloc(size: number): number
  ZSTD_findDecompressedSize(at: number, size: number): bigint
  ZSTD_decompress(to: number, room: number, at: number, size: number): number
}

/** Starts a decoder. What it unpacks is a view into its memory, which never shrinks and is freed with the last of decoder and views. */
export async function zstdDecoder(): Promise<(packed: Uint8Array) => Uint8Array<ArrayBuffer>> {
  const module = await WebAssembly.compile(Uint8Array.from(atob(wasm), (c) => c.charCodeAt(0)))
  const { exports } = await WebAssembly.instantiate(module, { env: { emscripten_notify_memory_growth() {} } })
  const decoder = exports as unknown as Decoder
  return (packed) => unpacked(decoder, packed)
}

/** What a frame that states its size holds. */
function unpacked(decoder: Decoder, packed: Uint8Array): Uint8Array<ArrayBuffer> {
  const from = decoder.malloc(packed.length)
  new Uint8Array(decoder.memory.buffer).set(packed, from)
  const size = Number(decoder.ZSTD_findDecompressedSize(from, packed.length))
  const to = decoder.malloc(size)
  if (decoder.ZSTD_decompress(to, size, from, packed.length) !== size) throw new Error("the packed bytes are damaged")
  return new Uint8Array(decoder.memory.buffer as ArrayBuffer, to, size)
}
