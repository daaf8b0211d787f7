// Logs for the measurements, the same from run to run: the corpus of packets that the decoders are compared on, everybody's
// packets with two units among them, and a bench of ten units with thirty runs.
import { execFileSync } from "node:child_process"
import { closeSync, openSync, readFileSync, writeFileSync, writeSync } from "node:fs"
import { join } from "node:path"

let seed = 1
const random = () => (seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 2 ** 32
const among = (n) => Math.floor(random() * n)
const stamp = (ms) => `${new Date(ms).toISOString().slice(0, 19)}Z`
const begin = Date.UTC(2031, 4, 2, 4)

/** The packets of the comparison with the other decoder, as Latin-1 lines, each with the place that ours reads in it. */
export function corpus(top, folder) {
  const file = join(folder, "corpus.jsonl")
  execFileSync("go", ["test", "-count=1", "-run", "^TestPeerCorpus$", "./core/aprs"], { cwd: top, env: { ...process.env, PEER_CORPUS: file } })
  return readFileSync(file, "utf8").trim().split("\n").map((row) => JSON.parse(row))
}

/** Writes lines until the file has the size, in pieces, and gives their number. */
function write(path, megabytes, next) {
  const file = openSync(path, "w")
  let lines = 0
  for (let size = 0; size < megabytes * 1e6;) {
    const piece = []
    for (let i = 0; i < 20_000; i++) piece.push(next(lines++))
    size += writeSync(file, Buffer.from(`${piece.join("\n")}\n`, "latin1"))
  }
  closeSync(file)
  return lines
}

/** A log of the corpus, each packet under a stamp of its own. */
export const mixed = (path, megabytes, packets) => write(path, megabytes, (n) => `${stamp(begin + n * 40)} ${packets[n % packets.length]}`)

const own = (ms, call, comment) => `${stamp(ms)} ${call}>APZ001,WIDE1-1,qAR,QG1GW-10:!6203.90N/00938.10E[/A=001640${comment}`

/** Everybody's packets, of so many stations; every two minutes one of each of two units, each up to a line of the log. */
export function feed(path, megabytes, stations, until = [Infinity, Infinity]) {
  const letter = () => String.fromCharCode(65 + among(26))
  const calls = Array.from({ length: stations }, (_, i) => `Q${letter()}${i % 10}${letter()}${letter()}${letter()}-${1 + Math.floor(i / 10) % 15}`)
  const two = (n) => String(n).padStart(2, "0")
  return write(path, megabytes, (n) => {
    const ms = begin + n * 13
    if (n % 10_000 < 2 && n <= until[n % 2]) return own(ms, n % 2 ? "QX1ABC-8" : "QX1ABC-7", n % 2 ? "Lapwing" : "Heron")
    const place = `${10 + among(70)}${two(among(60))}.${two(among(100))}N/0${10 + among(90)}${two(among(60))}.${two(among(100))}E`
    return `${stamp(ms)} ${calls[among(stations)]}>APZ00${among(9)},WIDE1-1,WIDE2-1,qAR,QG${among(40)}GW-10:!${place}>${100 + among(260)}/0${10 + among(90)}/A=00${1000 + among(9000)} on the road`
  })
}

/** The bench of the feed's two units. */
export const twoUnits = { schema: "lastbeacon.bench/1", units: [["Heron", 7], ["Lapwing", 8]].map(([name, n]) => ({ name, match: [{ station: `QX1ABC-${n}` }] })) }

/** Ten units with three runs each and 1,000 transmissions, fixed and slowing down, parked and moving: the log and its bench. */
export function tenUnits(path) {
  const lines = [], units = []
  for (let u = 0; u < 10; u++) {
    const station = `QX${u}ABC-7`, moving = u % 3 === 2, runs = []
    for (let r = 0; r < 3; r++) {
      let t = begin + (2 * r * 24 + 2) * 3_600_000 + u * 60_000
      runs.push({ label: `run ${r + 1}`, power_on: { at: stamp(t - 30_000), precision_s: 30 } })
      for (let i = 0; i < 333; i++) {
        t += 1000 * (u % 3 === 1 ? Math.min(60 * 2 ** Math.floor(i / 8), 300) : 60 + 12 * u) + (random() < 0.2 ? 1000 : 0)
        const minutes = (3.9 + (moving ? (i % 100) * 0.05 : 0)).toFixed(2).padStart(5, "0")
        if (random() > 0.1) lines.push([t, `${stamp(t)} ${station}>APZ001,WIDE1-1,qAR,QG1GW-10:!62${minutes}N/00938.10E[${moving ? "090/012" : ""}/A=001640`])
      }
    }
    units.push({ name: `Unit ${u}`, match: [{ station }], battery: { capacity_mah: 2000 + 10 * u, basis: "measured" }, runs })
  }
  lines.sort((a, b) => a[0] - b[0])
  writeFileSync(path, `${lines.map((l) => l[1]).join("\n")}\n`)
  return { schema: "lastbeacon.bench/1", units }
}
