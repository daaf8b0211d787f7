// Before sharing: call signs renamed, lines as received and the drawn ways left out. Works on any text and on whole reports, by
// names found in the report itself and by the shape of call signs, so that none is left by oversight.
import { signal } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import type { Lane, Report } from "../report.gen.ts"

/** What is left out for other eyes. */
export interface Discretion {
  calls: boolean
  lines: boolean
  ways: boolean
}

/** What the reader leaves out of everything that is saved for others, figures too. */
export const discretion = signal<Discretion>({ calls: false, lines: false, ways: false })

/** A text as others may see it. */
export function forOthers(text: string, { report, bench }: { report: Report; bench: Bench }, { calls }: Discretion): string {
  return calls ? new Names(report, bench).renamed(text) : text
}

/** What a report is made of. */
export interface Whole {
  report: Report
  lanes: readonly Lane[]
  bench: Bench
}

/** The sheet as others may see it. */
export function shared(whole: Whole, { calls, lines, ways }: Discretion): Whole {
  const read = lines ? { ...whole, report: withoutLines(whole.report) } : whole
  const left = ways ? { ...read, lanes: read.lanes.map((l) => ({ ...l, way: [], places: [] })) } : read
  if (!calls) return left
  const names = new Names(whole.report, whole.bench)
  return mapped(left, (text) => names.renamed(text))
}

// The shape of amateur call signs (a prefix of letters and digits, a digit, a suffix of letters) with an SSID; common practice.
const shape = /\b(?:[A-Z]{1,2}\d[A-Z0-9]{0,3}[A-Z]|\d[A-Z]\d{1,2}[A-Z]{1,4})(?:-[A-Z0-9]{1,2})?\b/g
// Names on paths and of software are no stations.
const general = /^(?:WIDE|TRACE|RELAY|AP)[A-Z0-9]*/

/** Renames call signs: the same one always becomes the same name. */
export class Names {
  private readonly given = new Map<string, string>()
  private readonly words = new Set<string>() // names that are no call signs, as they were written
  private pattern: RegExp | null = null

  /** Learns every call sign of a report and its bench. */
  constructor(report: Report, bench: Bench) {
    for (const s of report.stations) this.learn(s.station)
    for (const u of bench.units ?? []) for (const m of u.match ?? []) if (m.station) this.learn(m.station)
    for (const [call] of JSON.stringify([report, bench]).matchAll(shape)) if (!general.test(call)) this.learn(call)
  }

  private learn(call: string) {
    const key = bare(call).toUpperCase() || call
    if (!this.given.has(key)) this.given.set(key, `STATION-${this.given.size + 1}`)
    if (!isCall(coreOf(key))) this.words.add(coreOf(call))
    this.pattern = null
  }

  /** The renames, in the order in which they were given. */
  get list(): readonly (readonly [string, string])[] {
    return [...this.given]
  }

  /**
   * The text with every call sign renamed, whatever its case and SSID. A name that is no call sign is one only as a whole word
   * written the same, since it may be a word of ours too; one without a letter only as the whole text, since it may be a number.
   */
  renamed(text: string): string {
    const whole = this.given.get(text.toUpperCase())
    if (whole) return whole
    this.pattern ??= this.found()
    return this.pattern === null ? text : text.replace(this.pattern, (call) => {
      const key = call.toUpperCase()
      if (!isCall(coreOf(key)) && !this.words.has(coreOf(call))) return call
      if (!this.given.has(key)) this.given.set(key, `STATION-${this.given.size + 1}`)
      return this.given.get(key) ?? key
    })
  }

  private found(): RegExp | null {
    const cores = [...new Set([...this.given.keys()].map(coreOf))].filter((core) => /[A-Z]/.test(core)).sort((a, b) => b.length - a.length)
    if (cores.length === 0) return null
    const each = cores.map((core) => {
      const literal = core.replace(/[^A-Z0-9]/g, "\\$&")
      return isCall(core) ? literal : `(?<![A-Za-z0-9])${literal}(?![A-Za-z0-9])`
    })
    return new RegExp(`(?:${each.join("|")})(?:-[A-Z0-9]{1,2}(?![A-Z0-9]))?`, "gi")
  }
}

/** A name without its SSID and without the signs around it. */
function coreOf(call: string): string {
  return bare(call.split("-")[0] ?? "")
}

function bare(name: string): string {
  return name.replace(/^[^A-Za-z0-9]+|[^A-Za-z0-9]+$/g, "")
}

function isCall(core: string): boolean {
  return core.length > 3 && /\d/.test(core) && /[A-Z]/.test(core)
}

/** A copy in which each text, names of properties aside, went through edit. */
function mapped<T>(value: T, edit: (text: string) => string): T {
  if (typeof value === "string") return edit(value) as T
  if (Array.isArray(value)) return value.map((item: unknown) => mapped(item, edit)) as T
  if (value === null || typeof value !== "object") return value
  return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, mapped(v as unknown, edit)])) as T
}

/** A report without anything in it that packets say: lines as received, comments, and destinations, which may hold a latitude. */
function withoutLines(report: Report): Report {
  return {
    ...report,
    notes: report.notes.map((n) => ({ ...n, excerpt: "" })),
    evidence: report.evidence.map((f) => ({ ...f, asks: f.asks.map((a) => ({ ...a, samples: [] })) })),
    stations: report.stations.map((s) => ({ ...s, comments: s.comments.length > 0 ? ["left out"] : [], destinations: [] })),
    proposals: [],
  }
}
