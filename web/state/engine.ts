// The page's side of the work: keeps the engine's evidence the same as the files on the sheet, analyses whenever the bench
// or the evidence changed, and holds what came back. At most one analysis runs; changes meanwhile lead to one more.
import { batch, computed, effect, signal, untracked } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import { cancelled, type Client, type Fault, type Progress } from "../client.ts"
import type { Counts, Lane, Report } from "../report.gen.ts"
import { withSaved } from "./edits.ts"
import { endLook, endLookUnless, look, worthALook } from "./first-look.ts"
import { amend, files, sheet, type Entry } from "./sheet.ts"
import { standing } from "./turns.ts"

/** Where the reading of one file stands. */
export interface Reading {
  stage: "waiting" | "reading" | "done" | "cancelled" | "refused"
  progress: Progress | null
  message: string
}

export const readings = signal<ReadonlyMap<number, Reading>>(new Map())
export const report = signal<Report | null>(null)
/** Where in the report's evidence each file of the sheet stands, by its id. */
export const places = signal<ReadonlyMap<number, number>>(new Map())
export const lanes = signal<readonly Lane[]>([])
/** What the rules of the units come to, by the unit's name, where they were changed since the report. */
export const counts = signal<ReadonlyMap<string, Counts>>(new Map())
export const analysing = signal(false)
const following = signal(false) // whether the engine is at work only because a log grew
export const busy = computed(() => analysing.value && !following.value)
export const refusal = signal("") // why the last analysis was refused; "" when it was not
export const stopped = signal(false) // whether the reader stopped the last analysis
export const fault = signal<(Fault & { during: string }) | null>(null)
export const version = signal("")

export const reading = computed(() => [...readings.value.values()].some((r) => r.stage === "waiting" || r.stage === "reading"))

let client: Client | null = null
const cancels = new Map<number, AbortController>()
const known = new Map<number, Entry>()
let evidenceStep = 0 // counts what the engine was given, so that an analysis of older evidence is seen as stale
let analysed = { step: -1, sheet: null as Bench | null }
let working: AbortController | null = null // of the analysis that runs

/** Starts following the sheet with an engine. */
export function follow(engine: Client) {
  client = engine
  engine.ready.then((v) => (version.value = v.version), failStart)
  effect(() => {
    const now = files.value
    untracked(() => matchFiles(now))
  })
  effect(() => {
    const { bench } = sheet.value
    untracked(() => {
      endLookUnless(bench)
      void analyse()
    })
  })
}

function failStart(reason: Error) {
  fault.value = { message: reason.message, during: "starting" }
}

/** Takes note that the engine was replaced; the sheet is untouched. */
export function engineStopped(what: Fault) {
  const lost = what.lost === undefined ? undefined : known.get(what.lost)
  fault.value = { ...what, during: lost ? `reading ${lost.name}` : "working the sheet out" }
  if (lost) setReading(lost.id, { stage: "refused", message: "the engine stopped at this file" })
  client?.ready.then(() => {
    evidenceStep++
  }, failStart)
}

/** Takes note of a file that a fresh engine could not read once more. */
export function fileLost(id: number, reason: Error) {
  if (known.has(id)) setReading(id, { stage: "refused", message: `it could not be read again: ${reason.message}` })
}

function setReading(id: number, change: Partial<Reading>) {
  const before = readings.value.get(id) ?? { stage: "waiting", progress: null, message: "" }
  readings.value = new Map(readings.value).set(id, { ...before, ...change })
}

function dropReading(id: number) {
  const rest = new Map(readings.value)
  rest.delete(id)
  readings.value = rest
}

/** From how many bytes on a file keeps the cores busy for so long that the page is drawn before. */
const heavy = 5_000_000

function matchFiles(now: readonly Entry[]) {
  const wanted = new Set(now.map((f) => f.id))
  const came = now.filter((f) => !known.has(f.id)), before = now.filter((f) => known.has(f.id))
  if (came.length > 0) endLook()
  for (const id of [...known.keys()]) if (!wanted.has(id)) void forget(id)
  const large = client && !report.value ? worthALook(came, before, sheet.value.bench) : []
  for (const entry of came) if (!large.includes(entry)) void read(entry, entry.size >= heavy ? standing() : undefined)
  if (!client || large.length === 0) return
  const looked = look(client, large, sheet.value.bench, (p) => setReading(p.file, { stage: "reading", progress: p }))
  for (const entry of large) void read(entry, looked)
}

/** Reads a file, once something else is over; also used for one whose reading was cancelled. */
export async function read(entry: Entry, after?: Promise<void>) {
  if (!client) return
  setReading(entry.id, { stage: "waiting", progress: null, message: "" })
  const told = (progress: Progress) => {
    if (known.has(entry.id)) setReading(entry.id, { stage: "reading", progress })
  }
  await pour(client, entry, told, after)
  await analyse()
}

/** Reads logs again that grew, without a word: what was read of them stands until the rest has come. */
export async function readAgain(entries: readonly Entry[]) {
  following.value = true
  for (const entry of entries) if (client) await pour(client, entry, () => undefined)
  await analyse()
  following.value = false
}

async function pour(engine: Client, entry: Entry, told: (p: Progress) => void, after?: Promise<void>) {
  known.set(entry.id, entry)
  const control = new AbortController()
  cancels.set(entry.id, control)
  try {
    await Promise.race([after, new Promise((_, refuse) => control.signal.addEventListener("abort", () => refuse(cancelled())))])
    await engine.read(entry.id, entry.source, entry.name, sheet.value.bench, told, control.signal)
    if (known.has(entry.id)) setReading(entry.id, { stage: "done" })
  } catch (reason) {
    if (known.has(entry.id)) setReading(entry.id, outcomeOf(reason as Error))
  }
  cancels.delete(entry.id)
  evidenceStep++
}

function outcomeOf(reason: Error): Partial<Reading> {
  if (reason.name === "Cancelled") return { stage: "cancelled", message: "reading was cancelled" }
  if (reason.name === "EngineFault") return { stage: "refused", message: "the engine stopped at this file" }
  return { stage: "refused", message: reason.message.split("\n")[0] ?? "" }
}

async function forget(id: number) {
  endLook()
  known.delete(id)
  cancels.get(id)?.abort()
  dropReading(id)
  await client?.forget(id).catch(() => undefined)
  evidenceStep++
  await analyse()
}

export function cancel(id: number) {
  endLook()
  cancels.get(id)?.abort()
}

/** Works the sheet out anew until nothing has changed meanwhile. */
export async function analyse() {
  if (!client || analysing.value) return
  analysing.value = true
  try {
    while (analysed.step !== evidenceStep || analysed.sheet !== sheet.value.bench) await analyseOnce(client)
  } finally {
    analysing.value = false
  }
}

/** Puts the runs of saved reports into the bench, where they are kept; a report that was taken whole need not stay as a file. */
function keepSaved(answer: Report & { bench?: Bench }) {
  const at = sheet.value
  const next = withSaved(at.bench, answer.bench ?? at.bench)
  if (next === at.bench) return
  const noted = new Set(answer.notes.map((n) => n.file))
  const whole = new Set(answer.evidence.filter((f) => f.kind === "report" && !noted.has(f.file)).map((f) => f.file))
  amend({ bench: next, files: at.files.filter((f) => !whole.has(f.name)) })
}

/** Stops the analysis that runs. The sheet stays as it is; the next change, or asking for it, starts another. */
export function stop() {
  working?.abort()
}

/** Tells whether the same packets belong to each unit under two benches. */
function sameRules(one: Bench | null, other: Bench): boolean {
  const ours = one?.units ?? [], theirs = other.units ?? []
  return ours.length === theirs.length && ours.every((u, i) => u.match === theirs[i]?.match && u.name === theirs[i]?.name)
}

async function countFirst(engine: Client, bench: Bench) {
  const counted = await engine.counts(bench).catch(() => null) // what is amiss, the analysis will say
  if (counted && analysed.sheet === bench) counts.value = new Map(counted.map((c) => [c.name, c]))
}

async function analyseOnce(engine: Client) {
  const at = { step: evidenceStep, sheet: sheet.value.bench }
  const before = analysed
  analysed = at
  if (known.size === 0 && !sheet.value.bench.units?.length) {
    report.value = null
    lanes.value = []
    endLook()
    return
  }
  if (reading.value && [...readings.value.values()].every((r) => r.stage !== "done")) return
  stopped.value = false
  working = new AbortController()
  if (report.value && before.step === at.step && !sameRules(before.sheet, at.sheet)) void countFirst(engine, at.sheet)
  try {
    const answer = await engine.analyse(sheet.value.bench, working.signal)
    const drawn = answer.report.units.length > 0 ? await engine.lanes() : []
    batch(() => {
      lanes.value = drawn
      report.value = answer.report
      counts.value = new Map()
      endLook()
      places.value = new Map(answer.files.map((id, place) => [id, place]))
      refusal.value = ""
    })
    if (at.step === evidenceStep && at.sheet === sheet.value.bench) keepSaved(answer.report) // of an older sheet, its runs may have been taken away
  } catch (reason) {
    const { name, message } = reason as Error
    if (name === "EngineRefusal") refusal.value = message
    if (name !== "Cancelled") return
    stopped.value = true
    analysed = { step: evidenceStep, sheet: sheet.value.bench }
  }
}

/** The engine itself, for packets and exports. */
export function engine(): Client | null {
  return client
}

/** Resolves once nothing is being read or worked out; what was just read is worked out a moment later. */
export async function settled(): Promise<void> {
  while (reading.value || analysing.value) {
    await new Promise((next) => setTimeout(next, 50))
  }
}

/** Tries the analysis once more after a fault, or after it was stopped. */
export function tryAgain() {
  fault.value = null
  evidenceStep++
  void analyse()
}
