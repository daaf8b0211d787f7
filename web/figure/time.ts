// The time axis that all figures of a test share: a linear scale and its ticks on whole hours of the stated zone.
import { scaleLinear, type ScaleLinear } from "d3-scale"
import { day } from "../format.ts"
import { months, offsetAt, wallAt } from "../zone.ts"

export type Window = readonly [number, number]
export type TimeScale = ScaleLinear<number, number>

export function timeScale(window: Window, width: number): TimeScale {
  return scaleLinear().domain(window).range([0, width])
}

export interface Tick {
  at: number
  text: string // "" where a label would stand too close to the edge or the next label
}

const second = 1000
const minute = 60 * second
const hour = 60 * minute
const steps = [second, 2 * second, 5 * second, 10 * second, 15 * second, 30 * second, minute, 2 * minute, 5 * minute, 10 * minute, 15 * minute, 30 * minute, hour, 2 * hour, 4 * hour, 6 * hour, 12 * hour, 24 * hour]

/** The step between ticks: the smallest that leaves 56 px between them; whole days beyond one day. */
export function stepFor(window: Window, width: number): number {
  const perPixel = (window[1] - window[0]) / width
  const found = steps.find((step) => step >= 56 * perPixel)
  if (found) return found
  return Math.ceil((72 * perPixel) / (24 * hour)) * 24 * hour
}

/** Ticks on round times of the zone. Midnight carries the day; no label stands within 14 px of an edge, nor over the zone's name. */
export function ticks(window: Window, width: number, zone: string, reserved: number): Tick[] {
  const step = stepFor(window, width)
  const offset = offsetAt(window[0], zone)
  const x = timeScale(window, width)
  const found: Tick[] = []
  for (let at = Math.ceil((window[0] + offset) / step) * step - offset; at <= window[1]; at += step) {
    const px = x(at), text = label(at, step, zone), half = Math.max(14, text.length * 3.2)
    found.push({ at, text: px < half || px > width - reserved - half - 6 ? "" : text })
  }
  return found
}

function label(at: number, step: number, zone: string): string {
  const w = wallAt(at, zone)
  const two = (n: number) => String(n).padStart(2, "0")
  if (step >= 28 * 24 * hour) return `${months[w.month - 1] ?? ""} ${w.year}`
  if (step >= 24 * hour || (w.hour === 0 && w.minute === 0)) return day(at, zone)
  if (step < minute) return `${two(w.hour)}:${two(w.minute)}:${two(w.second)}`
  return step < hour ? `${two(w.hour)}:${two(w.minute)}` : two(w.hour)
}

/** The shortest stretch that a figure shows, ms. */
export const shortest = minute

/** Moves or stretches a window about a point, kept within the whole and not shorter than the shortest. */
export function zoomed(window: Window, whole: Window, factor: number, about: number): Window {
  const length = Math.min(whole[1] - whole[0], Math.max(shortest, (window[1] - window[0]) * factor))
  const share = (about - window[0]) / (window[1] - window[0])
  return within([about - share * length, about + (1 - share) * length], whole)
}

export function panned(window: Window, whole: Window, share: number): Window {
  const by = (window[1] - window[0]) * share
  return within([window[0] + by, window[1] + by], whole)
}

function within([a, b]: Window, whole: Window): Window {
  if (a < whole[0]) return [whole[0], Math.min(whole[1], b + whole[0] - a)]
  if (b > whole[1]) return [Math.max(whole[0], a - (b - whole[1])), whole[1]]
  return [a, b]
}
