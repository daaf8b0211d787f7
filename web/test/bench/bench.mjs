// Speeds as ratios in one run: medians of several rounds, with how far the rounds lay apart. Never part of the tests. Prints the
// table for DEVELOPERS.md. BENCH_LARGE=1 takes the feed at 1 GB instead of 100 MB, which needs 1.1 GB of disk and many minutes.
import { execFileSync } from "node:child_process"
import { createHash } from "node:crypto"
import { createReadStream, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { performance } from "node:perf_hooks"
import { fileURLToPath, pathToFileURL } from "node:url"
import { APRSParser } from "aprs-parser"
import * as esbuild from "esbuild"
import peer from "js-aprs-fap"
import { bareDecoder } from "../../bare-decoder.mjs"
import { corpus, feed, mixed, tenUnits, twoUnits } from "./logs.mjs"
import { dropped, looked, opening, readIdly } from "./page.mjs"

const web = fileURLToPath(new URL("../..", import.meta.url))
const top = join(web, "..")
const page = join(top, "dist", "lastbeacon.html")
const work = mkdtempSync(join(tmpdir(), "lastbeacon-bench-"))
const large = process.env.BENCH_LARGE ? 1000 : 100
const at = (name) => join(work, name)

async function rounds(n, run) {
  const all = []
  for (let i = 0; i < n; i++) all.push(await run(i))
  all.sort((a, b) => a - b)
  const median = all[n >> 1]
  return { median, noise: `±${Math.round((50 * (all[n - 1] - all[0])) / median)} %` }
}

const seconds = async (run) => {
  const start = performance.now()
  await run()
  return (performance.now() - start) / 1000
}

const row = (what, value, note) => console.log(`| ${what} | ${value} | ${note} |`)

const goRoot = () => execFileSync("go", ["env", "GOROOT"], { encoding: "utf8" }).trim()

/** The engine as the page and the command start it, from the page's own block. */
async function engineMaker() {
  const built = await esbuild.build({
    entryPoints: [join(web, "engine.ts")], bundle: true, write: false, format: "esm", platform: "node", plugins: [bareDecoder], alias: { "go-runtime": join(goRoot(), "lib/wasm/wasm_exec.js") },
  })
  writeFileSync(at("engine.mjs"), built.outputFiles[0].text)
  const { Engine } = await import(pathToFileURL(at("engine.mjs")).href)
  const packed = /id="engine">([^<]*)</.exec(readFileSync(page, "utf8"))[1]
  return () => Engine.start(packed, () => createHash("sha256"))
}

const source = (name) => ({ name, size: statSync(at(name)).size, open: () => createReadStream(at(name), { highWaterMark: 1 << 20 }) })

/** How many packets another decoder places where ours does. */
function placedAlike(rows, read) {
  return rows.filter((row) => {
    const at = read(row.line) ?? {}, placed = Number.isFinite(at.latitude)
    return placed === row.placed && (!placed || row.ambiguity > 0 || (Math.abs(at.latitude - row.lat) < 1e-3 && Math.abs(at.longitude - row.lon) < 1e-3))
  }).length
}

/** The packets a second that a test program of the decoder reads, once it has run for a second. */
function decodesPerSecond(program, args = []) {
  const told = execFileSync(program, [...args, "-test.run", "^$", "-test.bench", "^BenchmarkDecode$", "-test.cpu", "1", "-test.count", "2"], { encoding: "utf8" })
  return 1e9 / Number([...told.matchAll(/([\d.]+) ns\/packet/g)].at(-1)[1])
}

async function decoding(start) {
  execFileSync("go", ["test", "-c", "-tags", "noasm", "-o", at("decoder"), "./core/aprs"], { cwd: top })
  const rows = corpus(top, work), packets = rows.map((row) => row.line)
  const lines = mixed(at("mixed.log"), 30, packets)
  const engine = await start()
  const times = { decoder: [], native: [], whole: [], fap: [], aprs: [] }
  const theirs = new peer.aprsParser(), other = new APRSParser(), few = 40_000
  const each = (decode) => { for (let n = 0; n < few; n++) decode(packets[n % packets.length]) }
  const warmUp = 3 // rounds until the peers are compiled for good
  for (let i = 0; i < warmUp + 5; i++) {
    times.whole.push(lines / (await seconds(() => engine.read(i, source("mixed.log")))))
    engine.forget(i)
    times.decoder.push(decodesPerSecond(process.execPath, ["--stack-size=8192", join(goRoot(), "lib/wasm/wasm_exec_node.js"), join(top, "dist/decoder.wasm")]))
    times.native.push(decodesPerSecond(at("decoder")))
    times.fap.push(few / (await seconds(() => each((line) => theirs.parseaprs(line)))))
    times.aprs.push(few / (await seconds(() => each((line) => other.parse(line)))))
  }
  const rate = {}
  for (const [who, all] of Object.entries(times)) rate[who] = await rounds(5, (i) => all[i + warmUp])
  const faster = Math.max(rate.fap.median, rate.aprs.median)
  const told = (who) => `${Math.round(rate[who].median / 1000)} k/s ${rate[who].noise}`
  row("header and information of every packet of a mixed corpus, WebAssembly in Node, against the faster of two npm decoders", `${(rate.decoder.median / faster).toFixed(1)} times`,
    `ours ${told("decoder")}, js-aprs-fap ${told("fap")}, aprs-parser ${told("aprs")}`)
  row("the same natively, one core", `${(rate.native.median / faster).toFixed(1)} times`, `${told("native")}, no allocation`)
  row("a file of them read, decoded and surveyed by the engine, stamps and stations too, against the same", `${(rate.whole.median / faster).toFixed(1)} times`, told("whole"))
  const fap = placedAlike(rows, (line) => theirs.parseaprs(line)), aprs = placedAlike(rows, (line) => other.parse(line).data)
  row(`packets of the corpus, of ${rows.length}, in which they read the place that ours does, or none as ours`, `${fap} and ${aprs}`, "js-aprs-fap and aprs-parser; an ambiguous place counts wherever they put it")
}

/** Edits as somebody makes them one after the other, who takes a moment for each, in which garbage is collected: the first few find code
 * that the browser compiles meanwhile, and are told apart. */
async function edits(what, engine, bench, change, begin = () => undefined) {
  const early = 3, times = [], begun = []
  for (let i = 0; i < early + 15; i++) {
    change(i)
    engine.collect()
    begun.push(1000 * (await seconds(begin)))
    times.push(begun[i] + 1000 * (await seconds(() => engine.analyse(bench))))
  }
  const settled = await rounds(times.length - early, (i) => times[early + i])
  row(what, `${Math.round(settled.median)} ms`, `${settled.noise}; the first ${early} took ${times.slice(0, early).map(Math.round).join(", ")} ms`)
  return rounds(times.length - early, (i) => begun[early + i])
}

async function editing(start) {
  const bench = tenUnits(at("ten.log"))
  let engine
  const whole = async () => {
    engine = await start()
    engine.prepare(bench)
    await engine.read(0, source("ten.log"))
    return seconds(() => engine.analyse(bench))
  }
  const cold = await whole(), compiled = await rounds(3, whole)
  row("whole bench of 10 units and 30 runs, 9,000 packets, WebAssembly", `${cold.toFixed(1)} s`,
    `once, from a fresh engine; ${compiled.median.toFixed(1)} s ${compiled.noise} in three more whose code was compiled by then, much as the page's is after warming up`)
  await edits("edit of a capacity on it, to the new report", engine, bench, (i) => { bench.units[0].battery.capacity_mah = 2100 + i })
  await edits("edit of a power-on", engine, bench, (i) => { bench.units[1].runs[0].power_on.precision_s = 31 + i })
  const minutes = (n) => new Date(Date.UTC(2031, 4, 2, 7, 10 + 4 * n)).toISOString() // each leaves out more beacons of the run
  const counts = await edits("edit of a rule, which changes one run of three", engine, bench, (i) => { bench.units[3].match[0].from = minutes(i) }, () => engine.counts(bench))
  row("its counts, which come first", `${Math.round(counts.median)} ms`, counts.noise)
}

/** A page around a program that does nothing, packed by the same build. */
function emptyPage() {
  mkdirSync(at("empty"))
  writeFileSync(at("empty/go.mod"), "module empty\n")
  writeFileSync(at("empty/main.go"), `package main
import "unsafe"
var in, out = make([]byte, 1<<16), []byte("{\\"version\\":\\"empty\\"}")
func main() { select {} }
//go:wasmexport room
func room(n int32) unsafe.Pointer { return unsafe.Pointer(&in[0]) }
//go:wasmexport answer
func answer() unsafe.Pointer { return unsafe.Pointer(&out[0]) }
//go:wasmexport call
func call(op, n int32) int32 { return int32(len(out)) }
`)
  execFileSync("go", ["build", "-trimpath", "-ldflags", "-s -w", "-o", at("empty/engine.wasm"), "."], { cwd: at("empty"), env: { ...process.env, GOOS: "js", GOARCH: "wasm", GOFLAGS: "-mod=mod" } })
  execFileSync(process.execPath, [join(web, "build.mjs"), "with", at("empty/engine.wasm"), at("empty")], { cwd: web })
  return at("empty/lastbeacon.html")
}

async function openings() {
  const empty = emptyPage(), ours = [], theirs = []
  for (let i = 0; i < 5; i++) {
    ours.push(await opening(page))
    theirs.push(await opening(empty))
  }
  const ready = await rounds(5, (i) => ours[i].ready), least = await rounds(5, (i) => theirs[i].ready), paint = await rounds(5, (i) => ours[i].paint)
  row("open to engine ready, against an empty Go program packed the same way", `${(ready.median / least.median).toFixed(1)} times`,
    `${Math.round(ready.median)} ms ${ready.noise} against ${Math.round(least.median)} ms ${least.noise}; first paint after ${Math.round(paint.median)} ms`)
}

async function dropping() {
  feed(at("fifty.log"), 50, 200)
  writeFileSync(at("two.json"), JSON.stringify(twoUnits))
  const fifty = await dropped(page, [at("two.json"), at("fifty.log")], 600_000)
  row("50 MB of one test among 200 stations, drop to result in the page", `${fifty.seconds.toFixed(1)} s`, `longest frame ${Math.round(fifty.frame)} ms, renderer ${Math.round(fifty.memory)} MB`)
  const cost = {}
  for (const size of [large / 10, large]) {
    feed(at("feed.log"), size, 6000)
    const files = [at("two.json"), at("feed.log")], idle = [], first = []
    for (let i = 0; i < 5; i++) {
      idle.push(await readIdly(page, at("feed.log")))
      first.push(await looked(page, files, 600_000))
    }
    const read = await rounds(5, (i) => idle[i]), look = await rounds(5, (i) => first[i])
    const ours = await dropped(page, files, 3_600_000)
    cost[size] = ours.seconds / size
    row(`${size} MB of everybody's packets, two units, in the page, to a first look, against reading it and doing nothing`, `${((100 * read.median) / look.median).toFixed(0)} % of the rate`,
      `${look.median.toFixed(2)} s ${look.noise} against ${read.median.toFixed(2)} s ${read.noise}, by turns`)
    row("the whole of it", `${((100 * read.median) / ours.seconds).toFixed(1)} % of the rate`,
      `${(size / ours.seconds).toFixed(0)} MB/s; longest frame ${Math.round(ours.frame)} ms, renderer ${Math.round(ours.memory)} MB`)
  }
  row(`cost per MB at ${large} MB against that at ${large / 10} MB`, (cost[large] / cost[large / 10]).toFixed(2), "opening and analysis included")
}

async function hearing(start) {
  feed(at("many.log"), large, 100_000)
  const engine = await start()
  const before = engine.memory
  const survey = await seconds(() => engine.read(0, source("many.log")))
  const after = engine.memory
  engine.prepare(twoUnits)
  await engine.analyse(twoUnits)
  row(`${large} MB with 100,000 stations and no bench, then two units made of it`, `${Math.round(after / 1e6)} MB, then ${Math.round(engine.memory / 1e6)} MB`,
    `WebAssembly memory, ${Math.round(before / 1e6)} MB at the start; ${(large / survey).toFixed(0)} MB/s`)
}

try {
  const start = await engineMaker()
  console.log("| what | value | note |\n|---|---|---|")
  row("dist/lastbeacon.html", `${(statSync(page).size / 1e6).toFixed(2)} MB`, "")
  for (const part of [decoding, editing, openings, dropping, hearing]) {
    if (!process.env.BENCH_ONLY || process.env.BENCH_ONLY.split(",").includes(part.name)) await part(start)
  }
} finally {
  rmSync(work, { recursive: true, force: true })
}
