// Lets a decoder by other authors (npm js-aprs-fap, test only) read a corpus that the Go tests make, and compares what both
// read. Where they differ the standard decides; each known deviation stands in `deviations` with the page that settles it.
// Run by hand: node --test test/peer-decoder.test.mjs (needs Go).
import assert from "node:assert/strict"
import { execFileSync } from "node:child_process"
import { mkdtempSync, readFileSync, rmSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { test } from "node:test"
import { fileURLToPath } from "node:url"
import peer from "js-aprs-fap"

const top = fileURLToPath(new URL("../..", import.meta.url))
const theirs = new peer.aprsParser()

/** Packets, one object each, with what our decoder reads in them. */
function corpus() {
  const dir = mkdtempSync(join(tmpdir(), "peer-"))
  try {
    const file = join(dir, "corpus.jsonl")
    execFileSync("go", ["test", "-count=1", "-run", "^TestPeerCorpus$", "./core/aprs"], { cwd: top, env: { ...process.env, PEER_CORPUS: file } })
    return readFileSync(file, "utf8").trim().split("\n").map((line) => JSON.parse(line))
  } finally {
    rmSync(dir, { recursive: true, force: true })
  }
}

/** What the other decoder reads, in our names and units. */
function peerReading(line) {
  const p = theirs.parseaprs(line)
  const number = (v) => (v === undefined || v === null ? undefined : Number(v))
  const values = p.telemetry?.vals?.filter((v) => v !== undefined && v !== null).map(Number)
  return {
    placed: p.latitude !== undefined && p.latitude !== null,
    lat: number(p.latitude), lon: number(p.longitude), ambiguity: p.posambiguity ?? 0, course_deg: number(p.course),
    speed_mps: p.speed === undefined ? undefined : Number(p.speed) / 3.6, altitude_m: number(p.altitude),
    range_m: p.radiorange === undefined ? undefined : Number(p.radiorange) * 1000, phg: p.phg, symbol: (p.symboltable ?? "") + (p.symbolcode ?? ""), comment: p.comment ?? "", name: (p.objectname ?? p.itemname ?? "").trimEnd(),
    text: p.message ?? "", to: p.type === "message" ? p.destination : "", id: p.messageId ?? "", values: values?.length ? values : null,
  }
}

const ourReading = (row) => ({
  ...row, symbol: row.table + row.code, phg: row.extension.startsWith("PHG") ? row.extension.slice(3) : undefined,
})

const tolerance = { lat: 3e-7, lon: 3e-7, course_deg: 1e-9, speed_mps: 1e-3, altitude_m: 1e-3, range_m: 1 }

/** The other decoder applies the altitude and telemetry of a packet it refuses; only what both can say is compared. */
const positionFields = ["lat", "lon", "ambiguity", "course_deg", "speed_mps", "altitude_m", "range_m", "phg", "symbol", "comment", "name"]
const textFields = ["text", "to", "id", "values"]

function differences(ours, other) {
  if (ours.placed !== other.placed) return ["placed"]
  return [...(ours.placed ? positionFields : []), ...textFields].filter((key) => !agree(key, ours[key], other[key]))
}

function agree(key, a, b) {
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((v, i) => v === b[i])
  if (typeof a === "number" && typeof b === "number" && key in tolerance) return Math.abs(a - b) <= tolerance[key]
  return a === b
}

/** Degrees between a place as sent (blanks as 0) and the middle of its cell. */
const halfCell = [0, 0.05 / 60, 0.5 / 60, 5 / 60, 0.5]

const toMiddle = (row, key, theirValue) =>
  row.ambiguity > 0 && Math.abs(Math.abs(theirValue) - Math.abs(row[key]) - halfCell[row.ambiguity]) < 1e-6

/** Where the other decoder differs, why the standard (1.0.1 unless named) has it our way, and how the case is told. */
const deviations = [
  {
    field: "lat", why: "p.24: an ambiguous place is told by its digits; we report them, with the cell beside them, they report its middle",
    holds: (row, theirValue) => toMiddle(row, "lat", theirValue),
  },
  {
    field: "lon", why: "p.24, as for the latitude",
    holds: (row, theirValue) => toMiddle(row, "lon", theirValue),
  },
  {
    field: "lon", why: "p.48: minutes below 10 have a leading 0; blanking an ambiguous longitude, they count places without it",
    holds: (row) => row.form === "mic-e" && row.ambiguity > 0 && micEMinutes(row.line) < 10,
  },
  {
    field: "course_deg", why: "p.27, p.52: a course of 0 means unknown, 360 is north; they report 0",
    holds: (row, theirValue) => row.course_deg === undefined && theirValue === 0,
  },
  {
    field: "course_deg", why: "p.27, p.39: 0 is the only compressed course that may be north or unknown; they report north",
    holds: (row, theirValue) => row.course_deg === undefined && row.form === "compressed" && theirValue === 360,
  },
  {
    field: "course_deg", why: "NMEA 0183: a course has decimals; they report a whole number, and the next one for a whole number",
    holds: (row, theirValue) => row.form === "nmea" && Math.abs(theirValue - row.course_deg) <= 1,
  },
  {
    field: "symbol", why: "p.37: overlay digits 0 to 9 travel as a to j in compressed positions; they report the letter",
    holds: (row, theirValue) => theirValue === String.fromCharCode(row.table.charCodeAt(0) + 49) + row.code,
  },
  {
    field: "symbol", why: "1.0.1 gives a sentence of a GPS receiver no symbol of its own; they fill one in",
    holds: (row, theirValue) => row.form === "nmea" && theirValue === "//",
  },
  {
    field: "comment", why: "1.2 draft c p.54-56: type bytes ahead of and behind a Mic-E text are no comment; they leave them in",
    holds: (row, theirValue) => row.form === "mic-e" && (theirValue === `'${row.comment}|3` || telemetryAcrossTypeBytes(row)),
  },
  {
    field: "comment", why: "p.29: DFSshgd is a data extension as PHG is; they leave it in the comment",
    holds: (row, theirValue) => row.extension.startsWith("DFS") && theirValue === row.extension + row.comment,
  },
  {
    field: "values", why: "1.2 draft c p.54-56: the bar of a Mic-E type byte opens no telemetry; they read text up to it as values",
    holds: (row) => telemetryAcrossTypeBytes(row),
  },
  {
    field: "lat", why: "as above: with the text, they take the digits of !DAO! for telemetry",
    holds: (row) => telemetryAcrossTypeBytes(row),
  },
  {
    field: "lon", why: "as above",
    holds: (row) => telemetryAcrossTypeBytes(row),
  },
  {
    field: "placed", why: "p.23: minutes end at 59.99; they accept 60 and more",
    holds: (row) => row.form === "damaged" && /:!\d\d60\./.test(row.line),
  },
]

const micEMinutes = (line) => (line.charCodeAt(line.indexOf(":") + 3) + 32) % 60 // less 28, and 60 where that is 60 or more

const telemetryAcrossTypeBytes = (row) => row.form === "mic-e" && /\|b!W\d\d!\|3$/.test(row.line)

test("two decoders read the same in every packet, but for known deviations", () => {
  const rows = corpus()
  assert.ok(rows.length >= 4000, `${rows.length} packets`)
  const used = new Set()
  const open = []
  for (const row of rows) {
    const ours = ourReading(row)
    const other = peerReading(row.line)
    for (const field of differences(ours, other)) {
      const known = deviations.find((d) => d.field === field && d.holds(row, other[field]))
      if (known) used.add(known)
      else open.push(`${row.line}: ${field} ${JSON.stringify(ours[field])}, theirs ${JSON.stringify(other[field])}`)
    }
  }
  assert.deepEqual(open.slice(0, 20), [], `${open.length} differences that the standard does not settle`)
  assert.deepEqual(deviations.filter((d) => !used.has(d)).map((d) => d.why), [], "deviations that no packet shows any more")
})
