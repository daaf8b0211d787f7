// A copy without evidence that anybody may have edited: the schema's report opens as it is, any other is refused with the place, and
// what opens is drawn without a fault and without a word that only programs say.
import assert from "node:assert/strict"
import { readdirSync, readFileSync } from "node:fs"
import { test } from "node:test"
import { renderToString } from "preact-render-to-string"
import { fold, packed } from "../blocks.ts"
import { FinishedCopy } from "../part/finished.tsx"
import { insideOf, type Finished } from "../state/copy.ts"
import { finished } from "../state/finished.ts"
import { shared } from "../state/share.ts"
import { sampleBench, sampleLanes, sampleReport } from "./sample-report.ts"

const sample: Finished = { report: sampleReport, lanes: sampleLanes, bench: sampleBench, left: ["call signs are renamed"] }
const opened = async (text: string) => (await insideOf(await packed(fold([{ name: "finished.json", bytes: new TextEncoder().encode(text) }])))).finished

test("a finished report opens as it was saved", async () => {
  for (const places of ["kept", "metres", "none"] as const) {
    const copy = { ...sample, ...shared(sample, { calls: true, lines: true, places }) }
    assert.deepEqual(await opened(JSON.stringify(copy)), JSON.parse(JSON.stringify(copy)))
  }
  const golden = new URL("../../../../testdata/golden/", import.meta.url)
  for (const name of readdirSync(golden).filter((n) => n.endsWith(".report.json"))) {
    const { bench: _, ...report } = JSON.parse(readFileSync(new URL(name, golden), "utf8")) as Record<string, unknown>
    assert.deepEqual((await opened(JSON.stringify({ ...sample, report })))?.report, report, name)
  }
})

const edited = (change: (copy: any) => void) => {
  const copy = structuredClone(sample)
  change(copy)
  return JSON.stringify(copy)
}

for (const [name, text, wanted] of [
  ["no object", "null", /no finished report/],
  ["no bench", edited((c) => delete c.bench), /no finished report/],
  ["a unit that is a text", edited((c) => (c.report.units[0] = "Heron")), /^ShapeFault: units\[0\]: an object is wanted/],
  ["a number in words", edited((c) => (c.report.units[1].runs[0].transmissions = "many")), /units\[1\]\.runs\[0\]\.transmissions: a number is wanted/],
  ["a number beyond all numbers", edited((c) => (c.report.stations_all = "#")).replace('"#"', "1e400"), /stations_all: a number is wanted/],
  ["a time that is none", edited((c) => (c.report.units[0].runs[0].start.best = "2031-02-31T99:00:00Z")), /start\.best: a time is wanted/],
  ["a list that is an object", edited((c) => (c.lanes[0].sent = { length: 3 })), /lanes\[0\]\.sent: a list is wanted/],
  ["more objects than any report holds", edited((c) => (c.report.cautions = Array(500_001).fill({}))), /at most 500000 objects/],
] as const) {
  test(`a finished report with ${name} is refused with its place`, () => assert.rejects(opened(text), wanted))
}

/** A repeatable sequence from 0 to 1 (mulberry32). */
function random(seed: number) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32
  }
}

const odd: Record<string, readonly unknown[]> = {
  number: [0, -1, 0.5, 1e308, -1e308, 1e-320, 1e20], string: ["", "x", "constructor", "<b>\u202e", "n".repeat(3000)], boolean: [true, false], time: ["", "0000-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "1970-01-01T00:00:00Z"],
  object: [null, [], {}, { low: 5, best: 1, high: -3 }, { low: null, best: null, high: null }, { low: 1e308, best: 1e308, high: null }],
}

/** Goes down at random and puts another value in the place of one, mostly of its kind, or takes or repeats one. */
function spoil(v: any, r: () => number): void {
  const keys = Object.keys(v), key = keys[Math.floor(r() * keys.length)] ?? "", old: unknown = v[key]
  if (keys.length === 0) return
  if (typeof old === "object" && old !== null && r() < 0.93) return spoil(old, r)
  const dice = r()
  const kind = typeof old === "string" && /^\d{4}-/.test(old) ? "time" : typeof old
  if (Array.isArray(v) && dice < 0.1) v.splice(Number(key), 1)
  else if (Array.isArray(v) && dice < 0.2) v.push(...Array.from({ length: 5 }, () => structuredClone(old)))
  else {
    const values = (dice < 0.9 ? odd[kind] : Object.values(odd).flat()) ?? []
    v[key] = structuredClone(values[Math.floor(r() * values.length)])
  }
}

test("an edited report that opens is drawn, and says nothing that only programs say", async () => {
  const cases = Number(process.env["SPOILED"] ?? 40) // more are tried by hand
  let drawn = 0
  const wrong: string[] = []
  for (let seed = 1; seed <= cases; seed++) {
    const r = random(seed)
    const text = edited((copy) => {
      for (let n = 1 + Math.floor(r() * 3); n > 0; n--) spoil(r() < 0.7 ? copy.report : copy.lanes, r)
    })
    finished.value = await opened(text).catch((fault: Error) => {
      assert.match(fault.message, / is wanted|no finished report/)
      return null
    })
    if (finished.value) drawn++
    const html = renderToString(<FinishedCopy width={976} />)
    const said = /.{0,100}(NaN|undefined|\[object|Infinity).{0,40}/.exec(html)?.[0]
    if (said) wrong.push(`seed ${seed}: ${said}`)
  }
  assert.deepEqual(wrong, [])
  assert.ok(drawn > cases / 2, `${drawn} opened`)
})
