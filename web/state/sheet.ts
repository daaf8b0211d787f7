// What the reader has put on the sheet: the files and the bench, with every step undoable. Nothing here is worked out;
// everything else on the page is derived from it.
import { computed, signal } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import type { Evidence } from "../dropped.ts"

/** One file on the sheet. The id never changes and is never given again. */
export interface Entry {
  id: number
  name: string
  size: number
  source: Evidence
}

export interface Sheet {
  bench: Bench
  files: readonly Entry[]
}

interface Step {
  says: string
  sheet: Sheet
}

export const emptyBench: Bench = { schema: "lastbeacon.bench/1" }

export const sheet = signal<Sheet>({ bench: emptyBench, files: [] })
export const bench = computed(() => sheet.value.bench)
export const files = computed(() => sheet.value.files)

const past = signal<readonly Step[]>([])
const future = signal<readonly Step[]>([])
const saved = signal<Sheet>(sheet.value)

/** What undo and redo would take back or do again; null when there is nothing. */
export const undoable = computed(() => past.value.at(-1)?.says ?? null)
export const redoable = computed(() => future.value.at(-1)?.says ?? null)

/** How many steps stand since the bench or the page was last saved. */
export const unsaved = computed(() => (sheet.value.bench === saved.value.bench ? 0 : stepsSince(saved.value)))

function stepsSince(mark: Sheet): number {
  const at = past.value.findIndex((step) => step.sheet === mark)
  return Math.max(1, at < 0 ? past.value.length : past.value.length - at)
}

/** Replaces the sheet as one step; says completes "Undo: ...". */
export function change(says: string, next: Sheet) {
  if (next === sheet.value) return
  past.value = [...past.value.slice(-199), { says, sheet: sheet.value }]
  future.value = []
  sheet.value = next
}

/** Changes the bench as one step. */
export function changeBench(says: string, next: Bench) {
  change(says, { ...sheet.value, bench: next })
}

/** Completes the present step by what followed from it; undoing takes both back. */
export function amend(next: Sheet) {
  sheet.value = next
}

export function undo() {
  const step = past.value.at(-1)
  if (!step) return
  future.value = [...future.value, { says: step.says, sheet: sheet.value }]
  past.value = past.value.slice(0, -1)
  sheet.value = step.sheet
}

export function redo() {
  const step = future.value.at(-1)
  if (!step) return
  past.value = [...past.value, { says: step.says, sheet: sheet.value }]
  future.value = future.value.slice(0, -1)
  sheet.value = step.sheet
}

export function markSaved() {
  saved.value = sheet.value
}

let nextID = 0

/** Puts files on the sheet; a bench dropped with them takes the place of the present one. */
export function addFiles(found: readonly Omit<Entry, "id">[], dropped?: Bench) {
  const entries = found.map((f) => ({ ...f, id: nextID++ }))
  const says = dropped ? "open the bench file" : `add ${entries.map((e) => e.name).join(", ")}`
  change(says, { bench: dropped ?? sheet.value.bench, files: [...sheet.value.files, ...entries] })
}

export function removeFile(id: number) {
  const gone = sheet.value.files.find((f) => f.id === id)
  if (gone) change(`remove ${gone.name}`, { ...sheet.value, files: sheet.value.files.filter((f) => f.id !== id) })
}
