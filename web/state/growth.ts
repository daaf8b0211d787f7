// Logs that grow: a file kept by its handle is looked at from time to time and read again when it has become longer.
import { signal } from "@preact/signals"
import { read, readings } from "./engine.ts"
import { files } from "./sheet.ts"

/** How often a kept file is looked at, ms. */
const every = 5000

const lengths = new Map<number, number>()

/** The files seen to grow, with the moment (Unix ms) at which that was last seen. */
export const grown = signal<ReadonlyMap<number, number>>(new Map())
/** The page's clock while something grows, so that "48 s ago" stays true. */
export const now = signal(Date.now())

export function followGrowth() {
  setInterval(() => void look(), every)
}

/** Looks at every kept file once. */
export async function look() {
  for (const entry of files.value) {
    if (!(entry.source instanceof Object) || !("getFile" in entry.source) || readings.value.get(entry.id)?.stage !== "done") continue
    const size = await entry.source.getFile().then((f) => f.size, () => null)
    if (size === null) continue
    const before = lengths.get(entry.id) ?? entry.size
    lengths.set(entry.id, size)
    if (size <= before) continue
    grown.value = new Map(grown.value).set(entry.id, Date.now())
    void read(entry)
  }
  if (grown.value.size > 0) now.value = Date.now()
}
