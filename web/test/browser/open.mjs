// Opens the built page from file:// in Debian's Chromium, in a fresh profile, and notes every request that it makes.
import assert from "node:assert/strict"
import { mkdtempSync, rmSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { fileURLToPath, pathToFileURL } from "node:url"
import AxeBuilder from "@axe-core/playwright"
import { chromium } from "playwright-core"

export const web = fileURLToPath(new URL("../..", import.meta.url))
export const page = join(web, "..", "dist", "lastbeacon.html")
export const samplePage = join(web, "node_modules", ".cache", "sample.html")
export const example = join(web, "..", "testdata", "example")

const quiet = [
  "--no-sandbox", "--disable-background-networking", "--disable-component-update", "--disable-domain-reliability", "--disable-sync", "--no-pings", "--disable-client-side-phishing-detection",
]

/** Opens a page; close() ends the browser and takes its profile away. */
export async function open(path, { width = 1280, height = 900, dark = false, forced = false, hash = "", touch = false, args = [], env = {}, locale } = {}) {
  const profile = mkdtempSync(join(tmpdir(), "lastbeacon-browser-"))
  const launch = () => chromium.launchPersistentContext(profile, {
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", headless: true, args: [...quiet, ...args], env: { ...process.env, ...env },
    viewport: { width, height }, hasTouch: touch, ...(locale ? { locale } : {}),
    colorScheme: dark ? "dark" : "light", forcedColors: forced ? "active" : "none", acceptDownloads: true, reducedMotion: "reduce",
  })
  const browser = await launch().catch(launch) // Chromium itself crashes at its start once in a few thousand times
  const sheet = browser.pages()[0] ?? (await browser.newPage())
  const requests = [], faults = []
  browser.on("request", (r) => requests.push(r.url()))
  sheet.on("pageerror", (e) => faults.push(e.message))
  sheet.on("console", (m) => m.type() === "error" && faults.push(m.text()))
  await sheet.goto(pathToFileURL(path).href + hash)
  const own = pathToFileURL(path).href
  return {
    sheet, faults,
    foreign: () => requests.filter((url) => !url.startsWith(own) && !url.startsWith("blob:") && !url.startsWith("data:")),
    close: async () => {
      await browser.close()
      rmSync(profile, { recursive: true, force: true })
    },
  }
}

/** Opens a page, runs with its sheet, and fails on any error or request of it. */
export async function within(path, run, options) {
  const opened = await open(path, options)
  try {
    await run(opened.sheet, opened)
    assert.deepEqual([opened.foreign(), opened.faults], [[], []])
  } finally {
    await opened.close()
  }
}

/** Waits until what was just changed stands on the page. */
const twoFrames = (sheet) => sheet.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))))

/** Waits until the sheet is worked out. */
export async function settled(sheet, timeout = 120_000) {
  await twoFrames(sheet)
  await sheet.waitForFunction(() => /up to date/.test(document.querySelector("[role=status]")?.textContent ?? ""), null, { timeout })
}

/** Waits until nothing that is to be seen waits for its turn. */
export async function drawn(sheet) {
  await twoFrames(sheet)
  await sheet.waitForFunction(() => !/Drawing/.test(document.querySelector("[role=status]")?.textContent ?? ""))
}

/** Drops files by the browser's own protocol, as a file manager does. A drop before the page has taken what is dragged over it opens the
 * file in front of the sheet, which then draws nothing more; a crowded page takes its time. */
export async function dropPath(sheet, ...files) {
  const drop = await dragPath(sheet, ...files)
  await drop()
}

/** Drags files over the sheet and holds them there; gives what drops them. */
export async function dragPath(sheet, ...files) {
  const session = await sheet.context().newCDPSession(sheet)
  const data = { items: [], files, dragOperationsMask: 1 }
  const drag = (type) => session.send("Input.dispatchDragEvent", { type, x: 300, y: 300, data })
  let hovers = true
  const taken = sheet.evaluate(() => new Promise((done) => addEventListener("dragover", (event) => setTimeout(() => event.defaultPrevented && done(), 50))))
  void taken.then(() => (hovers = false), () => (hovers = false))
  await drag("dragEnter")
  while (hovers) await drag("dragOver")
  await taken
  return async () => {
    await drag("drop")
    await session.detach()
  }
}

/** Opens every fold. */
export async function unfold(sheet) {
  await sheet.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)))
  for (;;) {
    const closed = sheet.locator(".fold-button[aria-expanded=false]")
    if ((await closed.count()) === 0) return drawn(sheet)
    await closed.first().click()
  }
}

/** What axe finds against WCAG 2.2 AA, in one line a finding. Of a long table it sees the first rows: the others are made alike, and it
 * takes half a minute for some thousand of them. */
export async function axe(sheet) {
  const far = (hide) => sheet.evaluate((hide) => document.querySelectorAll("tbody > tr:nth-child(n + 30)").forEach((row) => (row.style.display = hide ? "none" : "")), hide)
  await far(true)
  const found = await new AxeBuilder({ page: sheet }).withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]).analyze()
  await far(false)
  return found.violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.html.slice(0, 160)} ${n.failureSummary?.split("\n")[1] ?? ""}`))
}

/** Whether the page is wider than its window. */
export function overflow(sheet) {
  return sheet.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)
}
