// Numbers and times as words. Every figure, table and sentence of the page takes its wording from here: times in one stated
// zone, 24 h, numbers rounded to their uncertainty, no break between number and unit.
import type { Estimate } from "./report.gen.ts"
import { months, wallAt } from "./zone.ts"

const nbsp = "\u00a0"
export const minus = "\u2212"

/** What stands where a number is not known: a word, never 0 or a dash. */
export const notKnown = "not known"

/** A number with its unit; the two never part. */
export function withUnit(text: string, unit: string): string {
  return unit === "" ? text : text + nbsp + unit
}

/** Text from outside with control and direction characters written out, so that it moves neither a terminal nor the words beside it. */
export function visible(text: string): string {
  return text.replace(/[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]/g, (c) => "\\u" + c.charCodeAt(0).toString(16).padStart(4, "0"))
}

/** 9812 as "9,812". */
export function count(n: number): string {
  return decimals(n, 0)
}

/** A fixed number of decimals, thousands set apart by commas, a true minus sign; a word for what is no number. */
export function decimals(v: number, places: number): string {
  if (!Number.isFinite(v)) return notKnown
  const [whole = "0", part] = Math.abs(v).toFixed(places).split(".")
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ",")
  const sign = v < 0 && Number(v.toFixed(places)) !== 0 ? minus : ""
  return sign + grouped + (part ? "." + part : "")
}

/** How many decimals show a number known to plus or minus half: two digits of the half width, between 0 and 4. */
function placesFor(half: number): number {
  if (!(half > 0)) return 0
  return Math.min(4, Math.max(0, 1 - Math.floor(Math.log10(half))))
}

/** How many decimals suit an estimate: by its width, else three digits of its best value. */
function placesOf(e: Estimate): number {
  const half = halfWidth(e)
  if (half !== null && half > 0) return Math.max(0, placesFor(half) - (leadingDigit(half) >= 3 ? 1 : 0))
  const at = Math.abs(e.best ?? e.low ?? e.high ?? 0)
  return at === 0 ? 0 : Math.min(4, Math.max(0, 2 - Math.floor(Math.log10(at))))
}

function leadingDigit(v: number): number {
  return Math.floor(v / 10 ** Math.floor(Math.log10(v)))
}

function halfWidth(e: Estimate): number | null {
  if (e.low !== null && e.high !== null) return (e.high - e.low) / 2
  if (e.best === null) return null
  if (e.low !== null) return Math.abs(e.best - e.low)
  return e.high === null ? null : Math.abs(e.high - e.best)
}

/** An estimate in words: the best value, and its bounds without brackets ("191 to 217"); bounds "" when it is exact. */
export interface Worded {
  best: string
  bounds: string
}

type Rounding = (v: number) => number
type Writer = (v: number, to: Rounding) => string

/** Limits are rounded outward, without making one more of what binary fractions leave over. */
const down: Rounding = (v) => Math.floor(v + 1e-6)
const up: Rounding = (v) => Math.ceil(v - 1e-6)

function worded(e: Estimate | null, write: Writer, best: (text: string) => string): Worded {
  if (!e || (e.best === null && e.low === null && e.high === null)) return { best: notKnown, bounds: "" }
  if (e.high === null && e.low !== null) return { best: `at least ${best(write(e.low, down))}`, bounds: "" }
  if (e.low === null && e.high !== null) return { best: `at most ${best(write(e.high, up))}`, bounds: "" }
  if (e.best === null) return { best: best(`${write(e.low ?? 0, down)} to ${write(e.high ?? 0, up)}`), bounds: "" }
  const low = e.low ?? e.best, high = e.high ?? e.best
  return { best: best(write(e.best, Math.round)), bounds: write(low, Math.round) === write(high, Math.round) ? "" : `${write(low, down)} to ${write(high, up)}` }
}

/** An estimate of a plain quantity, its decimals chosen by its width. */
export function quantity(e: Estimate | null, unit = ""): Worded {
  return inPlaces(e, e ? placesOf(e) : 0, unit)
}

function inPlaces(e: Estimate | null, places: number, unit: string): Worded {
  const scale = 10 ** places
  return worded(e, (v, to) => decimals(to === Math.round ? v : to(v * scale) / scale, places), (text) => withUnit(text, unit))
}

/** An estimate of a ratio: as many decimals as it takes that a limit beside 1 is not rounded to it. */
export function ratioOf(e: Estimate): Worded {
  let places = placesOf(e)
  const hides = (v: number | null, to: Rounding) => v !== null && v !== 1 && to(v * 10 ** places) === 10 ** places
  while (places < 4 && (hides(e.low, down) || hides(e.high, up))) places++
  return inPlaces(e, places, "")
}

/** An estimate of a run time or another span, in seconds: hours and minutes. */
export function spanOf(e: Estimate | null): Worded {
  const step = e ? Math.max(stepFor(halfWidth(e) ?? 0), Math.abs(e.best ?? e.low ?? e.high ?? 0) >= 600 ? 60 : 1) : 1
  return worded(e, (v, to) => span(to(v / step) * step, step), (text) => text)
}

/** An estimate that is a share from 0 to 1, in percent. */
export function share(e: Estimate | null): Worded {
  if (!e) return quantity(null)
  const times = (v: number | null) => (v === null ? null : v * 100)
  return quantity({ low: times(e.low), best: times(e.best), high: times(e.high) }, "%")
}

/** An estimate of a count: whole numbers. */
export function counted(e: Estimate | null): Worded {
  return worded(e, (v, to) => count(to(v)), (text) => text)
}

/** "204 mA (191 to 217)" in one piece. */
export function inOne(w: Worded): string {
  return w.bounds === "" ? w.best : `${w.best} (${w.bounds})`
}

function stepFor(half: number): number {
  if (half < 5) return 1
  return half < 3000 ? 60 : 600
}

/** A span in seconds as hours, minutes and seconds, rounded to step seconds: "12 h 43 min", "2 min 29 s", "48 s". */
export function span(seconds: number, step = 1): string {
  const sign = seconds < 0 ? minus : ""
  const coarse = Math.abs(seconds) >= 6000 ? Math.max(step, 60) : step
  const s = Math.round(Math.abs(seconds) / coarse) * coarse
  const d = Math.floor(s / 86400), h = Math.floor((s % 86400) / 3600), min = Math.floor((s % 3600) / 60), rest = s % 60
  if (s >= 8 * 86400) return sign + pair(d, "d", h, "h")
  if (s >= 3600) return sign + pair(d * 24 + h, "h", min, "min")
  if (s >= 60) return sign + pair(min, "min", rest, "s")
  return sign + withUnit(coarse > 1 && s === 0 ? "0" : decimals(s, 0), s === 0 && coarse >= 60 ? "min" : "s")
}

function pair(a: number, unitA: string, b: number, unitB: string): string {
  return b === 0 ? withUnit(count(a), unitA) : `${withUnit(count(a), unitA)}${nbsp}${withUnit(String(b), unitB)}`
}

/** The gap between beacons: seconds up to four minutes, minutes up to two hours, hours beyond. */
export function gap(seconds: number): string {
  if (seconds < 240) return withUnit(trimmed(seconds, seconds < 10 ? 1 : 0), "s")
  if (seconds < 7200) return withUnit(trimmed(seconds / 60, 1), "min")
  return withUnit(trimmed(seconds / 3600, 1), "h")
}

function trimmed(v: number, places: number): string {
  return decimals(v, places).replace(/\.0+$/, "")
}

/** Bytes for people: "2.9 MB". Thousands of 1,000, as disks and browsers count. */
export function bytes(n: number): string {
  if (n < 1000) return withUnit(count(n), n === 1 ? "byte" : "bytes")
  const units = ["kB", "MB", "GB"]
  let v = n / 1000, i = 0
  while (v >= 999.5 && i < units.length - 1) {
    v /= 1000
    i++
  }
  return withUnit(v < 10 ? trimmed(v, 1) : count(Math.round(v)), units[i] ?? "GB")
}

/** "1 file", "5 files"; a word may have its own plural. */
export function many(n: number, one: string, more = one + "s"): string {
  return `${count(n)} ${n === 1 ? one : more}`
}

/** A list in a sentence: "a, b and c". */
export function listed(items: readonly string[]): string {
  if (items.length < 2) return items.join("")
  return `${items.slice(0, -1).join(", ")} and ${items[items.length - 1]}`
}

const two = (n: number) => String(n).padStart(2, "0")

/** A report's time (RFC 3339) as Unix ms; null stays null. */
export function instant(at: string | null | undefined): number | null {
  if (at == null) return null
  const ms = Date.parse(at)
  return Number.isNaN(ms) ? null : ms
}

/** "18:43", with seconds on request; cut, not rounded, as a clock shows it. */
export function clock(ms: number, zone: string, seconds: "seconds" | "minutes" = "minutes"): string {
  const w = wallAt(ms, zone)
  return `${two(w.hour)}:${two(w.minute)}${seconds === "seconds" ? ":" + two(w.second) : ""}`
}

/** "2 May", with the year on request. */
export function day(ms: number, zone: string, year: "year" | "no year" = "no year"): string {
  const w = wallAt(ms, zone)
  return `${w.day}${nbsp}${months[w.month - 1] ?? ""}${year === "year" ? nbsp + w.year : ""}`
}

/** "2 May 05:40"; only the clock where the day is that of near. */
export function moment(ms: number, zone: string, near?: number | null): string {
  if (near != null && day(ms, zone, "year") === day(near, zone, "year")) return clock(ms, zone)
  return `${day(ms, zone)}${nbsp}${clock(ms, zone)}`
}

/** The first minute by which a moment has passed, so that a latest moment is not shown too early. */
export function passed(ms: number): number {
  return Math.ceil(ms / 60_000) * 60_000
}

/** "2 May 05:12 to 3 May 06:58"; a day said once is not said again. */
export function stretch(from: string | null, until: string | null, zone: string): string {
  const a = instant(from), b = instant(until)
  if (a === null || b === null) return a === null && b === null ? "no time" : moment(a ?? b ?? 0, zone)
  return `${moment(a, zone)} to ${moment(b, zone, a)}`
}

/** The date of a run or test: "2 May 2031", "2 to 6 May 2031". */
export function dates(from: number, until: number, zone: string): string {
  const a = wallAt(from, zone), b = wallAt(until, zone)
  if (a.year !== b.year) return `${day(from, zone, "year")} to ${day(until, zone, "year")}`
  if (a.month !== b.month) return `${day(from, zone)} to ${day(until, zone, "year")}`
  if (a.day !== b.day) return `${a.day} to ${day(until, zone, "year")}`
  return day(from, zone, "year")
}

/** The name of a zone as it stands beside times. */
export function zoneName(zone: string): string {
  return zone === "" ? "UTC" : zone.replaceAll("_", " ")
}

export type Measure = "metric" | "imperial"

/** A distance in metres: "412 m", "7.3 km", or feet and miles. */
export function distance(metres: number, measure: Measure): string {
  if (measure === "imperial") {
    const feet = metres / 0.3048
    return feet < 1000 ? withUnit(count(Math.round(feet)), "ft") : withUnit(trimmed(metres / 1609.344, 1), "mi")
  }
  return metres < 1000 ? withUnit(count(Math.round(metres)), "m") : withUnit(decimals(metres / 1000, 1), "km")
}

/** A speed in m/s as km/h or miles an hour. */
export function speed(mps: number, measure: Measure): string {
  if (measure === "imperial") return withUnit(trimmed(mps / 0.44704, 1), "mph")
  return withUnit(trimmed(mps * 3.6, 1), "km/h")
}
