// Which entry of the bench belongs to which run, while steps follow one another faster than reports.
import assert from "node:assert/strict"
import { afterEach, test } from "node:test"
import type { Bench, Run } from "../bench.gen.ts"
import type { Event, Run as Found } from "../report.gen.ts"
import { packCalled } from "../state/edits.ts"
import { report } from "../state/engine.ts"
import { changeRun, notedOf, noteEvent, placeOf, takeEventAway } from "../state/runs.ts"
import { bench, changeBench, emptyBench, undo } from "../state/sheet.ts"
import { emptyReport } from "../view.ts"
import { sampleReport } from "./sample-report.ts"

const swap = { at: "2031-05-04T16:00:00Z", precision_s: 30, what: "pack_changed" }
const clockOf = (hour: number) => new Date(Date.UTC(2031, 4, 2, hour)).toISOString()

/** What a report found of one unit: each run from one hour to another after midnight of 2 May, with its entry. */
function found(...runs: readonly [from: number, until: number, noted: number, events?: Partial<Event>[]][]) {
  const like = sampleReport.units[0]?.runs[0] as Found
  const unit = { ...sampleReport.units[0], name: "Teal", runs: runs.map(([from, until, noted, events]) => ({ ...like, label: "", noted, saved: null,
    first_heard: clockOf(from), last_heard: clockOf(until), start: { ...like.start, best: clockOf(from) }, events: events ?? [] })) }
  report.value = { ...emptyReport, units: [unit] } as typeof report.value
}

function sheetWith(runs: readonly Run[]) {
  changeBench("begin", { ...emptyBench, units: [{ name: "Teal", runs: [...runs] }] })
}

const noted = () => (bench.value as Bench).units?.[0]?.runs
afterEach(() => (report.value = null))

test("the place of a run is after that of the run before, and moves those behind it", () => {
  assert.deepEqual(placeOf([-1], 0), { at: 0, room: 1, entries: [0] })
  assert.deepEqual(placeOf([0, -1], 1), { at: 1, room: 1, entries: [0, 1] })
  assert.deepEqual(placeOf([0, -1, -1, 1], 2), { at: 2, room: 2, entries: [0, 1, 2, 3] })
  assert.deepEqual(placeOf([-1, 0], 0), { at: 0, room: 1, entries: [0, 1] })
  assert.deepEqual(placeOf([0, 2, 1], 1), { at: 2, room: 0, entries: [0, 2, 1] })
})

test("two answers of a run that a noted event began go into its own entry, also before the next report", () => {
  sheetWith([{ label: "one", events: [swap] }])
  found([16, 64, 0], [64, 90, -1])
  changeRun("charge", 0, 1, (r) => ({ ...r, charge_used_mah: 1846 }))
  changeBench("something else", { ...bench.value, title: "swap" })
  changeRun("instrument", 0, 1, (r) => ({ ...r, instrument: "M1" }))
  changeRun("charge", 0, 0, (r) => ({ ...r, charge_used_mah: 1995 }))
  assert.deepEqual(noted(), [{ label: "one", events: [swap], charge_used_mah: 1995 }, { charge_used_mah: 1846, instrument: "M1" }])
  assert.deepEqual([notedOf(0, 0).charge_used_mah, notedOf(0, 1).charge_used_mah], [1995, 1846])
  for (let n = 0; n < 4; n++) undo()
  assert.deepEqual([noted(), notedOf(0, 1)], [[{ label: "one", events: [swap] }], {}])
})

test("an event in the middle of a run makes room for what it began, and taking it away joins both", () => {
  sheetWith([{ label: "one" }, { label: "two", power_on: { at: clockOf(100) } }])
  found([16, 90, 0], [100, 120, 1])
  noteEvent("note", 0, 1, swap) // the other run was chosen, but it was off then
  assert.deepEqual(noted(), [{ label: "one", events: [swap] }, {}, { label: "two", power_on: { at: clockOf(100) } }])
  assert.equal(notedOf(0, 1).label, "two")
  found([16, 63, 0, [{ ...swap, basis: "noted" }]], [64, 90, 1], [100, 120, 2])
  changeRun("charge", 0, 0, (r) => ({ ...r, charge_used_mah: 1000 }))
  changeRun("charge", 0, 1, (r) => ({ ...r, charge_used_mah: 500, label: "rest" }))
  takeEventAway("take away", 0, 0, swap)
  assert.deepEqual(noted(), [{ label: "one", charge_used_mah: 1500 }, { label: "two", power_on: { at: clockOf(100) } }])
  undo()
  assert.deepEqual(noted()?.map((r) => r.label), ["one", "rest", "two"])
})

test("an event after the last packet, or one that begins nothing, makes no room", () => {
  sheetWith([{ label: "one" }])
  found([16, 40, 0])
  noteEvent("note", 0, 0, swap)
  noteEvent("note", 0, 0, { at: clockOf(20), what: "low_battery" })
  assert.equal(noted()?.length, 1)
})

test("a pack that is known by its name brings its capacity along", () => {
  const all: Bench = { ...emptyBench, units: [{ name: "Teal", battery: { pack: "P1", capacity_mah: 2000 } }, { name: "Smew", battery: { pack: "P2" } }] }
  assert.deepEqual([packCalled(all, "P1"), packCalled(all, "P2")], [{ pack: "P1", capacity_mah: 2000 }, null])
})
