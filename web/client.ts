// The page's side of the worker: the engine's calls as promises, with progress and cancelling. An engine that stops is
// replaced by a fresh one that reads the same evidence again.
import type { Bench } from "./bench.gen.ts"
import type { ExportKind, PacketQuery, PacketRow, Progress } from "./engine.ts"
import type { Lane, Report } from "./report.gen.ts"
import type { Reply, Request } from "./worker.ts"

export type { ExportKind, PacketQuery, PacketRow, Progress } from "./engine.ts"

/** What can be dropped or pasted: a file, a handle to a file that may grow, or bytes. */
export type Evidence = File | FileSystemFileHandle | Uint8Array

/** The engine stopped; message says at what, stack is for a report. */
export interface Fault {
  message: string
}

interface Waiting {
  resolve(value: unknown): void
  reject(reason: Error): void
  progress?: ((p: Progress) => void) | undefined
}

export class Client {
  ready: Promise<{ version: string }>
  private worker!: Worker
  private waiting = new Map<number, Waiting>()
  private next = 1
  private readonly evidence = new Map<number, { name: string; source: Evidence }>()

  /** makeWorker gives a new worker from the page's own text; wasm is compiled once and shared by all engines. */
  constructor(private readonly makeWorker: () => Worker, private readonly wasm: Promise<WebAssembly.Module>,
    private readonly onFault: (fault: Fault) => void) {
    this.ready = this.begin()
  }

  private async begin(): Promise<{ version: string }> {
    this.worker = this.makeWorker()
    this.worker.onmessage = (event: MessageEvent<Reply>) => this.take(event.data)
    this.worker.onerror = (event) => this.replace(event.message || "the worker stopped")
    const wasm = await this.wasm
    return (await this.ask({ kind: "start", wasm })) as { version: string }
  }

  private take(reply: Reply) {
    const waiting = this.waiting.get(reply.call)
    if (!waiting) return
    if ("progress" in reply) return waiting.progress?.(reply.progress)
    this.waiting.delete(reply.call)
    if (reply.ok) return waiting.resolve(reply.value)
    const error = new Error(reply.message)
    error.name = reply.name
    waiting.reject(error)
    if (reply.name === "EngineFault") this.replace(reply.message)
  }

  /** Ends the worker, starts a fresh one and gives it the evidence again; open calls are rejected. */
  private replace(message: string) {
    this.worker.terminate()
    const open = [...this.waiting.values()]
    this.waiting.clear()
    for (const waiting of open) waiting.reject(Object.assign(new Error(message), { name: "EngineFault" }))
    this.ready = this.begin().then(async (version) => {
      for (const [id, { name, source }] of this.evidence) await this.ask({ kind: "read", id, name, source }).catch(() => undefined)
      return version
    })
    this.onFault({ message })
  }

  private ask(request: Request, progress?: (p: Progress) => void, signal?: AbortSignal): Promise<unknown> {
    const call = this.next++
    return new Promise((resolve, reject) => {
      this.waiting.set(call, { resolve, reject, progress })
      signal?.addEventListener("abort", () => this.worker.postMessage({ call: 0, request: { kind: "cancel", call } }))
      this.worker.postMessage({ call, request })
    })
  }

  private async later(request: Request, progress?: (p: Progress) => void, signal?: AbortSignal): Promise<unknown> {
    await this.ready
    return this.ask(request, progress, signal)
  }

  /** Reads a file; the evidence is kept on this side too, so that a fresh engine can have it. */
  async read(id: number, source: Evidence, name: string, onProgress: (p: Progress) => void, signal: AbortSignal): Promise<void> {
    await this.later({ kind: "read", id, name, source }, onProgress, signal)
    this.evidence.set(id, { name, source })
  }

  async forget(id: number): Promise<void> {
    this.evidence.delete(id)
    await this.later({ kind: "forget", id })
  }

  /** Analyses; files whose reading the bench changed (zone, day order, a new unit in a large file) are read again first. */
  analyse(bench: Bench, onProgress?: (p: Progress) => void, signal?: AbortSignal): Promise<Report> {
    return this.later({ kind: "analyse", bench }, onProgress, signal) as Promise<Report>
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
