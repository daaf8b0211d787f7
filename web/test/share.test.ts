// Sharing: no original call sign and no raw line is left in what is saved for other eyes.
import assert from "node:assert/strict"
import { test } from "node:test"
import { fold, unfold } from "../blocks.ts"
import { withDecimalComma } from "../figure/table.ts"
import { reportPage } from "../report-page.tsx"
import { skeleton } from "../skeleton.mjs"
import { rowsForOthers } from "../state/rows.ts"
import { Names, shared, type Discretion } from "../state/share.ts"
import { sheetCSS } from "../style.ts"
import { emptyReport } from "../view.ts"
import { sampleBench, sampleLanes, sampleReport } from "./sample-report.ts"

const whole = { report: { ...sampleReport, title: "Trial of qx1abc-7" }, lanes: sampleLanes, bench: sampleBench }
const originals = [...whole.report.stations.map((s) => s.station), "QX1ABC", "QW4MET", "QR7HUT"]

for (const lines of [true, false]) {
  test(`a saved report holds no original call sign, ${lines ? "without" : "with"} lines as received`, () => {
    const now = shared(whole, { calls: true, lines, places: "kept" })
    const saved = reportPage(now.report, now.lanes, now.bench, "") + JSON.stringify(now)
    for (const call of originals) assert.ok(!saved.toUpperCase().includes(call), `${call} is still there`)
    assert.match(saved, /STATION-1\b/)
    assert.match(saved, /2031-05-02T05:40:00Z/)
  })
}

test("lines as received are left out, and with them every place", () => {
  const saved = JSON.stringify(shared(whole, { calls: false, lines: true, places: "kept" }))
  assert.ok(!saved.includes("6123.4") && !saved.includes(">APZ001"))
  assert.ok(JSON.stringify(whole).includes("6123.4"))
})

test("comments and destinations go with the lines: a destination may hold a latitude", () => {
  const saved = JSON.stringify(shared(whole, { calls: false, lines: true, places: "kept" }).report)
  assert.ok(!saved.includes("ridge repeater") && !saved.includes("APZ001"))
})

test("without the ways no spot is left", () => {
  const now = shared(whole, { calls: false, lines: false, places: "none" })
  assert.ok(whole.lanes.some((l) => l.way.length > 0) && now.lanes.every((l) => l.way.length + l.places.length === 0))
  assert.ok(!reportPage(now.report, now.lanes, now.bench, "").includes("The way of"))
})

test("a name that is no call sign is renamed as a word and never within one", () => {
  const names = new Names({ ...sampleReport, stations: [{ ...sampleReport.stations[0]!, station: "HUT" }, { ...sampleReport.stations[0]!, station: "T" }] }, { schema: "lastbeacon.bench/1" })
  assert.match(names.renamed("HUT shut it at 2031-05-02T05:40:00Z, says T"), /^STATION-\d+ shut it at 2031-05-02T05:40:00Z, says STATION-\d+$/)
})

const commas: [string, string, string][] = [
  ["numbers and text", "a,b\r\n1.5,x\r\n", "a;b\r\n1,5;x\r\n"],
  ["a quoted comma", '"1,5 h",2\r\n', '"1,5 h";2\r\n'],
  ["a semicolon within", "x;y,2.25\r\n", '"x;y";2,25\r\n'],
  ["empty cells", ",,-3.5\r\n", ";;-3,5\r\n"],
  ["a version is no number", "1.2.3,2031-05-02T05:40:00.5Z\r\n", "1.2.3;2031-05-02T05:40:00.5Z\r\n"],
]
for (const [name, text, want] of commas) test(`decimal commas: ${name}`, () => assert.equal(withDecimalComma(text), want))

for (const [station, text, want] of [
  ["-7", "a, b: \"c\"", "a, b: \"c\""],
  ["\"", '"quoted"', '"quoted"'],
  ["12", "12 of 120, 12", "12 of 120, 12"],
  ["12", "12", "STATION-1"],
  ["<B>", "<B> and b, B", "<STATION-1> and b, STATION-1"],
  ["ENDED", "it ended: ENDED", "it ended: STATION-1"],
  ["amp", "R&amp;D", "R&STATION-1;D"],
] as const) {
  test(`a station called ${station} changes nothing but its name in ${text}`, () => {
    const names = new Names({ ...emptyReport, stations: [{ ...sampleReport.stations[0]!, station, comments: [], destinations: [] }] }, { schema: "lastbeacon.bench/1" })
    assert.equal(names.renamed(text), want)
  })
}

const exported = new Blob([
  '{"file":"QX1ABC.log","line":1,"at":"2031-05-02T06:00:00Z","station":"QX1ABC-7","destination":"V2R4U3","path":["QR7HUT-1*","WIDE2-1"],"receiver":"QZ2GTE","kind":"position","lat":61.39,"lon":8.205,"altitude_m":912,"comment":"at the hut, de qv3new","unit":"Heron","transmission":1,"raw":"QX1ABC-7>V2R4U3,QR7HUT-1*:!6123.40N/00812.30E>at the hut"}\n{"file":"QX1ABC.log",',
  '"line":2,"station":"QX1ABC-7","lat":61.391,"lon":8.207}\n{"file":"QX1ABC.log","line":3,"note":"header.no-arrow","text":"no header of QX1ABC"}\n{"unit":"Heron","run":1,"n":1,"lat":-10,"lon":179.999,"lines":[]}\n{"unit":"Heron","run":1,"n":2,"lat":-10,"lon":-179.999,"lines":[]}\n'])

const rowsOf = async (d: Discretion) => (await (await rowsForOthers(exported, d, d.calls ? new Names(sampleReport, sampleBench) : null)).text()).trim().split("\n").map((line) => JSON.parse(line) as Record<string, unknown>)

test("an export of an object a line holds no call sign that was renamed, be it in no report", async () => {
  const rows = await rowsOf({ calls: true, lines: false, places: "kept" })
  const text = JSON.stringify(rows).toUpperCase()
  for (const call of ["QX1ABC", "QR7HUT", "QZ2GTE", "QV3NEW"]) assert.ok(!text.includes(call), `${call} is still there`)
  assert.equal(rows[0]?.["station"], rows[1]?.["station"])
  assert.match(String(rows[0]?.["raw"]), /^STATION-\d+>V2R4U3,STATION-\d+\*:!6123.40N/)
  assert.equal(rows[0]?.["lat"], 61.39)
})

test("places that are left out take lines, words and paths with them", async () => {
  for (const places of ["none", "metres"] as const) {
    const rows = await rowsOf({ calls: false, lines: false, places })
    for (const row of rows) for (const name of ["lat", "lon", "altitude_m", "raw", "text", "comment", "destination", "path"]) assert.ok(!(name in row), `${name} is still there`)
    assert.equal(rows[2]?.["note"], "header.no-arrow")
  }
})

// By hand: 0.001 degrees are 111.195 m on a sphere of 6,371 km; 0.002 degrees of longitude at 61.39 north are 222.39 m times 0.47886,
// 106.49 m, and at 10 south times 0.98481, 219.01 m.
test("places in metres begin anew with each station, and go over the date line", async () => {
  const rows = await rowsOf({ calls: false, lines: false, places: "metres" })
  assert.deepEqual(rows.slice(0, 2).map((r) => [r["east_m"], r["north_m"]]), [[0, 0], [106, 111]])
  assert.deepEqual(rows.slice(3).map((r) => [r["east_m"], r["north_m"]]), [[0, 0], [219, 0]])
})

test("rules keep their stations alone where lines are left out: a comment and a destination are what packets say", () => {
  const units = [{ name: "Heron", match: [{ station: "QX1ABC-7", comment: "at the hut", destination: "V2R4U3" }] }]
  const now = shared({ ...whole, bench: { ...sampleBench, units } }, { calls: false, lines: false, places: "metres" })
  assert.deepEqual(now.bench.units, [{ name: "Heron", match: [{ station: "QX1ABC-7" }] }])
})

test("nothing asked, nothing changed", () => assert.deepEqual(shared(whole, { calls: false, lines: false, places: "kept" }), whole))

test("names are kept apart, and paths and software stay", () => {
  const names = new Names(sampleReport, sampleBench)
  const text = names.renamed("QX1ABC-7>APZ001,QR7HUT-1*,WIDE2-1: hello QX1ABC-8, qx1abc-7 and QX1ABC")
  assert.match(text, /^STATION-\d+>APZ001,STATION-\d+\*,WIDE2-1: hello STATION-\d+, STATION-\d+ and STATION-\d+$/)
  const [first, second, third] = [text.split(">")[0], /hello (\S+),/.exec(text)?.[1], /, (\S+) and/.exec(text)?.[1]]
  assert.notEqual(first, second)
  assert.equal(first, third)
})

test("folded files come back as they were", () => {
  const files = [{ name: "a.log", bytes: new Uint8Array([1, 10, 255]) }, { name: "empty", bytes: new Uint8Array(0) }, { name: "b\u2028.log", bytes: new Uint8Array([7]) }]
  assert.deepEqual(unfold(fold(files)), files)
})

test("the frame gives the same bytes for the same texts", () => {
  const parts = { policy: "p", css: "c", script: "s", blocks: [["worker", "w"]] as const }
  assert.equal(skeleton(parts), skeleton(parts))
  assert.match(skeleton(parts), /<script type="text\/plain" id="worker">w<\/script>/)
})

test("a report page names its policy and runs nothing", () => {
  const html = reportPage(sampleReport, sampleLanes, sampleBench, sheetCSS)
  assert.match(html, /default-src 'none'; style-src 'sha256-/)
  assert.ok(!/<script|<button|<input|\sstyle=|\son[a-z]+=|https?:\/\/(?!www\.w3\.org)/i.test(html))
  assert.ok(!html.includes("undefined") && !html.includes("NaN"))
})
