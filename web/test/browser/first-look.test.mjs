// A first look at a large log: it comes before the whole, says what it is, says what the whole then says, and leaves no trace in that.
import assert from "node:assert/strict"
import { execFileSync } from "node:child_process"
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { after, test } from "node:test"
import { feed, twoUnits } from "../bench/logs.mjs"
import { open, overflow, page, settled } from "./open.mjs"

const work = mkdtempSync(join(tmpdir(), "lastbeacon-look-"))
after(() => rmSync(work, { recursive: true }))
const log = join(work, "feed.log"), bench = join(work, "bench.json"), saved = join(work, "report.json")
const powerOn = { at: "2031-05-02T04:00:00Z", precision_s: 5 }
writeFileSync(bench, JSON.stringify({ ...twoUnits, units: twoUnits.units.map((u) => ({ ...u, first_beacon: "at_once", runs: [{ power_on: powerOn }] })) }))
feed(log, 110, 6000, [400_000, 650_001])
execFileSync(process.execPath, [join(page, "..", "lastbeacon.mjs"), "--bench", bench, "--report", saved, log], { stdio: "ignore" })

/** The sentences of the result, which are read from the page at once, for a look does not last. */
const claims = (sheet) => sheet.evaluate(() => [...document.querySelectorAll("#result .verdict, #result .basis")].map((p) => p.textContent))

async function chosen(sheet) {
  await sheet.locator("input.picker").first().setInputFiles([bench, log])
  await sheet.locator("#look").waitFor({ timeout: 120_000 })
  await sheet.locator("#result .verdict").first().waitFor()
}

for (const width of [1280, 360]) {
  test(`a first look says of a large log what the whole says, at ${width} px`, async () => {
    const { sheet, faults, foreign, close } = await open(page, { width })
    try {
      await chosen(sheet)
      const seen = await sheet.evaluate(() => ({
        said: document.getElementById("look").textContent, save: document.getElementById("save") !== null, numbers: document.querySelectorAll("button.num").length,
        status: document.querySelector("[role=status]").textContent, shown: [...document.querySelectorAll("h2")].map((h) => h.textContent),
      }))
      const first = await claims(sheet)
      assert.ok((await overflow(sheet)) <= 0)
      assert.match(seen.said, /A first look.*the lines of feed\.log that name your units.*The whole is being read, \d+\s% of 1\d\d\sMB/)
      assert.match(seen.status, /A first look; reading the whole/)
      assert.deepEqual([seen.save, seen.numbers], [false, 0])
      assert.ok(!seen.shown.includes("Stations heard"), String(seen.shown))
      await settled(sheet)
      assert.equal(await sheet.locator("#look").count(), 0)
      assert.match(first[0], /Lapwing lasted longer/)
      assert.deepEqual(await claims(sheet), first)
      await sheet.getByLabel(/^Numbers, JSON/).check()
      for (const box of await sheet.locator("#save input[type=checkbox]").all()) await box.uncheck()
      const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the file" }).click()])
      assert.equal(readFileSync(await file.path(), "utf8"), readFileSync(saved, "utf8"))
      assert.deepEqual([foreign(), faults], [[], []])
    } finally {
      await close()
    }
  })
}

test("files are read to their end, whatever the browser collects meanwhile", async () => {
  const { sheet, faults, close } = await open(page, { args: ["--js-flags=--expose-gc"] })
  try {
    await sheet.waitForFunction(() => performance.getEntriesByName("engine ready").length > 0)
    await sheet.workers()[0].evaluate(() => void setInterval(() => gc(), 10))
    const text = readFileSync(log, "latin1").slice(0, 300_000)
    const files = Array.from({ length: 40 }, (_, n) => join(work, `part-${n}.log`))
    for (const file of files) writeFileSync(file, text)
    await sheet.locator("input.picker").first().setInputFiles(files)
    await settled(sheet, 60_000)
    assert.deepEqual(faults, [])
  } finally {
    await close()
  }
})

test("a first look goes when the reading of the whole is given up, and the result comes when it is read again", async () => {
  const { sheet, faults, close } = await open(page)
  try {
    await chosen(sheet)
    await sheet.getByRole("button", { name: "Cancel reading feed.log" }).click()
    await sheet.locator("#look").waitFor({ state: "detached" })
    await settled(sheet)
    await sheet.locator("#evidence .fold-button[aria-expanded=false]").click()
    await sheet.getByRole("button", { name: "Read again feed.log" }).click()
    await settled(sheet)
    assert.match((await claims(sheet))[0], /Lapwing lasted longer/)
    assert.deepEqual(faults, [])
  } finally {
    await close()
  }
})
