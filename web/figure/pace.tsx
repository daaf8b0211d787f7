// Interval against speed: each gap between beacons at the unit's speed half-way, and the curve that an adaptive schedule
// keeps at a steady speed.
import { scaleLinear, scaleLog } from "d3-scale"
import { gap, speed, type Measure } from "../format.ts"
import type { Lane, Pace } from "../report.gen.ts"
import { apart, gapRounds } from "./interval.tsx"
import { markPath, round, unitClass } from "./mark.tsx"

export const paceHeight = 240
const foot = 28, top = 12

/** Ends of both axes: every gap and the curve, with a little room. */
function paceDomain(lane: Lane): { fastest: number; interval: [number, number] } {
  const all: Pace[] = [...lane.paces, ...lane.curve]
  const fastest = all.reduce((m, p) => Math.max(m, p.speed_mps), 1)
  const least = all.reduce((m, p) => Math.min(m, p.interval_s), Infinity), most = all.reduce((m, p) => Math.max(m, p.interval_s), 0)
  return { fastest: fastest * 1.02, interval: [least / 1.3, most * 1.4] }
}

export function Paces({ lane, index, width, measure }: { lane: Lane; index: number; width: number; measure: Measure }) {
  const { fastest, interval } = paceDomain(lane)
  const x = scaleLinear().domain([0, fastest]).range([8, width - 8])
  const y = scaleLog().domain(interval).range([paceHeight - foot, top])
  const lines = apart(gapRounds.filter((s) => s >= interval[0] && s <= interval[1]), y)
  const base = paceHeight - foot
  return (
    <g class={unitClass(index)}>
      {lines.map((s) => <path key={s} class="grid" d={`M0,${round(y(s))}H${width}`} />)}
      <path class="expected" d={lane.curve.map((p, i) => `${i === 0 ? "M" : "L"}${round(x(p.speed_mps))},${round(y(p.interval_s))}`).join("")} />
      <path class="solid" d={marks(lane.paces.filter((p) => p.single), x, y, index, 2.2)} />
      <path class="open" d={marks(lane.paces.filter((p) => !p.single), x, y, index, 3)} />
      {lines.map((s) => <text key={s} class="halo" x={width - 2} y={round(y(s) - 4)} text-anchor="end">{gap(s)}</text>)}
      <g class="axis">
        <path class="edge" d={`M0,${base}H${width}`} />
        {speedTicks(fastest, width, measure).map((v) => (
          <g key={v}>
            <path class="edge" d={`M${round(x(v))},${base}v5`} />
            <text x={round(x(v))} y={base + 18} text-anchor={v === 0 ? "start" : "middle"}>{speed(v, measure)}</text>
          </g>
        ))}
      </g>
    </g>
  )
}

/** Round speeds in the reader's measure, as m/s. */
function speedTicks(fastest: number, width: number, measure: Measure): number[] {
  const unit = measure === "imperial" ? 0.44704 : 1 / 3.6
  const ticks = scaleLinear().domain([0, fastest / unit]).ticks(Math.max(2, Math.floor(width / 110))).map((v) => v * unit)
  return ticks.filter((v) => 8 + (v / fastest) * (width - 16) < width - 30)
}

/** Marks that share 2.5 px are drawn once. */
function marks(paces: readonly Pace[], x: (v: number) => number, y: (v: number) => number, index: number, r: number): string {
  const taken = new Set<string>()
  let d = ""
  for (const p of paces) {
    const px = x(p.speed_mps), py = y(p.interval_s), cell = `${Math.round(px / 2.5)} ${Math.round(py / 2.5)}`
    if (!taken.has(cell)) d += markPath(index, px, py, r)
    taken.add(cell)
  }
  return d
}
