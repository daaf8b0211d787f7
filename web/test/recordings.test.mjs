// Real GPS recordings that npm packages carry (MIT licensed, test only, read in place) through the shipped engine. Points,
// beginning and end are those that gpxinfo 1.5.0 prints; where gpxinfo is installed it is asked again. Its length is the sum
// of all steps, which the noise of the receiver always makes too long (Ranacher et al. 2015, arXiv 1504.04504), and which it
// works out on a sphere: ours may lie up to a tenth below it, and not above.
import assert from "node:assert/strict"
import { spawnSync } from "node:child_process"
import { mkdtempSync, readFileSync, rmSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { test } from "node:test"
import { fileURLToPath } from "node:url"

const modules = fileURLToPath(new URL("../node_modules/", import.meta.url))
const command = fileURLToPath(new URL("../../dist/lastbeacon.mjs", import.meta.url))

const recordings = [
  { path: "stoplight/gpx/sample-ride.gpx", points: 850, first: "2016-02-02T16:58:58Z", last: "2016-02-02T17:21:16Z", metres: 7603 },
  { path: "stoplight/gpx/sample.gpx", points: 1919, first: "2016-01-31T16:30:50Z", last: "2016-01-31T17:09:57Z", metres: 5856 },
  { path: "leaflet-timedimension/examples/data/running_mallorca.gpx", points: 6820, first: "2014-03-08T07:27:47Z", last: "2014-03-08T14:19:21Z", metres: 47014 },
]

function reportOn(path) {
  const work = mkdtempSync(join(tmpdir(), "recording-"))
  const out = join(work, "report.json")
  const ran = spawnSync(process.execPath, [command, "--report", out, path], { encoding: "utf8" })
  assert.equal(ran.status, 0, ran.stderr)
  const report = JSON.parse(readFileSync(out, "utf8"))
  rmSync(work, { recursive: true })
  return report
}

/** What gpxinfo says of a file, where it is installed. */
function gpxinfo(path) {
  const ran = spawnSync("gpxinfo", [path], { encoding: "utf8" })
  if (ran.status !== 0) return undefined
  const field = (name) => new RegExp(`${name}: (\\S+ ?\\S*)`).exec(ran.stdout)?.[1] ?? ""
  return { points: Number(field("Points")), metres: parseFloat(field("Length 2D")) * 1000 }
}

for (const want of recordings) {
  test(`${want.path}: points, times and length as gpxinfo has them`, () => {
    const path = join(modules, want.path)
    const { evidence, tracks, notes } = reportOn(path)
    const [file] = evidence
    assert.deepEqual([file.fixes, file.first, file.last], [want.points, want.first, want.last])
    assert.equal(file.packets, 0)
    const metres = tracks.reduce((sum, track) => sum + track.distance_m, 0)
    assert.ok(metres > 0.9 * want.metres && metres < 1.005 * want.metres, `${metres} m against ${want.metres} m`)
    for (const { periods } of tracks) {
      for (let i = 1; i < periods.length; i++) assert.equal(periods[i].start, periods[i - 1].end, "periods tile the track")
    }
    assert.deepEqual(notes.filter((note) => note.code !== "fix.not-track"), [])
    const peer = gpxinfo(path)
    if (peer) assert.deepEqual([peer.points, Math.round(peer.metres / 10)], [want.points, Math.round(want.metres / 10)])
  })
}
