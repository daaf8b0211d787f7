// Text from outside that would move a terminal, turn the direction of words, or run as markup or as a formula, through the
// shipped command: as comment, name of a file, unit and label. Exports of raw text keep it, as JSON; all else writes it out.
import assert from "node:assert/strict"
import { spawnSync } from "node:child_process"
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { after, test } from "node:test"
import { fileURLToPath } from "node:url"

const command = fileURLToPath(new URL("../../dist/lastbeacon.mjs", import.meta.url))
const work = mkdtempSync(join(tmpdir(), "hostile-"))
after(() => rmSync(work, { recursive: true }))

const evil = "=1+<img src=x onerror=alert(1)>\u001b[31m\u202e\u009b"
const log = join(work, `${evil}\nfalse.log`)
const bench = join(work, "bench.json")
const packets = Array.from({ length: 40 }, (_, k) => `2031-05-02T${String(6 + Math.floor(k / 12)).padStart(2, "0")}:${String((k % 12) * 5).padStart(2, "0")}:00Z QX1ABC-7>APZ001:!6203.90N/00938.10E[${evil} n${k}`)
writeFileSync(log, packets.join("\n") + `\nno packet ${evil}\n`)
writeFileSync(bench, JSON.stringify({ schema: "lastbeacon.bench/1", title: evil, units: [{ name: evil, match: [{ station: "QX1ABC-7" }], runs: [{ label: evil }] }] }))

const out = (ending) => join(work, `report.${ending}`)
const run = (...args) => spawnSync(process.execPath, [command, ...args], { encoding: "utf8" })

test("nothing from outside moves a terminal, turns words round, or runs", () => {
  const ran = run("--bench", bench, ...["json", "csv", "md", "html"].flatMap((ending) => ["--report", out(ending)]), "--packets", out("jsonl"), log)
  assert.equal(ran.status, 0, ran.stderr)
  assert.match(ran.stderr, /\[header\./)
  const shown = { stdout: ran.stdout, stderr: ran.stderr }
  for (const ending of ["csv", "md", "html"]) shown[ending] = readFileSync(out(ending), "utf8")
  for (const [name, text] of Object.entries(shown)) assert.ok(!/[\u001b\u009b\u202e]/.test(text), `${name} holds a control character`)
  for (const name of ["stdout", "stderr", "md"]) assert.ok(!/^false/m.test(shown[name]), `${name} holds a line that a file's name made`)
  for (const name of ["md", "html"]) assert.ok(!shown[name].includes("<img"), `${name} holds markup`)
  assert.match(shown.csv, /^"?'=1\+<img/m)
  const kept = readFileSync(out("jsonl"), "utf8").trim().split("\n").map((line) => JSON.parse(line))
  assert.equal(kept[0].comment, `${evil} n0`)
})

test("a file that cannot be read and a bench that is none are said without moving the terminal", () => {
  const missing = run(join(work, `${evil}.none`))
  assert.equal(missing.status, 2)
  const wrong = run("--bench", log, log)
  assert.equal(wrong.status, 1)
  for (const text of [missing.stderr, wrong.stderr]) assert.ok(text !== "" && !/[\u001b\u009b\u202e]/.test(text))
})

test("a full disk is said, whatever was to be written", { skip: !existsSync("/dev/full") }, () => {
  for (const [option, ending] of [["--report", "json"], ["--report", "html"], ["--packets", "jsonl"], ["--transmissions", "jsonl"]]) {
    const full = join(work, `full.${ending}`)
    symlinkSync("/dev/full", full)
    const ran = run("--bench", bench, option, full, log)
    rmSync(full)
    assert.equal(ran.status, 3)
    assert.match(ran.stderr, /no space left on device/)
  }
})
