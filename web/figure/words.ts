// Words inside figures: how wide they are about, what events are called, and where their labels find room.
import type { Event, Schedule } from "../report.gen.ts"
import type { Bench, TX } from "../bench.gen.ts"
import { clock, gap, speed, withUnit, type Measure } from "../format.ts"

/** About how wide a text of 12 px is; wide enough on the faces we name. */
export function textWidth(text: string): number {
  return text.length * 6.3
}

const events: Record<string, string> = {
  low_battery: "low-battery tone", pack_changed: "pack changed", charging: "charging", settings_changed: "settings changed",
  power_cycled: "switched off and on", seen_on: "seen on", seen_dead: "seen dead", switched_off: "switched off", restart: "restart",
}

/** The kinds of event that a person may note, with their words. */
export const eventKinds = ["low_battery", "seen_on", "seen_dead", "pack_changed", "charging", "settings_changed", "power_cycled", "switched_off"]

export function eventName(what: string): string {
  return events[what] ?? what.replaceAll("_", " ")
}

/** "low-battery tone 15:52", "restart suspected 12:11". */
export function eventLabel(event: Event, zone: string): string {
  const name = eventName(event.what) + (event.basis === "suspected" ? " suspected" : "")
  return `${name} ${clock(Date.parse(event.at), zone)}`
}

/** A schedule in few words: "fixed, 120 s". */
export function scheduleInShort(s: Schedule, measure: Measure): string {
  const base = s.interval_s?.best
  switch (s.kind) {
    case "fixed":
      return base == null ? "fixed" : `fixed, ${gap(base)}`
    case "decaying":
      return `${base == null ? "decaying" : gap(base)}${s.longest_s === null ? ", slows when parked" : `, slows to ${gap(s.longest_s)} when parked`}`
    case "adaptive":
      return adaptive(s, measure)
    case "irregular":
      return "irregular, no schedule seen"
    default:
      return base == null ? "schedule undecided" : `schedule undecided, gaps up to ${gap(base)}`
  }
}

function adaptive(s: Schedule, measure: Measure): string {
  const slow = s.slow_interval_s === null ? "" : `${gap(s.slow_interval_s)}${s.slow_speed_mps === null ? "" : ` below ${speed(s.slow_speed_mps, measure)}`}`
  const fast = s.fast_interval_s === null ? "" : `${gap(s.fast_interval_s)}${s.fast_speed_mps === null ? "" : ` at ${speed(s.fast_speed_mps, measure)}`}`
  const rule = [slow, fast].filter((t) => t !== "").join(", ")
  return rule === "" ? "speed-adaptive" : `adaptive: ${rule}`
}

/** What each state of motion is called. */
export function stateName(state: string): string {
  return state === "unknown" ? "not known" : state
}

/** A label beside a flag: to its right or left, so that it touches no other label and no edge. */
export interface Placed {
  x: number
  side: "left" | "right"
}

/** Chooses a side for each label (x and width, px) of one row, clear of other marks; null when no choice is free of collision. */
export function placeLabels(flags: readonly { x: number; width: number }[], from: number, to: number, others: readonly number[] = []): Placed[] | null {
  const chosen: Placed[] = []
  const fits = (i: number): boolean => {
    if (i === flags.length) return true
    const flag = flags[i]
    if (!flag) return true
    return (["right", "left"] as const).some((side) => {
      const box = boxOf(flag, side)
      const blocked = box[0] < from || box[1] > to
        || flags.some((other, k) => k !== i && other.x > box[0] - 8 && other.x < box[1] + 8)
        || others.some((x) => x > box[0] - 5 && x < box[1] + 5)
        || chosen.some((c, k) => overlap(box, boxOf(flags[k] ?? flag, c.side)))
      if (blocked) return false
      chosen.push({ x: flag.x, side })
      if (fits(i + 1)) return true
      chosen.pop()
      return false
    })
  }
  return flags.length <= 12 && fits(0) ? chosen : null
}

function boxOf(flag: { x: number; width: number }, side: "left" | "right"): [number, number] {
  return side === "right" ? [flag.x + 8, flag.x + 12 + flag.width] : [flag.x - 12 - flag.width, flag.x - 4]
}

function overlap(a: readonly [number, number], b: readonly [number, number]): boolean {
  return a[0] < b[1] + 6 && b[0] < a[1] + 6
}

/** What the time on the air of a unit is worked out with; what nobody noted is said to be taken, as core/bench takes it. */
export function onAirBy(tx: TX | null | undefined): string {
  const lora = tx?.modulation === "lora"
  const rate = lora ? `LoRa, SF\u00a0${tx?.lora?.sf ?? 12}` : tx?.modulation === "fsk9600" ? "9600 baud" : `1200 baud${tx?.modulation ? "" : " (taken)"}`
  const part = (seconds: number | null | undefined, usual: number) => `${withUnit(String(seconds ?? (lora ? 0 : usual)), "s")}${seconds == null ? " (taken)" : ""}`
  return `with ${rate}, TX delay ${part(tx?.tx_delay_s, 0.3)}, tail ${part(tx?.tx_tail_s, 0.1)}`
}

/** The same of a unit by its name. */
export function onAirOf(bench: Bench, unit: string): string {
  return onAirBy(bench.units?.find((u) => u.name === unit)?.tx)
}
