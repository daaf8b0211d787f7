// What goes wrong while somebody works: an engine out of memory, a file deleted after it was dropped, a file that is no good, a
// reload before anything was saved. What was typed stays, and the page says what happened.
import assert from "node:assert/strict"
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { pathToFileURL } from "node:url"
import { after, test } from "node:test"
import { drop } from "../soak/actions.mjs"
import { stock } from "../soak/evidence.mjs"
import { axe, dragPath, dropPath, open, overflow, page, settled, unfold, within } from "./open.mjs"

const work = mkdtempSync(join(tmpdir(), "lastbeacon-recovery-"))
after(() => rmSync(work, { recursive: true }))
const named = (...names) => names.map((name) => stock.find((f) => f.name === name))

/** A log of so many packets of one station, a second apart. */
function long(name, call, count) {
  const lines = Array.from({ length: count }, (_, k) => `${new Date(Date.UTC(2031, 4, 2, 6, 0, k)).toISOString().slice(0, 19)}Z ${call}>APZ001,WIDE1-1:!6203.90N/00938.10E[${"long remark ".repeat(6)}${k}`)
  const path = join(work, name)
  writeFileSync(path, lines.join("\n"))
  return path
}

test("an engine out of memory is replaced; the file that was too much is named, the others and the answers stay", async () => {
  await within(page, async (sheet, opened) => {
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    const before = await sheet.locator("#result").innerText()
    await dropPath(sheet, ...[1, 2, 3].map((k) => long(`big${k}.log`, `QN${k}ZZ`, 100_000)))
    await sheet.getByRole("heading", { name: "Engine replaced" }).waitFor({ timeout: 120_000 })
    assert.match(await sheet.locator("#fault").innerText(), /The engine stopped while reading big\d\.log\. A fresh one has taken its place/)
    opened.faults.length = 0 // what the runtime writes to the console when it ends
    await unfold(sheet)
    assert.match(await sheet.locator("#evidence").innerText(), /the engine stopped at this file/)
    await sheet.waitForFunction(() => !/Reading/.test(document.querySelector("[role=status]")?.textContent ?? ""), null, { timeout: 120_000 })
    for (;;) {
      const remove = sheet.getByRole("button", { name: /^Remove big/ })
      if ((await remove.count()) === 0) break
      await remove.first().click()
    }
    await sheet.getByRole("button", { name: "Try it once more" }).click()
    await settled(sheet)
    assert.equal(await sheet.locator("#result").innerText(), before)
    opened.faults.length = 0
  }, { args: ["--js-flags=--wasm-max-mem-pages=900"] })
})

test("a file deleted after it was dropped is named when it is wanted again, and nothing else is lost", async () => {
  await within(page, async (sheet) => {
    const path = join(work, "gone.log")
    writeFileSync(path, named("clock.log")[0].bytes)
    await dropPath(sheet, path)
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    rmSync(path)
    await sheet.evaluate(() => window.lastbeaconBreak().catch(() => undefined))
    await sheet.getByRole("button", { name: "Try it once more" }).click()
    await settled(sheet)
    await unfold(sheet)
    assert.match(await sheet.locator("#evidence").innerText(), /gone\.log[^]*could not be read again/)
    assert.match(await sheet.locator("#units").innerText(), /2 units, 2 runs/)
  })
})

test("a file is taken although the sheet below it was drawn anew while it hung there", async () => {
  await within(page, async (sheet) => {
    const path = join(work, "held.log")
    writeFileSync(path, named("clock.log")[0].bytes)
    const drop = await dragPath(sheet, path)
    await sheet.locator("input.picker").first().setInputFiles(named("ridge-a.log").map(({ name, bytes }) => ({ name, mimeType: "", buffer: bytes })))
    await settled(sheet)
    await drop()
    await sheet.locator("#evidence", { hasText: "2 files" }).waitFor()
    assert.equal(sheet.context().pages().length, 1)
  })
})

test("a file that is no good takes nothing of what was typed", async () => {
  await within(page, async (sheet) => {
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    const field = sheet.getByLabel("Written by", { exact: true })
    await field.fill("half a na")
    await drop(sheet, named("wrong-bench.json", "notes.docx", "empty.log"))
    await settled(sheet)
    assert.match(await sheet.locator("#not-opened").innerText(), /1 file could not be opened; everything else on the sheet is as it was\.[^]*wrong-bench\.json: title/)
    assert.equal(await field.inputValue(), "half a na")
    assert.equal(await sheet.locator("h1").innerText(), "A trial")
  })
})

test("a bench of a later or earlier schema is refused by its name", async () => {
  await within(page, async (sheet) => {
    for (const schema of ["lastbeacon.bench/0", "lastbeacon.bench/2"]) {
      await drop(sheet, [{ name: "bench.json", bytes: Buffer.from(JSON.stringify({ schema })) }])
      await sheet.locator("#not-opened", { hasText: `it is of the schema ${schema}; this program reads lastbeacon.bench/1` }).waitFor()
    }
  })
})

const stored = (sheet) => sheet.evaluate(() => localStorage.getItem("lastbeacon.bench"))

for (const look of [{ width: 1280 }, { width: 360, dark: true }]) {
  test(`a bench is kept when the reader asks, and offered after a reload, at ${look.width} px`, async () => {
    await within(page, async (sheet) => {
      sheet.on("dialog", (d) => void d.accept())
      await drop(sheet, named("ridge-a.log", "bench.json"))
      await settled(sheet)
      assert.equal(await stored(sheet), null)
      await sheet.getByRole("button", { name: "Settings" }).click()
      await sheet.getByLabel("Keep the bench in this browser").check()
      assert.deepEqual(await axe(sheet), [])
      assert.ok((await overflow(sheet)) <= 0)
      assert.match(await stored(sheet), /Heron/)
      assert.ok(!(await sheet.evaluate(() => JSON.stringify({ ...localStorage }))).includes("hill pack"))
      await sheet.reload()
      const offer = sheet.locator("#kept", { hasText: "A trial with 2 units (Heron, Lapwing)" })
      await offer.waitFor()
      assert.deepEqual(await axe(sheet), [])
      assert.ok((await overflow(sheet)) <= 0)
      await sheet.getByRole("button", { name: "Take it back" }).click()
      await sheet.getByRole("heading", { name: "A trial" }).waitFor()
      assert.equal(await offer.count(), 0)
      await sheet.reload()
      await sheet.getByRole("button", { name: "Forget it" }).click()
      assert.equal(await stored(sheet), null)
      await sheet.reload()
      await sheet.getByText("Drop packet logs and GPS tracks anywhere").waitFor()
      assert.equal(await offer.count(), 0)
    }, look)
  })
}

test("the browser's memory is read when the first frame is drawn and no earlier, when Chromium may show none", async () => {
  await within(page, async (sheet) => {
    await sheet.evaluate(() => localStorage.setItem("lastbeacon.settings", `{"look":"dark"}`))
    await sheet.addInitScript(() => {
      window.early = []
      let framed = false
      requestAnimationFrame(() => (framed = true))
      const read = Storage.prototype.getItem
      Storage.prototype.getItem = function (key) {
        if (!framed) window.early.push(key)
        return read.call(this, key)
      }
    })
    await sheet.reload()
    await sheet.locator("html[data-look=dark]").waitFor()
    assert.deepEqual(await sheet.evaluate(() => window.early), [])
  })
})

test("a bench that is kept is offered after the page's process crashed", async () => {
  const { sheet, close } = await open(page)
  try {
    sheet.on("dialog", (d) => void d.accept())
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    await sheet.getByRole("button", { name: "Settings" }).click()
    await sheet.getByLabel("Keep the bench in this browser").check()
    const crashed = sheet.waitForEvent("crash")
    await Promise.race([crashed, sheet.goto("chrome://crash").catch(() => crashed)])
    const next = await sheet.context().newPage()
    await next.goto(pathToFileURL(page).href)
    await next.locator("#kept", { hasText: "A trial with 2 units (Heron, Lapwing)" }).waitFor()
    assert.equal(await next.locator("#evidence").count(), 0)
  } finally {
    await close()
  }
})

test("what is kept goes when the bench is saved, and when the reader forgets the settings", async () => {
  await within(page, async (sheet) => {
    await sheet.getByRole("button", { name: "Settings" }).click()
    await sheet.getByLabel("Keep the bench in this browser").check()
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    assert.match(await stored(sheet), /Heron/)
    await sheet.getByLabel(/^The bench alone/).check()
    await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the bench" }).click()])
    assert.equal(await stored(sheet), null)
    await sheet.getByLabel("Written by", { exact: true }).fill("N. N.")
    await sheet.getByLabel("Written by", { exact: true }).press("Enter")
    assert.match(await stored(sheet), /N\. N\./)
    await sheet.getByRole("button", { name: "Forget these settings" }).click()
    assert.equal(await stored(sheet), null)
  })
})

test("a save that fails is said, and what was not saved still counts as that", async () => {
  await within(page, async (sheet) => {
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    const unsaved = () => sheet.locator("#save .partline").innerText()
    const before = await unsaved()
    await sheet.evaluate(() => (URL.createObjectURL = () => { throw new Error("no room is left") }))
    for (const [choice, button] of [[/^The bench alone/, "Save the bench"], [/^This page with the evidence/, "Save the page"], [/^Numbers, CSV/, "Save the file"]]) {
      await sheet.getByLabel(choice).check()
      await sheet.getByRole("button", { name: button }).click()
      await sheet.getByText("It was not saved: no room is left").waitFor()
      assert.equal(await unsaved(), before)
    }
  })
})

test("of a sheet that the engine refuses nothing is saved but the answers", async () => {
  await within(page, async (sheet) => {
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    await drop(sheet, named("odd-bench.json"))
    await sheet.locator("#refused").waitFor()
    await settled(sheet)
    for (const choice of [/^The report/, /^Numbers, JSON/]) {
      await sheet.getByLabel(choice).check()
      await sheet.locator("#save .filled").click()
      await sheet.getByText(/It was not saved: the engine refused this sheet \(.*\bA\b.*\), so that there is no report of it/).waitFor()
    }
    await sheet.getByLabel(/^The bench alone/).check()
    await Promise.all([sheet.waitForEvent("download"), sheet.locator("#save .filled").click()])
  })
})

test("what is saved amid reading is of everything that was read", async () => {
  await within(page, async (sheet) => {
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    await sheet.getByLabel(/^Numbers, JSON/).check()
    await dropPath(sheet, long("long.log", "QX1ABC-9", 60_000))
    await sheet.getByText("Reading.").first().waitFor()
    const [file] = await Promise.all([sheet.waitForEvent("download", { timeout: 120_000 }), sheet.locator("#save .filled").click()])
    const { evidence } = JSON.parse(readFileSync(await file.path(), "utf8"))
    assert.deepEqual(evidence.map((f) => [f.file, f.packets > 0]), [["long.log", true], ["ridge-a.log", true]])
  })
})

test("a browser whose memory for pages is full loses choices on a reload and nothing else", async () => {
  await within(page, async (sheet) => {
    await sheet.evaluate(() => {
      for (let size = 1 << 22; size >= 1; size >>= 1) {
        try {
          for (let k = 0; ; k++) localStorage.setItem(`filled ${size} ${k}`, "x".repeat(size))
        } catch {
          // The next smaller one may still find room.
        }
      }
    })
    await sheet.getByRole("button", { name: "Settings" }).click()
    await sheet.getByLabel("Look").last().selectOption("dark")
    await drop(sheet, named("ridge-a.log", "bench.json"))
    await settled(sheet)
    assert.equal(await sheet.evaluate(() => document.documentElement.getAttribute("data-look")), "dark")
  })
})
