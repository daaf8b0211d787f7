// The ways of a test's runs, one figure a run that moved.
import { count, distance, many } from "../format.ts"
import { Figure } from "../figure/frame.tsx"
import { groundOf, Route, spotsOf } from "../figure/route.tsx"
import type { FigureTable } from "../figure/table.ts"
import { laneName, type RunLane, type Test } from "../figure/tests.ts"
import { useView } from "../view.ts"

export function Routes({ test }: { test: Test }) {
  const { width, measure } = useView()
  return (
    <>
      {test.runs.map((r) => {
        const lane = r.lane
        if (!lane || lane.way.length + lane.places.length < 2) return null
        const gone = r.run.periods.reduce((m, p) => m + (p.state === "moving" ? p.distance_m?.best ?? 0 : 0), 0)
        const track = lane.way.length > 0, corners = lane.places.filter((s) => s.corner).length
        const says = `${track ? "Line: the recorded track. " : ""}${corners > 0 ? "Filled: a beacon whose interval was up. Open: one that came before, at a corner." : "Marks: beacons heard."} Metres from the first spot; a square is ${distance(groundOf(spotsOf(lane), width).grid, measure)} wide.`
        return (
          <Figure key={`${r.unit} ${r.no}`} id={`route-${test.key.replace(/\W/g, "")}-${r.index}-${r.no}-${width}`} title={`The way of ${laneName(test, r)}, ${test.name}`} says={says}
            describes={`${distance(gone, measure)} in ${many(r.run.periods.filter((p) => p.state === "moving").length, "stretch", "stretches")}, ${count(lane.places.length)} beacons with a place${corners > 0 ? `, ${count(corners)} of them at corners` : ""}.`}
            width={width} height={groundOf(spotsOf(lane), width).height} table={tableOf(lane.way, lane.places, r)}>
            <Route lane={lane} index={r.index} width={width} measure={measure} />
          </Figure>
        )
      })}
    </>
  )
}

interface At {
  at: number
  east_m: number
  north_m: number
  corner: boolean
}

function tableOf(way: readonly At[], places: readonly At[], { unit, no }: RunLane): FigureTable {
  const metres = (head: string) => ({ head, kind: "number", unit: "m", places: 0 }) as const
  const row = (kind: string) => (s: At) => [s.corner ? "beacon at a corner" : kind, s.at, s.east_m, s.north_m]
  return {
    columns: [{ head: "What", kind: "text" }, { head: "At", kind: "time" }, metres("East"), metres("North")],
    rows: [...places.map(row("beacon")), ...way.map(row("track"))],
    behind: places.map(({ at }) => ({ unit, run: no, from: at, until: at })),
  }
}
