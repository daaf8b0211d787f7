// The bench that this browser keeps until it is saved, when the reader asked for that: offered after a reload or a crash. Files,
// and what was read of them, are never kept.
import { effect, signal } from "@preact/signals"
import type { Bench } from "../bench.gen.ts"
import { benchFrom } from "./bench-file.ts"
import { notOpened } from "./intake.ts"
import { memory, put, settings } from "./settings.ts"
import { bench, change, sheet, unsaved } from "./sheet.ts"

const key = "lastbeacon.bench"

/** What was kept before this page was opened, until the reader has decided about it. */
export const offered = signal<Bench | null>(null)
/** Why the bench is not kept although it should be; "" when it is. */
export const notKept = signal("")

/** Offers what was kept, and keeps the memory in step from now on. While an offer is open, it stays what it is. */
export function keepBench() {
  const store = memory()
  try {
    offered.value = benchFrom(store?.getItem(key) ?? "")
  } catch (reason) {
    notOpened.value = [`The bench kept in this browser: ${(reason as Error).message}`]
  }
  let own = false // whether this page wrote it: another one's is not taken away
  effect(() => {
    if (!settings.value.keep) {
      offered.value = null
      store?.removeItem(key)
    } else if (offered.value === null && (own || unsaved.value > 0)) {
      own = true
      notKept.value = put(store, key, unsaved.value > 0 ? JSON.stringify(bench.value) : null)
    }
  })
}

/** Puts the kept bench onto the sheet, beside the files that are there. */
export function takeBack() {
  const kept = offered.value
  if (!kept) return
  change("take the kept bench back", { ...sheet.value, bench: kept })
  offered.value = null
}

export function forgetKept() {
  offered.value = null
  memory()?.removeItem(key)
}
