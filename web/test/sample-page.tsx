// A page that shows the sample report without an engine: for pictures and for checks of form.
import { render } from "preact"
import { App } from "../app.tsx"
import { lanes, places, readings, report } from "../state/engine.ts"
import { emptyBench, files, markSaved, sheet } from "../state/sheet.ts"
import { remember } from "../state/settings.ts"
import { sampleBench, sampleLanes, sampleReport } from "./sample-report.ts"

remember()
const state = location.hash.slice(1)
const entries = sampleReport.evidence.map((f) => ({ id: f.id, name: f.file, size: f.bytes, source: new Uint8Array() }))

if (state !== "empty") {
  sheet.value = { bench: state === "reading" ? emptyBench : sampleBench, files: entries }
  const done = (id: number) => state !== "reading" || id === 2
  readings.value = new Map(files.value.map((f) => [f.id, done(f.id)
    ? { stage: "done", progress: null, message: "" }
    : { stage: "reading", progress: { file: f.id, bytes: f.size * 0.4, size: f.size, lines: 1204, packets: 1190, notUsed: 14, stage: "reading" }, message: "" }]))
  if (state !== "reading") {
    lanes.value = sampleLanes
    report.value = sampleReport
    places.value = new Map(sampleReport.evidence.map((f, place) => [f.id, place]))
  }
}
markSaved()
const root = document.getElementById("root")
if (root) render(<App />, root)
