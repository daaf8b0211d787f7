// Evidence, benches and saved files of somebody who means harm, in the page: what they hold is shown as text and runs nowhere,
// what is out of proportion becomes a note, and the page's memory stays bounded.
import assert from "node:assert/strict"
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { after, test } from "node:test"
import { crc32, deflateRawSync, gzipSync } from "node:zlib"
import { textOf } from "../../packing.mjs"
import { drop } from "../soak/actions.mjs"
import { overflow, page, settled, unfold, within } from "./open.mjs"

const work = mkdtempSync(join(tmpdir(), "lastbeacon-hostile-"))
after(() => rmSync(work, { recursive: true }))

const markup = `"><img src=x onerror=alert(1)><script>alert(2)</script><a href="javascript:alert(3)">x</a></style></textarea>{{1+1}}\${1}`
const line = (minute, text) => `2031-05-02T${String(6 + Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}:00Z QX1ABC-7>APZ001:!6203.90N/00938.10E>${text}\n`
const log = Array.from({ length: 30 }, (_, k) => line(k * 4, markup)).join("") + `no packet ${markup}\n`
const good = line(0, "good") + line(5, "good")
const bench = JSON.stringify({
  schema: "lastbeacon.bench/1", title: markup, author: markup, remarks: markup, ["__proto__"]: { polluted: 1 },
  units: [{ name: markup, match: [{ station: "QX1ABC-7" }], battery: { pack: markup }, conditions: { antenna: markup },
    runs: [{ label: markup, power_on: { at: "2031-05-02T05:59:00Z" }, events: [{ at: "2031-05-02T07:00:00Z", what: "seen_on", text: markup }] }] }],
})
const files = [{ name: `${markup.replaceAll("/", "\u2215")}.log`, bytes: Buffer.from(log) }, { name: "bench.json", bytes: Buffer.from(bench) }]

/** Runs within a page, and fails on any dialog, error, broken policy or request. */
function unharmed(path, run) {
  return within(path, async (sheet) => {
    const dialogs = []
    sheet.on("dialog", (d) => (d.type() === "beforeunload" || dialogs.push(d.message()), void d.accept()))
    await run(sheet)
    assert.deepEqual(dialogs, [])
  })
}

/** Elements that text from outside would have made. */
const made = (sheet) => sheet.evaluate(() => [...document.querySelectorAll("img, iframe, #root script, .saved script, a[href^='javascript']")].map((e) => e.outerHTML.slice(0, 80)))

async function saved(sheet, choice, button, name) {
  await sheet.getByLabel(choice).check()
  const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: button }).click()])
  await file.saveAs(join(work, name))
  return join(work, name)
}

test("markup in comments, names, titles and notes is text in the page, in the report and in the saved page", async () => {
  let report, copy
  await unharmed(page, async (sheet) => {
    await drop(sheet, files)
    await settled(sheet)
    await unfold(sheet)
    await sheet.locator("#units td button.num").first().click()
    await sheet.locator(".packets .raw").first().waitFor()
    assert.deepEqual(await made(sheet), [])
    assert.equal(await sheet.evaluate(() => ({}).polluted), undefined)
    assert.ok((await sheet.locator("h1").first().innerText()).includes("<img src=x onerror=alert(1)>"))
    report = await saved(sheet, /^The report: one light page/, "Save the report", "report.html")
    copy = await saved(sheet, /^This page with the evidence/, "Save the page", "page.html")
  })
  await unharmed(report, async (sheet) => assert.deepEqual(await made(sheet), []))
  await unharmed(copy, async (sheet) => {
    await settled(sheet)
    assert.deepEqual(await made(sheet), [])
  })
})

/** An archive whose directory names the same packed bytes many times over (APPNOTE 4.3.7, 4.3.12, 4.3.16). */
function overlapping(content, times) {
  const packed = deflateRawSync(content), sum = crc32(content)
  const about = (at) => [20, 0, 8, 0, 0].map((v, i) => [at + 2 * i, v])
  const record = (size, words, longs) => {
    const b = Buffer.alloc(size)
    for (const [at, v] of words) b.writeUInt16LE(v, at)
    for (const [at, v] of longs) b.writeUInt32LE(v, at)
    return b
  }
  const local = Buffer.concat([record(30, [...about(4), [26, 1]], [[0, 0x04034b50], [14, sum], [18, packed.length], [22, content.length]]), Buffer.from("a"), packed])
  const entry = Buffer.concat([record(46, [[4, 20], ...about(6), [28, 1]], [[0, 0x02014b50], [16, sum], [20, packed.length], [24, content.length]]), Buffer.from("a")])
  const end = record(22, [[8, times], [10, times]], [[0, 0x06054b50], [12, entry.length * times], [16, local.length]])
  return Buffer.concat([local, ...Array.from({ length: times }, () => entry), end])
}

test("a report whose every text is markup, dropped as numbers and as a page, is text", async () => {
  const html = readFileSync(join(work, "report.html"), "utf8")
  const inside = /(<template id="lastbeacon-report">)([^<]*)/
  const worded = new Set(["name", "title", "author", "remarks", "label", "text", "version", "file", "unit", "comment", "pack", "antenna", "help", "excerpt", "station"])
  const spoilt = JSON.stringify(JSON.parse(inside.exec(html)[2], (key, value) => (typeof value === "string" && worded.has(key) ? `${value} ${markup}` : value)))
  for (const [name, bytes] of [["report.json", spoilt], ["report.html", html.replace(inside, (_, open) => open + spoilt.replaceAll("<", "\\u003c")).replace("<body", "<body onload=alert(4)")]]) {
    await unharmed(page, async (sheet) => {
      await drop(sheet, [{ name, bytes: Buffer.from(bytes) }])
      await settled(sheet)
      await unfold(sheet)
      assert.match(await sheet.locator("#units").innerText(), /1 unit, 1 run/)
      assert.deepEqual(await made(sheet), [])
      assert.equal(await sheet.evaluate(() => ({}).polluted), undefined)
    })
  }
})

for (const width of [1280, 360]) {
  test(`a file's name of 10 KB with marks that turn words round is shown, and widens nothing, at ${width} px`, async () => {
    await unharmed(page, async (sheet) => {
      await sheet.setViewportSize({ width, height: 900 })
      await drop(sheet, [{ name: `${"n\u202e\u061c=".repeat(2500)}.log`, bytes: Buffer.from(good) }])
      await settled(sheet)
      await unfold(sheet)
      assert.match(await sheet.locator("#evidence .file").first().innerText(), /^n\\u202e\\u061c=n/)
      assert.ok((await overflow(sheet)) <= 0)
    })
  })
}

test("no cell of a saved CSV begins a formula", async () => {
  await unharmed(page, async (sheet) => {
    await drop(sheet, [{ name: "a.log", bytes: Buffer.from(log) }, { name: "bench.json", bytes: Buffer.from(bench.replaceAll(JSON.stringify(markup), JSON.stringify("=1+1;@x"))) }])
    await settled(sheet)
    const csv = await saved(sheet, /^Numbers, CSV/, "Save the file", "formula.csv")
    assert.match(readFileSync(csv, "utf8"), /^"?'=1\+1;'@x/m)
  })
})

const repeated = (text, times) => Buffer.from(text.repeat(times))
const deep = 100_000

for (const [name, file, bytes, said] of [
  ["a call sign of 10 MB", "long.log", Buffer.concat([repeated("Q", 10 << 20), Buffer.from(`>APZ001:>x\n${good}`)]), /longer than 64/],
  ["a gzip that unpacks to 300 MB", "bomb.log.gz", gzipSync(Buffer.alloc(300 << 20)), /unpack|proportion|packed/i],
  ["a zip whose 190 members are the same 30 MB", "bomb.zip", overlapping(Buffer.alloc(30 << 20), 190), /beyond all measure/],
  ["XML whose entities multiply", "bomb.gpx", Buffer.from(`<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a0 "aaaaaaaaaa">${Array.from({ length: 9 }, (_, k) => `<!ENTITY a${k + 1} "${`&a${k};`.repeat(10)}">`).join("")}]><gpx><trk><name>&a9;</name><trkseg><trkpt lat="1" lon="2"><time>2031-05-02T05:40:00Z</time></trkpt></trkseg></trk></gpx>`), /bomb.gpx\s+1 fix/],
  [`JSON nested ${deep} deep`, "deep.jsonl", Buffer.from(`{"time":1935300300,"lat":62,"lon":9}\n${'{"a":'.repeat(deep)}1${"}".repeat(deep)}\n`), /deep/i],
  ["a packet of a million digits", "digits.json", Buffer.from(JSON.stringify([{ raw: `QX1ABC>APZ001:T#${"0".repeat(1_000_000)}`, time: 1935300300 }])), /1 packet/],
  ["numbers beyond all numbers", "edges.jsonl", Buffer.from('{"time":1935300300,"lat":62,"lon":9}\n{"time":1e308,"lat":62,"lon":9}\n{"time":1935300300,"lat":1e400,"lon":-1e308}\n{"time":"9999-12-31T23:59:60Z","lat":62,"lon":9}\n'), /not used/i],
]) {
  test(`${name}: a note, the good lines, and no more memory than the page is allowed`, async () => {
    await unharmed(page, async (sheet) => {
      await drop(sheet, [{ name: file, bytes }, { name: "good.log", bytes: Buffer.from(good) }])
      await settled(sheet)
      await unfold(sheet)
      assert.match(await sheet.locator("#evidence").innerText(), said)
      assert.match(await sheet.locator("#stations").innerText(), /QX1ABC-7/)
      const session = await sheet.context().browser().newBrowserCDPSession()
      const { processInfo } = await session.send("SystemInfo.getProcessInfo")
      const peaks = processInfo.filter((p) => p.type === "renderer").map((p) => Number(/VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${p.id}/status`, "utf8"))[1]) / 1000)
      assert.ok(Math.max(...peaks) < 700, `the page took ${Math.max(...peaks)} MB`)
    })
  })
}

const packed = (content) => textOf(gzipSync(content))
const inside = /(<script type="text\/plain" id="evidence-inside">)([^<]*)/

/** A saved page with other things inside, as an attacker writes it. */
function forged(name, change) {
  const html = readFileSync(join(work, "page.html"), "utf8")
  const path = join(work, name)
  writeFileSync(path, html.replace(inside, (_, open, block) => open + change(block)))
  return path
}

/** Waits until the page says that it did not open something, and why, which is drawn after it. */
async function notOpened(sheet, why) {
  await sheet.getByRole("heading", { name: "Not opened" }).waitFor({ timeout: 60_000 })
  await sheet.locator("#not-opened li").waitFor()
  assert.ok((await sheet.locator("#not-opened").innerText()).includes(why))
}

const wrong = '{"schema":"lastbeacon.bench/1","units":[7]}'
for (const [name, change, why] of [
  ["is cut off", (block) => block.slice(0, block.length / 2), "what is inside it is damaged"],
  ["is no list of files", () => packed('{"length":3}\nxxx'), "what is inside it is damaged"],
  ["claims a size beyond its end", () => packed('[{"name":"a.log","size":1e15}]\nx'), "what is inside it is damaged"],
  ["unpacks to 400 MB", () => packed(Buffer.alloc(400 << 20)), "more than a page may hold"],
  ["has a bench of wrong kinds", () => packed(`[{"name":"bench.json","size":${wrong.length}}]\n${wrong}`), "units[0]: an object is wanted"],
]) {
  test(`a saved page whose inside ${name} says so, opened or dropped, and runs nothing`, async () => {
    const path = forged("forged.html", change)
    await unharmed(path, async (sheet) => {
      await notOpened(sheet, why)
      assert.equal(await sheet.locator("#fault").count(), 0)
    })
    await unharmed(page, async (sheet) => {
      await drop(sheet, [{ name: "good.log", bytes: Buffer.from(good) }])
      await settled(sheet)
      await drop(sheet, [{ name: "forged.html", bytes: readFileSync(path) }])
      await notOpened(sheet, why)
      assert.match(await sheet.locator("#stations").innerText(), /QX1ABC-7/)
    })
  })
}

test("a saved page with a script of its own, dropped, gives its evidence and runs nothing of it", async () => {
  const path = join(work, "scripted.html")
  writeFileSync(path, readFileSync(join(work, "page.html"), "utf8").replace("<body>", "<body><script>alert(1)</script><img src=x onerror=alert(2)>"))
  await unharmed(page, async (sheet) => {
    await drop(sheet, [{ name: "scripted.html", bytes: readFileSync(path) }])
    await settled(sheet)
    await unfold(sheet)
    assert.match(await sheet.locator("#stations").innerText(), /QX1ABC-7/)
    assert.deepEqual(await made(sheet), [])
  })
})
