// A first look: says what it is and how far the reading of the whole is, then shows what it found, which opens no packets yet.
import type { ComponentChildren } from "preact"
import { bytes, listed } from "../format.ts"
import { readings } from "../state/engine.ts"
import { firstLook } from "../state/first-look.ts"
import { settings } from "../state/settings.ts"
import { bench as shown } from "../state/sheet.ts"
import { ViewContext } from "../view.ts"
import { ConditionsPart } from "./conditions.tsx"
import { Part } from "./part.tsx"
import { Result } from "./result.tsx"
import { Units } from "./units.tsx"

/** Shows parts with what a first look found. */
function Seen({ width, children }: { width: number; children: ComponentChildren }) {
  const now = firstLook.value
  if (!now) return null
  const { report, lanes, bench } = now
  const view = { report, lanes, bench, zone: shown.value.display_zone ?? "UTC", measure: settings.value.measure, width, live: false }
  return <ViewContext.Provider value={view}>{children}</ViewContext.Provider>
}

export function FirstResult({ width }: { width: number }) {
  const files = firstLook.value?.files ?? []
  return (
    <>
      <Part id="look" name="First look" heavy line={<>A first look: it rests on the lines of {listed(files.map((f) => f.name))} that name your units, and on about one a minute of the others, which shows when the receivers listened. The whole is being read, <SoFar />, and may still change it.</>}>
        <p class="note">Until then numbers open no packets, answers wait, and nothing can be saved. The stations heard, the load of the channel, the lines not used, clocks that were set and what stands in two files are not yet known.</p>
      </Part>
      <Seen width={width}><Result /></Seen>
    </>
  )
}

export function FirstFindings({ width }: { width: number }) {
  return <Seen width={width}><Units /><ConditionsPart /></Seen>
}

/** How far the reading of the whole is. */
function SoFar() {
  let read = 0, all = 0
  for (const { id, size } of firstLook.value?.files ?? []) {
    const p = readings.value.get(id)
    all += size
    read += p?.stage === "done" ? size : p?.progress && p.progress.stage !== "first look" ? Math.min(size, p.progress.bytes) : 0
  }
  return <>{Math.floor((100 * read) / Math.max(1, all))}&nbsp;% of {bytes(all)}</>
}
