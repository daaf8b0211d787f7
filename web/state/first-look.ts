// A first look at large logs: what the lines that name the units tell, worked out from an excerpt while the whole is still to be
// read. It is shown, never saved, and gives way to the whole.
import { signal } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import type { Client, Looked, Progress } from "../client.ts"
import { callsOf } from "../excerpt.ts"
import type { Run } from "../report.gen.ts"
import type { Entry } from "./sheet.ts"
import { standing } from "./turns.ts"

export interface FirstLook extends Looked {
  bench: Bench
  files: readonly Entry[] // those of which an excerpt was read
}

export const firstLook = signal<FirstLook | null>(null)

/** From how many bytes on a log takes so long to read that a look at it pays. */
const large = 100_000_000

let working: AbortController | null = null
let under: Bench | null = null // of the look at work or shown

/** The files to look at first: the large ones of those that came, where all else on the sheet is small and the units are known. */
export function worthALook(came: readonly Entry[], before: readonly Entry[], bench: Bench): Entry[] {
  const byContent = bench.files?.some((f) => f.sha256) ?? false // what is said of a file by its content waits for the whole of it
  const open = callsOf(bench).length === 0 || byContent || before.some((f) => f.size >= large)
  return open ? [] : came.filter((f) => f.size >= large && !(f.source instanceof Uint8Array))
}

/** Looks at large files. What hinders it is nobody's concern: the whole is read anyway, and says so itself. */
export async function look(engine: Client, files: readonly Entry[], bench: Bench, told: (p: Progress) => void) {
  const control = (working = new AbortController())
  under = bench
  const tell = (p: Progress) => void (control.signal.aborted || told(p))
  try {
    await standing()
    if (control.signal.aborted) return
    const found = await engine.look(files.map(({ id, name, source }) => ({ id, name, source })), bench, tell, control.signal)
    if (control.signal.aborted) return
    firstLook.value = { ...foreseen(found), bench, files }
    await standing()
  } catch {
    // given up, or no excerpt can stand for such a file
  }
}

/** Ends the look, at work or shown: the whole is there, or something changed. */
export function endLook() {
  working?.abort()
  working = under = null
  firstLook.value = null
}

/** Ends a look that was taken under another bench, unless they differ in words about the trial alone. */
export function endLookUnless(bench: Bench) {
  if (under && under !== bench && ruling(under) !== ruling(bench)) endLook()
}

function ruling({ title: _title, author: _author, remarks: _remarks, display_zone: _zone, ...rest }: Bench): string {
  return JSON.stringify(rest)
}

/** Leaves out what an excerpt cannot tell: everything that is counted over all lines, and who listened before a unit was heard. */
function foreseen({ report, lanes }: Looked): Looked {
  const units = report.units.map((u) => ({ ...u, runs: u.runs.map(unwatchedYet) }))
  return { report: { ...report, units, evidence: [], notes: [], stations: [], stations_all: 0, proposals: [], questions: [] }, lanes }
}

function unwatchedYet(run: Run): Run {
  const text = "Whether anybody listened before the first packet is not known before the whole is read, so the start has no lower bound yet."
  return { ...run, flags: run.flags.map((f) => (f.code === "start.unwatched" ? { ...f, text } : f)) }
}
