// Random sequences of page actions in Chromium. No sequence may raise an error or stop the engine; at checkpoints the numbers
// on the page are, byte for byte, those of a fresh engine given the same files and bench; memory stays under a stated bound.
// By hand: node test/soak/soak.mjs [sequences] [seed] [first]
import { spawnSync } from "node:child_process"
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { pathToFileURL } from "node:url"
import { drawn, example, open, page } from "../browser/open.mjs"
import { act, awaiting, drop, leaveNothingOut, saved, words } from "./actions.mjs"
import { bytesOf, lines, nothing, remember, stock } from "./evidence.mjs"
import { dice } from "./random.mjs"

const command = join(page, "..", "lastbeacon.mjs")
const actionsEach = 8
const checkEvery = 2
const pageLife = 100 // sequences before the page is opened afresh

/** Bounds on what the page holds once a sequence has ended and garbage is collected. */
export const bounds = { heapMB: 64, nodes: 60_000, rendererMB: 900 }

/** Runs sequences first to first+sequences-1 of a seed and gives what went wrong and what was measured. */
export async function soak({ sequences, seed = 1, first = 0, says = () => undefined }) {
  const result = { sequences: 0, actions: 0, checks: 0, refused: 0, problems: [], most: { heapMB: 0, nodes: 0, rendererMB: 0 } }
  for (let from = first; from < first + sequences; from += pageLife) {
    const opened = await open(page)
    opened.sheet.on("dialog", (d) => void d.accept())
    opened.sheet.context().on("page", (front) => {
      result.problems.push(`${front.url()} opened in front of the sheet, which then draws nothing more`)
      void front.close()
    })
    opened.sheet.on("download", (d) => awaiting.has(opened.sheet) || void d.delete().catch(() => undefined))
    try {
      for (let n = from; n < Math.min(from + pageLife, first + sequences); n++) {
        await sequence(opened, seed, n, result)
        await measure(opened, result)
        says(n, result)
      }
      for (const url of opened.foreign()) result.problems.push(`a request to ${url}`)
    } finally {
      await opened.close()
    }
  }
  for (const [name, bound] of Object.entries(bounds)) if (result.most[name] > bound) result.problems.push(`${name} reached ${result.most[name]}, bound ${bound}`)
  return result
}

async function sequence(opened, seed, n, result) {
  const { sheet, faults } = opened
  const d = dice(seed * 100_003 + n)
  const done = []
  faults.length = 0
  try {
    await clear(sheet)
    if (d.chance(0.8)) await drop(sheet, begin(d))
    for (let k = 0; k < actionsEach; k++) {
      done.push(await act(sheet, d))
      result.actions++
      if (d.chance(0.6)) await idle(sheet)
    }
    await idle(sheet)
    if (await sheet.locator("#fault").count()) faults.push(await sheet.locator("#fault").innerText())
    if (faults.length === 0 && n % checkEvery === 0) await check(opened, result)
  } catch (reason) {
    faults.push(reason.message)
  }
  result.sequences++
  if (faults.length > 0) {
    result.problems.push(`sequence ${n} of seed ${seed}: ${faults.join("; ").slice(0, 2000)}\n  after: ${done.join(" | ")}`)
    await sheet.reload()
  }
}

/** What most sequences begin with: a log, and often units for its stations. */
function begin(d) {
  const named = (name) => stock.find((f) => f.name === name)
  const log = named(d.of(["ridge-a.log", "ridge-b.log", "clock.log", "ridge-a.log.gz"]))
  return d.chance(0.8) ? [log, named(d.of(["bench.json", "other-bench.json"]))] : [log]
}

/** Takes everything off the sheet: each file, then the bench, which keeps what saved reports gave. */
async function clear(sheet) {
  await sheet.keyboard.press("Escape")
  await idle(sheet)
  await sheet.evaluate(async () => {
    for (let k = 0; k < 3000; k++) {
      const fold = document.querySelector("#evidence .fold-button[aria-expanded=false]")
      const button = [...document.querySelectorAll("#evidence button")].find((b) => /^(Remove|Cancel) /.test(b.textContent ?? ""))
      if (!fold && !button) return
      ;(fold ?? button).click()
      await new Promise((next) => requestAnimationFrame(() => requestAnimationFrame(next))) // what was unfolded is drawn in its turn
    }
  })
  await drop(sheet, [nothing])
  await idle(sheet)
  await sheet.locator(".dropzone").waitFor({ timeout: 60_000 })
}

/** Waits until nothing is being read or worked out. */
function idle(sheet) {
  return sheet.evaluate(async () => {
    const frame = () => new Promise((next) => requestAnimationFrame(() => setTimeout(next, 0)))
    const busy = () => /Reading\.|Working it out|Drawing it/.test(document.querySelector("[role=status]")?.textContent ?? "")
    const until = performance.now() + 180_000
    for (let still = 0; still < 3; still = busy() ? 0 : still + 1) {
      await frame()
      if (performance.now() > until) throw new Error(`the page is busy for three minutes: ${document.querySelector("[role=status]")?.textContent}`)
    }
  })
}

/** Holds the page's numbers against a fresh engine's. */
async function check(opened, result) {
  const { sheet } = opened
  if (await sheet.locator("#refused").count()) return void result.refused++
  if ((await sheet.locator("#save").count()) === 0) return
  const onSheet = await namesOnSheet(sheet)
  await leaveNothingOut(sheet)
  await sheet.getByLabel(/^Numbers, JSON/).check()
  const shown = String((await saved(sheet, "Save the file")).bytes)
  const report = JSON.parse(shown)
  const names = report.evidence.map((f) => writtenOut(f.file)).sort()
  if (JSON.stringify(names) !== JSON.stringify(onSheet)) throw new Error(`the report is of ${names.join(", ")}; on the sheet are ${onSheet.join(", ")}`)
  const fresh = freshReport(report)
  if (fresh !== shown) throw new Error(`the page differs from a fresh analysis at byte ${differ(fresh, shown)}: ${excerpt(shown, fresh)}`)
  result.checks++
}

/** A name with its control and direction characters as their codes, as the page writes them. */
function writtenOut(name) {
  return name.replace(/[\p{Cc}\p{Bidi_Control}\u2028\u2029]/gu, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`)
}

/** The files that were read: a row that offers to read its file again was cancelled. */
async function namesOnSheet(sheet) {
  const closed = sheet.locator("#evidence .fold-button[aria-expanded=false]")
  if (await closed.count()) await closed.click({ timeout: 3000 }).catch(() => undefined) // it opens by itself when a question comes
  await drawn(sheet)
  const read = await sheet.locator("#evidence tr:not(:has(button:text('Read again'))) .file").allTextContents()
  return read.sort()
}

for (const name of readdirSync(example)) remember(readFileSync(join(example, name)))
for (const text of [lines, ...words]) remember(Buffer.from(text))

function freshReport({ evidence, bench }) {
  const work = mkdtempSync(join(tmpdir(), "lastbeacon-soak-"))
  try {
    const paths = evidence.map(({ file, sha256 }, k) => {
      const folder = join(work, String(k))
      mkdirSync(folder)
      writeFileSync(join(folder, file.replaceAll("/", "_")), bytesOf(sha256))
      return join(folder, file)
    })
    writeFileSync(join(work, "bench.json"), JSON.stringify(bench))
    const out = join(work, "report.json")
    if (paths.length === 0) paths.push(join(work, "none"))
    const ran = spawnSync(process.execPath, [command, "--bench", join(work, "bench.json"), "--report", out, "--", ...paths], { encoding: "utf8" })
    if (ran.status !== 0 && ran.status !== 2) throw new Error(`a fresh engine says: ${ran.stderr.slice(0, 500)}`)
    return readFileSync(out, "utf8")
  } finally {
    rmSync(work, { recursive: true })
  }
}

function differ(a, b) {
  for (let i = 0; i < Math.min(a.length, b.length); i++) if (a[i] !== b[i]) return i
  return Math.min(a.length, b.length)
}

function excerpt(a, b) {
  const at = Math.max(0, differ(a, b) - 120)
  return `${a.slice(at, at + 240)} against ${b.slice(at, at + 240)}`
}

/** What the page's heap, its nodes and its process hold, garbage aside. */
async function measure({ sheet }, { most }) {
  const session = await sheet.context().newCDPSession(sheet)
  await session.send("HeapProfiler.collectGarbage")
  await session.send("Performance.enable")
  const { metrics } = await session.send("Performance.getMetrics")
  const value = (name) => metrics.find((m) => m.name === name)?.value ?? 0
  await session.detach()
  most.heapMB = Math.max(most.heapMB, Math.round(value("JSHeapUsedSize") / 1e5) / 10)
  most.nodes = Math.max(most.nodes, value("Nodes"))
  most.rendererMB = Math.max(most.rendererMB, await rendererMB(sheet))
}

/** Resident memory of the largest renderer: page, worker and engine together. */
async function rendererMB(sheet) {
  const session = await sheet.context().browser()?.newBrowserCDPSession?.().catch(() => null)
  if (!session) return 0
  const { processInfo } = await session.send("SystemInfo.getProcessInfo")
  await session.detach()
  const sizes = processInfo.filter((p) => p.type === "renderer").map((p) => {
    const kB = /VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${p.id}/status`, "utf8"))?.[1] ?? "0"
    return Math.round(Number(kB) / 1000)
  })
  return Math.max(0, ...sizes)
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const [sequences = 1000, seed = 1, first = 0] = process.argv.slice(2).map(Number)
  const began = Date.now()
  let told = 0
  const result = await soak({ sequences, seed, first, says: (n, r) => {
    for (; told < r.problems.length; told++) console.log(r.problems[told])
    if (n % 50 === 49) console.log(`${n + 1} sequences, ${r.actions} actions, ${r.checks} checks, ${JSON.stringify(r.most)}`)
  } })
  const { problems, ...figures } = result
  console.log(JSON.stringify({ seed, minutes: Math.round((Date.now() - began) / 6000) / 10, ...figures, problems: problems.length }))
  process.exit(problems.length > 0 ? 1 : 0)
}
