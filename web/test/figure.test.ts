// The figures' plain functions: ticks, slots, laws, labels and tables.
import assert from "node:assert/strict"
import { test } from "node:test"
import { endOf, endOfEstimate, startOf } from "../figure/law.ts"
import { gapsOf, labelEnd } from "../figure/interval.tsx"
import { figureRules, lightTokens, plainStyle } from "../figure/save.ts"
import { beaconsOf, thin } from "../figure/slots.ts"
import { csv, edited, json, type FigureTable } from "../figure/table.ts"
import { sheetCSS } from "../style.ts"
import { testsOf } from "../figure/tests.ts"
import { panned, stepFor, ticks, timeScale, zoomed, type Window } from "../figure/time.ts"
import { onAirBy, placeLabels } from "../figure/words.ts"
import { domainOf, endsOf, placesFor } from "../figure/whiskers.tsx"
import { orphans, whileOn, withOwner } from "../part/belongs.tsx"
import { emptyBench } from "../state/sheet.ts"
import { sampleLanes, sampleReport } from "./sample-report.ts"

const hour = 3_600_000
const day = Date.parse("2031-05-02T00:00:00Z")
const window: Window = [day + 5.5 * hour, day + 19.2 * hour]

test("each hour is named where an hour is over 56 px, else two or four", () => {
  assert.equal(stepFor([0, 13.7 * hour], 976), hour)
  assert.equal(stepFor([0, 13.7 * hour], 648), 2 * hour)
  assert.equal(stepFor([0, 13.7 * hour], 328), 4 * hour)
  assert.equal(stepFor([0, 400 * 24 * hour], 976) % (24 * hour), 0)
})

test("ticks stand on whole hours of the zone, away from edges and the zone's name", () => {
  const found = ticks(window, 976, "+05:45", 60)
  assert.ok(found.every((t) => (t.at + 5.75 * hour) % hour === 0))
  const x = timeScale(window, 976)
  for (const t of found) if (t.text !== "") assert.ok(x(t.at) >= 14 && x(t.at) <= 976 - 76, t.text)
})

test("midnight carries the day", () => assert.ok(ticks([day - 5 * hour, day + 5 * hour], 976, "UTC", 30).some((t) => t.text.includes("May"))))

test("zoom and pan stay within the whole", () => {
  assert.deepEqual(zoomed([0, 10 * hour], [0, 10 * hour], 2, 5 * hour), [0, 10 * hour])
  assert.deepEqual(zoomed([0, 10 * hour], [0, 10 * hour], 0.5, 5 * hour), [2.5 * hour, 7.5 * hour])
  assert.deepEqual(panned([0, hour], [0, 10 * hour], -1), [0, hour])
  assert.deepEqual(panned([9 * hour, 10 * hour], [0, 10 * hour], 0.5), [9 * hour, 10 * hour])
})

function lane(every: number, n: number, missed: number[]) {
  const all = Array.from({ length: n }, (_, i) => i)
  return {
    unit: "Heron", run: 0, due: [{ at: 0, interval_s: every }], silent: [], way: [], places: [], paces: [], curve: [],
    sent: all.filter((i) => !missed.includes(i)).map((i) => i * every * 1000), missed: all.filter((i) => missed.includes(i)).map((i) => i * every * 1000),
  }
}

test("beacons that would touch become an area, flat where all were heard, with a notch for a loss", () => {
  const whole: Window = [0, 12 * hour]
  const found = beaconsOf(lane(60, 700, [300]), timeScale(whole, 976), whole)
  assert.equal(found.ticks.length, 0)
  assert.equal(found.areas.length, 1)
  const shares = found.areas[0]?.map((b) => b.share) ?? []
  assert.equal(shares.filter((s) => s < 1).length, 1)
  assert.equal(found.missed.length, 1)
  found.areas[0]?.forEach((b, i, all) => assert.equal(b.from, all[i - 1]?.to ?? b.from, "bins meet without a gap"))
})

test("the same beacons are ticks when there is room", () => {
  const whole: Window = [0, hour]
  const found = beaconsOf(lane(60, 61, [3]), timeScale(whole, 976), whole)
  assert.equal(found.ticks.length, 60)
  assert.equal(found.areas.length, 0)
})

test("thinning keeps marks apart and the first of them", () => assert.deepEqual(thin([0, 1, 2, 3, 4, 7], 3), [0, 3, 7]))

test("a gap over a missed beacon is not single", () => {
  assert.deepEqual(gapsOf(lane(60, 4, [1])), [{ at: 120_000, seconds: 120, single: false }, { at: 180_000, seconds: 60, single: true }])
})

const at = (text: string) => `2031-05-02T${text}:00Z`
test("an end without a latest bound is open and does not narrow", () => {
  const end = endOf({ earliest: at("18:43"), best: null, latest: null, state: "on_air_at_log_end", text: "", reason: "", law: [] })
  assert.ok(end.open)
  assert.deepEqual(end.curve.map((p) => p.p), [1])
})
test("an exact end stands upright", () => assert.deepEqual(endOf({ earliest: at("18:43"), best: at("18:43"), latest: at("18:43"), state: "noted", text: "", reason: "", law: [] }).curve.length, 1))
test("a start known within bounds rises to one", () => {
  assert.deepEqual(startOf({ earliest: at("05:39"), best: at("05:40"), latest: at("05:41"), basis: "power_on", law: [] }).map((p) => p.p), [0, 0.5, 1])
})
test("the bar of an estimate holds its limits at 2.5 % and 97.5 %", () => {
  const { curve } = endOfEstimate({ low: 144, best: 154, high: 164 })
  const near = (p: number) => curve.reduce((a, b) => (Math.abs(b.p - p) < Math.abs(a.p - p) ? b : a)).x
  assert.ok(Math.abs(near(0.975) - 144) < 0.5 && Math.abs(near(0.025) - 164) < 0.5 && near(0.5) === 154)
})

test("labels find sides that do not collide, or none at all", () => {
  assert.deepEqual(placeLabels([{ x: 100, width: 80 }], 0, 976)?.map((p) => p.side), ["right"])
  assert.deepEqual(placeLabels([{ x: 940, width: 80 }], 0, 976)?.map((p) => p.side), ["left"])
  assert.deepEqual(placeLabels([{ x: 400, width: 100 }, { x: 430, width: 100 }], 0, 976)?.map((p) => p.side), ["left", "right"])
  assert.equal(placeLabels([{ x: 400, width: 100 }, { x: 430, width: 100 }, { x: 460, width: 100 }], 0, 976), null)
})

test("runs that overlap make one test, in order of time", () => {
  const found = testsOf(sampleReport, sampleLanes, "UTC")
  assert.deepEqual(found.map((t) => t.runs.map((r) => r.unit)), [["Heron", "Lapwing"], ["Heron", "Lapwing"]])
  assert.ok(found.every((t) => t.whole[0] < t.whole[1]))
})

test("a ratio's axis holds equality, and an open value does not stretch an axis", () => {
  const row = (low: number | null, best: number | null, high: number | null) => ({ key: "", label: "", index: null, value: { low, best, high }, words: { best: "", bounds: "" }, ranked: true, gapBefore: false })
  const [a, b] = domainOf([row(1.2, 1.3, 1.4)], "ratio")
  assert.ok(a < 1 && b > 1.4)
  assert.ok(domainOf([row(100, 110, 120), row(null, null, 5000)], "linear")[1] < 200)
})

test("a limit beyond the axis is drawn otherwise than one that is open", () => {
  const ends = (low: number | null, high: number | null) => endsOf({ low, best: null, high }, [80, 140])
  assert.deepEqual(ends(90, 120), ["cap", "cap"])
  assert.deepEqual(ends(null, 325), ["open", "beyond"])
  assert.deepEqual(ends(60, null), ["beyond", "open"])
})

const table: FigureTable = {
  columns: [{ head: "Unit", kind: "text" }, { head: "At", kind: "time" }, { head: "Interval", kind: "number", unit: "s", places: 1 }],
  rows: [["Heron", day, 1.25], ['=cmd "x"', null, null]],
}
test("CSV carries units in its head and UTC times (RFC 4180 quoting)", () => {
  assert.equal(csv(table, "dot"), 'Unit,"At, UTC","Interval, s"\r\nHeron,2031-05-02T00:00:00Z,1.25\r\n"\'=cmd ""x""",,\r\n')
  assert.ok(csv(table, "comma").includes("Heron;2031-05-02T00:00:00Z;1,25"))
})

test("no cell of a CSV begins a formula, in a spreadsheet of either sign between cells", () => {
  for (const [cell, want] of [["=1", "'=1"], ["a;=1", '"a;\'=1"'], ["a,@x", '"a,\'@x"'], ["\uff1d1", "'\uff1d1"], ["a-b = c", "a-b = c"]] as const) {
    assert.equal(csv({ columns: [{ head: "h", kind: "text" }], rows: [[cell]] }, "dot"), `h\r\n${want}\r\n`)
  }
})

test("the words of a table may be edited, its numbers and times not", () => {
  assert.deepEqual(edited(table, (text) => text.toUpperCase()).rows, [["HERON", day, 1.25], ['=CMD "X"', null, null]])
})

test("JSON has the heads with their units for names, and keeps what is not known", () => {
  assert.deepEqual(JSON.parse(json(table)), [{ Unit: "Heron", "At, UTC": "2031-05-02T00:00:00Z", "Interval, s": 1.25 }, { Unit: '=cmd "x"', "At, UTC": null, "Interval, s": null }])
})

test("a saved figure's style holds no variable, and a rule for each unit", () => {
  const css = ".u1{--unit:var(--u1);--tint:#eee}.u2{--unit:#b00}.figure .tint,.mark .tint{fill:var(--tint)}.figure text{fill:var(--ink)}@media x{.figure .tint{fill:red}}"
  const style = plainStyle(css, new Map([["--u1", "#00a"], ["--ink", "#111"]]))
  assert.ok(style.includes(".figure .u1 .tint{fill:#eee}") && style.includes(".figure text{fill:#111}") && !style.includes("var(") && !style.includes("red"))
})

test("a saved figure's style is found in that of the sheet, whole", () => {
  const style = plainStyle(figureRules(sheetCSS), lightTokens(sheetCSS))
  assert.ok(style.includes(".figure .u4 .tint") && style.includes(".figure .halo") && style.includes(".figure .track") && !/var\(|@media|\.page/.test(style))
})

test("the light tokens are the first set", () => assert.equal(lightTokens(":root{--ink:#111;--u1:#222} @media{:root{--ink:#fff}}").get("--ink"), "#111"))

test("what the time on the air rests on says what was taken", () => {
  assert.equal(onAirBy(null).replaceAll("\u00a0", " "), "with 1200 baud (taken), TX delay 0.3 s (taken), tail 0.1 s (taken)")
  assert.equal(onAirBy({ modulation: "afsk1200", tx_delay_s: 0.25, tx_tail_s: 0 }).replaceAll("\u00a0", " "), "with 1200 baud, TX delay 0.25 s, tail 0 s")
  assert.equal(onAirBy({ modulation: "lora", lora: { sf: 9, bandwidth_hz: 125000, coding: "4/5" } }).replaceAll("\u00a0", " "), "with LoRa, SF 9, TX delay 0 s (taken), tail 0 s (taken)")
})

test("whose a file may be: of units that were on while it was recorded, until somebody says so", () => {
  const file = { ...sampleReport.evidence[0], file: "walk.gpx", packets: 0, fixes: 90, readings: 0, first: "2031-05-02T06:00:00Z", last: "2031-05-02T09:00:00Z" } as (typeof sampleReport.evidence)[number]
  const run = { ...sampleReport.units[0]?.runs[0], start: { best: "2031-05-02T05:00:00Z" }, last_heard: "2031-05-02T07:00:00Z" }
  const later = { ...run, start: { best: "2031-05-02T10:00:00Z" }, last_heard: "2031-05-02T11:00:00Z" }
  const report = { ...sampleReport, evidence: [file, { ...file, file: "m.csv", readings: 7 }], units: [{ name: "Heron", runs: [run] }, { name: "Teal", runs: [later] }] } as unknown as typeof sampleReport
  const bench = { ...emptyBench, units: [{ name: "Heron" }, { name: "Teal" }] }
  assert.deepEqual(orphans(report, bench).map((f) => f.file), ["walk.gpx", "m.csv"])
  assert.deepEqual(whileOn(report, file), [0])
  const said = withOwner(withOwner(bench, 0, "tracks", "walk.gpx", true), 1, "meters", "m.csv", true)
  assert.deepEqual(said.units, [{ name: "Heron", tracks: ["walk.gpx"] }, { name: "Teal", meters: ["m.csv"] }])
  assert.deepEqual(orphans(report, said), [])
  assert.deepEqual(withOwner(said, 0, "tracks", "walk.gpx", false).units?.[0], { name: "Heron" })
})

test("ticks are written with as many decimals as tell them apart, and no more", () => {
  assert.equal(placesFor([134.6, 134.8, 135, 135.2, 135.4, 135.60000000000002]), 1)
  assert.equal(placesFor([0, 50, 100]), 0)
  assert.equal(placesFor([0.25, 0.3, 0.35]), 2)
})

test("the names of an interval axis stand at one end, where they cover fewer marks", () => {
  const marks = (from: number) => [120, 300].flatMap((seconds) => Array.from({ length: 9 }, (_, i) => ({ at: from + i, seconds, single: true })))
  const at = (panels: ReturnType<typeof marks>[]) => labelEnd([120, 300], panels, ((v: number) => v) as Parameters<typeof labelEnd>[2], (s) => (s === 120 ? 80 : 20), 400)
  const beside = (from: number) => marks(from).map((g) => ({ ...g, seconds: g.seconds })).flatMap((g) => [g, { ...g }])
  assert.equal(at([marks(100)]), 356)
  assert.equal(labelEnd([120], [beside(360)], ((v: number) => v) as Parameters<typeof labelEnd>[2], () => 50, 400), 356)
})
