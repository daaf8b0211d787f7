// What a lane shows of its beacons: single ticks where they stand apart, a stepped area where they would touch. Both work on
// slots: the beacons that were due, heard or not, in order of time.
import { bisector } from "d3-array"
import type { Due, Lane } from "../report.gen.ts"
import type { TimeScale, Window } from "./time.ts"

export interface Slot {
  at: number
  heard: boolean
}

/** A bin of the stepped area: a whole number of slots, its edges half-way between slots, share of them heard. */
export interface Bin {
  from: number
  to: number
  share: number
}

/** A stretch drawn as an area. */
export type Area = Bin[]

export interface Beacons {
  ticks: number[]
  areas: Area[]
  missed: number[] // thinned to 3 px
}

/** Ticks that stand closer than this are drawn as an area, px. */
const touching = 3.2
const thinned = 3

/** The slots of a lane in order of time. */
export function slotsOf(lane: Lane): Slot[] {
  const slots = lane.sent.map((at) => ({ at, heard: true })).concat(lane.missed.map((at) => ({ at, heard: false })))
  return slots.sort((a, b) => a.at - b.at)
}

const dueAt = bisector((d: Due) => d.at).right

/** The interval expected at a moment (ms); null where the lane gives none. */
export function intervalAt(due: readonly Due[], at: number): number | null {
  const found = due[dueAt(due, at) - 1] ?? due[0]
  return found ? found.interval_s * 1000 : null
}

/** Splits the beacons of a lane within a window into ticks and areas, by the interval that the schedule expects. */
export function beaconsOf(lane: Lane, x: TimeScale, window: Window): Beacons {
  const slots = slotsOf(lane).filter((s) => s.at >= window[0] && s.at <= window[1])
  const perMs = x(window[0] + 1) - x(window[0])
  const dense = denseSlots(slots, lane.due, touching / perMs)
  const ticks: number[] = []
  const areas: Area[] = []
  for (let from = 0; from < slots.length;) {
    let to = from + 1
    while (to < slots.length && dense[to] === dense[from]) to++
    if (dense[from] && to - from > 3) areas.push(binned(slots, from, to, touching / perMs))
    else for (const slot of slots.slice(from, to)) if (slot.heard) ticks.push(slot.at)
    from = to
  }
  return { ticks, areas, missed: thin(lane.missed.filter((at) => at >= window[0] && at <= window[1]), thinned / perMs) }
}

/** Whether each slot belongs to an area: the interval there, or the median of its neighbours where none is known, is short. */
function denseSlots(slots: readonly Slot[], due: readonly Due[], least: number): boolean[] {
  return slots.map((slot, i) => {
    const known = intervalAt(due, slot.at)
    if (known !== null) return known < least
    const near = slots.slice(Math.max(0, i - 3), i + 4)
    const span = (near.at(-1)?.at ?? 0) - (near[0]?.at ?? 0)
    return near.length > 2 && span / (near.length - 1) < least
  })
}

/** Bins of equally many slots, wide enough to see. Counting slots, not time, keeps a fully heard stretch flat. */
function binned(slots: readonly Slot[], from: number, to: number, least: number): Area {
  const length = (slots[to - 1]?.at ?? 0) - (slots[from]?.at ?? 0)
  const each = Math.max(1, Math.ceil(least / Math.max(1, length / (to - from - 1))))
  const bins: Area = []
  for (let i = from; i < to; i += each) {
    const end = to - (i + each) < each / 2 ? to : Math.min(to, i + each)
    const heard = slots.slice(i, end).filter((s) => s.heard).length
    bins.push({ from: edge(slots, i, from, to), to: edge(slots, end, from, to), share: heard / (end - i) })
    if (end === to) break
  }
  return bins
}

/** The time half-way between a slot and the one before it; at the ends of a stretch, half the neighbouring gap outside. */
function edge(slots: readonly Slot[], i: number, from: number, to: number): number {
  const at = (k: number) => slots[k]?.at ?? 0
  if (i === from) return at(i) - (at(i + 1) - at(i)) / 2
  if (i === to) return at(i - 1) + (at(i - 1) - at(i - 2)) / 2
  return (at(i - 1) + at(i)) / 2
}

/** Leaves out marks that stand closer than least to the one before. */
export function thin(sorted: readonly number[], least: number): number[] {
  const kept: number[] = []
  for (const at of sorted) if (kept.length === 0 || at - (kept.at(-1) ?? 0) >= least) kept.push(at)
  return kept
}
