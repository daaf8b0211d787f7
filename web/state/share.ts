// Before sharing: call signs renamed, lines as received and places left out. Works on any text and on whole reports, by names
// found in the report itself and by the shape of call signs, so that none is left by oversight.
import { signal } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import type { Lane, Report } from "../report.gen.ts"

/** What is left out for other eyes. Places: as they stand, only as metres from the first one of each station, or not at all;
 * lines as received may hold places, so they go with these. */
export interface Discretion {
  calls: boolean
  lines: boolean
  places: "kept" | "metres" | "none"
}

export const nothingLeftOut: Discretion = { calls: false, lines: false, places: "kept" }

/** What the reader leaves out of everything that is saved for others, figures too. */
export const discretion = signal<Discretion>(nothingLeftOut)

/** Whether anything is left out. */
export function discreet(d: Discretion): boolean {
  return d.calls || withoutText(d)
}

/** Whether what packets say is left out, asked for or as what may hold a place. */
export function withoutText({ lines, places }: Discretion): boolean {
  return lines || places !== "kept"
}

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
export function shared(whole: Whole, d: Discretion): Whole {
  const read = withoutText(d) ? { ...whole, report: withoutLines(whole.report), bench: withoutRules(whole.bench) } : whole
  const left = d.places === "none" ? { ...read, lanes: read.lanes.map((l) => ({ ...l, way: [], places: [] })) } : read
  if (!d.calls) return left
  const names = new Names(whole.report, whole.bench)
  return mapped(left, (text) => names.renamed(text))
}

// The shape of amateur call signs (a prefix of letters and digits, a digit, a suffix of letters) with an SSID; common practice.
const shape = /\b(?:[A-Z]{1,2}\d[A-Z0-9]{0,3}[A-Z]|\d[A-Z]\d{1,2}[A-Z]{1,4})(?:-[A-Z0-9]{1,2})?\b/gi
// Names on paths and of software are no stations.
const general = /^(?:WIDE|TRACE|RELAY|AP)[A-Z0-9]*/i
// A word with what may be an SSID behind it.
const word = /[A-Za-z0-9]+(?:-[A-Za-z0-9]{1,2}(?![A-Za-z0-9]))?/g

/** Renames call signs: the same one always becomes the same name. */
export class Names {
  private readonly given = new Map<string, string>()
  private readonly calls = new Set<string>() // cores that have the shape of a call sign, in capitals
  private readonly words = new Set<string>() // cores that have not, as they were written
  private readonly odd = new Set<string>() // cores with other signs inside, in capitals
  private longest = 0
  private pattern: RegExp | null = null // of the odd ones

  /** Learns every call sign of a report and its bench. */
  constructor(report: Report, bench: Bench) {
    for (const s of report.stations) this.learn(s.station)
    for (const u of bench.units ?? []) for (const m of u.match ?? []) if (m.station) this.learn(m.station)
    this.learnFrom(JSON.stringify([report, bench]))
  }

  /** Learns what a text holds that has the shape of a call sign. */
  learnFrom(text: string) {
    for (const [call] of text.matchAll(shape)) if (!general.test(call)) this.learn(call)
  }

  /** Learns a name of a station, whatever its shape. */
  learn(call: string) {
    this.nameOf(bare(call) || call)
    const core = coreOf(call), key = core.toUpperCase()
    if (isCall(key)) this.calls.add(key)
    else this.words.add(core)
    this.longest = Math.max(this.longest, core.length)
    if (!/[^A-Z0-9]/.test(key) || this.odd.has(key)) return
    this.odd.add(key)
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
    const known = (found: string) => (this.has(coreOf(found)) ? this.nameOf(found) : null)
    return this.oddOnes(text, known).replace(word, (found) => known(found) ?? this.within(coreOf(found)) + found.slice(coreOf(found).length))
  }

  private has(core: string): boolean {
    return isCall(core.toUpperCase()) ? this.calls.has(core.toUpperCase()) : /[A-Za-z]/.test(core) && this.words.has(core)
  }

  private nameOf(call: string): string {
    const key = call.toUpperCase()
    const name = this.given.get(key) ?? `STATION-${this.given.size + 1}`
    this.given.set(key, name)
    return name
  }

  /** Names that are no single word. */
  private oddOnes(text: string, known: (found: string) => string | null): string {
    if (this.odd.size === 0) return text
    this.pattern ??= new RegExp(`(?:${[...this.odd].sort((a, b) => b.length - a.length).map((core) => {
      const literal = core.replace(/[^A-Z0-9]/g, "\\$&")
      return isCall(core) ? literal : `(?<![A-Za-z0-9])${literal}(?![A-Za-z0-9])`
    }).join("|")})(?:-[A-Z0-9]{1,2}(?![A-Z0-9]))?`, "gi")
    return text.replace(this.pattern, (found) => known(found) ?? found)
  }

  /** A word in which call signs stand among other letters, such as a file's name. */
  private within(text: string): string {
    const upper = text.toUpperCase()
    for (let at = 0; at + 4 <= text.length; at++) {
      for (let length = Math.min(this.longest, text.length - at); length >= 4; length--) {
        const core = upper.slice(at, at + length)
        if (this.calls.has(core)) return text.slice(0, at) + this.nameOf(core) + this.within(text.slice(at + length))
      }
    }
    return text
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
export function mapped<T>(value: T, edit: (text: string) => string): T {
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
    evidence: report.evidence.map((f) => ({ ...f, asks: f.asks.map((a) => ({ ...a, samples: [] })), columns: f.columns.map((c) => ({ ...c, sample: "" })) })),
    stations: report.stations.map((s) => ({ ...s, comments: s.comments.length > 0 ? ["left out"] : [], comment_sample: s.comment_sample && "left out", destinations: [] })),
    proposals: [],
  }
}

/** A bench whose rules keep their stations alone: comments and destinations are what packets say. */
function withoutRules(bench: Bench): Bench {
  const units = bench.units?.map((u) => (u.match ? { ...u, match: u.match.map(({ comment: _c, destination: _d, ...rest }) => rest) } : u))
  return units ? { ...bench, units } : bench
}
