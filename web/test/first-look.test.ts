// A first look on the page's side: it comes before the whole, and goes when anything it rests on changes.
import assert from "node:assert/strict"
import { beforeEach, test } from "node:test"
import type { Bench } from "../bench.gen.ts"
import type { Analysed, Client, Looked } from "../client.ts"
import { cancel, follow, readings, report } from "../state/engine.ts"
import { firstLook } from "../state/first-look.ts"
import { addFiles, changeBench, emptyBench, files, removeFile, sheet } from "../state/sheet.ts"
import { sampleReport } from "./sample-report.ts"

const bench: Bench = { ...emptyBench, units: [{ name: "Heron", match: [{ station: "QX1ABC-7" }] }] }
const large = { name: "feed.log", size: 2e8, source: { getFile: () => undefined } as unknown as File }
const small = { name: "hill.log", size: 100, source: new Uint8Array(100) }
const cancelled = () => Object.assign(new Error("it was cancelled"), { name: "Cancelled" })

/** A client whose calls end when the test says so, and which keeps what it was asked in order. */
class Standin {
  ready = Promise.resolve({ version: "test" })
  asked: string[] = []
  ends = new Map<string, () => void>()

  private call<T>(name: string, value: T, signal?: AbortSignal): Promise<T> {
    this.asked.push(name)
    return new Promise((resolve, reject) => {
      this.ends.set(name, () => resolve(value))
      signal?.addEventListener("abort", () => reject(cancelled()))
    })
  }

  read = (_id: number, _source: unknown, name: string, _bench: Bench, _told: unknown, signal: AbortSignal) => this.call(`read ${name}`, undefined, signal)
  look = (found: readonly { name: string }[]) => this.call<Looked>(`look ${found.map((f) => f.name)}`, { report: sampleReport, lanes: [] }) // one that ends late, though given up
  analyse = (): Promise<Analysed> => this.call("analyse", { report: sampleReport, files: files.value.map((f) => f.id) })
  lanes = () => Promise.resolve([])
  forget = () => Promise.resolve()

  async end(name: string) {
    this.ends.get(name)?.()
    await settle()
  }
}

globalThis.requestAnimationFrame = (next) => Number(setTimeout(() => next(performance.now()), 0))
const settle = () => new Promise((done) => setTimeout(done, 5))
const client = new Standin()
follow(client as unknown as Client)

beforeEach(async () => {
  sheet.value = { bench: emptyBench, files: [] }
  await client.end("analyse")
  client.asked = []
  addFiles([large, small], bench)
  await settle()
})

test("small files are read, then large ones looked at, then read; the look holds nothing that it cannot know", async () => {
  assert.deepEqual(client.asked, ["read hill.log", "look feed.log"])
  await client.end("look feed.log")
  assert.deepEqual(client.asked, ["read hill.log", "look feed.log", "read feed.log"])
  const shown = firstLook.value?.report
  assert.deepEqual(shown?.units.map((u) => u.name), sampleReport.units.map((u) => u.name))
  assert.deepEqual([shown?.evidence, shown?.notes, shown?.stations, shown?.stations_all, shown?.proposals, shown?.questions], [[], [], [], 0, [], []])
  assert.equal(report.value, null)
  await client.end("read hill.log")
  await client.end("read feed.log")
  await client.end("analyse")
  assert.deepEqual([firstLook.value, report.value], [null, sampleReport])
})

test("a look goes when its file is given up or taken away, the bench changes or a file comes", async () => {
  const id = () => files.value.find((f) => f.name === "feed.log")?.id ?? -1
  const changes = { cancel: () => cancel(id()), remove: () => removeFile(id()), edit: () => changeBench("edit", { ...bench, compare: { margin_pct: 1 } }), add: () => addFiles([{ ...small, name: "later.log" }]) }
  for (const [name, change] of Object.entries(changes)) {
    for (const before of [true, false]) {
      sheet.value = { bench: emptyBench, files: [] }
      await client.end("analyse")
      addFiles([large], bench)
      await settle()
      if (!before) await client.end("look feed.log")
      assert.equal(firstLook.value === null, before, name)
      change()
      if (before) await client.end("look feed.log")
      await settle()
      assert.equal(firstLook.value, null, `${name}, ${before ? "at work" : "shown"}`)
    }
  }
})

test("a look stays when the trial is given a name", async () => {
  await client.end("look feed.log")
  changeBench("name the trial", { ...bench, title: "Trial" })
  await settle()
  assert.ok(firstLook.value)
})

test("a file whose reading was given up during a look stays given up", async () => {
  const id = files.value[0]?.id ?? -1
  cancel(id)
  await client.end("look feed.log")
  assert.equal(readings.value.get(id)?.stage, "cancelled")
})

test("a large file that joins a worked-out sheet is read without a look", async () => {
  for (const name of ["look feed.log", "read hill.log", "read feed.log", "analyse"]) await client.end(name)
  client.asked = []
  addFiles([{ ...large, name: "second.log" }])
  await settle()
  assert.deepEqual(client.asked, ["read second.log"])
})
