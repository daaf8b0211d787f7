// The page's side of the worker: the engine's calls as promises, with progress and cancelling. An engine that stops, or that
// the reader stops, is replaced by a fresh one that reads the same evidence again and takes over the calls that still wait.
import type { Bench } from "./bench.gen.ts"
import type { Evidence } from "./dropped.ts"
import type { ExportKind, Looked, PacketQuery, PacketRow, Progress } from "./engine.ts"
import type { Counts, Lane, Report } from "./report.gen.ts"
import type { Reply, Request } from "./worker.ts"

export type { ExportKind, Looked, PacketQuery, PacketRow, Progress } from "./engine.ts"

/** The engine stopped; message says at what, lost names the file at which it did and which it will not be given again. */
export interface Fault {
  message: string
  lost?: number | undefined
}

/** A report, and the numbers under which its files were given, in the order of its evidence. */
export interface Analysed {
  report: Report
  files: readonly number[]
}

interface Waiting {
  request: Request
  resolve(value: unknown): void
  reject(reason: Error): void
  progress?: ((p: Progress) => void) | undefined
  own: boolean // asked to set up a fresh engine, not by the page
}

/** How long a call that was cancelled may take to end by itself before its engine is replaced, ms. */
const patience = 400

interface Asking {
  progress?: ((p: Progress) => void) | undefined
  signal?: AbortSignal | undefined
  own?: boolean
}

/** The call was given up on purpose. */
export function cancelled(): Error {
  return Object.assign(new Error("it was cancelled"), { name: "Cancelled" })
}

export class Client {
  ready: Promise<{ version: string }>
  private worker!: Worker
  private waiting = new Map<number, Waiting>() // what the worker was given, in the order in which it works
  private parked: Waiting[] = [] // calls of a worker that was replaced, until the fresh one is set up
  private next = 1
  private readonly evidence = new Map<number, { name: string; source: Evidence }>()
  private readonly forgotten = new Set<number>() // so that a reading that ends later does not bring a file back
  private bench!: Bench // the latest; there is no evidence before it

  /** makeWorker gives a new worker from the page's own text, which unpacks the engine. */
  constructor(private readonly makeWorker: () => Worker, private readonly engine: string,
    private readonly onFault: (fault: Fault) => void, private readonly onLost: (id: number, reason: Error) => void) {
    this.ready = this.begin()
  }

  private async begin(): Promise<{ version: string }> {
    const worker = this.makeWorker()
    this.worker = worker
    // A worker that was replaced may have events under way still; they say nothing of the fresh one.
    worker.onmessage = (event: MessageEvent<Reply>) => worker === this.worker && this.take(event.data)
    worker.onerror = (event) => worker === this.worker && this.fail(Object.assign(new Error(event.message || "the worker stopped"), { name: "EngineFault" }))
    const version = (await this.ask({ kind: "start", engine: this.engine }, { own: true })) as { version: string }
    for (const [id, { name, source }] of this.evidence) {
      await this.ask({ kind: "read", id, name, source, bench: this.bench }, { own: true }).catch((reason: Error) => worker === this.worker && this.lose(id, reason))
      if (worker !== this.worker) throw new Error("this engine was replaced")
    }
    for (const waiting of this.parked.splice(0)) this.send(waiting)
    return version
  }

  /** Takes note of a file that a fresh engine could not read: it was deleted or changed since. */
  private lose(id: number, reason: Error) {
    this.evidence.delete(id)
    this.onLost(id, reason)
  }

  private take(reply: Reply) {
    const waiting = this.waiting.get(reply.call)
    if (!waiting) return
    if ("progress" in reply) return waiting.progress?.(reply.progress)
    this.waiting.delete(reply.call)
    if (reply.ok) return waiting.resolve(reply.value)
    const error = Object.assign(new Error(reply.message), { name: reply.name })
    if (reply.name === "EngineFault") return this.fail(error, waiting)
    waiting.reject(error)
  }

  /** Takes note of an engine that stopped by itself, at the call it worked on. One that cannot start is not tried again. */
  private fail(error: Error, culprit = this.waiting.values().next().value) {
    const request = culprit?.request
    if (request?.kind === "start") return culprit?.reject(error)
    const lost = request?.kind === "read" ? request.id : undefined
    if (lost !== undefined) this.evidence.delete(lost)
    this.replace(error, culprit)
    this.onFault({ message: error.message, lost })
  }

  /** Ends the worker and rejects the call it worked on. A fresh one gets the evidence again, then the calls that wait. */
  private replace(reason: Error, culprit: Waiting | undefined) {
    this.worker.terminate()
    culprit?.reject(reason)
    for (const waiting of this.waiting.values()) {
      if (waiting.own) waiting.reject(reason)
      else if (waiting !== culprit) this.parked.push(waiting)
    }
    this.waiting.clear()
    this.ready = this.begin()
    this.ready.catch(() => undefined)
  }

  private send(waiting: Waiting) {
    const call = this.next++
    this.waiting.set(call, waiting)
    this.worker.postMessage({ call, request: waiting.request })
  }

  private ask(request: Request, how: Asking = {}): Promise<unknown> {
    return new Promise((resolve, reject) => {
      const waiting: Waiting = { request, resolve, reject, progress: how.progress, own: how.own ?? false }
      this.send(waiting)
      how.signal?.addEventListener("abort", () => this.cancel(waiting))
    })
  }

  /** Gives a call up: at once while it waits; the engine may end the one it works on by itself, or else is replaced. */
  private cancel(waiting: Waiting) {
    const call = [...this.waiting].find(([, w]) => w === waiting)?.[0]
    if (call === undefined) {
      this.parked = this.parked.filter((w) => w !== waiting)
      return waiting.reject(cancelled())
    }
    this.worker.postMessage({ call: 0, request: { kind: "cancel", call } })
    if (this.waiting.values().next().value === waiting) {
      setTimeout(() => this.waiting.get(call) === waiting && this.replace(cancelled(), waiting), patience)
    } else {
      this.waiting.delete(call)
      waiting.reject(cancelled())
      if (waiting.request.kind === "read") this.unread(waiting.request.id)
    }
  }

  /** Has the worker forget a file whose reading was given up: it may have read it before it heard of that. */
  private unread(id: number) {
    this.ask({ kind: "forget", id }, { own: true }).catch(() => undefined)
  }

  /** Asks as soon as an engine is ready, be it the present one or one that takes its place meanwhile. */
  private async later(request: Request, how: Asking = {}): Promise<unknown> {
    const given = new Promise<never>((_, reject) => how.signal?.addEventListener("abort", () => reject(cancelled())))
    given.catch(() => undefined)
    for (let ready; ready !== this.ready;) {
      ready = this.ready
      await Promise.race([ready, given]).catch((reason: Error) => {
        if (ready === this.ready || reason.name === "Cancelled") throw reason
      })
    }
    return this.ask(request, how)
  }

  /** Reads a file under a bench; the evidence is kept on this side too, so that a fresh engine can have it. */
  async read(id: number, source: Evidence, name: string, bench: Bench, onProgress: (p: Progress) => void, signal: AbortSignal): Promise<void> {
    this.bench = bench
    this.forgotten.delete(id)
    await this.later({ kind: "read", id, name, source, bench }, { progress: onProgress, signal })
    if (!this.forgotten.has(id)) this.evidence.set(id, { name, source })
  }

  /** Works out what excerpts of large logs tell beside the files read so far; nothing of that is kept. */
  look(files: readonly { id: number; name: string; source: Evidence }[], bench: Bench, onProgress: (p: Progress) => void, signal: AbortSignal): Promise<Looked> {
    return this.later({ kind: "look", files, bench }, { progress: onProgress, signal }) as Promise<Looked>
  }

  async forget(id: number): Promise<void> {
    this.forgotten.add(id)
    this.evidence.delete(id)
    await this.later({ kind: "forget", id })
  }

  /** Analyses; files whose reading the bench changed (zone, day order, a new unit in a large file) are read again first. */
  analyse(bench: Bench, signal: AbortSignal): Promise<Analysed> {
    this.bench = bench
    return this.later({ kind: "analyse", bench }, { signal }) as Promise<Analysed>
  }

  /** Counts what the units' rules come to, for which nothing is read; null where a file must be read again first. */
  counts(bench: Bench): Promise<Counts[] | null> {
    return this.later({ kind: "counts", bench }) as Promise<Counts[] | null>
  }

  lanes(): Promise<Lane[]> {
    return this.later({ kind: "lanes" }) as Promise<Lane[]>
  }

  packets(query: PacketQuery): Promise<PacketRow[]> {
    return this.later({ kind: "packets", query }) as Promise<PacketRow[]>
  }

  export(what: ExportKind): Promise<Uint8Array> {
    return this.later({ kind: "export", what }) as Promise<Uint8Array>
  }

  exportPackets(): Promise<Blob> {
    return this.later({ kind: "exportPackets" }) as Promise<Blob>
  }

  /** Makes the engine fail, so that a test can watch the recovery. */
  breakForTest(): Promise<unknown> {
    return this.later({ kind: "breakForTest" })
  }
}
