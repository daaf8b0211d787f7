// The engine as it is packed against the one that Go's linker wrote: the trace of a fault names the same functions, without lines.
import assert from "node:assert/strict"
import { execFileSync } from "node:child_process"
import { readFileSync } from "node:fs"
import { join } from "node:path"
import { test } from "node:test"
import { fileURLToPath } from "node:url"
import { lean } from "../segments.mjs"

const root = execFileSync("go", ["env", "GOROOT"], { encoding: "utf8" }).trim()
await import(join(root, "lib", "wasm", "wasm_exec.js"))
const module = readFileSync(fileURLToPath(new URL("../../dist/engine.wasm", import.meta.url)))

/** What an engine says of a call that breaks it: a request shorter than nothing. */
async function trace(bytes) {
  const go = new Go()
  const { instance } = await WebAssembly.instantiate(bytes, go.importObject)
  void go.run(instance)
  const { call, answer, mem } = instance.exports
  const length = ~call(1, -1)
  return Buffer.from(mem.buffer, answer(), length).toString("utf8").replace(/0x[0-9a-f]+/g, "0x")
}

test("the trace of a fault names every function and no line", async () => {
  const whole = await trace(module), packed = await trace(lean(module))
  assert.match(packed, /slice bounds out of range[^]*main\.call\(/)
  assert.equal(packed, whole.replace(/^\t\S+:\d+/gm, "\t?:0"))
})

test("tables of another form stay as they are", () => {
  const other = Buffer.from(module)
  other[other.indexOf(Buffer.from([0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8]))] = 0xf0
  const known = "wasm/main.go" // a file that is named in the tables alone
  assert.deepEqual([lean(module), lean(other)].map((m) => m.includes(known)), [false, true])
})
