// One report from the shipped engine, byte for byte: under Node and in the page, in any zone and language of the machine, with
// files in any order; the mixed set twenty times over.
import assert from "node:assert/strict"
import { spawnSync } from "node:child_process"
import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { after, test } from "node:test"
import { drop } from "../soak/actions.mjs"
import { stock } from "../soak/evidence.mjs"
import { dice } from "../soak/random.mjs"
import { example, open, page, settled } from "./open.mjs"

const work = mkdtempSync(join(tmpdir(), "lastbeacon-same-"))
after(() => rmSync(work, { recursive: true }))
const d = dice(8)
const machines = [
  { TZ: "UTC", LANG: "C", locale: "en-US" }, { TZ: "Pacific/Chatham", LANG: "tr_TR.UTF-8", locale: "tr-TR" }, { TZ: "America/St_Johns", LANG: "ar_EG.UTF-8", locale: "ar-EG" },
  { TZ: "Australia/Adelaide", LANG: "ja_JP.UTF-8", locale: "ja-JP" }, { TZ: "Europe/Oslo", LANG: "nb_NO.UTF-8", locale: "nb-NO" },
]
const mixed = stock.filter(({ name }) => ["ridge-a.log", "ridge-b.log", "clock.log", "track.gpx", "meter.csv", "ridge-a.log.gz", "evil.log", "prose.txt", "empty.log", "other-bench.json"].includes(name))
const whole = readdirSync(example).filter((name) => name !== "truth.json").map((name) => ({ name, bytes: readFileSync(join(example, name)) }))
for (const { name, bytes } of [...mixed, ...whole]) writeFileSync(join(work, name), bytes)

function shuffled(files) {
  const left = [...files], out = []
  while (left.length > 0) out.push(...left.splice(d.below(left.length), 1))
  return out
}

function inNode(files, { TZ, LANG }) {
  const out = join(work, "report.json")
  const paths = shuffled(files).map(({ name }) => join(work, name))
  const bench = paths.find((path) => path.endsWith("bench.json"))
  const ran = spawnSync(process.execPath, [join(page, "..", "lastbeacon.mjs"), "--bench", bench, "--report", out, ...paths.filter((path) => path !== bench)],
    { env: { ...process.env, TZ, LANG, LC_ALL: LANG }, encoding: "utf8" })
  assert.ok(ran.status === 0 || ran.status === 2, ran.stderr)
  return readFileSync(out, "utf8")
}

async function inPage(sheet, files) {
  await sheet.reload()
  await drop(sheet, shuffled(files))
  await settled(sheet)
  await sheet.getByLabel(/^Numbers, JSON/).check()
  for (const box of await sheet.locator("#save input[type=checkbox]").all()) await box.uncheck()
  const [file] = await Promise.all([sheet.waitForEvent("download"), sheet.getByRole("button", { name: "Save the file" }).click()])
  return readFileSync(await file.path(), "utf8")
}

const want = { mixed: inNode(mixed, machines[0]), whole: inNode(whole, machines[0]) }

for (const machine of machines) {
  const { TZ, LANG, locale } = machine
  test(`the same report under Node and in the page, on a machine in ${TZ} that speaks ${LANG}`, async () => {
    for (let k = 0; k < 2; k++) assert.equal(inNode(mixed, machine), want.mixed)
    const { sheet, close } = await open(page, { env: { TZ, LANG, LC_ALL: LANG }, locale })
    try {
      sheet.on("dialog", (dialog) => void dialog.accept())
      assert.deepEqual(await sheet.evaluate(() => [Intl.DateTimeFormat().resolvedOptions().timeZone, navigator.language]), [TZ, locale])
      for (let k = 0; k < 2; k++) assert.equal(await inPage(sheet, mixed), want.mixed)
      if (TZ !== "Pacific/Chatham" && TZ !== "Australia/Adelaide") return
      assert.equal(inNode(whole, machine), want.whole)
      assert.equal(await inPage(sheet, whole), want.whole)
    } finally {
      await close()
    }
  })
}
