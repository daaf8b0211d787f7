// What is noted of the runs that the report found. The engine says which entry of the bench file belongs to which run; entries
// stand in order of time, so that one for a run in the middle moves those after it, before the next report says so.
import { effect } from "@preact/signals"
import type { Bench, Event, Run } from "../bench.gen.ts"
import type { Report, Run as Found } from "../report.gen.ts"
import { withEvent, withoutEntry, withoutEvent, withRoom, withRunAt } from "./edits.ts"
import { report } from "./engine.ts"
import { bench, changeBench } from "./sheet.ts"

/** For every unit and run of a report the entry of the bench that belongs to it, -1 for none. */
type Entries = readonly (readonly number[])[]

const ahead = new WeakMap<Bench, { of: Report; entries: Entries }>()

/** Keeps in mind where the entries went while further steps follow, until the engine says it. */
let last = bench.peek()
effect(() => {
  const now = bench.value, known = ahead.get(last)
  if (known && !ahead.has(now)) ahead.set(now, known)
  last = now
})

function entriesNow(): Entries {
  const known = ahead.get(bench.value)
  if (known && known.of === report.value) return known.entries
  return (report.value?.units ?? []).map((u) => u.runs.map((r) => (r.saved ? -1 : r.noted)))
}

/** What is noted of a run; nothing where nobody noted anything. */
export function notedOf(unit: number, no: number): Run {
  return bench.value.units?.[unit]?.runs?.[entriesNow()[unit]?.[no] ?? -1] ?? {}
}

function step(says: string, next: Bench, unit: number, entries: readonly number[]) {
  const of = report.value
  if (of) {
    const now = entriesNow()
    ahead.set(bench.value, { of, entries: now })
    ahead.set(next, { of, entries: now.map((e, i) => (i === unit ? entries : e)) })
  }
  changeBench(says, next)
}

/** Where the entry of a run stands, and the entries of the unit once there is one: runs before it may need one too. */
export function placeOf(entries: readonly number[], no: number): { at: number; room: number; entries: number[] } {
  const had = entries[no] ?? -1
  if (had >= 0) return { at: had, room: 0, entries: [...entries] }
  let before = no - 1
  while (before >= 0 && (entries[before] ?? -1) < 0) before--
  const behind = before < 0 ? -1 : entries[before] ?? -1, room = no - before
  return { at: behind + room, room, entries: entries.map((e, k) => (k > before && k <= no ? behind + k - before : e > behind ? e + room : e)) }
}

/** Changes what is noted of a run. */
export function changeRun(says: string, unit: number, no: number, edit: (run: Run) => Run) {
  const { at, room, entries } = placeOf(entriesNow()[unit] ?? [], no)
  step(says, withRunAt(withRoom(bench.value, unit, at - room + 1, room), unit, at, edit), unit, entries)
}

/** Whether a new run begins with such an event. */
export function begins(what: string): boolean {
  return what === "pack_changed" || what === "charging" || what === "power_cycled"
}

/** The run of a unit in whose time a moment (Unix ms) lies; otherwise the one given. */
function runAround(runs: readonly Found[], at: number, otherwise: number): number {
  const starts = runs.map((r) => (r.saved ? NaN : Date.parse(r.start.best ?? r.first_heard ?? "")))
  const found = starts.findLastIndex((s) => s <= at)
  return found < 0 ? otherwise : found
}

/** Notes an event; where a new run begins with it, that run gets an entry of its own. */
export function noteEvent(says: string, unit: number, no: number, event: Event) {
  const runs = report.value?.units[unit]?.runs ?? [], at = Date.parse(event.at), of = runAround(runs, at, no)
  const place = placeOf(entriesNow()[unit] ?? [], of), run = runs[of]
  const noted = withEvent(withRoom(bench.value, unit, place.at - place.room + 1, place.room), unit, place.at, event)
  const splits = begins(event.what) && run !== undefined && Date.parse(run.first_heard ?? "") <= at && at < Date.parse(run.last_heard ?? "")
  if (!splits) return step(says, noted, unit, place.entries)
  step(says, withRoom(noted, unit, place.at + 1, 1), unit, place.entries.map((e) => (e > place.at ? e + 1 : e)))
}

/** Where an event of a unit is noted: the entry and the place in it; null when nobody noted it. */
export function whereNoted(unit: number, event: { at: string; what: string }): [entry: number, at: number] | null {
  for (const [entry, run] of (bench.value.units?.[unit]?.runs ?? []).entries()) {
    const at = (run.events ?? []).findIndex((e) => Date.parse(e.at) === Date.parse(event.at) && e.what === event.what)
    if (at >= 0) return [entry, at]
  }
  return null
}

/** Takes a noted event away; of a run that it alone began, the rest is said of the run before, to which it belongs now. */
export function takeEventAway(says: string, unit: number, no: number, event: { at: string; what: string }) {
  const where = whereNoted(unit, event)
  if (!where) return
  const now = entriesNow()[unit] ?? [], next = withoutEvent(bench.value, unit, ...where), [into = -1, gone = -1] = [now[no], now[no + 1]]
  const runs = report.value?.units[unit]?.runs ?? []
  const ending = (runs[no]?.events ?? []).filter((e) => e.basis === "noted" && begins(e.what) && Date.parse(e.at) >= Date.parse(runs[no]?.last_heard ?? ""))
  const alone = begins(event.what) && ending.length === 1 && Date.parse(ending[0]?.at ?? "") === Date.parse(event.at)
  if (!alone || into < 0 || gone < 0 || next.units?.[unit]?.runs?.[gone]?.power_on) return step(says, next, unit, now)
  step(says, withoutEntry(next, unit, gone, into), unit, now.map((e) => (e === gone ? into : e > gone ? e - 1 : e)))
}
