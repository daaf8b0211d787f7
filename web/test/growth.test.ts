// A log that grows: it is seen by its length, through the handle that a drop gave.
import assert from "node:assert/strict"
import { test } from "node:test"
import { readings } from "../state/engine.ts"
import { grown, look, renewed } from "../state/growth.ts"
import { addFiles, files } from "../state/sheet.ts"

test("a kept file that became longer is seen, one that did not is left alone", async () => {
  let length = 100
  const handle = (size: () => number) => ({ getFile: () => Promise.resolve({ size: size() }) }) as unknown as FileSystemFileHandle
  addFiles([{ name: "growing.log", size: 100, source: handle(() => length) }, { name: "still.log", size: 100, source: handle(() => 100) }, { name: "bytes", size: 3, source: new Uint8Array(3) }])
  const [growing, still] = files.value
  readings.value = new Map(files.value.map((f) => [f.id, { stage: "done", progress: null, message: "" }]))
  await look()
  assert.equal(grown.value.size, 0)
  length = 150
  await look()
  assert.ok(grown.value.has(growing?.id ?? -1) && !grown.value.has(still?.id ?? -1))
  const seen = grown.value
  await new Promise((rested) => setTimeout(rested, 50)) // after a reading, files are left alone for a while
  length = 20 // begun anew: what was read stays, however long the new log becomes
  await look()
  length = 1000
  await look()
  assert.equal(grown.value, seen)
  assert.deepEqual([...renewed.value], [growing?.id])
})

test("a file that cannot be looked at any more is left alone", async () => {
  addFiles([{ name: "gone.log", size: 1, source: { getFile: () => Promise.reject(new Error("gone")) } as unknown as FileSystemFileHandle }])
  const id = files.value.at(-1)?.id ?? -1
  readings.value = new Map(readings.value).set(id, { stage: "done", progress: null, message: "" })
  await look()
  assert.ok(!grown.value.has(id))
})
