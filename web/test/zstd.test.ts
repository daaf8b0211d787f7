// The decoder that unpacks the engine, against the encoder that packs it (zstd's own, by @foxglove/wasm-zstd).
import assert from "node:assert/strict"
import { test } from "node:test"
import zstd from "@foxglove/wasm-zstd"
import { zstdDecoder } from "../zstd.ts"

const bytes = Uint8Array.from({ length: 300_000 }, (_, i) => (i * i) >> 7)
await zstd.isLoaded
const packed = new Uint8Array(zstd.compress(bytes, 19))

test("what zstd packed comes back as it was, from two decoders", async () => {
  const [one, other] = await Promise.all([zstdDecoder(), zstdDecoder()])
  const first = one(packed)
  assert.deepEqual(other(packed), bytes)
  assert.deepEqual(first, bytes)
})

for (const [name, damaged] of [
  ["cut off", packed.subarray(0, packed.length / 2)],
  ["of another format", packed.map((b, i) => (i === 0 ? b ^ 1 : b))],
] as const) {
  test(`a frame that is ${name} is refused`, async () => {
    const decode = await zstdDecoder()
    assert.throws(() => decode(damaged), /damaged/)
  })
}
