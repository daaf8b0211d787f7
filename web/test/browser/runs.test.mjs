// Two runs of one unit, parted by a noted event: what is typed for one is said of that one alone, and is taken back by steps.
import assert from "node:assert/strict"
import { readFileSync } from "node:fs"
import { test } from "node:test"
import { drop } from "../soak/actions.mjs"
import { axe, open, page, settled, unfold } from "./open.mjs"

/** One unit every two minutes for ten hours, on each of two days. */
const log = ["2031-05-02T06:00:30Z", "2031-05-04T06:00:30Z"].flatMap((from) => Array.from({ length: 300 }, (_, k) =>
  `${new Date(Date.parse(from) + k * 120_000).toISOString().slice(0, 19)}Z QX1ABC-7>APZ001,WIDE1-1:!6123.45N/00812.30E>hill pack\n`)).join("")

/** Drops the log, makes a unit of its station, and opens every fold. */
async function makeUnit(sheet) {
  await drop(sheet, [{ name: "hut.log", bytes: Buffer.from(log) }])
  await settled(sheet)
  await sheet.getByRole("button", { name: /^Make/ }).first().click()
  await settled(sheet)
  await unfold(sheet)
}

async function type(sheet, label, text) {
  const field = sheet.getByLabel(label, { exact: true }).last()
  await field.fill(text)
  await field.press("Enter")
  await settled(sheet)
}

async function savedBench(sheet) {
  await sheet.getByLabel(/^The bench alone/).check()
  const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the bench", exact: true }).click()])
  return JSON.parse(readFileSync(await file.path(), "utf8"))
}

test("every field of a run holds that run's own, and noting an event makes room for the run that it began", async () => {
  const { sheet, faults, foreign, close } = await open(page)
  const value = (label) => sheet.getByLabel(label, { exact: true }).last().inputValue()
  try {
    await makeUnit(sheet)
    await type(sheet, "Switched on, run 1 of QX1ABC-7, UTC", "2 May 06:00")
    await sheet.getByRole("button", { name: /^Note an event/ }).first().click()
    await sheet.getByLabel("What happened").selectOption("pack_changed")
    await sheet.getByLabel("When it happened, UTC").fill("4 May 05:55")
    await sheet.getByRole("button", { name: "Note it" }).click()
    await settled(sheet)
    await unfold(sheet)
    await type(sheet, "Charge measured, run 1 of QX1ABC-7, mAh", "1995")
    await type(sheet, "Charge measured, run 2 of QX1ABC-7, mAh", "1846")
    await type(sheet, "Switched on, run 2 of QX1ABC-7, UTC", "4 May 06:00")
    await type(sheet, "Name of the pack, run 2 of QX1ABC-7", "P2")
    assert.deepEqual([await value("Charge measured, run 1 of QX1ABC-7, mAh"), await value("Charge measured, run 2 of QX1ABC-7, mAh")], ["1,995", "1,846"])
    assert.equal(await value("Switched on, run 1 of QX1ABC-7, UTC"), "2 May 06:00")
    assert.deepEqual(await axe(sheet), [])
    assert.deepEqual((await savedBench(sheet)).units[0].runs, [
      { power_on: { at: "2031-05-02T06:00:00Z", precision_s: 30 }, events: [{ at: "2031-05-04T05:55:00Z", precision_s: 30, what: "pack_changed" }], charge_used_mah: 1995, charge_basis: "recharged" },
      { power_on: { at: "2031-05-04T06:00:00Z", precision_s: 30 }, battery: { pack: "P2" }, charge_used_mah: 1846, charge_basis: "recharged" },
    ])
    for (let n = 0; n < 3; n++) await sheet.getByRole("button", { name: /^Undo/ }).first().click()
    await settled(sheet)
    assert.deepEqual([await value("Charge measured, run 1 of QX1ABC-7, mAh"), await value("Charge measured, run 2 of QX1ABC-7, mAh")], ["1,995", ""])
    assert.deepEqual([foreign(), faults], [[], []])
  } finally {
    await close()
  }
})

test("what a rule comes to is counted before the rest is worked out", async () => {
  const { sheet, faults, close } = await open(page)
  try {
    await makeUnit(sheet)
    await sheet.evaluate(() => {
      const text = (place) => document.querySelector(place).textContent
      window.states = []
      new MutationObserver(() => {
        if (/0 packets heard, 600 of its call sign belong to no unit/.test(text("#units"))) window.states.push(text("[role=status]"))
      }).observe(document.body, { subtree: true, childList: true, characterData: true })
    })
    await type(sheet, "Comment holds, rule 1, QX1ABC-7", "other")
    const states = await sheet.evaluate(() => window.states)
    assert.doesNotMatch(states[0], /up to date/)
    assert.match(states.at(-1), /up to date/)
    assert.deepEqual(faults, [])
  } finally {
    await close()
  }
})
