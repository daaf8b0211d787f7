// Words of numbers and times. The expected texts follow the rules of the sheet; no outside source.
import assert from "node:assert/strict"
import { test } from "node:test"
import { bytes, clock, count, counted, dates, decimals, distance, gap, inOne, listed, many, moment, quantity, ratioOf, share, span, spanOf, speed, stretch } from "../format.ts"

const plain = (text: string) => text.replaceAll("\u00a0", " ")

const spans: [string, number, number, string][] = [
  ["seconds alone", 48, 1, "48 s"], ["minutes and seconds", 149, 1, "2 min 29 s"], ["whole minutes", 120, 1, "2 min"], ["hours lose their seconds", 45_797, 1, "12 h 43 min"],
  ["a whole hour", 36_000, 60, "10 h"], ["more than a day stays in hours", 100_000, 60, "27 h 47 min"], ["more than eight days", 9 * 86400 + 3600, 60, "9 d 1 h"],
  ["nothing", 0, 1, "0 s"], ["rounding does not make sixty minutes", 3599.7, 1, "1 h"], ["a negative span", -90, 1, "\u22121 min 30 s"],
]
for (const [name, seconds, step, want] of spans) test(`span: ${name}`, () => assert.equal(plain(span(seconds, step)), want))

const gaps: [number, string][] = [[2.5, "2.5 s"], [60, "60 s"], [120, "120 s"], [239, "239 s"], [240, "4 min"], [600, "10 min"], [630, "10.5 min"], [7200, "2 h"]]
for (const [seconds, want] of gaps) test(`gap of ${seconds} s`, () => assert.equal(plain(gap(seconds)), want))

const est = (low: number | null, best: number | null, high: number | null) => ({ low, best, high })

test("an estimate is rounded to its width", () => {
  assert.equal(plain(inOne(quantity(est(191.2, 204.1, 217.4), "mA"))), "204 mA (191 to 218)")
  assert.equal(plain(inOne(quantity(est(1.112, 1.213, 1.318)))), "1.21 (1.11 to 1.32)")
  assert.equal(plain(inOne(quantity(est(106.08, 108.764, 111.47), "mA"))), "108.8 mA (106.0 to 111.5)")
})

test("a ratio that excludes 1 is not rounded to it", () => {
  assert.equal(inOne(ratioOf(est(1.0061, 1.11, 1.22))), "1.110 (1.006 to 1.220)")
  assert.equal(inOne(ratioOf(est(0.93, 1.11, 1.22))), "1.11 (0.93 to 1.22)")
})

test("an open side is said, never filled in", () => {
  assert.equal(plain(inOne(spanOf(est(22_200, null, null)))), "at least 6 h 10 min")
  assert.equal(plain(inOne(spanOf(est(22_259, null, null)))), "at least 6 h 10 min")
  assert.equal(plain(inOne(spanOf(est(null, null, 22_201)))), "at most 6 h 11 min")
  assert.equal(plain(inOne(quantity(est(null, null, 325), "mA"))), "at most 325 mA")
  assert.equal(inOne(quantity(null, "mA")), "not known")
  assert.equal(inOne(quantity(est(null, null, null), "mA")), "not known")
})

test("a known zero is zero", () => assert.equal(inOne(counted(est(0, 0, 0))), "0"))
test("an exact count has no bounds", () => assert.equal(inOne(counted(est(61, 61, 61))), "61"))
test("a share is a percentage", () => assert.equal(plain(inOne(share(est(0.93, 0.955, 0.975)))), "95.5 % (93.0 to 97.5)"))

test("counts, sizes and lists", () => {
  assert.equal(count(1234567), "1,234,567")
  assert.equal(decimals(-0.04, 1), "0.0")
  for (const none of [NaN, Infinity]) assert.equal(decimals(none, 1), "not known")
  assert.equal(decimals(-1234.5, 1), "\u22121,234.5")
  assert.equal(many(1, "fix", "fixes"), "1 fix")
  assert.equal(many(0, "fix", "fixes"), "0 fixes")
  assert.deepEqual([1, 999, 1000, 2_900_000, 999_950, 1_030_000_000].map((n) => plain(bytes(n))), ["1 byte", "999 bytes", "1 kB", "2.9 MB", "1 MB", "1 GB"])
  assert.equal(listed(["a", "b", "c"]), "a, b and c")
})

test("distances and speeds in both measures", () => {
  assert.equal(plain(distance(412, "metric")), "412 m")
  assert.equal(plain(distance(7300, "metric")), "7.3 km")
  assert.equal(plain(distance(1609.344, "imperial")), "1 mi") // international mile, exact
  assert.equal(plain(distance(30.48, "imperial")), "100 ft") // international foot, exact
  assert.equal(plain(speed(10, "metric")), "36 km/h")
  assert.equal(plain(speed(0.44704, "imperial")), "1 mph")
})

const at = Date.parse("2031-05-02T22:41:47Z")
test("times are cut, not rounded, and carry their day where it changes", () => {
  assert.equal(clock(at, "UTC"), "22:41")
  assert.equal(clock(at, "UTC", "seconds"), "22:41:47")
  assert.equal(plain(moment(at, "Europe/Oslo")), "3 May 00:41")
  assert.equal(moment(at, "UTC", Date.parse("2031-05-02T05:00:00Z")), "22:41")
  assert.equal(plain(stretch("2031-05-02T05:12:00Z", "2031-05-03T06:58:00Z", "UTC")), "2 May 05:12 to 3 May 06:58")
  assert.equal(plain(dates(at, at + 4 * 86_400_000, "UTC")), "2 to 6 May 2031")
  assert.equal(stretch(null, null, "UTC"), "no time")
})
