// The findings: figures of each test, the draw of each run, the ratios, and beneath folds what they are made of.
import type { ComponentChildren } from "preact"
import { inOne, instant, many, notKnown, quantity, ratioOf, spanOf } from "../format.ts"
import { expectedAt, gapsOf, intervalHeight, Intervals } from "../figure/interval.tsx"
import { Figure } from "../figure/frame.tsx"
import { laneAt, lettersOf, Strip, stripHeight } from "../figure/strip.tsx"
import type { Behind, FigureTable } from "../figure/table.ts"
import { nameWithin, testsOf, type Test } from "../figure/tests.ts"
import type { Window } from "../figure/time.ts"
import { endsSay, Whiskers, whiskerHeight, type WhiskerRow } from "../figure/whiskers.tsx"
import { eventLabel, onAirOf, scheduleInShort, stateName } from "../figure/words.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Comparison, Estimate, Report } from "../report.gen.ts"
import { noting, openPackets, pair, windows } from "../state/selection.ts"
import { useView, ViewContext, type View } from "../view.ts"
import { Key } from "./key.tsx"
import { Num, Stacked } from "./number.tsx"
import { Fold, Part } from "./part.tsx"
import { Periods } from "./periods.tsx"
import { NoteEvent } from "./events.tsx"
import { PaceFigures } from "./pace.tsx"
import { Routes } from "./route.tsx"
import { Series } from "./series.tsx"
import { runsBehind } from "./result.tsx"
import { Table } from "./table.tsx"
import { InTurn } from "./turn.tsx"
import { unnoted } from "./units.tsx"
import { plotOf, ZoomTools } from "./zoom.tsx"

export function Findings() {
  const view = useView()
  const { report, lanes, zone } = view
  const tests = testsOf(report, lanes, zone)
  if (tests.length === 0 && drawRows(report).length === 0) return null
  return (
    <Part id="findings" name="Findings" line={summary(report)} foldable>
      {tests.map((test) => <AtWidths key={test.key}><TestFigures test={test} /></AtWidths>)}
      <AtWidths><InTurn><DrawFigure /></InTurn><InTurn><RatioFigure /></InTurn></AtWidths>
      <Fold title="How the draw was worked out, and what its uncertainty is made of"><Budgets /></Fold>
      <InTurn><Periods /></InTurn>
    </Part>
  )
}

/** The most important thing in one line. */
function summary(report: Report): string {
  const split = report.units.flatMap((u) => (u.idle_and_beacon?.resolved && u.idle_and_beacon.text ? [`${u.name}: ${u.idle_and_beacon.text}`] : []))
  if (split.length > 0) return split.join(" ")
  const runs = report.units.flatMap((u) => u.runs.map((r) => ({ name: u.name, time: spanOf(r.runtime_s) }))).slice(0, 4)
  return runs.map((r) => `${r.name} ran ${inOne(r.time)}`).join("; ") + "."
}

const paperWidths = [976, 648, 328]

/** Figures are drawn at the real width. A report without an engine does not know it, so it carries three, and shows one. */
function AtWidths({ children }: { children: ComponentChildren }) {
  const view = useView()
  if (view.live) return <>{children}</>
  return (
    <>
      {paperWidths.map((width) => (
        <div key={width} class={`at${width}`}><ViewContext.Provider value={{ ...view, width }}>{children}</ViewContext.Provider></div>
      ))}
    </>
  )
}

function TestFigures({ test }: { test: Test }) {
  const view = useView()
  const window = windows.value.get(test.key) ?? test.whole
  return (
    <>
      <InTurn><StripFigure test={test} window={window} view={view} /></InTurn>
      {test.runs.some((r) => (r.lane?.sent.length ?? 0) > 2) && <InTurn><IntervalFigure test={test} window={window} view={view} /></InTurn>}
      <InTurn><Series test={test} window={window} /></InTurn>
      <InTurn><PaceFigures test={test} /></InTurn>
      <InTurn><Routes test={test} /></InTurn>
    </>
  )
}

interface TestProps {
  test: Test
  window: Window
  view: View
}

function idOf(test: Test, kind: string, width: number): string {
  return `${kind}-${test.key.replace(/\W/g, "")}-${width}`
}

function StripFigure({ test, window, view }: TestProps) {
  const { width, zone, measure, live } = view
  const id = idOf(test, "strip", width)
  const letters = lettersOf(test, window, width, zone)
  return (
    <Figure id={id} title={`What each unit did, ${nameWithin(test, window, zone)}`} says={stripSays(test)} describes={stripWords(test, view)} width={width} height={stripHeight(test, width)}
      table={stripTable(test)} tools={<ZoomTools test={test} window={window} zone={zone} />} {...(live ? { plot: plotOf(test, window, width, zone, (at, y) => (noting.value = { test: test.key, at, lane: laneAt(test, width, y) })), plotHint: `${zoomHint} Click a moment to note an event there.` } : {})}
      under={
        <>
          {letters.length > 0 && <ol class="letters">{letters.map((l) => <li key={l.letter}><span class="letterkey">{l.letter}</span> {l.text}</li>)}</ol>}
          <Key test={test} id={id} />
          {live && <NoteEvent test={test} />}
        </>
      }>
      <Strip test={test} window={window} width={width} zone={zone} measure={measure} id={id} />
    </Figure>
  )
}

export const zoomHint = "Arrow keys move, plus and minus zoom, 0 shows all; drag over a stretch to zoom into it."

function stripSays(test: Test): string {
  const open = test.runs.filter((r) => r.run.end.latest === null).map((r) => r.unit)
  const base = "A tick is a transmission heard; the bar is as high as the chance that the unit was on the air."
  return open.length > 0 ? `${base} Open ends: ${open.join(", ")} ran at least that long.` : base
}

function stripWords(test: Test, { measure }: View): string {
  return test.runs.map((r) => `${r.unit}: ${scheduleInShort(r.run.schedule, measure)}; ${many(r.run.transmissions, "transmission")} heard; ${r.run.end.text}`).join(" ")
}

/** Events and bounds of each run; the beacons themselves stand in the drawer and in the exports. */
function stripTable(test: Test): FigureTable {
  const rows: FigureTable["rows"] = [], behind: Behind[] = []
  for (const { unit, run, no, lane } of test.runs) {
    const row = (what: string, ...times: (string | null)[]) => {
      const [at = null, from = null, until = null] = times.map(instant), known = [at, from, until].filter((t): t is number => t !== null)
      rows.push([unit, what, at, from, until])
      behind.push({ unit, run: no, from: Math.min(...known) - around, until: Math.max(...known) + around })
    }
    row("switched on", unnoted(run) ? null : run.start.best, run.start.earliest, run.start.latest)
    row("first heard", run.first_heard, null, null)
    for (const p of run.periods) row(`${stateName(p.state)}${p.inferred ? ", inferred" : ""}`, null, p.start, p.end)
    for (const e of run.events) row(eventLabel(e, "UTC").replace(/ [\d:]+$/, ""), e.at, null, null)
    for (const s of lane?.silent ?? []) {
      rows.push([unit, "recorder silent", null, s.start, s.end])
      behind.push({ from: s.start - around, until: s.end + around })
    }
    row("last heard", run.last_heard, null, null)
    row("ended", run.end.best, run.end.earliest, run.end.latest)
  }
  return {
    columns: [{ head: "Unit", kind: "text" }, { head: "What", kind: "text" }, { head: "At", kind: "time" }, { head: "From", kind: "time" }, { head: "Until", kind: "time" }],
    rows, behind,
  }
}

/** How far around a moment its packets are looked for, ms. */
const around = 900_000

function IntervalFigure({ test, window, view }: TestProps) {
  const { width, zone, live } = view
  const id = idOf(test, "interval", width)
  const gaps = test.runs.flatMap(({ unit, no, lane }) => (lane ? gapsOf(lane).map((g) => ({ unit, no, lane, ...g, since: g.at - g.seconds * 1000 })) : []))
  const table: FigureTable = {
    columns: [{ head: "Unit", kind: "text" }, { head: "At", kind: "time" }, { head: "Interval", kind: "number", unit: "s", places: 1 }, { head: "Kind", kind: "text" }, { head: "Expected", kind: "number", unit: "s", places: 1 }],
    rows: gaps.map((g) => [g.unit, g.at, g.seconds, g.single ? "single" : "spans missed", expectedAt(g.lane, g.since)]),
    behind: gaps.map((g) => ({ unit: g.unit, run: g.no, from: g.since, until: g.at })),
  }
  return (
    <Figure id={id} title={`Interval between beacons, ${nameWithin(test, window, zone)}`} says="Filled: one interval. Open: beacons were missed in between, so the gap is a sum. Line: what the schedule expects. The scale is logarithmic."
      describes={test.runs.map((r) => `${r.unit}: ${r.run.schedule.text}`).join(" ")} width={width} height={intervalHeight(test)} table={table}
      {...(live ? { plot: plotOf(test, window, width, zone), plotHint: zoomHint } : {})}>
      <Intervals test={test} window={window} width={width} zone={zone} id={id} />
    </Figure>
  )
}

function drawRows(report: Report): WhiskerRow[] {
  const rows: WhiskerRow[] = []
  report.units.forEach((u, index) => u.runs.forEach((run, no) => {
    const value = run.draw?.mean_ma
    if (!value) return
    const label = [u.name, run.label || (u.runs.length > 1 ? `run ${no + 1}` : "")].filter((t) => t !== "").join(", ")
    rows.push({ key: `${u.name} ${no}`, label, index, value, words: quantity(value, "mA"), ranked: run.rankable, gapBefore: false, behind: run.saved ? null : { unit: u.name, run: no } })
  }))
  return rows
}

function estimateTable(rows: readonly WhiskerRow[], unit: string, places: number): FigureTable {
  const number = (head: string) => ({ head, kind: "number", unit, places }) as const
  return {
    columns: [{ head: "What", kind: "text" }, number("Low"), number("Best"), number("High"), { head: "Ranked", kind: "text" }],
    rows: rows.map((r) => [r.label, r.value.low, r.value.best, r.value.high, r.ranked ? "yes" : "no"]),
    behind: rows.map((r) => r.behind ?? null),
  }
}

function DrawFigure() {
  const { report, width, live } = useView()
  const rows = drawRows(report)
  if (rows.length === 0) return <NoDraw />
  const says = `Mean current over the charge, with its 95 % bounds.${rows.some((r) => !r.ranked) ? " Dashed: not ranked." : ""}${endsSay(rows, "linear")}`
  return (
    <Figure id={`draw-${width}`} title="Draw of each run" says={says} describes={rows.map((r) => `${r.label}: ${inOne(r.words)}`).join("; ")} width={width}
      height={whiskerHeight(rows, width, { name: "mean current, mA", kind: "linear" })} table={estimateTable(rows, "mA", 1)}>
      <Whiskers rows={rows} width={width} axis={{ name: "mean current, mA", kind: "linear" }} onOpen={live ? opener(`draw-${width}`) : undefined} />
    </Figure>
  )
}

/** Opens the packets behind a row of a figure beneath it; the same stand behind the numbers of its table, for keys. */
function opener(place: string) {
  return (row: WhiskerRow) => row.behind && openPackets({ place, number: row.key, title: `${row.label}: ${inOne(row.words)}`, query: row.behind })
}

function NoDraw() {
  const { live } = useView()
  return (
    <div class="fig">
      <h3>Draw of each run</h3>
      <p class="figsays">The mean current is the charge of the pack over the run time, so it needs the capacity.{live && <> <a href="#units">Give the capacity of each pack</a> to see it.</>}</p>
    </div>
  )
}

function ratioRows(report: Report, c: Comparison): WhiskerRow[] {
  const rows: WhiskerRow[] = []
  for (const [i, g] of (c.groups.length > 0 ? c.groups : [c]).entries()) {
    const runs = runsBehind(report, g)
    const behind = runs.length > 0 ? { among: runs.map(({ unit, run }) => ({ unit, run })) } : null
    const add = (what: string, name: string, ratio: Estimate | null, ranked: boolean, gapBefore: boolean) => {
      if (ratio) rows.push({ key: what + name, label: [what, name, ranked ? "" : "not ranked"].filter((t) => t !== "").join(", "), index: null, value: ratio, words: ratioOf(ratio), ranked, gapBefore, behind })
    }
    const name = g.label || (c.groups.length > 1 ? `test ${i + 1}` : "")
    add("Run time", name, g.runtime.ratio, g.runtime.verdict !== "cannot_rank", i > 0)
    const ranked = g.draw.verdict !== "cannot_rank"
    const levelled = ranked && g.at_equal_rate !== null && g.conditions.some((k) => k.check === "transmit_rate" && k.state === "corrected")
    add("Draw", name, g.draw.ratio, ranked && !levelled, false)
    if (levelled) add("Draw at one rate", name, g.at_equal_rate?.ratio ?? null, true, false)
  }
  return rows
}

function RatioFigure() {
  const { report, width, bench, live } = useView()
  const c = report.comparisons[pair.value] ?? report.comparisons[0]
  if (!c) return null
  const rows = ratioRows(report, c)
  if (rows.length === 0) return null
  const margin = bench.compare?.margin_pct
  const stated = bench.compare?.stated
  const axis = { name: `${c.a} \u00f7 ${c.b}`, kind: "ratio", margin: margin == null ? undefined : margin / 100, sides: [`${c.b} more`, `${c.a} more`] } as const
  return (
    <Figure id={`ratio-${width}`} title={`${c.a} over ${c.b}`} says={`On the upright line they are equal.${margin == null ? "" : ` The grey band is the margin of ${margin}\u00a0%${stated ? ` stated on ${stated}` : ""}.`}${endsSay(rows, "ratio")}`}
      describes={rows.map((r) => `${r.label}: ${inOne(r.words)}`).join("; ")} width={width} height={whiskerHeight(rows, width, axis)} table={estimateTable(rows, "", 3)}>
      <Whiskers rows={rows} width={width} axis={axis} onOpen={live ? opener(`ratio-${width}`) : undefined} />
    </Figure>
  )
}

/** Every part of each run's uncertainty, in GUM's words. */
function Budgets() {
  const { report } = useView()
  const groups = report.units.flatMap((u, index) => u.runs.flatMap((run, no) => (run.budget.length === 0 ? [] : [{
    key: `${u.name} ${no}`, name: <><UnitName name={u.name} index={index} /> {run.label || (u.runs.length > 1 ? `run ${no + 1}` : "")}, {inOne(quantity(run.draw?.mean_ma ?? null, "mA"))}</>,
    lines: run.budget.map((p, i) => ({ key: String(i), cells: [p.name, p.type, p.assumed ? "assumed" : "found or stated", `${p.relative_pct.toFixed(1)}\u00a0%`] })),
  }])))
  return (
    <>
      <p class="note">Mean current is charge over run time. The standard uncertainties below are relative; type A rests on statistics of this evidence, type B on anything else. They are combined by the root of the sum of their squares and shown as bounds that hold 95 %. The whole charge per transmission holds the idle current between beacons too; what one beacon costs by itself is the charge per beacon.</p>
      {groups.length > 0 && <Table caption="Uncertainty budget" heads={[{ name: "Part", kind: "grow" }, { name: "Type" }, { name: "Basis" }, { name: "Standard uncertainty", kind: "num" }]} groups={groups} />}
      <DrawTexts />
      <DrawTable />
    </>
  )
}

/** What each run's current rests on. */
function DrawTexts() {
  const { report } = useView()
  return (
    <ul class="note drawtexts">
      {report.units.flatMap((u, index) => u.runs.flatMap((r, no) => (r.draw?.text
        ? [<li key={u.name + no}><UnitName name={u.name} index={index} /> {r.label && `${r.label}: `}{r.draw.text}</li>] : [])))}
    </ul>
  )
}

const drawHeads = ["Run", "Charge", "Charge a minute", "Mean power", "Energy", "C-rate", "Whole charge, idle included, per transmission", "Time on the air"]

/** Charge, energy and what one transmission took: on request, and named so. */
function DrawTable() {
  const { report, bench } = useView()
  const lines = report.units.flatMap((u, index) => u.runs.flatMap((run, no) => (!run.draw ? [] : [{
    key: `${u.name} ${no}`,
    place: `draw ${u.name} ${no}`,
    cells: [
      <><UnitName name={u.name} index={index} /> {run.label}</>,
      ...[quantity(run.charge?.mah ?? null, "mAh"), quantity(run.draw.mah_per_min, "mAh/min"), quantity(run.draw.mean_mw, "mW"), quantity(run.draw.energy_mwh, "mWh"),
        quantity(run.draw.c_rate), quantity(run.draw.mah_per_transmission, "mAh"), quantity(run.airtime_s, "s")].map((value, i) => (
        run.saved || value.best === notKnown ? <Stacked of={value} /> : <Num place={`draw ${u.name} ${no}`} number={String(i)} title={`${u.name}, ${drawHeads[i + 1]?.toLowerCase()}: ${inOne(value)}${i === drawHeads.length - 2 ? `, ${onAirOf(bench, u.name)}` : ""}`} query={{ unit: u.name, run: no }}><Stacked of={value} /></Num>
      )),
    ],
  }])))
  if (lines.length === 0) return null
  return <Table caption="Charge, power and energy" heads={drawHeads.map((name, i) => (i === 0 ? { name } : { name, kind: "num" as const }))} groups={[{ key: "draw", name: null, lines }]} fixed="wide" />
}
