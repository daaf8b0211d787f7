// The client against a stand-in for the worker: what happens to calls when an engine stops, or is stopped.
import assert from "node:assert/strict"
import { test } from "node:test"
import type { Bench } from "../bench.gen.ts"
import { Client, type Fault } from "../client.ts"
import type { Reply, Request } from "../worker.ts"

type Answer = (request: Request, call: number, worker: Standin) => void

/** A worker that answers as it is told, and keeps what it was asked. */
class Standin {
  asked: string[] = []
  under: Bench[] = [] // the benches under which files were to be read
  ended = false
  onmessage: ((event: { data: Reply }) => void) | null = null
  onerror: ((event: { message: string }) => void) | null = null

  constructor(private readonly answer: Answer) {}

  postMessage({ call, request }: { call: number; request: Request }) {
    this.asked.push(request.kind === "read" ? `read ${request.name}` : request.kind)
    if (request.kind === "read") this.under.push(request.bench)
    if (request.kind === "start") this.reply({ call, ok: true, value: { version: "test" } })
    else if (request.kind !== "cancel") this.answer(request, call, this)
  }

  reply(data: Reply) {
    queueMicrotask(() => !this.ended && this.onmessage?.({ data }))
  }

  terminate() {
    this.ended = true
  }
}

const done: Answer = (_, call, worker) => worker.reply({ call, ok: true, value: "done" })

/** A client whose first worker answers as told and every later one at once. */
function clientOf(first: Answer, later = done, meanwhile: (old: Standin | undefined) => void = () => undefined) {
  const workers: Standin[] = [], faults: Fault[] = [], lost: number[] = []
  const make = () => {
    workers.push(new Standin(workers.length === 0 ? first : later))
    return workers.at(-1) as unknown as Worker
  }
  return { client: new Client(make, "", (f) => (faults.push(f), meanwhile(workers[0])), (id) => lost.push(id)), workers, faults, lost }
}

const bench = { schema: "lastbeacon.bench/1" }
const still = () => new AbortController().signal
const read = (client: Client, id: number, signal = still()) => client.read(id, new Uint8Array(1), `${id}.log`, bench, () => undefined, signal)
const named = (name: string) => (reason: Error) => reason.name === name

test("an analysis that does not end is stopped by replacing its engine, which gets the evidence again", async () => {
  const { client, workers, faults } = clientOf((request, call, worker) => request.kind === "read" && done(request, call, worker))
  await read(client, 1)
  const control = new AbortController()
  const analysis = client.analyse(bench, control.signal)
  setTimeout(() => control.abort(), 5)
  await assert.rejects(analysis, named("Cancelled"))
  assert.ok(workers[0]?.ended)
  assert.equal(await client.analyse(bench, still()), "done")
  assert.deepEqual(workers[1]?.asked, ["start", "read 1.log", "analyse"])
  assert.deepEqual(faults, [])
})

test("a stuck reading that is cancelled takes no other file with it", async () => {
  const { client, workers } = clientOf(() => undefined)
  const control = new AbortController()
  const stuck = read(client, 1, control.signal), waits = read(client, 2)
  setTimeout(() => control.abort(), 5)
  await assert.rejects(stuck, named("Cancelled"))
  await waits
  assert.deepEqual(workers[1]?.asked, ["start", "read 2.log"])
})

test("a call that waits is given up at once, and the one at work goes on", async () => {
  const ends: (() => void)[] = []
  const { client, workers } = clientOf((request, call, worker) => ends.push(() => done(request, call, worker)))
  const control = new AbortController()
  const busy = client.analyse(bench, still()), waits = read(client, 2, control.signal)
  setTimeout(() => control.abort(), 5)
  await assert.rejects(waits, named("Cancelled"))
  ends[0]?.()
  assert.equal(await busy, "done")
  assert.equal(workers.length, 1)
})

test("a file that was read although its reading was given up is forgotten, before it is read again", async () => {
  const ends: (() => void)[] = []
  const { client, workers } = clientOf((request, call, worker) => ends.push(() => done(request, call, worker)))
  const control = new AbortController()
  const busy = client.analyse(bench, still()), waits = read(client, 2, control.signal)
  setTimeout(() => control.abort(), 5)
  await assert.rejects(waits, named("Cancelled"))
  const again = read(client, 2)
  await new Promise((asked) => setTimeout(asked, 5))
  for (const end of ends) end()
  await Promise.all([busy, again])
  assert.deepEqual(workers[0]?.asked, ["start", "analyse", "read 2.log", "cancel", "forget", "read 2.log"])
})

test("a file taken away while it was read does not come back with a fresh engine", async () => {
  const ends: (() => void)[] = []
  const { client, workers } = clientOf((request, call, worker) => {
    if (request.kind === "read") ends.push(() => done(request, call, worker))
    else if (request.kind === "lanes") worker.reply({ call, ok: false, name: "EngineFault", message: "broke" })
    else done(request, call, worker)
  })
  const reading = read(client, 1)
  await new Promise((asked) => setTimeout(asked, 5))
  const gone = client.forget(1)
  ends[0]?.()
  await Promise.all([reading, gone])
  await assert.rejects(client.lanes(), named("EngineFault"))
  await client.ready
  assert.deepEqual(workers[1]?.asked, ["start"])
})

test("a call is given up while a fresh engine is still being set up", async () => {
  const { client } = clientOf(done)
  client.ready = new Promise(() => undefined)
  const control = new AbortController()
  const waits = client.analyse(bench, control.signal)
  control.abort()
  await assert.rejects(waits, named("Cancelled"))
})

test("an engine that stops at a file loses that file only, and says so", async () => {
  const broken: Answer = (request, call, worker) => (request.kind === "read" && request.id === 2 ? worker.reply({ call, ok: false, name: "EngineFault", message: "out of memory" }) : done(request, call, worker))
  const { client, workers, faults } = clientOf((request, call, worker) => setTimeout(() => broken(request, call, worker)))
  await read(client, 1)
  const second = read(client, 2), third = read(client, 3)
  await assert.rejects(second, named("EngineFault"))
  await third
  assert.deepEqual(workers[1]?.asked, ["start", "read 1.log", "read 3.log"])
  assert.deepEqual(faults, [{ message: "out of memory", lost: 2 }])
})

test("what a replaced engine says last is not held against the fresh one", async () => {
  const { client, workers, faults } = clientOf((_, call, worker) => worker.reply({ call, ok: false, name: "EngineFault", message: "out of memory" }),
    done, (old) => old?.onerror?.({ message: "unreachable" }))
  await assert.rejects(read(client, 1), named("EngineFault"))
  assert.equal(await client.analyse(bench, still()), "done")
  assert.deepEqual([workers.length, faults], [2, [{ message: "out of memory", lost: 1 }]])
})

test("a file is read under the bench of the moment, and by a fresh engine under the latest", async () => {
  const { client, workers } = clientOf((request, call, worker) => (request.kind === "lanes" ? worker.reply({ call, ok: false, name: "EngineFault", message: "broke" }) : done(request, call, worker)))
  await read(client, 1)
  const later = { ...bench, title: "edited" }
  await client.analyse(later, still())
  await assert.rejects(client.lanes(), named("EngineFault"))
  await client.ready
  assert.deepEqual([workers[0]?.under, workers[1]?.under], [[bench], [later]])
})

test("a file that a fresh engine cannot read is named, and given to no later one", async () => {
  const gone: Answer = (request, call, worker) => (request.kind === "read" && request.id === 1 ? worker.reply({ call, ok: false, name: "NotFoundError", message: "it was deleted" }) : done(request, call, worker))
  const { client, workers, faults, lost } = clientOf((request, call, worker) => (request.kind === "analyse" ? worker.reply({ call, ok: false, name: "EngineFault", message: "broke" }) : done(request, call, worker)), gone)
  await read(client, 1)
  await read(client, 2)
  await assert.rejects(client.analyse(bench, still()), named("EngineFault"))
  assert.equal(await client.analyse(bench, still()), "done")
  assert.deepEqual(workers[1]?.asked, ["start", "read 1.log", "read 2.log", "analyse"])
  assert.deepEqual([faults.length, lost], [1, [1]])
})

test("an engine that cannot start is not tried again", async () => {
  const makes: Standin[] = []
  const client = new Client(() => {
    const worker = new Standin(done)
    worker.postMessage = ({ call }) => worker.reply({ call, ok: false, name: "EngineFault", message: "no memory" })
    makes.push(worker)
    return worker as unknown as Worker
  }, "", () => undefined, () => undefined)
  await assert.rejects(client.ready, named("EngineFault"))
  assert.equal(makes.length, 1)
})
