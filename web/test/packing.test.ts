// Bytes as text in the page: what goes in comes out, and nothing stands in the text that a parser of HTML would change.
import assert from "node:assert/strict"
import { test } from "node:test"
import { bytesOf, textOf } from "../packing.mjs"

const samples: [string, Uint8Array][] = [
  ["nothing", new Uint8Array()],
  ["all values", Uint8Array.from({ length: 256 }, (_, i) => i)],
  ["zeros", new Uint8Array(50)],
  ["ends with a barred character", Uint8Array.of(0x1a, 0x34)],
  ...Array.from({ length: 300 }, (_, n): [string, Uint8Array] => [`${n} odd bytes`, Uint8Array.from({ length: n }, (_, i) => (i * i * 31 + n * 7) >> 2)]),
]

test("bytes come back as they were, whatever their number", () => {
  for (const [name, bytes] of samples) assert.deepEqual(bytesOf(textOf(bytes)), bytes, name)
})

test("the text survives a parser of HTML and an encoder of UTF-8", () => {
  for (const [name, bytes] of samples) {
    const text = textOf(bytes)
    assert.doesNotMatch(text, /[\0\r<]/, name)
    assert.equal(new TextDecoder("utf-8", { fatal: true }).decode(new TextEncoder().encode(text)), text, name)
  }
})

test("the text costs a seventh", () => {
  const bytes = Uint8Array.from({ length: 70_000 }, (_, i) => Math.imul(i, 2654435761) >>> 13)
  assert.ok(new TextEncoder().encode(textOf(bytes)).length < 1.145 * bytes.length)
})
