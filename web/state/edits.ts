// Edits of the bench, as plain functions from a bench to the next one. Empty answers are taken out again, so that a bench
// file holds only what somebody knows.
import type { Battery, Bench, Event, File, Match, Moment, Origin, Run, Unit } from "../bench.gen.ts"
import type { SavedFrom } from "../report.gen.ts"

/** The stations that a unit's rules name. */
export function stationsOf(bench: Bench, unit: string | undefined): string[] {
  const rules = bench.units?.find((u) => u.name === unit)?.match ?? []
  return [...new Set(rules.flatMap((m) => (m.station ? [m.station] : [])))]
}

/** Drops undefined, null, "" and empty objects and lists, at every depth; equal shape otherwise. */
export function tidied<T>(value: T): T {
  return (tidy(value) ?? {}) as T
}

function tidy(value: unknown): unknown {
  if (value === null || value === undefined || value === "") return undefined
  if (Array.isArray(value)) return value.length === 0 ? undefined : value.map((item: unknown) => tidy(item) ?? {})
  if (typeof value !== "object") return value
  const kept = Object.entries(value).map(([k, v]) => [k, tidy(v)] as const).filter(([, v]) => v !== undefined)
  return kept.length === 0 ? undefined : Object.fromEntries(kept)
}

function replaced<T>(list: readonly T[] | undefined, at: number, next: T): T[] {
  return (list ?? []).map((item, i) => (i === at ? next : item))
}

/** Changes one unit. */
export function withUnitAt(bench: Bench, at: number, edit: (unit: Unit) => Unit): Bench {
  const unit = bench.units?.[at]
  if (!unit) return bench
  const next = tidied(edit(unit))
  return { ...bench, units: replaced(bench.units, at, { ...next, name: next.name || unit.name }) }
}

/** Changes what is noted of one run of a unit; earlier runs of which nothing is noted stay as they are found. */
export function withRunAt(bench: Bench, unit: number, run: number, edit: (run: Run) => Run): Bench {
  return withUnitAt(bench, unit, (u) => {
    const runs = [...(u.runs ?? [])]
    while (runs.length <= run) runs.push({})
    return { ...u, runs: replaced(runs, run, edit(runs[run] ?? {})) }
  })
}

/** Makes room for what will be noted of so many runs, before the entry at. */
export function withRoom(bench: Bench, unit: number, at: number, room: number): Bench {
  if (room === 0) return bench
  return withUnitAt(bench, unit, (u) => ({ ...u, runs: [...(u.runs ?? []).slice(0, at), ...Array.from({ length: room }, () => ({})), ...(u.runs ?? []).slice(at)] }))
}

/** Joins an entry of a unit's runs with an earlier one, whose values count; charges measured for both add up. */
export function withoutEntry(bench: Bench, unit: number, gone: number, into: number): Bench {
  return withUnitAt(bench, unit, (u) => {
    const a = u.runs?.[into] ?? {}, b = u.runs?.[gone] ?? {}
    const charges = [a.charge_used_mah, b.charge_used_mah].filter((c) => c != null)
    const one = { ...b, ...a, events: inOrder([...(a.events ?? []), ...(b.events ?? [])]), charge_used_mah: charges.length > 0 ? charges.reduce((x, y) => x + y) : null }
    return { ...u, runs: replaced(u.runs, into, one).filter((_, i) => i !== gone) }
  })
}

/** What is noted of a pack of this name, of any unit or run; null where nothing is but its name. */
export function packCalled(bench: Bench, pack: string): Battery | null {
  const all = (bench.units ?? []).flatMap((u) => [u.battery, ...(u.runs ?? []).map((r) => r.battery)])
  return all.find((b) => b?.pack === pack && b.capacity_mah != null) ?? null
}

/** Changes what is known of a file, found by its name. */
export function withFileNamed(bench: Bench, name: string, edit: (file: File) => File): Bench {
  const list = bench.files ?? []
  const at = list.findIndex((f) => f.name === name)
  const next = { ...tidied(edit(list[at] ?? { name })), name }
  return { ...bench, files: at < 0 ? [...list, next] : replaced(list, at, next) }
}

export function fileNamed(bench: Bench, name: string): File {
  return bench.files?.find((f) => f.name === name) ?? { name }
}

/** Adds units by rules; a name that is taken gets a number. */
export function withUnits(bench: Bench, found: readonly { name: string; match: readonly Match[] }[]): Bench {
  const units = [...(bench.units ?? [])]
  for (const { name, match } of found) {
    units.push({ name: freeName(units.map((u) => u.name), name), match: match.map((m) => tidied(m)) })
  }
  return { ...bench, units }
}

function freeName(taken: readonly string[], wanted: string): string {
  if (!taken.includes(wanted)) return wanted
  for (let n = 2; ; n++) if (!taken.includes(`${wanted} ${n}`)) return `${wanted} ${n}`
}

export function withoutUnit(bench: Bench, at: number): Bench {
  return { ...bench, units: (bench.units ?? []).filter((_, i) => i !== at) }
}

/** Notes an event of a run; events stand in order of time. */
export function withEvent(bench: Bench, unit: number, run: number, event: Event): Bench {
  return withRunAt(bench, unit, run, (r) => ({
    ...r, events: inOrder([...(r.events ?? []), event]),
  }))
}

function inOrder(events: readonly Event[]): Event[] {
  return [...events].sort((a, b) => a.at.localeCompare(b.at))
}

export function withoutEvent(bench: Bench, unit: number, run: number, at: number): Bench {
  return withRunAt(bench, unit, run, (r) => ({ ...r, events: (r.events ?? []).filter((_, i) => i !== at) }))
}

/** A noted time as the bench file holds it. */
export function momentAt(at: number, precisionS: number): Moment {
  return { at: new Date(at).toISOString().replace(".000Z", "Z"), precision_s: precisionS }
}

/** A bench for the next test of the same units: nothing of the last one's files and runs, and a margin stated today. */
export function nextBench(bench: Bench, today: Date): Bench {
  const { files: _files, outlook: _outlook, units, compare, ...rest } = bench
  return {
    ...rest,
    units: (units ?? []).map(({ runs: _runs, saved: _saved, tracks: _tracks, meters: _meters, ...unit }) => unit),
    compare: { margin_pct: 5, ...compare, stated: today.toISOString().slice(0, 10) },
  }
}

/** Takes over the runs of saved reports that the engine joined, under units of the same name or new ones. */
export function withSaved(bench: Bench, joined: Bench): Bench {
  let next = bench
  for (const unit of joined.units ?? []) {
    if (!unit.saved?.length) continue
    const at = (next.units ?? []).findIndex((u) => u.name === unit.name)
    if (at < 0) next = { ...next, units: [...(next.units ?? []), unit] }
    else if (next.units?.[at]?.saved?.length !== unit.saved.length) next = withUnitAt(next, at, (u) => ({ ...u, saved: unit.saved ?? [] }))
  }
  return next
}

/** Takes a saved run out of a unit. */
export function withoutSaved(bench: Bench, unit: number, from: SavedFrom): Bench {
  const same = (o: Origin) => o.sha256 === from.sha256 && o.unit === from.unit && o.run === from.run
  return withUnitAt(bench, unit, (u) => ({ ...u, saved: (u.saved ?? []).filter((s) => !same(s.from)) }))
}
