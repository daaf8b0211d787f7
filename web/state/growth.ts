// Logs that grow: a file kept by its handle is looked at from time to time and read again when it has become longer.
import { signal } from "@preact/signals"
import { analysing, readAgain, readings } from "./engine.ts"
import { files } from "./sheet.ts"

/** How often a kept file is looked at, ms. */
const every = 5000

/** A log that takes long to read and work out is left alone for this many times as long, so that the page stays free. */
const rest = 3

const lengths = new Map<number, number>()
let notBefore = 0

/** The files seen to grow, with the moment (Unix ms) at which that was last seen. */
export const grown = signal<ReadonlyMap<number, number>>(new Map())
/** The files that became shorter: another log stands under the name. What was read stays, and they are followed no more. */
export const renewed = signal<ReadonlySet<number>>(new Set())
/** The page's clock while something grows, so that "48 s ago" stays true. */
export const now = signal(Date.now())

export function followGrowth() {
  setInterval(() => void look(), every)
}

/** Looks at every kept file once. */
export async function look() {
  if (grown.value.size > 0) now.value = Date.now()
  if (analysing.value || performance.now() < notBefore) return
  const longer = []
  for (const entry of files.value) {
    if (!(entry.source instanceof Object) || !("getFile" in entry.source) || readings.value.get(entry.id)?.stage !== "done" || renewed.value.has(entry.id)) continue
    const before = lengths.get(entry.id) ?? entry.size
    const size = await entry.source.getFile().then((f) => f.size, () => before)
    if (size < before) renewed.value = new Set(renewed.value).add(entry.id)
    if (size <= before) continue
    lengths.set(entry.id, size)
    grown.value = new Map(grown.value).set(entry.id, Date.now())
    longer.push(entry)
  }
  if (longer.length === 0) return
  now.value = Date.now()
  const began = performance.now()
  await readAgain(longer)
  notBefore = performance.now() + rest * (performance.now() - began)
}
