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

const clocks = new Map<string, Intl.DateTimeFormat | null>()

/** The offset of a zone written as +hh:mm, in milliseconds; null for a zone by name. */
function fixedOffset(zone: string): number | null {
  if (zone === "" || zone === "UTC" || zone === "Z") return 0
  const parts = /^([+-])(\d\d):?(\d\d)$/.exec(zone)
  if (!parts) return null
  return (parts[1] === "-" ? -1 : 1) * (Number(parts[2]) * 60 + Number(parts[3])) * 60_000
}

/** The clock of a zone by name, null where this browser does not know it, which is as slow to find out. */
function clockOf(zone: string): Intl.DateTimeFormat | null {
  const known = clocks.get(zone)
  if (known !== undefined) return known
  const clock = newClock(zone)
  clocks.set(zone, clock)
  return clock
}

function newClock(zone: string): Intl.DateTimeFormat | null {
  try {
    return new Intl.DateTimeFormat("en-GB", {
      timeZone: zone, hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric",
      hour: "numeric", minute: "numeric", second: "numeric",
    })
  } catch {
    return null
  }
}

/** Whether this browser knows the zone. */
export function zoneKnown(zone: string): boolean {
  return fixedOffset(zone) !== null || clockOf(zone) !== null
}

/** How far the zone's clock is ahead of UTC at a moment, in milliseconds. An unknown zone counts as UTC. */
export function offsetAt(ms: number, zone: string): number {
  const fixed = fixedOffset(zone)
  if (fixed !== null) return fixed
  const clock = clockOf(zone)
  if (!clock) return 0
  const part: Record<string, number> = {}
  for (const { type, value } of clock.formatToParts(ms)) part[type] = Number(value)
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

const clockForm = /(?:^|[ ,])(\d{1,2})(?:[:.](\d{2})(?:[:.](\d{2}))?)? ?(?:([ap])\.?m\.?)?$/i
const plainClock = /(?:^| )([012]\d)([0-5]\d)$/
const dateForm = /^(\d{4})([-/.])(\d{1,2})\2(\d{1,2})$/
const dottedForm = /^(\d{1,2})\. ?(\d{1,2})\.(?: ?(\d{4}))?$/
const dayForm = /^(\d{1,2})\.? ([a-z]+)\.?(?:,? (\d{4}))?$/i
const monthForm = /^([a-z]+)\.? (\d{1,2})(?:st|nd|rd|th)?(?:,? (\d{4}))?$/i

/** Reads "05:40", "6:50 pm", "1730", "2 May 05:40", "May 2 05:40", "2.5.2031 05:40", "2031-05-02 05:40:10": the day is that of near
 * (Unix ms) unless it is written, the zone the one given unless UTC is. Null: not a time, or one that can be read in two ways. */
export function readWhen(text: string, near: number, zone: string): Written | null {
  const spaced = text.trim().replace(/\s+/g, " ").replace(/(\d)T(\d)/, "$1 $2"), tidy = spaced.replace(/ ?(UTC|Z)$/i, "")
  const within = tidy === spaced ? zone : "UTC"
  const { rest, hour, minute, second } = cutClock(tidy) ?? { rest: "", hour: 24, minute: 0, second: undefined }
  const day = rest === "" ? wallAt(near, within) : readDay(rest, near, within)
  if (!day || hour > 23 || minute > 59 || (second ?? 0) > 59) return null
  return { at: momentOf({ ...day, hour, minute, second: second ?? 0 }, within), precisionS: second === undefined ? 30 : 1 }
}

/** The time of day at the end of a text, and what stands before it. Four digits are one unless they may be a year. */
function cutClock(text: string): { rest: string; hour: number; minute: number; second: number | undefined } | null {
  const plain = plainClock.exec(text), found = clockForm.exec(text)
  if (plain && (plain.index === 0 || /\d{4}/.test(text.slice(0, plain.index)))) return { rest: before(text, plain), hour: Number(plain[1]), minute: Number(plain[2]), second: undefined }
  const half = found?.[4]?.toLowerCase()
  if (!found || (found[2] === undefined && !half)) return null
  const shown = Number(found[1]), hour = !half ? shown : shown < 1 || shown > 12 ? 24 : (shown % 12) + (half === "p" ? 12 : 0)
  return { rest: before(text, found), hour, minute: Number(found[2] ?? 0), second: found[3] === undefined ? undefined : Number(found[3]) }
}

const before = (text: string, found: RegExpExecArray) => text.slice(0, found.index).replace(/[ ,]+$/, "")

/** Reads a day as ISO 8601 writes it, with a month's name, or as day.month.year; the year is that of near unless it is written. */
export function readDay(text: string, near: number, zone: string): Wall | null {
  const now = wallAt(near, zone), tidy = text.trim().replace(/\s+/g, " ")
  const iso = dateForm.exec(tidy), dotted = dottedForm.exec(tidy), named = dayForm.exec(tidy), american = monthForm.exec(tidy)
  if (iso) return checked({ ...now, year: Number(iso[1]), month: Number(iso[3]), day: Number(iso[4]) })
  if (dotted) return checked({ ...now, year: Number(dotted[3] ?? now.year), month: Number(dotted[2]), day: Number(dotted[1]) })
  const [day, name, year] = named ? [named[1], named[2], named[3]] : [american?.[2], american?.[1], american?.[3]]
  const month = months.findIndex((m) => (name ?? "").toLowerCase().startsWith(m.slice(0, 3).toLowerCase())) + 1
  if (month === 0) return null
  return checked({ ...now, year: Number(year ?? now.year), month, day: Number(day) })
}

/** A day as ISO 8601 writes it. */
export function isoDay({ year, month, day }: Wall): string {
  return `${year}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}`
}

function checked(wall: Wall): Wall | null {
  const d = new Date(Date.UTC(wall.year, wall.month - 1, wall.day))
  return d.getUTCMonth() + 1 === wall.month && d.getUTCDate() === wall.day ? wall : null
}
