// Bytes as text in the page: what goes in comes out, and nothing stands in the text that a parser of HTML would change.
import assert from "node:assert/strict"
import { test } from "node:test"
import { bytesOf, textOf } from "../packing.mjs"

const samples: [string, Uint8Array][] = [
  ["nothing", new Uint8Array()],
  ["all values", Uint8Array.from({ length: 256 }, (_, i) => i)],
  ["zeros", new Uint8Array(50)],
  ...[0, 13, 60, 127].flatMap((barred): [string, Uint8Array][] => [
    [`ends with ${barred}`, Uint8Array.of(barred << 1, barred << 2, barred << 3, barred << 4, barred << 5, barred << 6, barred << 7, barred)],
    [`full of ${barred}`, Uint8Array.from({ length: 77 }, (_, i) => (barred << (1 + (i % 7))) | (barred >> (6 - (i % 7))))],
  ]),
  ...Array.from({ length: 300 }, (_, n): [string, Uint8Array] => [`${n} odd bytes`, Uint8Array.from({ length: n }, (_, i) => (i * i * 31 + n * 7) >> 2)]),
]

test("bytes come back as they were, whatever their number", () => {
  for (const [name, bytes] of samples) assert.deepEqual(bytesOf(textOf(bytes)), bytes, name)
})

test("the text is ASCII and survives a parser of HTML", () => {
  for (const [name, bytes] of samples) {
    const text = textOf(bytes)
    assert.match(text, /^[\x01-\x7f]*$/, name)
    assert.doesNotMatch(text, /[\r<]/, name)
  }
})

test("the text costs little more than a seventh", () => {
  const bytes = Uint8Array.from({ length: 70_000 }, (_, i) => Math.imul(i, 2654435761) >>> 13)
  assert.ok(new TextEncoder().encode(textOf(bytes)).length < 1.16 * bytes.length)
})

test("text of an earlier page, which held characters of two bytes, is refused", () => {
  assert.throws(() => bytesOf("ab\u0080c"), /saved by an earlier page/)
})
