// What is saved for other eyes, byte by byte: every call sign, place, comment and line of the evidence is searched for in every
// format, and is found in each as long as nothing was left out, so that the search itself is known to work.
import assert from "node:assert/strict"
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { test } from "node:test"
import { gunzipSync } from "node:zlib"
import { bytesOf } from "../../packing.mjs"
import { axe, drawn, open, overflow, page, settled } from "./open.mjs"

const calls = ["QX1ABC", "QX1ABD", "QR7HUT", "QW4MET", "QZ2GTE"]
const said = ["hill pack in use", "6123.45N", "6124.9", "V2R4U3", "ridge repeater", "no header at all", "restart"]
// 61 deg 23.45 min and 8 deg 12.30 min as decimals; the Mic-E destination holds 62 deg 24.53 min north (APRS 1.0.1, chapter 10).
const places = ["61.39", "8.205", "62.40"]

/** A unit that moves, one whose destination is its latitude, others on the channel, and lines that cannot be used. */
function evidence() {
  let text = "no header at all\n2031-05-02 05:59:00Z QR7HUT-1 restart\n"
  for (let minute = 0; minute < 180; minute++) {
    const at = new Date(Date.parse("2031-05-02T06:00:00Z") + minute * 60_000).toISOString().slice(0, 19)
    const north = minute < 60 ? "6123.45" : minute < 120 ? (6123.45 + (minute - 60) * 0.03).toFixed(2) : "6125.25"
    text += `${at}Z QX1ABC-7>APZ001,QR7HUT-1*,WIDE2-1:!${north}N/00812.30E>hill pack in use\n`
    if (minute % 2 === 0) text += `${at.slice(0, 17)}21Z QX1ABD-9>V2R4U3,WIDE1-1,qAR,QZ2GTE:\`r<!l#Y>/hill pack in use\n`
    if (minute % 20 === 0) text += `${at.slice(0, 17)}41Z QR7HUT-1>APZ001:>ridge repeater of QW4MET\n`
  }
  return text
}

async function saved(sheet, save) {
  await sheet.waitForTimeout(400) // Chromium drops the eleventh download of a burst
  const [file] = await Promise.all([sheet.waitForEvent("download"), save()])
  return { name: file.suggestedFilename(), text: readFileSync(await file.path(), "latin1") }
}

const kinds = [
  ["html", /^The report/, "Save the report"], ["page", /^This page with the evidence/, "Save the page"], ["bench", /^The bench alone/, "Save the bench"], ["json", /^Numbers, JSON/, "Save the file"],
  ["csv", /^Numbers, CSV/, "Save the file"], ["md", /^Markdown/, "Save the file"], ["transmissions", /^Every transmission/, "Save the file"], ["packets", /^Every line of the evidence/, "Save the file"],
]

/** What lies packed in a saved page; of the page itself nothing is the reader's. */
function unpacked({ name, text }) {
  const block = /<script type="text\/plain" id="evidence-inside">([^<]*)</.exec(text)?.[1]
  return block === undefined ? { name, text } : { name, text: gunzipSync(bytesOf(Buffer.from(block, "latin1").toString("utf8"))).toString("latin1"), page: text }
}

/** Every file that can be given to others, under its kind. */
async function all(sheet) {
  const files = new Map()
  for (const [kind, choice, button] of kinds) {
    await sheet.getByLabel(choice).check()
    files.set(kind, unpacked(await saved(sheet, () => sheet.getByRole("button", { name: button }).click())))
  }
  for (const figure of await sheet.locator("figure.fig").all()) {
    const id = await figure.getAttribute("aria-labelledby")
    for (const kind of ["SVG", "CSV", "JSON"]) files.set(`${id} ${kind}`, await saved(sheet, () => figure.getByRole("button", { name: kind, exact: true }).click()))
  }
  return files
}

const found = (files, originals) => [...files].flatMap(([kind, { name, text }]) => originals.filter((o) => `${name}\n${text}`.toUpperCase().includes(o.toUpperCase())).map((o) => `${o} in ${kind}`))

/** The kinds that hold the evidence itself. */
const whole = ["page", "transmissions", "packets"]

/** Opens a copy without evidence: it says what it is, shows the report, and its runs go on as finished ones. */
async function looksLikeACopy(text, where) {
  const folder = mkdtempSync(join(tmpdir(), "lastbeacon-copy-"))
  writeFileSync(join(folder, "copy.html"), text, "latin1")
  const { sheet, faults, foreign, close } = await open(join(folder, "copy.html"), { width: 360 })
  try {
    await sheet.getByRole("heading", { name: "A copy without its evidence" }).waitFor()
    await drawn(sheet)
    assert.match(await sheet.locator("#copy").innerText(), /call signs are renamed, nothing that packets say stands in it and places/)
    assert.equal(await sheet.getByRole("heading", { name: /^The way of/ }).count() > 0, where === "metres")
    assert.equal(await sheet.locator("button.num").count(), 0)
    assert.deepEqual(await axe(sheet), [])
    assert.ok((await overflow(sheet)) <= 0)
    const before = await sheet.locator("#units td[data-label='run time']").allInnerTexts()
    await sheet.getByRole("button", { name: "Go on with its runs" }).click()
    await settled(sheet)
    await sheet.getByText(/From a saved report: report without evidence\.json/).first().waitFor()
    assert.deepEqual(await sheet.locator("#units td[data-label='run time']").allInnerTexts(), before)
    assert.deepEqual([faults, foreign()], [[], []])
  } finally {
    await close()
    rmSync(folder, { recursive: true })
  }
}

test("nothing that was left out is in any saved byte", async () => {
  const { sheet, faults, foreign, close } = await open(page)
  try {
    await sheet.locator("input.picker").first().setInputFiles([{ name: "QX1ABC-7 and qr7hut.log", mimeType: "text/plain", buffer: Buffer.from(evidence()) }])
    await settled(sheet)
    for (const station of ["QX1ABC-7", "QX1ABD-9"]) {
      await sheet.getByRole("button", { name: `Make a unit of ${station}` }).click()
      await settled(sheet)
    }
    for (const figure of await sheet.locator("figure.fig").all()) await figure.getByRole("button", { name: /^Save as/ }).click()
    const open = await all(sheet)
    assert.ok(found(open, calls).length >= 20 && found(open, said).length >= 5, "the search finds what stands there")
    for (const kind of whole) assert.ok(found([[kind, open.get(kind)]], [...calls, ...said, ...places]).length > 3, `${kind} holds everything`)
    assert.deepEqual(found([...open].filter(([kind]) => !whole.includes(kind)), places), [], "no latitude or longitude outside of lines as received")
    await sheet.getByLabel(/^The report/).check() // the kind of which everything can be left out
    await sheet.getByLabel(/^Call signs renamed/).check()
    for (const where of ["metres", "none"]) {
      await sheet.getByLabel(/^The report/).check()
      await sheet.getByLabel("Places", { exact: true }).selectOption(where)
      assert.ok(await sheet.getByLabel(/^Without lines, comments/).isChecked(), "places take the lines with them")
      const left = await all(sheet)
      assert.deepEqual(found(left, [...calls, ...said, ...places]), [])
      assert.match(left.get("html").text, /STATION-1/)
      assert.equal(/The way of/.test(left.get("html").text), where === "metres")
      assert.match(left.get("packets").text, /"station":"STATION-\d+"/)
      assert.equal(/"east_m":/.test(left.get("packets").text), where === "metres")
      await looksLikeACopy(left.get("page").page, where)
    }
    await sheet.getByLabel(/^The report/).check()
    await sheet.getByText("Look at it first").click()
    const preview = sheet.getByRole("region", { name: "What the file will say" })
    await preview.waitFor()
    await drawn(sheet)
    assert.match(await preview.innerText(), /Result[^]*STATION-1/)
    const read = await preview.innerText()
    assert.deepEqual([...calls, ...said].filter((o) => read.includes(o)), [])
    assert.deepEqual(await axe(sheet), [])
    assert.ok((await overflow(sheet)) <= 0)
    await sheet.getByLabel(/^This page with the evidence/).check()
    assert.match(await sheet.locator("#save").innerText(), /the copy holds the finished report in place of the evidence/)
    await sheet.getByLabel("Places", { exact: true }).selectOption("kept")
    for (const choice of [/^Call signs renamed/, /^Without lines, comments/]) await sheet.getByLabel(choice).uncheck()
    assert.match(await sheet.locator("#save").innerText(), /The copy holds every line as received, with its call signs and places/)
    assert.deepEqual([faults, foreign()], [[], []])
  } finally {
    await close()
  }
})
