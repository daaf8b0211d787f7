// What the page may weigh, part by part and together, in bytes as they lie in the file. A failure names what grew; who lets a
// part grow raises its figure here, and finds the bytes elsewhere when the whole is full. `make size` tells more.
import assert from "node:assert/strict"
import { test } from "node:test"
import { pageSize, partSizes } from "./weight.mjs"

const whole = 2_400_000
const budget = { engine: 1_868_000, page: 263_500, example: 79_300, sheet: 20_000, worker: 113_000, licences: 6_500 }

test("no part of the page weighs more than its share", () => {
  const grown = Object.entries(partSizes())
    .filter(([name, bytes]) => bytes > (budget[name] ?? 0))
    .map(([name, bytes]) => `${name} weighs ${bytes} bytes and may weigh ${budget[name] ?? 0}`)
  assert.deepEqual(grown, [])
})

test("the page as a whole keeps within its size", () => {
  assert.ok(pageSize() <= whole, `${pageSize()} bytes of ${whole}: ${JSON.stringify(partSizes())}`)
})

test("the shares leave the frame of the page its room", () => {
  const shares = Object.values(budget).reduce((sum, bytes) => sum + bytes, 0)
  assert.ok(shares <= whole - 1_200, `the shares come to ${shares} bytes`)
})
