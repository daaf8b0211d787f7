// Measurements in the page, opened from file:// in Chromium.
import { execFileSync } from "node:child_process"
import { open, settled } from "../browser/open.mjs"

/** Milliseconds from opening a page to its first paint and to its engine being ready. */
export async function opening(path) {
  const { sheet, close } = await open(path)
  try {
    await sheet.waitForFunction(() => performance.getEntriesByName("engine ready").length > 0, null, { timeout: 60_000 })
    return await sheet.evaluate(() => ({
      paint: performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? NaN, ready: performance.getEntriesByName("engine ready")[0].startTime,
    }))
  } finally {
    await close()
  }
}

/** How long somebody takes at least to choose a file, ms; meanwhile the engine warms up. */
const choosing = 2000

/** Chooses files and waits for the result: the seconds that took, the longest frame in ms, and the most memory of a renderer in MB. */
export function dropped(page, files, timeout) {
  return chosen(page, files, async (sheet) => {
    let memory = 0
    const watch = setInterval(() => (memory = Math.max(memory, rendererMB())), 500)
    await settled(sheet, timeout)
    const { seconds, frame } = await sheet.evaluate(() => ({ seconds: performance.measure("all", "chosen").duration / 1000, frame: window.longest }))
    clearInterval(watch)
    return { seconds, frame, memory: Math.max(memory, rendererMB()) }
  })
}

/** Chooses files and waits for the first result, be it a first look: the seconds that took. */
export function looked(page, files, timeout) {
  return chosen(page, files, async (sheet) => {
    await sheet.waitForFunction(() => performance.getEntriesByName("first result").length > 0, null, { timeout })
    return sheet.evaluate(() => performance.measure("first", "chosen", "first result").duration / 1000)
  })
}

async function chosen(page, files, watch) {
  const { sheet, close } = await open(page)
  try {
    await sheet.waitForFunction(() => performance.getEntriesByName("engine ready").length > 0)
    await sheet.waitForTimeout(choosing)
    await sheet.evaluate(() => {
      window.longest = 0
      let before = performance.now()
      const frame = (now) => { window.longest = Math.max(window.longest, now - before); before = now; requestAnimationFrame(frame) }
      requestAnimationFrame(frame)
      const seen = new MutationObserver(() => document.querySelector("#result .verdict") && (performance.mark("first result"), seen.disconnect()))
      seen.observe(document.body, { childList: true, subtree: true })
      document.addEventListener("change", () => performance.mark("chosen"), { capture: true, once: true })
    })
    await sheet.locator("input.picker").first().setInputFiles(files)
    return await watch(sheet)
  } finally {
    await close()
  }
}

/** Seconds to read a file in the page and do nothing with it. */
export async function readIdly(page, file) {
  const { sheet, close } = await open(page)
  try {
    await sheet.evaluate(() => document.body.insertAdjacentHTML("beforeend", '<input type="file" id="idle">'))
    await sheet.locator("#idle").setInputFiles(file)
    return await sheet.evaluate(async () => {
      const start = performance.now()
      const reader = document.getElementById("idle").files[0].stream().getReader()
      while (!(await reader.read()).done);
      return (performance.now() - start) / 1000
    })
  } finally {
    await close()
  }
}

/** The most resident memory of a renderer among the descendants of this process, in MB. */
function rendererMB() {
  const rows = execFileSync("ps", ["-eo", "pid=,ppid=,rss=,args="], { encoding: "utf8", maxBuffer: 1 << 26 }).trim().split("\n").map((row) => row.trim().split(/\s+/))
  const parent = new Map(rows.map(([pid, ppid]) => [pid, ppid]))
  const ours = (pid) => { for (let p = pid; p && p !== "0"; p = parent.get(p)) if (p === String(process.pid)) return true; return false }
  return Math.max(0, ...rows.filter(([pid, , , ...args]) => args.includes("--type=renderer") && ours(pid)).map(([, , rss]) => rss / 1000))
}
