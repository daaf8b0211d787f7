// Edits of the bench, steps and their undoing, and what is remembered.
import assert from "node:assert/strict"
import { test } from "node:test"
import { momentAt, nextBench, tidied, withEvent, withFileNamed, withoutSaved, withRunAt, withSaved, withUnitAt, withUnits } from "../state/edits.ts"
import { settingsFrom, usual } from "../state/settings.ts"
import { addFiles, bench, changeBench, emptyBench, files, markSaved, redo, removeFile, undo, undoable, unsaved } from "../state/sheet.ts"
import { readNumber, readQuantity } from "../part/field.tsx"
import { unusedLines } from "../state/unused.ts"
import { merged, visible } from "../part/drawer.tsx"
import { noteOf } from "../part/conditions.tsx"

test("empty answers are taken out again", () => {
  assert.deepEqual(tidied({ a: "", b: null, c: { d: undefined }, e: [], f: 0, g: false }), { f: 0, g: false })
})

test("proposed units get their rules, and names that are free", () => {
  const made = withUnits(emptyBench, [{ name: "Heron", match: [{ station: "QX1ABC-7", comment: "" }] }, { name: "Heron", match: [{ station: "QX1ABC-8" }] }])
  assert.deepEqual(made.units, [{ name: "Heron", match: [{ station: "QX1ABC-7" }] }, { name: "Heron 2", match: [{ station: "QX1ABC-8" }] }])
})

const savedRun = { from: { file: "earlier.json", sha256: "ab", version: "1", unit: "Heron", run: 1 }, state: "ended", runtime_s: { low: 1, best: 2, high: 3 } }

test("runs of a saved report go under the unit of their name or a new one, once, and each can be taken out", () => {
  const one = withUnits(emptyBench, [{ name: "Heron", match: [] }])
  const joined = { ...one, units: [{ name: "Heron", saved: [savedRun] }, { name: "Lapwing", saved: [savedRun] }] }
  const made = withSaved(one, joined)
  assert.deepEqual(made.units?.map((u) => [u.name, u.saved?.length]), [["Heron", 1], ["Lapwing", 1]])
  assert.equal(withSaved(made, joined), made)
  assert.deepEqual(withoutSaved(made, 0, savedRun.from).units?.[0], { name: "Heron" })
})

test("the next test's bench keeps the units, drops runs and files, and dates its margin", () => {
  const old = { ...emptyBench, files: [{ name: "a.log" }], units: [{ name: "Heron", battery: { pack: "A" }, runs: [{ label: "x" }], saved: [savedRun], tracks: ["t.gpx"] }], compare: { assumed_cv_pct: 2 } }
  assert.deepEqual(nextBench(old, new Date("2031-06-01T10:00:00Z")),
    { ...emptyBench, units: [{ name: "Heron", battery: { pack: "A" } }], compare: { margin_pct: 5, assumed_cv_pct: 2, stated: "2031-06-01" } })
})

test("an answer for a later run leaves room for the earlier ones", () => {
  const one = withUnits(emptyBench, [{ name: "Heron", match: [] }])
  const made = withRunAt(one, 0, 1, (r) => ({ ...r, power_on: momentAt(Date.parse("2031-05-02T05:40:00Z"), 30) }))
  assert.deepEqual(made.units?.[0]?.runs, [{}, { power_on: { at: "2031-05-02T05:40:00Z", precision_s: 30 } }])
})

test("events of a run stand in order of time", () => {
  const one = withUnits(emptyBench, [{ name: "Heron", match: [] }])
  const late = withEvent(one, 0, 0, { at: "2031-05-02T18:00:00Z", what: "seen_dead" })
  const both = withEvent(late, 0, 0, { at: "2031-05-02T15:00:00Z", what: "low_battery" })
  assert.deepEqual(both.units?.[0]?.runs?.[0]?.events?.map((e) => e.what), ["low_battery", "seen_dead"])
})

test("a unit keeps its name whatever is edited, and a file is found by its name", () => {
  const one = withUnits(emptyBench, [{ name: "Heron", match: [] }])
  assert.equal(withUnitAt(one, 0, (u) => ({ ...u, name: "" })).units?.[0]?.name, "Heron")
  assert.deepEqual(withFileNamed(one, "a.log", (f) => ({ ...f, zone: "Europe/Oslo" })).files, [{ name: "a.log", zone: "Europe/Oslo" }])
  assert.equal(withUnitAt(one, 7, (u) => u), one)
})

test("every step can be undone and done again, files too", () => {
  addFiles([{ name: "a.log", size: 1, source: new Uint8Array(1) }])
  changeBench("name the trial", { ...emptyBench, title: "Trial" })
  assert.equal(undoable.value, "name the trial")
  undo()
  assert.equal(bench.value.title, undefined)
  redo()
  assert.equal(bench.value.title, "Trial")
  const id = files.value[0]?.id ?? -1
  removeFile(id)
  assert.equal(files.value.length, 0)
  undo()
  assert.equal(files.value[0]?.id, id)
})

test("saving the bench makes its steps safe", () => {
  changeBench("name it anew", { ...emptyBench, title: "Again" })
  assert.ok(unsaved.value > 0)
  markSaved()
  assert.equal(unsaved.value, 0)
})

test("a damaged memory gives the usual settings", () => {
  for (const text of [null, "", "x", "{}", '{"look":"pink","measure":3}']) assert.deepEqual(settingsFrom(text), usual, String(text))
  assert.equal(settingsFrom('{"look":"dark"}').look, "dark")
  assert.deepEqual(['{"keep":true}', '{"keep":1}'].map((text) => settingsFrom(text).keep), [true, false])
})

const numbers: [string, number | null][] = [["2000", 2000], ["2,000", 2000], ["2 000", 2000], ["4,8", 4.8], ["4.8", 4.8], ["1,234,567.5", 1234567.5], ["\u22125", -5], ["", null], ["two", null], ["1.2.3", null], ["1e3", null]]
for (const [text, want] of numbers) test(`the number "${text}"`, () => assert.equal(readNumber(text), want))

// 37 dBm is 10^0.7 W by the definition of the dBm.
const quantities: [string, string, number | null, string][] = [["1.8 Ah", "mAh", 1800, "1.8\u00a0Ah"], ["1800 mAh", "mAh", 1800, ""], ["1,800mah", "mAh", 1800, ""], ["37 dBm", "W", 5.012, "37\u00a0dBm"], ["500mW", "W", 0.5, "500\u00a0mW"],
  ["70 F", "\u00b0C", 21.11, "70\u00a0F"], ["-5 \u00b0C", "\u00b0C", -5, ""], ["300 ms", "s", 0.3, "300\u00a0ms"], ["5 V", "W", null, ""], ["5 x", "", null, ""], ["Ah", "mAh", null, ""]]
for (const [text, unit, value, other] of quantities) test(`"${text}" in ${unit}`, () => assert.deepEqual(readQuantity(text, unit), value === null ? null : { value, other }))

test("missed beacons stand with their neighbours, and never beyond what was looked through", () => {
  const row = (at: number) => ({ file: "a.log", file_id: 0, line: 1, at: new Date(at).toISOString(), station: "QX1ABC-7", raw: "", why: "counted", unit: "Heron", transmission: 1, of: null }) as const
  const times = (limit: number) => merged([row(0), row(60_000), row(120_000), row(240_000), row(300_000)], [180_000, 900_000], limit).map((s) => s.at)
  assert.deepEqual(times(10), [120_000, 180_000, 240_000, 300_000, 900_000])
  assert.deepEqual(times(5), [120_000, 180_000, 240_000])
})

test("lines not used are taken out of the packets export", async () => {
  const exported = new Blob(['{"file":"a.log","line":1,"station":"QX1ABC-7","note":"position.short"}\n{"file":"a.log","line":2,"no', 'te":"header.none","text":"no packet: \u00e9"}\n{"file":"a.log","line":3,"station":"QX1ABC-7"}\n'])
  assert.equal(await unusedLines(exported), "a.log:2: header.none: no packet: \u00e9\n")
})

test("characters without a shape are written as their codes", () => assert.equal(visible("a\u001cb\u007f \u00e9"), "a\\x1cb\\x7f \u00e9"))

const conditions: [string, string, string, string, string][] = [
  ["RF power", "4.80 W", "4.60 W", "RF power matches: 4.80 W and 4.60 W, 0.18 dB apart.", "0.18 dB apart."],
  ["Time on the air", "0.697 s", "0.774 s", "Time on the air differs, 0.697 s against 0.774 s, which changes the draw by less than 2 %.", "Changes the draw by less than 2 %."],
  ["Pack", "H1, 1,926 mAh", "L1, 2,114 mAh", "Different packs, H1, 1,926 mAh against L1, 2,114 mAh; the charge of each was measured.", "The charge of each was measured."],
  ["Antenna", "roof", "whip", "Antenna is noted in other words: roof against whip; whether both load a transmitter alike is not known.", "Whether both load a transmitter alike is not known."],
  ["Path", "WIDE1-1", "none", "Path differs: WIDE1-1 against none.", ""],
  ["Audio", "", "", "Audio is not noted.", ""],
  ["Pack", "H1, 2,000 mAh", "L1, 2,200 mAh", "The packs differ, H1, 2,000 mAh against L1, 2,200 mAh, and their capacity was not measured.", "Their capacity was not measured."],
  ["Pack", "H1, 2,000 mAh", "external supply", "Pack: H1, 2,000 mAh against external supply; how far that counts is not known.", "How far that counts is not known."],
  ["Transmit rate", "not known", "not known", "Transmit rate is not known.", ""],
]
for (const [name, a, b, text, want] of conditions) {
  test(`the note beside a condition's cells says what they do not: ${text}`, () => assert.equal(noteOf({ check: "", name, state: "", a, b, text }), want))
}
