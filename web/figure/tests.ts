// Tests: runs that overlap in time belong to one test and share their figures' window.
import type { Lane, Report, Run } from "../report.gen.ts"
import { dates, instant, moment } from "../format.ts"
import type { Window } from "./time.ts"

/** A run as a figure draws it; index is the unit's place on the sheet and gives colour, mark and lane. */
export interface RunLane {
  unit: string
  index: number
  run: Run
  no: number // of the unit's runs, from 0
  lane: Lane | null
}

export interface Test {
  key: string
  name: string
  runs: RunLane[]
  whole: Window // padded so that nothing stands on an edge
}

/** First and last moment (Unix ms) that a figure of a run must show; null for a run without times. */
function extent(run: Run): Window | null {
  const from = instant(run.start.earliest) ?? instant(run.start.best) ?? instant(run.first_heard)
  const last = instant(run.end.law.at(-1)?.at) ?? instant(run.end.latest) ?? instant(run.end.best)
    ?? instant(run.end.earliest) ?? instant(run.last_heard)
  return from === null || last === null ? null : [from, Math.max(from, last)]
}

/** Groups the runs of a report into tests, in order of time; those of saved reports have nothing to draw. */
export function testsOf(report: Report, lanes: readonly Lane[], zone: string): Test[] {
  const found: { runs: RunLane[]; from: number; to: number }[] = []
  for (const { lane, span } of runLanes(report, lanes)) {
    const test = found.at(-1)
    if (test && span[0] < test.to) {
      test.runs.push(lane)
      test.to = Math.max(test.to, span[1])
    } else found.push({ runs: [lane], from: span[0], to: span[1] })
  }
  return found.map(({ runs, from, to }) => {
    runs.sort((a, b) => a.index - b.index || a.no - b.no)
    return { key: `${from}`, name: nameOf(runs, dates(from, to, zone)), runs, whole: padded(from, to) }
  })
}

function runLanes(report: Report, lanes: readonly Lane[]): { lane: RunLane; span: Window }[] {
  const all = report.units.flatMap((unit, index) => unit.runs.flatMap((run, no) => run.saved ? [] : [{
    lane: { unit: unit.name, index, run, no, lane: lanes.find((l) => l.unit === unit.name && l.run === no) ?? null },
    span: extent(run),
  }]))
  return all.flatMap(({ lane, span }) => (span ? [{ lane, span }] : [])).sort((a, b) => a.span[0] - b.span[0])
}

function nameOf(runs: readonly RunLane[], when: string): string {
  const labels = [...new Set(runs.map((r) => r.run.label).filter((label) => label !== ""))]
  return labels.length === 1 ? `${labels[0]}, ${when}` : when
}

/** A test's name for a figure that shows a part of it: with the times of that part in place of the dates. */
export function nameWithin(test: Test, window: Window, zone: string): string {
  if (window === test.whole) return test.name
  return nameOf(test.runs, `${moment(window[0], zone)} to ${moment(window[1], zone, window[0])}`)
}

/** A unit's name, with its run where the unit has several in one test. */
export function laneName(test: Test, lane: RunLane): string {
  const alone = test.runs.filter((r) => r.unit === lane.unit).length === 1
  return alone ? lane.unit : `${lane.unit}, ${lane.run.label || `run ${lane.no + 1}`}`
}

function padded(from: number, to: number): Window {
  const pad = Math.max(60_000, (to - from) * 0.03)
  return [from - pad, to + pad]
}
