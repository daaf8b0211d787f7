// The one drawing for "known within bounds": a bar whose height is the chance, so that it narrows where a bound lies. The
// curves come from the engine; where it gives only three numbers, two half bells through them stand for the law.
import type { End, Estimate, LawPoint, Start } from "../report.gen.ts"
import { instant } from "../format.ts"

/** Chance p (0 to 1) at x, piecewise linear, in rising order of x. */
export interface ChancePoint {
  x: number
  p: number
}

/** The end of a bar: its curve, its best value, and whether it is open beyond its last point. */
export interface BarEnd {
  curve: ChancePoint[] // from full to nothing; one point when it is exact or open
  best: number | null
  open: boolean
}

function points(law: readonly LawPoint[]): ChancePoint[] {
  const found: ChancePoint[] = []
  for (const { at, p } of law) {
    const x = instant(at)
    if (x !== null) found.push({ x, p })
  }
  return found
}

/** How a run begins: chance rises to one. A start without an earliest bound stands at the moment it was surely on. */
export function startOf(start: Start): ChancePoint[] {
  const law = points(start.law)
  if (law.length > 0) return law
  if (start.earliest === null) return points([{ at: start.latest ?? start.best ?? "", p: 1 }])
  const best = instant(start.best), earliest = instant(start.earliest) ?? best, latest = instant(start.latest) ?? best
  if (earliest === null || latest === null) return []
  if (earliest === latest) return [{ x: latest, p: 1 }]
  return [{ x: earliest, p: 0 }, { x: best ?? (earliest + latest) / 2, p: 0.5 }, { x: latest, p: 1 }]
}

/** How a run ends. Noted ends and open ends do not narrow. */
export function endOf(end: End): BarEnd {
  const best = instant(end.best), earliest = instant(end.earliest), latest = instant(end.latest)
  const law = points(end.law)
  const open = latest === null
  if (law.length > 1) return { curve: law, best, open: false }
  const from = earliest ?? best
  if (from === null) return { curve: [], best, open }
  if (open || earliest === latest) return { curve: [{ x: from, p: 1 }], best, open }
  return { curve: [{ x: from, p: 1 }, { x: best ?? (from + latest) / 2, p: 0.5 }, { x: latest, p: 0 }], best, open: false }
}

// Phi at steps of half a standard deviation, from -3 to 3 (standard normal table).
const bell = [0.0013, 0.0062, 0.0228, 0.0668, 0.1587, 0.3085, 0.5, 0.6915, 0.8413, 0.9332, 0.9772, 0.9938, 0.9987]

/** The chance that a quantity is above x, drawn from an estimate: half bells whose 2.5 % points are its limits. */
export function endOfEstimate(e: Estimate): BarEnd {
  if (e.high === null || e.best === null) return { curve: e.low === null ? [] : [{ x: e.low, p: 1 }], best: null, open: true }
  const best = e.best
  const below = (best - (e.low ?? best)) / 1.96, above = (e.high - best) / 1.96
  const curve = bell.map((p, i) => {
    const z = (i - 6) / 2
    return { x: best + z * (z < 0 ? below : above), p: 1 - p }
  })
  return { curve, best, open: false }
}
