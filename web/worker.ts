// The page's worker: holds one engine and answers the client's messages, one after the other.
import { createSHA256 } from "hash-wasm"
import { Cancelled, Engine, EngineFault, type FileSource, type PacketQuery, type ExportKind, type Looked, type Progress } from "./engine.ts"
import { fileOf, type Evidence } from "./dropped.ts"
import { Excerpt } from "./excerpt.ts"
import type { Bench } from "./bench.gen.ts"
import { warmUp } from "./warm.ts"

/** A file as the page has it. */
interface Dropped {
  id: number
  name: string
  source: Evidence
}

export type Request =
  | { kind: "start"; engine: string }
  | { kind: "read"; bench: Bench } & Dropped
  | { kind: "look"; files: readonly Dropped[]; bench: Bench }
  | { kind: "forget"; id: number }
  | { kind: "analyse"; bench: Bench }
  | { kind: "counts"; bench: Bench }
  | { kind: "lanes" }
  | { kind: "packets"; query: PacketQuery }
  | { kind: "export"; what: ExportKind }
  | { kind: "exportPackets" }
  | { kind: "cancel"; call: number }
  | { kind: "breakForTest" }

export type Reply =
  | { call: number; ok: true; value: unknown }
  | { call: number; ok: false; name: string; message: string }
  | { call: number; progress: Progress }

let engine: Engine | undefined
let last: Promise<void> = Promise.resolve()
let asked = false // for anything but to start
const running = new Map<number, AbortController>()

function post(reply: Reply) {
  ;(self as unknown as { postMessage(m: Reply): void }).postMessage(reply)
}

self.onmessage = (event: MessageEvent<{ call: number; request: Request }>) => {
  const { call, request } = event.data
  if (request.kind === "cancel") {
    running.get(request.call)?.abort()
    return
  }
  asked ||= request.kind !== "start"
  const control = new AbortController()
  running.set(call, control)
  last = last.then(async () => {
    try {
      if (control.signal.aborted) throw new Cancelled("reading was cancelled")
      post({ call, ok: true, value: await serve(call, request, control.signal) })
    } catch (fault) {
      const error = fault instanceof Error ? fault : new Error(String(fault))
      post({ call, ok: false, name: error.name, message: error.message })
    } finally {
      running.delete(call)
    }
    if (asked) collectSoon()
  })
}

async function serve(call: number, request: Request, signal: AbortSignal): Promise<unknown> {
  if (request.kind === "start") {
    engine = await Engine.start(request.engine, createSHA256)
    warmSoon(calm, ...tests)
    return { version: engine.version }
  }
  if (!engine) throw new EngineFault("the engine has not started")
  const tell = (progress: Progress) => post({ call, progress })
  switch (request.kind) {
    case "read":
      prepare(engine, request.bench)
      return engine.read(request.id, sourceOf(request.name, request.source), tell, signal)
    case "look":
      return look(engine, request.files, request.bench, tell, signal)
    case "forget":
      return engine.forget(request.id)
    case "analyse":
      return { report: await engine.analyse(request.bench, tell, signal), files: engine.files }
    case "counts":
      return engine.counts(request.bench)
    case "lanes":
      return engine.lanes()
    case "packets":
      return engine.packets(request.query)
    case "export":
      return engine.export(request.what)
    case "exportPackets":
      return gather((write) => engine!.exportPackets(write))
    case "breakForTest":
      throw new EngineFault("the engine was stopped on purpose by a test")
    case "cancel":
      return undefined
  }
}

/** How long nothing must have been asked before the engine does something for itself, ms. */
const calm = 300

let collecting: ReturnType<typeof setTimeout> | undefined

/** Has garbage collected while nobody waits: in an edit it would take a fifth of its time. */
function collectSoon() {
  clearTimeout(collecting)
  collecting = setTimeout(collect, calm)
}

function collect() {
  if (running.size > 0) return // what is at work or waits has it done when it has ended
  try {
    engine?.collect()
  } catch {
    // An engine that has stopped says so when it is asked for something.
  }
}

/** The beacons of the tests it works through then. The first has most of its code compiled, the others have it compiled well: without
 * them the first test that somebody drops takes up to three times as long. */
const tests = [60, 240, 480]

/** Warms up test by test, so that whoever asks meanwhile waits for one at most. */
function warmSoon(ms: number, beacons?: number, ...more: number[]) {
  if (beacons) setTimeout(() => (last = last.then(() => warm(beacons).then(() => warmSoon(0, ...more)))), ms)
  else collectSoon()
}

async function warm(beacons: number) {
  if (engine && !asked) await warmUp(engine, beacons).catch(() => undefined) // an engine that cannot says so when it is asked for something
}

/** Tells under which bench a file will be analysed, so that it need not be read twice. One that is refused is so by the analysis. */
function prepare(engine: Engine, bench: Bench) {
  try {
    engine.prepare(bench)
  } catch (reason) {
    if ((reason as Error).name !== "EngineRefusal") throw reason
  }
}

/** Works out what excerpts of the files tell, long before all of them can be read. */
async function look(engine: Engine, files: readonly Dropped[], bench: Bench, tell: (p: Progress) => void, signal: AbortSignal): Promise<Looked> {
  const excerpts = new Map<number, FileSource>()
  for (const { id, name, source } of files) {
    const file = source instanceof Uint8Array ? new Blob([source as Uint8Array<ArrayBuffer>]) : await fileOf(source)
    const excerpt = await excerptOf(id, file, bench, tell, signal)
    excerpts.set(id, { name, size: excerpt.byteLength, open: () => pieces(excerpt) })
  }
  return engine.look(bench, excerpts, signal)
}

/** How often the page is told how far an excerpt is, bytes. */
const told = 16 << 20

/** How many stretches of a file are read side by side: one alone waits for the browser half of the time. */
const abreast = 3

async function excerptOf(id: number, file: Blob, bench: Bench, tell: (p: Progress) => void, signal: AbortSignal): Promise<Uint8Array> {
  const excerpt = new Excerpt(bench, file.size, abreast), size = Math.ceil(file.size / abreast)
  const stretches = Array.from({ length: abreast }, (_, n) => file.slice(n * size, (n + 1) * size))
  let bytes = 0, next = 0
  const take = (chunk: Uint8Array, n: number) => {
    if (signal.aborted) throw new Cancelled("reading was cancelled")
    excerpt.take(chunk, n)
    bytes += chunk.byteLength
    if (bytes < next) return
    next = bytes + told
    tell({ file: id, bytes, size: file.size, lines: 0, packets: 0, notUsed: 0, stage: "first look" })
  }
  await byTurns(stretches.map(streamed), take)
  excerpt.close()
  for (const [n, stretch] of stretches.entries()) {
    const missed = excerpt.missed(n)
    for await (const chunk of streamed(stretch.slice(0, missed))) {
      if (signal.aborted) throw new Cancelled("reading was cancelled")
      excerpt.takeAgain(chunk, n, missed)
    }
  }
  return excerpt.end()
}

/** Takes the pieces of all streams by turns, so that none runs ahead of the others. */
async function byTurns(streams: readonly AsyncGenerator<Uint8Array>[], take: (piece: Uint8Array, n: number) => void) {
  try {
    for (const left = new Map(streams.entries()); left.size > 0;) {
      for (const [n, pieces] of left) {
        const { done, value } = await pieces.next()
        if (done) left.delete(n)
        else take(value, n)
      }
    }
  } finally {
    for (const pieces of streams) void pieces.return(undefined)
  }
}

async function gather(run: (write: (chunk: Uint8Array) => void) => Promise<void>): Promise<Blob> {
  const parts: BlobPart[] = []
  await run((chunk) => void parts.push(chunk as Uint8Array<ArrayBuffer>))
  return new Blob(parts)
}

function sourceOf(name: string, source: Evidence): FileSource {
  if (source instanceof Uint8Array) return { name, size: source.byteLength, open: () => pieces(source) }
  return { name, size: source instanceof File ? source.size : 0, open: () => contents(source) }
}

const most = 1 << 20

async function* pieces(bytes: Uint8Array): AsyncIterable<Uint8Array> {
  for (let at = 0; at < bytes.byteLength; at += most) yield bytes.subarray(at, at + most)
}

async function* contents(source: File | FileSystemFileHandle): AsyncIterable<Uint8Array> {
  yield* streamed(await fileOf(source))
}

/** Reads through the file's stream, which is twice as fast as slices, into the same rooms again and again: fresh pieces would pile up to
 * hundreds of megabytes before the browser takes them away. While a piece is worked on the next is read; it holds until that is asked for.
 * The end is told by the size: Chromium 148 never ends a stream whose end it comes to while garbage is collected. */
async function* streamed(file: Blob): AsyncGenerator<Uint8Array, undefined> {
  const reader = byteReader(file.stream())
  if (!reader) return yield* anew(file)
  const ahead = (room: ArrayBuffer) => {
    const piece = reader.read(new Uint8Array(room))
    piece.catch(() => undefined) // whoever asks for it hears of that
    return piece
  }
  let room = new ArrayBuffer(most), next = ahead(new ArrayBuffer(most))
  try {
    for (let left = file.size; left > 0;) {
      const { done, value } = await next
      if (done) return
      left -= value.byteLength
      if (left > 0) next = ahead(room)
      yield value
      room = value.buffer
    }
  } finally {
    void reader.cancel().catch(() => undefined)
  }
}

/** A reader into room of our own; undefined where the browser's files do not offer it. */
function byteReader(stream: ReadableStream<Uint8Array>): ReadableStreamBYOBReader | undefined {
  try {
    return stream.getReader({ mode: "byob" })
  } catch {
    return undefined
  }
}

async function* anew(file: Blob): AsyncGenerator<Uint8Array, undefined> {
  const reader = file.stream().getReader()
  try {
    for (let left = file.size; left > 0;) {
      const { done, value } = await reader.read()
      if (done) return
      left -= value.byteLength
      yield value
    }
  } finally {
    void reader.cancel().catch(() => undefined)
  }
}
