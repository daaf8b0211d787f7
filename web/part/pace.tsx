// Interval against speed, for each run of a test whose schedule follows the speed.
import { gap, many } from "../format.ts"
import { Figure } from "../figure/frame.tsx"
import { paceHeight, Paces } from "../figure/pace.tsx"
import type { FigureTable } from "../figure/table.ts"
import { laneName, type RunLane, type Test } from "../figure/tests.ts"
import type { Lane } from "../report.gen.ts"
import { useView } from "../view.ts"

export function PaceFigures({ test }: { test: Test }) {
  const { width, measure } = useView()
  return (
    <>
      {test.runs.map((r) => (!r.lane || r.lane.paces.length < 3 ? null : (
        <Figure key={`${r.unit} ${r.no}`} id={`pace-${test.key.replace(/\W/g, "")}-${r.index}-${r.no}-${width}`} title={`Interval against speed, ${laneName(test, r)}, ${test.name}`}
          says="Line: what the schedule keeps at a steady speed. Filled: one interval, at the speed half-way. Open: beacons were missed in between. Below the line: corners, and speed that changed on the way."
          describes={describe(r.lane)} width={width} height={paceHeight} table={tableOf(r.lane, r)}>
          <Paces lane={r.lane} index={r.index} width={width} measure={measure} />
        </Figure>
      )))}
    </>
  )
}

function describe(lane: Lane): string {
  const slow = lane.curve[0], fast = lane.curve.at(-1)
  return `${many(lane.paces.length, "interval")}${slow && fast ? `; the schedule goes from ${gap(slow.interval_s)} standing to ${gap(fast.interval_s)} at speed` : ""}.`
}

function tableOf(lane: Lane, { unit, no }: RunLane): FigureTable {
  return {
    columns: [{ head: "At", kind: "time" }, { head: "Speed", kind: "number", unit: "m/s", places: 2 }, { head: "Interval", kind: "number", unit: "s", places: 1 }, { head: "Kind", kind: "text" }],
    rows: lane.paces.map((p) => [p.at, p.speed_mps, p.interval_s, p.single ? "single" : "spans missed"]),
    behind: lane.paces.map((p) => ({ unit, run: no, from: p.at - p.interval_s * 1000, until: p.at })),
  }
}
