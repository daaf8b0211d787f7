// Wall clocks: what a moment is called in a zone, and which moment a written time means. Zones are IANA names, UTC, or an
// offset such as +02:00. Months and days are written in English whatever the machine's language.

/** A moment as a clock and a calendar in one zone show it. */
export interface Wall {
  year: number
  month: number // 1 to 12
  day: number
  hour: number
  minute: number
  second: number
}

export const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"] as const

const clocks = new Map<string, Intl.DateTimeFormat>()

/** The offset of a zone written as +hh:mm, in milliseconds; null for a zone by name. */
function fixedOffset(zone: string): number | null {
  if (zone === "" || zone === "UTC" || zone === "Z") return 0
  const parts = /^([+-])(\d\d):?(\d\d)$/.exec(zone)
  if (!parts) return null
  return (parts[1] === "-" ? -1 : 1) * (Number(parts[2]) * 60 + Number(parts[3])) * 60_000
}

function clockOf(zone: string): Intl.DateTimeFormat {
  let clock = clocks.get(zone)
  if (!clock) {
    clock = new Intl.DateTimeFormat("en-GB", {
      timeZone: zone, hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric",
      hour: "numeric", minute: "numeric", second: "numeric",
    })
    clocks.set(zone, clock)
  }
  return clock
}

/** Whether this browser knows the zone. */
export function zoneKnown(zone: string): boolean {
  if (fixedOffset(zone) !== null) return true
  try {
    clockOf(zone)
    return true
  } catch {
    return false
  }
}

/** How far the zone's clock is ahead of UTC at a moment, in milliseconds. An unknown zone counts as UTC. */
export function offsetAt(ms: number, zone: string): number {
  const fixed = fixedOffset(zone)
  if (fixed !== null) return fixed
  if (!zoneKnown(zone)) return 0
  const part: Record<string, number> = {}
  for (const { type, value } of clockOf(zone).formatToParts(ms)) part[type] = Number(value)
  const wall = Date.UTC(part["year"] ?? 1970, (part["month"] ?? 1) - 1, part["day"], part["hour"], part["minute"], part["second"])
  return wall - Math.floor(ms / 1000) * 1000
}

/** What clock and calendar of the zone show at a moment (Unix ms). */
export function wallAt(ms: number, zone: string): Wall {
  const d = new Date(ms + offsetAt(ms, zone))
  return {
    year: d.getUTCFullYear(), month: d.getUTCMonth() + 1, day: d.getUTCDate(),
    hour: d.getUTCHours(), minute: d.getUTCMinutes(), second: d.getUTCSeconds(),
  }
}

/** The moment (Unix ms) at which the zone's clock shows this. A time skipped by a clock change gives the moment after it. */
export function momentOf(wall: Wall, zone: string): number {
  const plain = Date.UTC(wall.year, wall.month - 1, wall.day, wall.hour, wall.minute, wall.second)
  const first = plain - offsetAt(plain, zone)
  return plain - offsetAt(first, zone)
}

/** A time as somebody wrote it, with the half width that its precision allows. */
export interface Written {
  at: number
  precisionS: number
}

const clockForm = /^(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?$/
const dateForm = /^(\d{4})-(\d{1,2})-(\d{1,2})$/
const dayForm = /^(\d{1,2})\s+([a-z]+)\.?(?:\s+(\d{4}))?$/i

/** Reads "05:40", "2 May 05:40", "2031-05-02 05:40:10": the day is that of near (Unix ms) unless it is written. Null: not a time. */
export function readWhen(text: string, near: number, zone: string): Written | null {
  const tidy = text.trim().replace(/\s+/g, " ").replace(/(\d)T(\d)/, "$1 $2").replace(/ ?(UTC|Z)$/i, "")
  const cut = tidy.lastIndexOf(" ")
  const clock = clockForm.exec(cut < 0 ? tidy : tidy.slice(cut + 1))
  const day = cut < 0 ? wallAt(near, zone) : readDay(tidy.slice(0, cut), near, zone)
  if (!clock || !day) return null
  const hour = Number(clock[1]), minute = Number(clock[2]), second = Number(clock[3] ?? 0)
  if (hour > 23 || minute > 59 || second > 59) return null
  return { at: momentOf({ ...day, hour, minute, second }, zone), precisionS: clock[3] ? 1 : 30 }
}

function readDay(text: string, near: number, zone: string): Wall | null {
  const now = wallAt(near, zone)
  const iso = dateForm.exec(text)
  if (iso) return checked({ ...now, year: Number(iso[1]), month: Number(iso[2]), day: Number(iso[3]) })
  const named = dayForm.exec(text)
  if (!named) return null
  const month = months.findIndex((m) => (named[2] ?? "").toLowerCase().startsWith(m.slice(0, 3).toLowerCase())) + 1
  if (month === 0) return null
  return checked({ ...now, year: Number(named[3] ?? now.year), month, day: Number(named[1]) })
}

function checked(wall: Wall): Wall | null {
  const d = new Date(Date.UTC(wall.year, wall.month - 1, wall.day))
  return d.getUTCMonth() + 1 === wall.month && d.getUTCDate() === wall.day ? wall : null
}
