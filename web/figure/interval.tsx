// Interval against time: a panel a unit on a logarithmic axis. Filled marks are single intervals; open ones are gaps that
// span beacons that were due and not heard. The line is what the schedule expects.
import { scaleLog } from "d3-scale"
import { gap } from "../format.ts"
import type { Lane, Run } from "../report.gen.ts"
import { TimeAxis } from "./axis.tsx"
import { hollow, markPath, round, unitClass } from "./mark.tsx"
import { intervalAt, slotsOf } from "./slots.ts"
import { Patterns } from "./strip.tsx"
import { laneName, type RunLane, type Test } from "./tests.ts"
import { timeScale, type TimeScale, type Window } from "./time.ts"

/** One gap between two beacons heard: at its end, in seconds; single when no beacon was missed in between. */
export interface Gap {
  at: number
  seconds: number
  single: boolean
}

const found = new WeakMap<Lane, readonly Gap[]>() // they are asked for again and again while a figure is drawn

export function gapsOf(lane: Lane): readonly Gap[] {
  const gaps = found.get(lane) ?? gapsIn(lane)
  found.set(lane, gaps)
  return gaps
}

function gapsIn(lane: Lane): Gap[] {
  const gaps: Gap[] = []
  let last: number | null = null, single = true
  for (const slot of slotsOf(lane)) {
    if (!slot.heard) single = false
    else {
      if (last !== null && slot.at > last) gaps.push({ at: slot.at, seconds: (slot.at - last) / 1000, single })
      last = slot.at
      single = true
    }
  }
  return gaps
}

/** The ends of the common axis in seconds: every gap and every expected interval, with room on both sides; alike ones stand in the middle. */
function gapDomain(lanes: readonly Lane[]): [number, number] {
  const all = lanes.flatMap((l) => [...gapsOf(l).map((g) => g.seconds), ...l.due.map((d) => d.interval_s)]).filter((s) => s > 0)
  if (all.length === 0) return [30, 3600]
  const least = all.reduce((a, b) => Math.min(a, b)), most = all.reduce((a, b) => Math.max(a, b))
  const room = Math.max(1.5, 3.6 / Math.sqrt(most / least))
  return [least / room, most * room]
}

/** Intervals that an axis may name, in seconds. */
export const gapRounds = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600, 7200, 14400, 43200, 86400]
const head = 22, panel = 118, room = 14

export function intervalHeight(test: Test): number {
  return drawn(test).length * (head + panel + room) + 26
}

function drawn(test: Test): (RunLane & { lane: Lane })[] {
  return test.runs.filter((r): r is RunLane & { lane: Lane } => r.lane !== null)
}

interface Props {
  test: Test
  window: Window
  width: number
  zone: string
  id: string
}

export function Intervals({ test, window, width, zone, id }: Props) {
  const x = timeScale(window, width)
  const runs = drawn(test)
  const domain = gapDomain(runs.map((r) => r.lane))
  const y = scaleLog().domain(domain).range([panel, 0])
  const lines = apart(gapRounds.filter((s) => s >= domain[0] && s <= domain[1]), y)
  const end = labelEnd(lines, runs.map((r) => gapsOf(r.lane)), x, y, width)
  return (
    <>
      <Patterns id={id} />
      {runs.map((r, i) => (
        <g key={`${r.unit} ${r.no}`} class={unitClass(r.index)} transform={`translate(0,${i * (head + panel + room)})`}>
          <path class={hollow(r.index) ? "hollow" : "solid"} d={markPath(r.index, 6, 9, 4.5)} />
          <text class="name" x={16} y={14}>{laneName(test, r)}</text>
          <g transform={`translate(0,${head})`}>
            {lines.map((s) => <path key={s} class="grid" d={`M0,${round(y(s))}H${width}`} />)}
            {r.lane.silent.map((s) => (
              <rect key={s.start} x={round(x(s.start))} y={0} width={round(x(s.end) - x(s.start))} height={panel} fill={`url(#${id}-silent)`} />
            ))}
            <SpeedBand run={r.run} x={x} y={y} domain={domain} />
            <path class="expected" d={expected(r, x, y)} />
            <Gaps run={r} x={x} y={y} window={window} />
            <AxisLabels lines={lines} marks={gapsOf(r.lane)} x={x} y={y} width={width} end={end} />
          </g>
        </g>
      ))}
      <TimeAxis window={window} width={width} y={runs.length * (head + panel + room) + 2} zone={zone} />
    </>
  )
}

/** Where the name of an axis's line may stand at one end: above it or below, and how many marks it covers there at least. */
function spotOf(s: number, from: number, lines: readonly number[], marks: readonly Gap[], x: TimeScale, y: (s: number) => number): { at: number; covers: number } {
  const covered = (base: number) => marks.filter((g) => x(g.at) >= from && x(g.at) <= from + 44 && Math.abs(y(g.seconds) - base + 4) < 9).length
  const sides = lines.some((l) => y(l) > y(s) && y(l) - y(s) < 32) ? [-4] : [-4, 14]
  return sides.map((under) => ({ at: y(s) + under, covers: covered(y(s) + under) })).reduce((best, spot) => (spot.covers < best.covers ? spot : best))
}

/** The end of the panels, 0 or near the width, at which the names of all lines together cover fewer marks. */
export function labelEnd(lines: readonly number[], panels: readonly (readonly Gap[])[], x: TimeScale, y: (s: number) => number, width: number): number {
  const covers = (from: number) => panels.reduce((n, marks) => lines.reduce((m, s) => m + spotOf(s, from, lines, marks, x, y).covers, n), 0)
  return covers(0) < covers(width - 44) ? 0 : width - 44
}

/** The names of the axis's lines, all at one end. */
function AxisLabels({ lines, marks, x, y, width, end }: { lines: readonly number[]; marks: readonly Gap[]; x: TimeScale; y: (s: number) => number; width: number; end: number }) {
  return <>{lines.map((s) => <text key={s} class="halo axis" x={end ? width - 2 : 2} y={round(spotOf(s, end, lines, marks, x, y).at)} text-anchor={end ? "end" : "start"}>{gap(s)}</text>)}</>
}

/** Where an adaptive unit moves, its interval may lie anywhere between the slow and the fast one. */
function SpeedBand({ run, x, y, domain }: { run: Run; x: TimeScale; y: (s: number) => number; domain: readonly [number, number] }) {
  const { kind, slow_interval_s: slow, fast_interval_s: fast } = run.schedule
  if (kind !== "adaptive" || slow === null || fast === null) return null
  const within = (seconds: number) => Math.min(domain[1], Math.max(domain[0], seconds))
  const between = [y(within(slow)), y(within(fast))], top = Math.min(...between), bottom = Math.max(...between) // either may be the longer one
  return (
    <>
      {run.periods.filter((p) => p.state === "moving").map((p) => {
        const from = x(Date.parse(p.start)), to = x(Date.parse(p.end))
        return <rect key={p.start} class="speedband" x={round(from)} y={round(top)} width={round(to - from)} height={round(bottom - top)} />
      })}
    </>
  )
}

/** The line of the schedule. Where an adaptive unit moves the band of speeds stands instead. */
function expected(r: RunLane & { lane: Lane }, x: TimeScale, y: (s: number) => number): string {
  const due = r.lane.due.filter((d) => d.interval_s > 0)
  const last = r.lane.sent.at(-1)
  if (due.length === 0 || last === undefined) return ""
  const moving = r.run.schedule.kind === "adaptive" ? r.run.periods.filter((p) => p.state === "moving") : []
  let path = ""
  let pen: number | null = null // where the line stands
  due.forEach((d, i) => {
    const to = Math.max(d.at, Math.min(due[i + 1]?.at ?? last, last))
    const within = moving.find((p) => d.at >= Date.parse(p.start) && d.at < Date.parse(p.end))
    const from = within ? Date.parse(within.end) : d.at
    if (from > to) return
    path += `${pen === from ? "L" : "M"}${round(x(from))},${round(y(d.interval_s))}H${round(x(to))}`
    pen = to
  })
  return path
}

/** Marks that share 2.5 px are drawn once. */
function Gaps({ run, x, y, window }: { run: RunLane & { lane: Lane }; x: TimeScale; y: (s: number) => number; window: Window }) {
  const taken = new Set<string>()
  let filled = "", open = ""
  for (const g of gapsOf(run.lane)) {
    if (g.at < window[0] || g.at > window[1]) continue
    const px = x(g.at), py = y(g.seconds)
    const cell = `${Math.round(px / 2.5)} ${Math.round(py / 2.5)} ${g.single}`
    if (taken.has(cell)) continue
    taken.add(cell)
    if (g.single) filled += markPath(run.index, px, py, 2.2)
    else open += markPath(run.index, px, py, 3)
  }
  return (
    <>
      {filled && <path class="solid" d={filled} />}
      {open && <path class="open" d={open} />}
    </>
  )
}

/** Those of rising values that stand at least 17 px apart. */
export function apart(values: readonly number[], y: (s: number) => number): number[] {
  const kept: number[] = []
  for (const v of values) if (kept.length === 0 || y(kept.at(-1) ?? v) - y(v) >= 17) kept.push(v)
  return kept
}

/** The expected interval in seconds at a moment, for the figure's table. */
export function expectedAt(lane: Lane, at: number): number | null {
  const ms = intervalAt(lane.due, at)
  return ms === null ? null : ms / 1000
}
