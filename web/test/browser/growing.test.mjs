// A log that grows while the page is open: a real file, dropped so that the browser gives its handle, and written on.
import assert from "node:assert/strict"
import { appendFileSync, mkdtempSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { test } from "node:test"
import { axe, dropPath, open, overflow, page, settled } from "./open.mjs"

const begin = Date.parse("2031-05-02T06:00:00Z")

/** Two units, every minute and every two minutes; the first may be left out. */
function lines(from, until, both = true) {
  let text = ""
  for (let minute = from; minute < until; minute++) {
    const at = new Date(begin + minute * 60_000).toISOString().slice(0, 17)
    if (both) text += `${at}00Z QX1ABC-7>APZ001,WIDE1-1:!6123.45N/00812.30E>hill pack\n`
    if (minute % 2 === 0) text += `${at}20Z QX1ABC-8>APZ001,WIDE1-1:!6123.45N/00812.30E>hill pack\n`
  }
  return text
}

for (const width of [1280, 360]) {
  test(`a log that grows is followed, and a silence comes first, at ${width} px`, async () => {
    const folder = mkdtempSync(join(tmpdir(), "lastbeacon-grow-"))
    const log = join(folder, "hill.log")
    writeFileSync(log, lines(0, 120))
    const { sheet, faults, foreign, close } = await open(page, { width })
    try {
      await dropPath(sheet, log)
      await settled(sheet)
      await sheet.getByRole("button", { name: "Make units of these two" }).click()
      await settled(sheet)
      assert.equal(await sheet.locator("#running").count(), 0)
      appendFileSync(log, lines(120, 124, false))
      const running = sheet.locator("#running", { hasText: /QX1ABC-7 (is silent|has ended):/ })
      await running.waitFor({ timeout: 60_000 })
      assert.match(await running.innerText(), /QX1ABC-7 has ended: 3 due beacons not heard, by loss alone in (less than )?\d/)
      await running.locator("p.note").last().waitFor()
      assert.match(await running.innerText(), /no safety alarm/)
      // One state, one word: what stands as ended here is called so in the strip.
      assert.match(await sheet.locator("#running tbody tr").first().innerText(), /ended\s2\sMay\s07:59/)
      assert.match(await sheet.locator("#findings figure svg").first().innerHTML(), /ended <tspan[^>]*>(2\sMay\s)?07:59/)
      assert.match(await sheet.locator("#running tbody tr").nth(1).innerText(), /08:02:20[^]*ago/)
      await sheet.locator("#running button.num").first().click()
      assert.match(await sheet.locator("#running .packets").innerText(), /07:59:00[^]*hill\.log/)
      assert.equal(await sheet.locator("#evidence .fold-button[aria-expanded=false]").count(), 1)
      assert.deepEqual(await axe(sheet), [])
      writeFileSync(log, lines(0, 2))
      await sheet.locator("#evidence .fold-button").click()
      await sheet.locator("#evidence", { hasText: "Another log was begun under this name" }).waitFor({ timeout: 30_000 })
      assert.ok((await overflow(sheet)) <= 0)
      await sheet.getByRole("button", { name: "Remove hill.log" }).click()
      await settled(sheet)
      assert.equal(await running.count(), 0)
      assert.equal(await sheet.locator("#running").count(), 0)
      assert.deepEqual([foreign(), faults], [[], []])
    } finally {
      await close()
      rmSync(folder, { recursive: true })
    }
  })
}
