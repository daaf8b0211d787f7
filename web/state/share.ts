// Before sharing: call signs renamed, and lines as received left out. Works on any text and on whole reports, by names found in
// the report itself and by the shape of call signs, so that none is left by oversight.
import type { Bench } from "../bench.gen.ts"
import type { Report } from "../report.gen.ts"

// The shape of amateur call signs (a prefix of letters and digits, a digit, a suffix of letters) with an SSID; common practice.
const shape = /\b(?:[A-Z]{1,2}\d[A-Z0-9]{0,3}[A-Z]|\d[A-Z]\d{1,2}[A-Z]{1,4})(?:-[A-Z0-9]{1,2})?\b/g
// Names on paths and of software are no stations.
const general = /^(?:WIDE|TRACE|RELAY|AP)[A-Z0-9]*/

/** Renames call signs: the same one always becomes the same name. */
export class Names {
  private readonly given = new Map<string, string>()
  private pattern: RegExp | null = null

  /** Learns every call sign of a report and its bench. */
  constructor(report: Report, bench: Bench) {
    for (const s of report.stations) this.learn(s.station)
    for (const u of bench.units ?? []) for (const m of u.match ?? []) if (m.station) this.learn(m.station)
    for (const [call] of JSON.stringify([report, bench]).matchAll(shape)) if (!general.test(call)) this.learn(call)
  }

  private learn(call: string) {
    const key = call.toUpperCase()
    if (!this.given.has(key)) this.given.set(key, `STATION-${this.given.size + 1}`)
    this.pattern = null
  }

  /** The renames, in the order in which they were given. */
  get list(): readonly (readonly [string, string])[] {
    return [...this.given]
  }

  /** The text with every call sign renamed, whatever its case and SSID. */
  renamed(text: string): string {
    const bases = [...new Set([...this.given.keys()].map((c) => c.split("-")[0] ?? c))].sort((a, b) => b.length - a.length)
    if (bases.length === 0) return text
    this.pattern ??= new RegExp(`(?:${bases.map((b) => b.replace(/[^A-Z0-9]/g, "\\$&")).join("|")})(?:-[A-Z0-9]{1,2}(?![A-Z0-9]))?`, "gi")
    return text.replace(this.pattern, (call) => {
      const key = call.toUpperCase()
      if (!this.given.has(key)) this.given.set(key, `STATION-${this.given.size + 1}`)
      return this.given.get(key) ?? key
    })
  }
}

/** A copy in which each text, names of properties aside, went through edit. */
export function mapped<T>(value: T, edit: (text: string) => string): T {
  if (typeof value === "string") return edit(value) as T
  if (Array.isArray(value)) return value.map((item: unknown) => mapped(item, edit)) as T
  if (value === null || typeof value !== "object") return value
  return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, mapped(v as unknown, edit)])) as T
}

/** A report without any line as received; places stand only in those. */
export function withoutLines(report: Report): Report {
  return {
    ...report,
    notes: report.notes.map((n) => ({ ...n, excerpt: "" })),
    evidence: report.evidence.map((f) => ({ ...f, asks: f.asks.map((a) => ({ ...a, samples: [] })) })),
  }
}
