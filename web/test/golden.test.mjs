// The shipped engine under Node gives the same bytes as the native one, which core/session holds against the same files.
import assert from "node:assert/strict"
import { spawnSync } from "node:child_process"
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { test } from "node:test"
import { fileURLToPath } from "node:url"

const top = fileURLToPath(new URL("../../", import.meta.url))
const golden = join(top, "testdata", "golden")
const cases = { example: join(top, "testdata", "example") }
for (const entry of readdirSync(golden, { withFileTypes: true })) if (entry.isDirectory()) cases[entry.name] = join(golden, entry.name)

/** The text without the white space between its tokens. */
function compact(text) {
  return text.replace(/"(?:[^"\\]|\\.)*"|\s+/g, (token) => (token[0] === '"' ? token : ""))
}

const versionless = (text) => text.replace(/"version":"[^"]*"/, '"version":""')

function reportOf(folder, zone, reverse) {
  const work = mkdtempSync(join(tmpdir(), "lastbeacon-"))
  const out = join(work, "report.json")
  const bench = join(folder, "bench.json")
  const files = readdirSync(folder).filter((name) => name !== "bench.json" && name !== "truth.json").map((name) => join(folder, name))
  if (reverse) files.reverse()
  const options = existsSync(bench) ? ["--bench", bench] : []
  const ran = spawnSync(process.execPath, [join(top, "dist", "lastbeacon.mjs"), ...options, "--report", out, ...files], { env: { ...process.env, TZ: zone }, encoding: "utf8" })
  assert.ok(ran.status === 0 || ran.status === 2, ran.stderr)
  const text = readFileSync(out, "utf8")
  rmSync(work, { recursive: true })
  return versionless(text)
}

for (const [name, folder] of Object.entries(cases)) {
  test(`${name}: the shipped engine agrees with the native one, in any zone and order of files`, () => {
    const want = versionless(compact(readFileSync(join(golden, `${name}.report.json`), "utf8")))
    assert.equal(reportOf(folder, "UTC", false), want)
    assert.equal(reportOf(folder, "Pacific/Chatham", true), want)
  })
}
