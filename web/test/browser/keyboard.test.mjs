// The sheet by keyboard alone: everything can be reached in the order in which it is read, shows where the focus is, has a
// name, is large enough, and what vanishes under the focus does not take it along.
import assert from "node:assert/strict"
import { test } from "node:test"
import { open, page, settled, unfold } from "./open.mjs"

/** What has the focus; null when nothing has. */
const focused = (sheet) => sheet.evaluate(() => {
  const e = document.activeElement
  if (!e || e === document.body) return null
  const style = getComputedStyle(e), box = e.getBoundingClientRect()
  const by = document.getElementById(e.getAttribute("aria-labelledby") ?? "")
  const name = e.getAttribute("aria-label") || by?.textContent || e.labels?.[0]?.textContent || e.textContent.trim()
  const target = e.matches("input[type=radio], input[type=checkbox]") ? e.labels[0].getBoundingClientRect() : box
  return {
    name, ring: /^(solid|auto)/.test(style.outlineStyle) && parseFloat(style.outlineWidth) >= 2, seen: box.bottom > 0 && box.top < innerHeight,
    small: e.tagName !== "A" && (target.width < 23.5 || target.height < 23.5), part: e.closest(".part")?.id ?? "",
  }
})

async function tabTo(sheet, name) {
  for (let steps = 0; steps < 60; steps++) {
    await sheet.keyboard.press("Tab")
    if ((await focused(sheet))?.name === name) return
  }
  assert.fail(`${name} is not reached`)
}

for (const look of [{ width: 1280 }, { width: 360, dark: true }]) {
  test(`every stop has a name, a ring, room and a place in view, at ${look.width} px`, async () => {
    const { sheet, faults, close } = await open(page, look)
    try {
      await tabTo(sheet, "Try the example")
      await sheet.keyboard.press("Enter")
      await settled(sheet)
      assert.equal((await focused(sheet)).name, "Two borrowed handhelds before the long search exercise")
      await unfold(sheet)
      await sheet.locator(".top button").first().focus()
      const stops = []
      await sheet.keyboard.press("Tab")
      for (let at; (at = await focused(sheet)) !== null; await sheet.keyboard.press("Tab")) stops.push(at)
      assert.ok(stops.length > 200, `${stops.length} stops`)
      assert.deepEqual(stops.filter((s) => !s.name || !s.ring || !s.seen || s.small), [])
      const parts = stops.map((s) => s.part).filter((part, i, all) => part !== "" && part !== all[i - 1])
      assert.deepEqual(parts, ["result", "evidence", "stations", "units", "findings", "conditions", "outlook", "next", "save"])
      assert.deepEqual(faults, [])
    } finally {
      await close()
    }
  })
}

test("what vanishes under the focus leaves it in its part", async () => {
  const { sheet, close } = await open(page)
  try {
    const log = Array.from({ length: 40 }, (_, i) => `2031-05-02 06:${String(i).padStart(2, "0")}:00Z QX1ABC-${7 + (i % 2)}>APZ001:!6123.45N/00812.30E>a\n`).join("")
    await sheet.locator("input.picker").first().setInputFiles([{ name: "a.log", mimeType: "text/plain", buffer: Buffer.from(log) }, { name: "b.log", mimeType: "text/plain", buffer: Buffer.from(log) }])
    await settled(sheet)
    for (const [button, part] of [["Make a unit of QX1ABC-7", "stations"], ["Remove b.log", "evidence"]]) {
      const fold = sheet.locator(`#${part} .fold-button[aria-expanded=false]`)
      if (await fold.count()) await fold.click()
      await sheet.getByRole("button", { name: button, exact: true }).focus()
      await sheet.keyboard.press("Enter")
      await sheet.getByRole("button", { name: button, exact: true }).waitFor({ state: "detached" })
      await sheet.waitForFunction((id) => document.activeElement?.closest(".part")?.id === id, part, { timeout: 5000 })
    }
  } finally {
    await close()
  }
})
