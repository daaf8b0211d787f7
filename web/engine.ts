// The engine as any host sees it: one class over the WebAssembly exports, used by the page's worker and by Node alike.
import "go-runtime"
import type { Bench } from "./bench.gen.ts"
import { bytesOf } from "./packing.mjs"
import type { Counts, Lane, Report } from "./report.gen.ts"
import { zstdDecoder } from "./zstd.ts"

/** Where bytes come from: a dropped file, pasted text, a file on disk. open() may be called more than once. */
export interface FileSource {
  name: string
  size: number
  open(): AsyncIterable<Uint8Array>
}

/** How far the reading of a file is; counts are lines so far. */
export interface Progress {
  file: number
  bytes: number
  size: number
  lines: number
  packets: number
  notUsed: number
  stage: "first look" | "reading" | "reading again" | "writing"
}

/** What to look at: a unit's packets or those of several runs (-1: all), stations, what they repeated of others, a stretch of
 * time (Unix ms), a file or what stands around a line of it, or only what became of them. */
export interface PacketQuery {
  unit?: string
  run?: number
  among?: readonly { unit: string; run: number }[]
  stations?: readonly string[]
  by?: readonly string[]
  file?: number
  line?: number
  from?: number
  until?: number
  why?: PacketRow["why"] | "answer" | "contested"
  limit: number
}

/** One line of evidence and what became of it. */
export interface PacketRow {
  file: string
  file_id: number
  line: number
  at: string | null
  station: string
  raw: string
  why: "counted" | "copy" | "internet" | "untimed" | "unassigned" | "again" | "not used"
  unit: string
  transmission: number
  of: { file: string; line: number } | null // the line that counts, of one that stood already
}

/** What was worked out in passing, and cannot be asked about. */
export interface Looked {
  report: Report
  lanes: readonly Lane[]
}

export type ExportKind = "summary" | "csv" | "md" | "json" | "transmissions"

/** A SHA-256 that is fed chunk by chunk. */
export interface Digest {
  update(chunk: Uint8Array): unknown
  digest(form: "hex"): string
}

export type NewDigest = () => Digest | Promise<Digest>

interface GoRuntime {
  importObject: WebAssembly.Imports
  exited: boolean
  run(instance: WebAssembly.Instance): Promise<void>
}

interface Exports {
  mem: WebAssembly.Memory
  room(n: number): number
  answer(): number
  call(op: number, n: number): number
}

// The operations of call in wasm/main.go, in the same order.
const op = { version: 1, open: 2, push: 3, close: 4, cancel: 5, forget: 6, analyse: 7, lanes: 8, packets: 9, export: 10, prepare: 11, aside: 12, counts: 13, collect: 14 } as const

/** How often the lines of a file may overturn what was assumed of its stamps: the order of the date, thrice the half of the day, and four
 * times where a list was pasted again. */
const mostReadings = 9

/** The engine has stopped for good: its instance must be replaced. */
export class EngineFault extends Error {
  override name = "EngineFault"
}

/** A request that the engine refused, with its reason; the engine goes on. */
export class EngineRefusal extends Error {
  override name = "EngineRefusal"
}

/** The reading was given up on purpose. */
export class Cancelled extends Error {
  override name = "Cancelled"
}

const encoder = new TextEncoder()
const decoder = new TextDecoder()

export class Engine {
  readonly version: string
  /** The numbers of the files, in the order of the last report's evidence. */
  files: readonly number[] = []
  private readonly sources = new Map<number, FileSource>()

  private constructor(private readonly go: GoRuntime, private readonly exports: Exports, private readonly newDigest: NewDigest) {
    this.version = (this.json(op.version) as { version: string }).version
  }

  /** Starts an engine from the text in which it is packed. newDigest begins the SHA-256 of a file, by the host's fastest means. */
  static async start(packed: string, newDigest: NewDigest): Promise<Engine> {
    const unpacking = zstdDecoder() // is compiled while the text is undone
    const bytes = bytesOf(packed)
    const wasm = await WebAssembly.compile((await unpacking)(bytes))
    const Go = (globalThis as unknown as { Go: new () => GoRuntime }).Go
    const go = new Go()
    const instance = await WebAssembly.instantiate(wasm, go.importObject)
    void go.run(instance)
    return new Engine(go, instance.exports as unknown as Exports, newDigest)
  }

  /** Bytes of linear memory in use; it never shrinks. */
  get memory(): number {
    return this.exports.mem.buffer.byteLength
  }

  /** Reads a file and keeps its source, so that a later decision can have it read again. */
  async read(id: number, source: FileSource, progress?: (p: Progress) => void, signal?: AbortSignal): Promise<void> {
    this.sources.set(id, source)
    await this.readOnce(id, source, "evidence", "reading", progress, signal)
  }

  private async readOnce(id: number, source: FileSource, mode: "evidence" | "excerpt", stage: Progress["stage"], progress?: (p: Progress) => void, signal?: AbortSignal) {
    for (let left = mostReadings, now = stage; left > 0; left--, now = "reading again") {
      const { again } = (await this.pour(id, source, mode, now, progress, undefined, signal)) as { again: boolean }
      if (!again) return
    }
  }

  /** Pours a file through the engine. drain takes what the engine gives back while it reads. */
  private async pour(id: number, source: FileSource, mode: "evidence" | "excerpt" | "packets", stage: Progress["stage"],
    progress?: (p: Progress) => void, drain?: (chunk: Uint8Array) => Promise<void> | void, signal?: AbortSignal): Promise<unknown> {
    this.ask(op.open, JSON.stringify({ id, name: source.name, mode }))
    const digest = mode === "evidence" ? await this.newDigest() : null
    let bytes = 0
    try {
      for await (const chunk of source.open()) {
        if (signal?.aborted) throw new Cancelled("reading was cancelled")
        bytes += chunk.byteLength
        digest?.update(chunk)
        const given = this.ask(op.push, chunk)
        if (drain) await drain(given.slice())
        else if (progress) progress({ file: id, bytes, size: source.size, stage, ...(JSON.parse(decoder.decode(given)) as Tally) })
      }
    } catch (fault) {
      if (!this.go.exited) this.ask(op.cancel)
      throw fault
    }
    const last = this.ask(op.close, digest?.digest("hex"))
    if (!drain) return JSON.parse(decoder.decode(last))
    await drain(last.slice())
    return {}
  }

  /** Tells the engine, before files are read, which settings they have and whose packets to keep of very large ones. */
  prepare(bench: Bench | string): void {
    this.ask(op.prepare, typeof bench === "string" ? bench : JSON.stringify(bench))
  }

  /** Takes a file's evidence away. */
  forget(id: number): void {
    this.sources.delete(id)
    this.ask(op.forget, JSON.stringify({ id }))
  }

  /** Gives what the units' rules come to under a bench, long before its analysis is done; null where a file must be read again first. */
  counts(bench: Bench): Counts[] | null {
    return this.json(op.counts, JSON.stringify(bench)) as Counts[] | null
  }

  /** Collects what earlier calls left to be collected, so that the next ones need not; for when nobody waits. */
  collect(): void {
    this.ask(op.collect)
  }

  /** Analyses the evidence under a bench; files whose reading the bench changed are read again first. */
  async analyse(bench: Bench, progress?: (p: Progress) => void, signal?: AbortSignal): Promise<Report> {
    const request = JSON.stringify(bench)
    for (let round = 0; ; round++) {
      const answer = this.json(op.analyse, request) as { report: Report | null; read_again: number[]; files: number[] }
      if (answer.report) {
        this.files = answer.files
        return answer.report
      }
      if (round === 3) throw new EngineRefusal("the files were read three times and still do not agree with the bench")
      for (const id of answer.read_again) {
        const source = this.sources.get(id)
        if (source) await this.readOnce(id, source, "evidence", "reading again", progress, signal).catch((reason: Error) => unread(source, reason))
      }
    }
  }

  /** Works out what excerpts of logs tell beside the files read so far, in a session of its own that leaves nothing behind. */
  async look(bench: Bench, excerpts: ReadonlyMap<number, FileSource>, signal?: AbortSignal): Promise<Looked> {
    this.ask(op.aside)
    try {
      this.prepare(bench)
      for (const [id, source] of this.sources) await this.readOnce(id, source, "evidence", "first look", undefined, signal)
      for (const [id, source] of excerpts) await this.readOnce(id, source, "excerpt", "first look", undefined, signal)
      const { report } = this.json(op.analyse, JSON.stringify(bench)) as { report: Report | null }
      if (!report) throw new EngineRefusal("a file must be read otherwise before a first look")
      return { report, lanes: this.lanes() }
    } finally {
      if (!this.go.exited) this.ask(op.aside)
    }
  }

  lanes(): Lane[] {
    return this.json(op.lanes) as Lane[]
  }

  packets(query: PacketQuery): PacketRow[] {
    return this.json(op.packets, JSON.stringify(query)) as PacketRow[]
  }

  /** Gives a rendering of the last analysis as bytes. */
  export(kind: ExportKind): Uint8Array {
    return this.ask(op.export, kind).slice()
  }

  /** Writes one JSON object per evidence line of every file, in the order of the files; nothing is held in memory. */
  async exportPackets(write: (chunk: Uint8Array) => Promise<void> | void): Promise<void> {
    for (const [id, source] of this.sources) await this.pour(id, source, "packets", "writing", undefined, write)
  }

  private json(operation: number, request: string | Uint8Array = ""): unknown {
    return JSON.parse(decoder.decode(this.ask(operation, request)))
  }

  /** One call. The answer is a view into the engine's memory and valid until the next call. */
  private ask(operation: number, request: string | Uint8Array = ""): Uint8Array {
    if (this.go.exited) throw new EngineFault("the engine has stopped")
    const bytes = typeof request === "string" ? encoder.encode(request) : request
    let size: number
    try {
      const at = this.exports.room(bytes.byteLength)
      new Uint8Array(this.exports.mem.buffer).set(bytes, at)
      size = this.exports.call(operation, bytes.byteLength)
    } catch (fault) {
      this.go.exited = true // what it was in the midst of is lost
      throw new EngineFault(fault instanceof Error ? `${fault.message}\n${fault.stack ?? ""}` : String(fault))
    }
    if (this.go.exited) throw new EngineFault("the engine has stopped")
    const length = size < 0 ? ~size : size
    const answer = new Uint8Array(this.exports.mem.buffer, this.exports.answer(), length)
    if (size >= 0) return answer
    const message = decoder.decode(answer)
    if (message.startsWith("the engine stopped")) throw new EngineFault(message)
    throw new EngineRefusal(message)
  }
}

/** A file that was read before and is gone or changed now is a reason to refuse, and no fault. */
function unread(source: FileSource, reason: Error): never {
  if (reason.name === "EngineFault" || reason.name === "Cancelled") throw reason
  throw new EngineRefusal(`${source.name} could not be read again (${reason.message}), which this change needs`)
}

interface Tally {
  lines: number
  packets: number
  notUsed: number
}
