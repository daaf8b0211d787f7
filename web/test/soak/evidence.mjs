// Small files of every kind for the soak: two units over two tests, a track, a meter, packed logs, and files that are odd or none.
import { createHash } from "node:crypto"
import { gzipSync } from "node:zlib"

const stamp = (minutes) => new Date(Date.UTC(2031, 4, 2, 6) + minutes * 60_000).toISOString().slice(0, 19)
const at = (k) => `62${String(3 + (k % 5)).padStart(2, "0")}.${String(10 + (k % 80)).padStart(2, "0")}N/00938.${String(10 + (k % 70)).padStart(2, "0")}E`

/** Beacons of one station: every so many minutes, of which a share is lost, with copies now and then. */
function beacons(call, from, count, every, text) {
  const lines = []
  for (let k = 0; k < count; k++) {
    if (k % 11 === 5) continue
    const packet = `${call}>APZ001,WIDE1-1:!${at(k)}[${text} n${k}`
    lines.push([from + k * every, packet])
    if (k % 4 === 1) lines.push([from + k * every + 0.05, packet.replace("WIDE1-1", "QX1RPT,WIDE1*")])
  }
  return lines
}

const log = (lines, form) => lines.sort((a, b) => a[0] - b[0]).map(([m, packet]) => form(m, packet)).join("\n") + "\n"
const zoned = (m, packet) => `${stamp(m)}Z ${packet}`
const bare = (m, packet) => `${stamp(m).replace("T", " ")} ${packet}`
const clockOnly = (m, packet) => `${stamp(m).slice(11)} ${packet}`

const first = [...beacons("QX1ABC-7", 0, 60, 5, "hill pack"), ...beacons("QX1ABC-8", 2, 70, 5, "lent pack"), ...beacons("QL2KD", 1, 25, 12, "")]
const second = [...beacons("QX1ABC-7", 1440, 40, 6, "hill pack"), ...beacons("QX1ABC-8", 1441, 44, 6, "lent pack")]
const evil = "=1+<img src=x onerror=alert(1)>\u001b[31m\u202e\u009b"

const gpx = `<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>${
  Array.from({ length: 200 }, (_, k) => `<trkpt lat="${62.05 + (k > 80 ? (k - 80) * 1e-4 : 0)}" lon="9.63"><time>${stamp(k)}Z</time></trkpt>`).join("")}</trkseg></trk></gpx>`
const meter = "time,volts,amps\n" + Array.from({ length: 120 }, (_, k) => `${stamp(k * 2)}Z,${(7.4 - k / 400).toFixed(2)},${k % 5 === 0 ? 1.4 : 0.12}`).join("\n") + "\n"

const bench = (units, more = {}) => JSON.stringify({
  schema: "lastbeacon.bench/1", ...more,
  units: units.map(([name, station]) => ({ name, match: [{ station }], battery: { capacity_mah: 1900, basis: "measured" } })),
})

const pad = (n) => String(n).padStart(2, "0")
const halfDay = (m, packet) => `${pad(((9 + Math.floor(m / 60)) % 12) + 1)}:${stamp(m).slice(14)} ${packet}`
const openDate = (between, order) => (m, packet) => `${order.map((k) => stamp(m).slice(2, 10).split("-")[k]).join(between)} ${stamp(m).slice(11)} ${packet}`
const riddle = "a;b;c;d\n" + Array.from({ length: 80 }, (_, k) => `${stamp(k)};62,${500 + k};9,63;${(7.5 - k / 900).toFixed(2).replace(".", ",")}`).join("\n") + "\n"

const files = {
  "ridge-a.log": log(first, zoned), "ridge-b.log": log(second, bare), "clock.log": log(first.slice(0, 60), clockOnly), "track.gpx": gpx, "meter.csv": meter,
  "noon.log": log(first, halfDay), "slashes.log": log(first.slice(10, 80), openDate("/", [2, 1, 0])), "dashes.log": log(second.slice(0, 60), openDate("-", [0, 1, 2])),
  "riddle.csv": riddle,
  "ridge-a.log.gz": gzipSync(log(first.slice(20, 90), zoned)), "notes.docx": "PK\x03\x04 nothing we read", "empty.log": "", "prose.txt": "words that are no packets\nand more of them\n",
  "evil.log": log(beacons("QX1ABC-7", 300, 12, 5, evil), zoned) + `no packet ${evil}\n`, [`${evil}.log`]: log(beacons("QN3ZZ-9", 0, 12, 5, evil), zoned),
  "bench.json": bench([["Heron", "QX1ABC-7"], ["Lapwing", "QX1ABC-8"]], { title: "A trial", display_zone: "Europe/Oslo" }),
  "other-bench.json": bench([["Dunlin", "QX1ABC-7"], ["Plover", "QL2KD"], ["Knot", "QX1ABC-8"]], { outlook: { intervals_s: [60, 600], shift: { hours: 12 } } }),
  "odd-bench.json": bench([["A", "QX1ABC-7"], ["A", "QX1ABC-8"]]),
  "wrong-bench.json": '{"schema":"lastbeacon.bench/1","units":[null,{"name":{"a":1},"match":"x"}],"__proto__":{"polluted":1},"title":[1]}',
}

/** The soak's files as name and bytes. */
export const stock = Object.entries(files).map(([name, content]) => ({ name, bytes: Buffer.from(content) }))

/** An empty bench, which begins a sequence. */
export const nothing = { name: "nothing.json", bytes: Buffer.from('{"schema":"lastbeacon.bench/1"}') }

/** A log that is written on, in two parts. */
export const growing = [log(beacons("QX1ABC-7", 300, 20, 5, "begun"), zoned), log(beacons("QX1ABC-7", 400, 10, 5, "written on"), zoned)]

/** Lines to paste. */
export const lines = log(beacons("QX1ABC-8", 400, 8, 5, "pasted"), zoned)

export const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex")

const known = new Map()

/** Keeps bytes that the page was given, so that a fresh engine can be given them too. */
export function remember(bytes) {
  known.set(sha256(bytes), bytes)
  return bytes
}

/** The bytes of a digest; nothing for what the page cannot have been given. */
export const bytesOf = (digest) => known.get(digest) ?? Buffer.alloc(0)

for (const { bytes } of stock) remember(bytes)
