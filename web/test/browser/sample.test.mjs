// The form of the sheet in every state, at the widths people have: axe finds nothing, nothing overflows, nothing is requested.
import assert from "node:assert/strict"
import { readFileSync } from "node:fs"
import { test } from "node:test"
import { pathToFileURL } from "node:url"
import { axe, drawn, open, overflow, samplePage, unfold } from "./open.mjs"

const states = ["", "#empty", "#reading"]
const looks = [{ width: 1280 }, { width: 1280, dark: true }, { width: 768 }, { width: 360 }, { width: 360, dark: true }, { width: 1280, forced: true }]

for (const look of looks) {
  test(`the sheet in every state at ${look.width} px${look.dark ? ", dark" : ""}${look.forced ? ", forced colours" : ""}`, async () => {
    const { sheet, faults, foreign, close } = await open(samplePage, look)
    try {
      for (const hash of states) {
        await sheet.goto("about:blank")
        await sheet.goto(pathToFileURL(samplePage).href + hash)
        await drawn(sheet)
        await unfold(sheet)
        assert.deepEqual(await axe(sheet), [], hash)
        assert.ok((await overflow(sheet)) <= 0, `${hash}: wider than the window by ${await overflow(sheet)} px`)
      }
      assert.deepEqual(foreign().filter((url) => url !== "about:blank"), [])
      assert.deepEqual(faults, [])
    } finally {
      await close()
    }
  })
}

test("open tables, save menus, settings and the event form stay clean", async () => {
  const { sheet, close } = await open(samplePage)
  try {
    await drawn(sheet)
    await sheet.getByRole("button", { name: "Settings" }).click()
    for (const name of [/^Table of/, /^Save as/, /^Note an event/]) for (const button of await sheet.getByRole("button", { name }).all()) await button.click()
    assert.deepEqual(await axe(sheet), [])
    assert.ok((await overflow(sheet)) <= 0)
  } finally {
    await close()
  }
})

test("a click on the timeline opens an event at that moment, and noting it puts it on the lane", async () => {
  const { sheet, close } = await open(samplePage)
  try {
    await drawn(sheet)
    const figure = sheet.locator("figure", { hasText: "What each unit did, fair run" })
    await figure.locator(".plot").click({ position: { x: 400, y: 50 } })
    const time = figure.getByLabel(/^When it happened/)
    assert.match(await time.inputValue(), /^\d+ May \d\d:\d\d$|^\d\d:\d\d$/)
    await figure.getByRole("button", { name: "Note it" }).click()
    await sheet.getByRole("button", { name: /^Undo note: Heron, low-battery tone/ }).waitFor({ timeout: 5000 })
  } finally {
    await close()
  }
})

test("every figure saves as SVG that stands alone, as PNG, and as CSV", async () => {
  const { sheet, faults, close } = await open(samplePage, { dark: true })
  try {
    await drawn(sheet)
    for (const figure of await sheet.locator("figure.fig").all()) {
      await figure.getByRole("button", { name: /^Save as/ }).click()
      const saved = async (kind) => {
        const [file] = await Promise.all([sheet.waitForEvent("download"), figure.getByRole("button", { name: kind, exact: true }).click()])
        return readFileSync(await file.path())
      }
      const svg = (await saved("SVG")).toString()
      assert.match(svg, /^<svg[^>]*xmlns="http:\/\/www.w3.org\/2000\/svg"/)
      assert.ok(svg.includes("#175a9e") && !svg.includes("var("), "the light look, without variables")
      assert.deepEqual([...(await saved("PNG")).subarray(1, 4)], [...Buffer.from("PNG")])
      assert.match((await saved("CSV")).toString(), /^[^\r\n]+\r\n[^\r\n]+/)
    }
    assert.deepEqual(faults, [])
  } finally {
    await close()
  }
})

test("a test's figures zoom together by keys, buttons and drag", async () => {
  const { sheet, close } = await open(samplePage)
  try {
    await drawn(sheet)
    const plot = sheet.locator("figure", { hasText: "What each unit did, as lent" }).locator(".plot")
    const axis = () => sheet.locator("figure", { hasText: "Interval between beacons, as lent" }).locator(".axis text").allTextContents()
    const whole = await axis()
    await plot.focus()
    await sheet.keyboard.press("+")
    assert.notDeepEqual(await axis(), whole)
    await sheet.keyboard.press("0")
    assert.deepEqual(await axis(), whole)
    const box = await plot.boundingBox()
    await sheet.mouse.move(box.x + 200, box.y + 60)
    await sheet.mouse.down()
    await sheet.mouse.move(box.x + 400, box.y + 60, { steps: 4 })
    await sheet.mouse.up()
    assert.notDeepEqual(await axis(), whole)
    await sheet.getByRole("button", { name: /^All of as lent/ }).click()
    assert.deepEqual(await axis(), whole)
  } finally {
    await close()
  }
})
