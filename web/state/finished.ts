// A copy that was saved without its evidence: the finished report that it holds, and going on with its runs.
import { signal } from "@preact/signals"
import type { Finished } from "./copy.ts"
import { addFiles } from "./sheet.ts"

/** What this page holds in place of evidence, as long as nothing else is on the sheet. */
export const finished = signal<Finished | null>(null)

/** Puts the runs of the finished report onto the sheet, as those of any saved report; and what was noted of the trial itself. */
export function goOn() {
  const copy = finished.value
  if (!copy) return
  const { files: _files, units: _units, ...trial } = copy.bench
  finished.value = null
  addFiles([reportFile("report without evidence", copy)], trial)
}

/** A finished report as the file of a saved one. */
export function reportFile(name: string, { report, bench }: Finished) {
  const bytes = new TextEncoder().encode(JSON.stringify({ bench, ...report }))
  return { name: `${name.replace(/\.html?$/i, "")}.json`, size: bytes.length, source: bytes }
}
