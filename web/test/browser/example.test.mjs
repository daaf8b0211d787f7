// The main job on the built page, opened from file:// with the real engine: the example's files come in by each way, two
// units are made, verdicts and numbers are read, packets opened, things saved; not one request is made.
import assert from "node:assert/strict"
import { execFileSync } from "node:child_process"
import { mkdtempSync, readFileSync, rmSync } from "node:fs"
import { tmpdir } from "node:os"
import { basename, join } from "node:path"
import { test } from "node:test"
import { axe, drawn, example, open, overflow, page, settled, unfold, web, within } from "./open.mjs"

const fair = join(example, "ridge-0508.log")
const bench = join(example, "bench.json")

/** Drops files as a person does: by drag events with a DataTransfer that holds them. */
async function drop(sheet, paths) {
  const files = paths.map((path) => ({ name: basename(path), text: readFileSync(path, "latin1") }))
  await sheet.evaluate((all) => {
    const data = new DataTransfer()
    for (const { name, text } of all) data.items.add(new File([Uint8Array.from(text, (c) => c.charCodeAt(0))], name))
    for (const type of ["dragenter", "dragover", "drop"]) window.dispatchEvent(new DragEvent(type, { dataTransfer: data, bubbles: true, cancelable: true }))
  }, files)
}

async function typeInto(sheet, label, text) {
  const field = sheet.getByLabel(label, { exact: true }).first()
  await field.fill(text)
  await field.press("Enter")
}

for (const width of [1280, 360]) {
  test(`dropped files, units made by hand, answers typed, verdicts read, at ${width} px`, async () => {
    await within(page, async (sheet) => {
      await drop(sheet, [fair])
      await settled(sheet)
      await sheet.getByText("On which day does ridge-0508.log begin?").waitFor()
      await typeInto(sheet, "Date of ridge-0508.log", "2031-05-08")
      await settled(sheet)
      for (const station of ["QX1ABC-7", "QX1ABC-8"]) {
        const stations = sheet.locator("#stations .fold-button[aria-expanded=false]")
        if (await stations.count()) await stations.click()
        await sheet.getByRole("button", { name: `Make a unit of ${station}` }).click()
        await settled(sheet)
      }
      await typeInto(sheet, "Name of unit 1", "Heron")
      await typeInto(sheet, "Name of unit 2", "Lapwing")
      for (const [unit, mAh, w] of [["Heron", "1926", "4.8"], ["Lapwing", "2114", "4.6"]]) {
        await typeInto(sheet, `Capacity of the pack, ${unit}, mAh`, mAh)
        await sheet.getByLabel(`What the capacity of ${unit} rests on`).first().selectOption("measured")
        await typeInto(sheet, `RF power of ${unit}, W`, w)
      }
      for (const [unit, on] of [["Heron", "18:00"], ["Lapwing", "18:01"]]) {
        await settled(sheet)
        await typeInto(sheet, `Switched on, run 1 of ${unit}, UTC`, on)
      }
      await settled(sheet)
      const result = await sheet.locator("#result").innerText()
      assert.match(result, /Lapwing lasted longer: 21.h.\d+.min against 17.h.\d+.min/)
      assert.match(result, /\d+.mA/)
      await unfold(sheet)
      assert.ok((await overflow(sheet)) <= 0)
      assert.deepEqual(await axe(sheet), [])
    }, { width })
  })
}

test("the example in one click: verdicts, figures with tables, packets behind a number", async () => {
  await within(page, async (sheet) => {
    await sheet.getByRole("button", { name: "Try the example" }).click()
    await settled(sheet)
    assert.match(await sheet.locator("#result").innerText(), /Lapwing lasted longer/)
    assert.ok((await sheet.locator("figure.fig").count()) >= 6)
    for (const figure of await sheet.locator("figure.fig").all()) assert.equal(await figure.getByRole("button", { name: /^Table of/ }).count(), 1)
    const number = sheet.locator('#units td[data-label="heard"] button.num').first()
    const wanted = Number((await number.innerText()).replace(",", ""))
    await number.click()
    await sheet.locator(".packets tbody tr").first().waitFor()
    assert.ok(wanted > 100)
    assert.match(await sheet.locator(".packets tbody tr").first().innerText(), /\.log \d/)
    assert.match(await sheet.locator(".packets .raw").first().innerText(), /^QX1ABC-\d+>/)
    assert.deepEqual(await axe(sheet), [])
    await sheet.keyboard.press("Escape")
    assert.equal(await sheet.locator(".packets").count(), 0)
    assert.equal(await sheet.evaluate(() => document.activeElement?.classList.contains("num")), true)
  })
})

test("a bench file and logs chosen by the button give the same verdict; undo takes a step back", async () => {
  await within(page, async (sheet) => {
    await sheet.locator("input.picker").first().setInputFiles([bench, fair])
    await settled(sheet)
    const first = await sheet.locator("#result .verdict").first().innerText()
    assert.match(first, /Lapwing lasted longer/)
    await typeInto(sheet, "Name of unit 2", "Dunlin")
    await settled(sheet)
    assert.match(await sheet.locator("#result .verdict").first().innerText(), /Dunlin lasted longer/)
    await sheet.getByRole("button", { name: /^Undo/ }).click()
    await settled(sheet)
    assert.equal(await sheet.locator("#result .verdict").first().innerText(), first)
  })
})

test("a wrong entry is kept and said, an unknown file is named, a file can be removed and brought back", async () => {
  await within(page, async (sheet) => {
    await sheet.locator("input.picker").first().setInputFiles([bench, fair])
    await settled(sheet)
    await sheet.locator("input.picker").first().setInputFiles([{ name: "notes.docx", mimeType: "application/zip", buffer: Buffer.from("PK\x03\x04 nothing we read") }])
    await settled(sheet)
    await typeInto(sheet, "Capacity of the pack, Heron, mAh", "plenty")
    assert.match(await sheet.getByRole("alert").innerText(), /a number is wanted/)
    const fold = sheet.locator("#evidence .fold-button[aria-expanded=false]")
    if (await fold.count()) await fold.click()
    await drawn(sheet) // what is unfolded comes in its turn
    assert.match(await sheet.locator("#evidence").innerText(), /notes\.docx/)
    await sheet.getByRole("button", { name: "Remove notes.docx", exact: true }).click()
    await settled(sheet)
    assert.equal(await sheet.getByRole("button", { name: "Remove notes.docx", exact: true }).count(), 0)
    await sheet.getByRole("button", { name: /^Undo remove notes/ }).click()
    await sheet.getByRole("button", { name: "Remove notes.docx", exact: true }).waitFor()
  })
})

test("each file's row is its own, in whatever order files come and whatever was cancelled or gives nothing", async () => {
  await within(page, async (sheet) => {
    const log = (name, minutes) => ({ name, mimeType: "text/plain", buffer: Buffer.from(minutes.map((m) => `2031-05-02 06:0${m}:00Z QX1ABC-7>APZ001:!6123.45N/00812.30E>a\n`).join("")) })
    await sheet.locator("input.picker").first().setInputFiles([log("c.log", [1, 2, 3]), log("b.log", []), log("a.log", [1, 2])])
    await settled(sheet)
    const rows = () => sheet.locator("#evidence table.files tbody tr").evaluateAll((all) => all.map((r) => [...r.children].map((c) => c.textContent)).map((c) => `${c[0]}: ${c[2]}, ${c.at(-1)}`))
    assert.deepEqual(await rows(), ["c.log: 3, Remove c.log", "b.log: 0, Remove b.log", "a.log: 2, Remove a.log"])
    await sheet.getByRole("button", { name: "Remove a.log", exact: true }).click()
    await settled(sheet)
    assert.deepEqual(await rows(), ["c.log: 3, Remove c.log", "b.log: 0, Remove b.log"])
  })
})

test("pasted lines are read, and pasting them twice changes nothing", async () => {
  await within(page, async (sheet) => {
    const lines = Array.from({ length: 12 }, (_, i) => `2031-05-02 06:${String(i * 2).padStart(2, "0")}:00Z QX1ABC-7>APZ001,WIDE1-1:!6123.45N/00812.30E>hill pack`).join("\n")
    for (let times = 0; times < 2; times++) {
      await sheet.getByRole("button", { name: "Paste text" }).click()
      await sheet.getByLabel("Lines of a log, as received").fill(lines)
      await sheet.getByRole("button", { name: "Read these lines" }).click()
      await settled(sheet)
    }
    const row = sheet.locator("#stations tbody tr").first()
    assert.match(await row.innerText(), /QX1ABC-7[^]*12/)
    assert.match(await sheet.locator("#evidence").innerText(), /12/)
  })
})

test("control and direction characters of names, comments and files are written out", async () => {
  await within(page, async (sheet) => {
    const odd = "gninraw\u202e\u0007\u2066"
    const log = Array.from({ length: 9 }, (_, i) => `2031-05-02 06:0${i}:00Z QX1ABC-7>APZ001:!6123.45N/00812.30E>${odd}`).join("\n") + `\nno packet ${odd}\n`
    await sheet.locator("input.picker").first().setInputFiles([{ name: `hill${odd}.log`, mimeType: "text/plain", buffer: Buffer.from(log) }])
    await settled(sheet)
    await unfold(sheet)
    await sheet.getByRole("button", { name: "Make a unit of QX1ABC-7" }).click()
    await settled(sheet)
    await typeInto(sheet, "Name of unit 1", `Heron${odd}`)
    await settled(sheet)
    await unfold(sheet)
    const bare = await sheet.evaluate(() => {
      const odd = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069]/
      const named = [...document.querySelectorAll("[title], [aria-label]")].flatMap((e) => [e.getAttribute("title") ?? "", e.getAttribute("aria-label") ?? ""])
      return [document.getElementById("root")?.textContent ?? "", ...named].filter((text) => odd.test(text)).map((text) => text.slice(Math.max(0, text.search(odd) - 80), text.search(odd) + 20))
    })
    assert.deepEqual(bare, [])
    assert.match(await sheet.locator("#stations").innerText(), /gninraw\\u202e\\u0007\\u2066/)
    assert.equal(await sheet.getByLabel("Name of unit 1", { exact: true }).inputValue(), `Heron${odd}`)
  })
})

test("lines that were not used are shown with their reason and can be exported", async () => {
  await within(page, async (sheet) => {
    const log = "2031-05-02 06:00:00Z QX1ABC-7>APZ001:!6123.45N/00812.30E>a\nthis is no packet\n2031-05-02 06:02:00Z QX1ABC-7>APZ001:!6123.45N/00812.30E>a\n"
    await sheet.locator("input.picker").first().setInputFiles([{ name: "odd.log", mimeType: "text/plain", buffer: Buffer.from(log) }])
    await settled(sheet)
    assert.match(await sheet.locator("#evidence").innerText(), /Read 2 of 3 lines; 1 not used[^]*this is no packet/)
    const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Export the 1 line" }).click()])
    assert.match(readFileSync(await file.path(), "utf8"), /^odd\.log:2: \S+: this is no packet\n$/)
    assert.deepEqual(await axe(sheet), [])
  })
})

test("what a table's columns were taken for is shown, can be said otherwise, and stands in bench and report", async () => {
  await within(page, async (sheet) => {
    const table = "Zeit;Spannung;Strom;Zelle\n" + Array.from({ length: 9 }, (_, i) => `2031-05-02T06:00:0${i}Z;7400;250;7,4\n`).join("")
    await sheet.locator("input.picker").first().setInputFiles([{ name: "meter.csv", mimeType: "text/csv", buffer: Buffer.from(table) }])
    await settled(sheet)
    await unfold(sheet)
    const holds = (name) => sheet.getByLabel(`What ${name} of meter.csv holds`)
    assert.equal(await holds("Spannung").inputValue(), "volts V")
    assert.match(await sheet.locator("#evidence").innerText(), /1000 V/) // nothing shows 7400 V
    await holds("Spannung").selectOption("volts mV")
    await settled(sheet)
    await holds("Strom").selectOption("amps mA")
    await settled(sheet)
    await unfold(sheet)
    assert.match(await sheet.locator("#evidence").innerText(), /9.readings/)
    await holds("Zelle").selectOption("volts V")
    await settled(sheet)
    assert.equal(await holds("Spannung").inputValue(), "none")
    assert.equal(await holds("Zelle").inputValue(), "volts V")
    await unfold(sheet)
    assert.deepEqual(await axe(sheet), [])
    await sheet.getByLabel(/^The bench alone/).check()
    const [saved] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the bench" }).click()])
    assert.deepEqual(JSON.parse(readFileSync(await saved.path(), "utf8")).files[0].columns, [{ header: "Strom", meaning: "amps mA" }, { header: "Zelle", meaning: "volts V" }])
    await sheet.getByLabel(/^The report: one light page/).check()
    const [report] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the report" }).click()])
    assert.match(readFileSync(await report.path(), "utf8"), /Zelle[^]*voltage, V[^]*set by you/)
  })
})

test("a report is saved as one page that opens without scripts and holds the verdict; the bench file comes back", async () => {
  await within(page, async (sheet) => {
    await sheet.locator("input.picker").first().setInputFiles([bench, fair])
    await settled(sheet)
    const save = async (choice, button) => {
      await sheet.getByLabel(choice).check()
      const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: button }).click()])
      return readFileSync(await file.path(), "utf8")
    }
    const html = await save(/^The report: one light page/, "Save the report")
    assert.match(html, /Lapwing lasted longer/)
    assert.ok(!/<script/i.test(html) && html.length < 2_000_000)
    const saved = JSON.parse(await save(/^The bench alone/, "Save the bench"))
    assert.equal(saved.schema, "lastbeacon.bench/1")
    assert.equal(saved.units.length, 2)
    const numbers = JSON.parse(await save(/^Numbers, JSON/, "Save the file"))
    assert.equal(numbers.schema, "lastbeacon.report/1")
    assert.match(await save(/^Numbers, CSV/, "Save the file"), /Heron/)
  })
})

test("a page saved with its evidence opens, goes on working, and saved again is the same bytes", async () => {
  const folder = mkdtempSync(join(tmpdir(), "lastbeacon-saved-"))
  const save = async (sheet, to) => {
    await sheet.getByLabel(/^This page with the evidence/).check()
    const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the page" }).click()])
    await file.saveAs(to)
    return readFileSync(to, "utf8")
  }
  try {
    let first, before
    await within(page, async (sheet) => {
      await sheet.locator("input.picker").first().setInputFiles([bench, fair])
      await settled(sheet)
      before = await sheet.locator("#result").innerText()
      first = await save(sheet, join(folder, "first.html"))
    })
    await within(join(folder, "first.html"), async (sheet) => {
      await settled(sheet)
      assert.equal(await sheet.locator("#result").innerText(), before)
      assert.ok((await save(sheet, join(folder, "second.html"))) === first, "the second page differs from the first")
    })
  } finally {
    rmSync(folder, { recursive: true })
  }
})

for (const width of [1280, 360]) {
  test(`a saved report is clean at ${width} px`, async () => {
    const folder = mkdtempSync(join(tmpdir(), "lastbeacon-report-"))
    const html = join(folder, "report.html")
    execFileSync(process.execPath, [join(web, "..", "dist", "lastbeacon.mjs"), "--bench", bench, "--report", html, fair, join(example, "day-out.log"), join(example, "day-out.gpx")], { stdio: "ignore" })
    try {
      await within(html, async (sheet) => {
        await unfold(sheet)
        assert.deepEqual(await axe(sheet), [])
        assert.ok((await overflow(sheet)) <= 0)
        assert.match(await sheet.locator("#result").innerText(), /Lapwing lasted longer/)
      }, { width })
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
}

test("an engine that stops is replaced, and the evidence is still there", async () => {
  const opened = await open(page)
  const { sheet } = opened
  try {
    await sheet.locator("input.picker").first().setInputFiles([bench, fair])
    await settled(sheet)
    const before = await sheet.locator("#result .verdict").first().innerText()
    await sheet.evaluate(() => window.lastbeaconBreak().catch(() => undefined))
    await sheet.getByRole("heading", { name: "Engine replaced" }).waitFor()
    assert.deepEqual(await axe(sheet), [])
    await sheet.getByRole("button", { name: "Try it once more" }).click()
    await settled(sheet)
    await typeInto(sheet, "Capacity of the pack, Heron, mAh", "1900")
    await settled(sheet)
    assert.equal(await sheet.locator("#result .verdict").first().innerText(), before)
    assert.deepEqual(opened.foreign(), [])
  } finally {
    await opened.close()
  }
})

test("a long analysis can be stopped, and files and answers stay", async () => {
  await within(page, async (sheet) => {
    await sheet.getByRole("button", { name: "Try the example" }).click()
    await sheet.getByRole("button", { name: "Stop working it out" }).click()
    await sheet.getByRole("heading", { name: "Stopped" }).waitFor()
    assert.match(await sheet.locator("#stopped").innerText(), /Your 5 files and all answers are still here/)
    assert.deepEqual(await axe(sheet), [])
    await sheet.getByRole("button", { name: "Work it out" }).click()
    await settled(sheet)
    assert.match(await sheet.locator("#result").innerText(), /Lapwing lasted longer/)
    assert.equal(await sheet.locator("#stopped").count(), 0)
  })
})

test("settings are remembered, data is not", async () => {
  await within(page, async (sheet) => {
    await sheet.getByRole("button", { name: "Settings" }).click()
    await sheet.getByLabel("Look").last().selectOption("dark")
    await sheet.locator("input.picker").first().setInputFiles([fair])
    await settled(sheet)
    sheet.on("dialog", (d) => void d.accept())
    await sheet.reload()
    await sheet.getByText("Drop packet logs and GPS tracks anywhere").waitFor()
    await sheet.locator("html[data-look=dark]").waitFor()
    const kept = await sheet.evaluate(() => JSON.stringify({ ...localStorage }))
    assert.ok(!kept.includes("QX1") && !kept.includes("ridge"))
  })
})

test("a charge measured for a run, and the charger it was measured by, give the draw", async () => {
  await within(page, async (sheet) => {
    await drop(sheet, [bench, fair])
    await settled(sheet)
    await unfold(sheet)
    for (const unit of ["Heron", "Lapwing"]) {
      await typeInto(sheet, `Charge measured, fair of ${unit}, mAh`, "2000")
      await typeInto(sheet, `Name of the charger or meter, fair of ${unit}`, "blue one")
    }
    await settled(sheet)
    await sheet.getByText(/one instrument measured all charges, so its error cancels/).first().waitFor()
  })
})

test("a report saved earlier joins as finished runs that stay in the bench, and each can be taken away", async () => {
  const folder = mkdtempSync(join(tmpdir(), "lastbeacon-saved-"))
  const report = join(folder, "earlier.json"), asPage = join(folder, "earlier.html")
  execFileSync("node", [join(web, "..", "dist", "lastbeacon.mjs"), "--bench", bench, "--report", report, "--report", asPage, fair], { stdio: "ignore" })
  await within(page, async (sheet) => {
    await drop(sheet, [asPage])
    await settled(sheet)
    await sheet.getByText(/Lapwing lasted longer/).first().waitFor()
    await unfold(sheet)
    assert.equal(await sheet.getByText(/From a saved report: earlier\.html, written by Lastbeacon .+, SHA-256 [0-9a-f]{12}\./).count() > 0, true)
    assert.deepEqual(await axe(sheet), [])
    assert.ok((await overflow(sheet)) <= 0)
    const removals = await sheet.getByRole("button", { name: "Remove", exact: true }).count()
    await sheet.getByRole("button", { name: "Remove", exact: true }).first().click()
    await settled(sheet)
    assert.equal(await sheet.getByRole("button", { name: "Remove", exact: true }).count(), removals - 1)
  })
  rmSync(folder, { recursive: true, force: true })
})
