// Wall clocks. Offsets and changes of Europe/Oslo (last Sundays of March and October, 01:00 UTC) and Asia/Kathmandu (+05:45)
// are those of the IANA time zone database.
import assert from "node:assert/strict"
import { test } from "node:test"
import { momentOf, offsetAt, readWhen, wallAt, zoneKnown } from "../zone.ts"

const hour = 3_600_000
const iso = (ms: number) => new Date(ms).toISOString()
const near = Date.parse("2031-05-02T12:00:00Z")

test("offsets of zones by name, by number, and none", () => {
  assert.equal(offsetAt(Date.parse("2031-07-01T00:00:00Z"), "Europe/Oslo"), 2 * hour)
  assert.equal(offsetAt(Date.parse("2031-01-01T00:00:00Z"), "Europe/Oslo"), hour)
  assert.equal(offsetAt(near, "Asia/Kathmandu"), 5.75 * hour)
  assert.equal(offsetAt(near, "-03:30"), -3.5 * hour)
  assert.equal(offsetAt(near, ""), 0)
  assert.ok(!zoneKnown("Europe/Nowhere"))
  assert.equal(offsetAt(near, "Europe/Nowhere"), 0)
})

test("a wall clock read back gives the moment, also before 1970", () => {
  for (const text of ["1969-12-31T23:59:59Z", "2031-03-30T00:59:59Z", "2031-03-30T01:00:00Z", "2031-10-26T02:00:00Z"]) {
    const ms = Date.parse(text)
    assert.equal(iso(momentOf(wallAt(ms, "Europe/Oslo"), "Europe/Oslo")), iso(ms), text)
  }
})

const written: [string, string, string | null][] = [
  ["05:40", "UTC", "2031-05-02T05:40:00.000Z"], ["5.40", "UTC", "2031-05-02T05:40:00.000Z"], ["05:40:10", "Europe/Oslo", "2031-05-02T03:40:10.000Z"], ["4 May 05:40", "UTC", "2031-05-04T05:40:00.000Z"],
  ["4 May 2032 05:40", "UTC", "2032-05-04T05:40:00.000Z"], ["2031-05-02 05:40", "+02:00", "2031-05-02T03:40:00.000Z"], ["2031-05-02T05:40Z", "UTC", "2031-05-02T05:40:00.000Z"], ["3 Sept 23:59", "UTC", "2031-09-03T23:59:00.000Z"],
  ["6:50 PM", "UTC", "2031-05-02T18:50:00.000Z"], ["12:10 a.m.", "UTC", "2031-05-02T00:10:00.000Z"], ["6pm", "UTC", "2031-05-02T18:00:00.000Z"], ["13:10 pm", "UTC", null],
  ["1730", "Europe/Oslo", "2031-05-02T15:30:00.000Z"], ["2031-05-03 1730", "UTC", "2031-05-03T17:30:00.000Z"], ["3 May 2031", "UTC", null], ["17", "UTC", null], ["2530", "UTC", null],
  ["Nov 10 17:30", "UTC", "2031-11-10T17:30:00.000Z"], ["November 10th, 2026, 5:30 pm", "UTC", "2026-11-10T17:30:00.000Z"], ["10.11.2026 17:30", "UTC", "2026-11-10T17:30:00.000Z"], ["10.11. 17:30", "UTC", "2031-11-10T17:30:00.000Z"],
  ["10/11/2026 17:30", "UTC", null], ["2026/11/10 17:30", "UTC", "2026-11-10T17:30:00.000Z"], ["17:30Z", "Europe/Oslo", "2031-05-02T17:30:00.000Z"], ["10.13.2026 17:30", "UTC", null],
  ["24:00", "UTC", null], ["05:60", "UTC", null], ["31 Apr 05:40", "UTC", null], ["2031-02-29 05:40", "UTC", null], ["soon", "UTC", null], ["", "UTC", null], ["4 Mai 05:40 x", "UTC", null],
]
for (const [text, zone, want] of written) {
  test(`written "${text}" in ${zone}`, () => {
    const found = readWhen(text, near, zone)
    assert.equal(found ? iso(found.at) : null, want)
  })
}

test("a time to the minute is known to half a minute", () => {
  assert.equal(readWhen("05:40", near, "UTC")?.precisionS, 30)
  assert.equal(readWhen("05:40:10", near, "UTC")?.precisionS, 1)
})
