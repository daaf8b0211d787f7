// Two logs of the same transmissions whose clocks disagree: nobody can tell from them alone which is wrong, so the page asks.
import assert from "node:assert/strict"
import { test } from "node:test"
import { drop } from "../soak/actions.mjs"
import { axe, open, page, settled } from "./open.mjs"

const begin = Date.parse("2031-05-02T06:00:00Z")

/** One unit every two minutes with a place that changes from packet to packet, by a clock so many seconds ahead. */
function log(ahead) {
  return Array.from({ length: 60 }, (_, k) => `${new Date(begin + (k * 120 + ahead) * 1000).toISOString().slice(0, 19)}Z QX1ABC-7>APZ001,WIDE1-1:!61${String(k).padStart(2, "0")}.45N/00812.30E>hill pack\n`).join("")
}

test("two logs whose clocks disagree are asked about, and the answer folds their copies", async () => {
  const { sheet, faults, foreign, close } = await open(page)
  try {
    await drop(sheet, [{ name: "hut.log", bytes: Buffer.from(log(0)) }, { name: "ridge.log", bytes: Buffer.from(log(95)) }])
    await settled(sheet)
    const question = sheet.locator("#evidence", { hasText: "95 s" })
    await question.waitFor()
    assert.deepEqual(await axe(sheet), [])
    await question.getByRole("button", { name: /^Put ridge\.log right/ }).click()
    await settled(sheet)
    await sheet.getByRole("button", { name: /^Make/ }).first().click()
    await settled(sheet)
    assert.match(await sheet.locator("#units").innerText(), /60/)
    assert.equal(await sheet.getByRole("button", { name: /^Put ridge\.log right/ }).count(), 0)
    assert.deepEqual([foreign(), faults], [[], []])
  } finally {
    await close()
  }
})

test("a log that states no zone takes the one that another log shows, and a 12-hour clock the half of the day that is said", async () => {
  const { sheet, faults, foreign, close } = await open(page)
  const local = log(7200).replace(/^(\S+)T(\S+)Z/gm, "$1 $2")
  const half = log(0).replace(/T(\d\d)(\S+)Z QX1ABC/gm, (_, h, rest) => ` ${String(((Number(h) + 5) % 12) + 1).padStart(2, "0")}${rest} QX2ABC`)
  try {
    await drop(sheet, [{ name: "hut.log", bytes: Buffer.from(log(0)) }, { name: "local.log", bytes: Buffer.from(local) }])
    await settled(sheet)
    assert.match(await sheet.locator("#evidence").innerText(), /Were the times of local\.log written in UTC\+02:00\?/)
    assert.deepEqual(await axe(sheet), [])
    await sheet.getByRole("button", { name: /^Set / }).click()
    await settled(sheet)
    assert.equal(await sheet.getByRole("button", { name: /^Set / }).count(), 0)
    await drop(sheet, [{ name: "dial.log", bytes: Buffer.from(half) }])
    await settled(sheet)
    await sheet.getByRole("button", { name: "After noon" }).click()
    await settled(sheet)
    assert.equal(await sheet.getByRole("button", { name: "After noon" }).count(), 0)
    assert.match(await sheet.locator("#evidence").innerText(), /dial\.log/)
    assert.deepEqual([foreign(), faults], [[], []])
  } finally {
    await close()
  }
})
