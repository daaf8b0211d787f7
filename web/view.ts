// What every component looks at: one report with its bench, and how it is shown. The page gives it from its signals; the
// report without an engine gives it once.
import { createContext } from "preact"
import { useContext } from "preact/hooks"
import type { Bench } from "./bench.gen.ts"
import type { Measure } from "./format.ts"
import type { Lane, Report } from "./report.gen.ts"

export interface View {
  report: Report
  lanes: readonly Lane[]
  bench: Bench
  zone: string
  measure: Measure
  width: number // of the content column, px
  live: boolean // numbers open their packets, fields take answers
}

export const emptyReport: Report = {
  schema: "lastbeacon.report/1", version: "", title: "", display_zone: "UTC", evidence: [], notes: [], stations: [],
  stations_all: 0, tracks: [], proposals: [], units: [], comparisons: [], kinds: [], outlook: [], next_test: null, questions: [], cautions: [],
}

export const ViewContext = createContext<View>({
  report: emptyReport, lanes: [], bench: { schema: "lastbeacon.bench/1" }, zone: "UTC", measure: "metric", width: 976, live: true,
})

export function useView(): View {
  return useContext(ViewContext)
}
