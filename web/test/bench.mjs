// Speeds as ratios in one run, medians of several rounds with their spread; never part of the tests. Prints Markdown.
import { execFileSync, spawnSync } from "node:child_process"
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { performance } from "node:perf_hooks"
import { fileURLToPath } from "node:url"
import peer from "js-aprs-fap"

const top = fileURLToPath(new URL("../..", import.meta.url))
const command = join(top, "dist", "lastbeacon.mjs")
const work = mkdtempSync(join(tmpdir(), "bench-"))
const rounds = 5

function timed(run) {
  const times = []
  for (let i = 0; i < rounds; i++) {
    const start = performance.now()
    run()
    times.push((performance.now() - start) / 1000)
  }
  times.sort((a, b) => a - b)
  return { median: times[rounds >> 1], spread: (times[rounds - 1] - times[0]) / times[rounds >> 1] }
}

const ours = (...args) => {
  const ran = spawnSync(process.execPath, [command, ...args], { encoding: "utf8", env: { ...process.env, LASTBEACON_MEMORY: "1" }, maxBuffer: 1 << 28 })
  if (ran.status !== 0) throw new Error(ran.stderr)
  return Number(/engine memory: ([\d.]+) MB/.exec(ran.stderr)?.[1])
}

/** The packets of the comparison with the other decoder, as Latin-1 lines. */
function corpus() {
  const file = join(work, "corpus.jsonl")
  execFileSync("go", ["test", "-count=1", "-run", "^TestPeerCorpus$", "./core/aprs"], { cwd: top, env: { ...process.env, PEER_CORPUS: file } })
  return readFileSync(file, "utf8").trim().split("\n").map((row) => JSON.parse(row).line)
}

/** A log of many stations with each packet under a stamp of its own. */
function writeLog(name, lines, megabytes) {
  const parts = []
  let size = 0
  for (let n = 0; size < megabytes * 1e6; n++) {
    const line = `${new Date(1.93e12 + n * 40).toISOString()} ${lines[n % lines.length]}\n`
    parts.push(line)
    size += line.length
  }
  writeFileSync(join(work, name), parts.join(""), "latin1")
  return parts.length
}

const rows = []
const row = (what, value, note) => rows.push(`| ${what} | ${value} | ${note} |`)
const percent = (share) => `${Math.round(share * 100)} %`

const lines = corpus()
writeFileSync(join(work, "one.log"), `2031-05-02T05:00:00Z ${lines[0]}\n`, "latin1")
const start = timed(() => ours(join(work, "one.log")))

const packets = writeLog("thirty.log", lines, 30)
const engine = timed(() => ours(join(work, "thirty.log")))
const theirs = new peer.aprsParser()
const other = timed(() => {
  for (let n = 0; n < 40_000; n++) theirs.parseaprs(lines[n % lines.length])
})
const rate = packets / (engine.median - start.median)
row("read and decode packets, against npm js-aprs-fap decoding only", `${((rate * other.median) / 40_000).toFixed(1)} times`,
  `${Math.round(rate / 1000)} k/s; ours reads lines and stamps too; spread ${percent(engine.spread)} and ${percent(other.spread)}`)

writeLog("large.log", lines, 240)
const small = timed(() => ours(join(work, "thirty.log")))
let memory = 0
const large = timed(() => (memory = ours(join(work, "large.log"))))
const nothing = timed(() => execFileSync(process.execPath, ["-e", `const s=require("fs").createReadStream(${JSON.stringify(join(work, "large.log"))},{highWaterMark:1<<20});s.on("data",()=>{})`]))
const perMB = (t, name) => (t.median - start.median) / (statSync(join(work, name)).size / 1e6)
row("cost per MB at 240 MB against 30 MB", (perMB(large, "large.log") / perMB(small, "thirty.log")).toFixed(2), `${(1 / perMB(large, "large.log")).toFixed(0)} MB/s; spread ${percent(large.spread)}`)
row("reading 240 MB against reading it and doing nothing (Node)", `${(large.median / nothing.median).toFixed(1)} times`, "no bench, every station surveyed")
row("engine memory after 240 MB", `${memory} MB`, "WebAssembly memory")

const example = join(top, "testdata", "example")
const files = ["day-out.gpx", "day-out.log", "ridge-0502.log", "ridge-0505.log", "ridge-0508.log"].map((n) => join(example, n))
const whole = timed(() => ours("--bench", join(example, "bench.json"), ...files))
row("the example, 2 units and 7 runs, above an empty start", `${(whole.median - start.median).toFixed(2)} s`, `an empty start takes ${start.median.toFixed(2)} s; spread ${percent(whole.spread)}`)

console.log("| what | value | note |\n|---|---|---|")
console.log(rows.join("\n"))
rmSync(work, { recursive: true })
