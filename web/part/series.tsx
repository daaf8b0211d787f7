// Values that varied over a run and were sent or measured with it, such as a voltage: one small figure for each quantity.
import { scaleLinear } from "d3-scale"
import { decimals } from "../format.ts"
import { TimeAxis } from "../figure/axis.tsx"
import { Figure } from "../figure/frame.tsx"
import { round, unitClass, markPath } from "../figure/mark.tsx"
import type { FigureTable } from "../figure/table.ts"
import type { RunLane, Test } from "../figure/tests.ts"
import { timeScale, type Window } from "../figure/time.ts"
import type { Series as Values } from "../report.gen.ts"
import { useView } from "../view.ts"
import { zoomHint } from "./findings.tsx"
import { plotOf } from "./zoom.tsx"

const height = 150, foot = 26

interface Drawn {
  lane: RunLane
  values: Values
}

export function Series({ test, window }: { test: Test; window: Window }) {
  const all: Drawn[] = test.runs.flatMap((lane) => lane.run.series.filter((s) => s.points.length > 1).map((values) => ({ lane, values })))
  const kinds = [...new Set(all.map((d) => `${d.values.name}, ${d.values.unit}`))]
  return <>{kinds.map((kind) => <OneSeries key={kind} name={kind} drawn={all.filter((d) => `${d.values.name}, ${d.values.unit}` === kind)} test={test} window={window} />)}</>
}

function OneSeries({ name, drawn, test, window }: { name: string; drawn: Drawn[]; test: Test; window: Window }) {
  const { width, zone, live } = useView()
  const x = timeScale(window, width)
  const values = drawn.flatMap((d) => d.values.points.map((p) => p.v))
  const y = scaleLinear().domain([values.reduce((a, b) => Math.min(a, b)), values.reduce((a, b) => Math.max(a, b))]).nice(4).range([height - 8, 14])
  const unit = drawn[0]?.values.unit ?? ""
  const table: FigureTable = {
    columns: [{ head: "Unit", kind: "text" }, { head: "At", kind: "time" }, { head: drawn[0]?.values.name ?? "Value", kind: "number", unit, places: 2 }],
    rows: drawn.flatMap((d) => d.values.points.map((p) => [d.lane.unit, Date.parse(p.at), p.v])),
    behind: drawn.flatMap((d) => d.values.points.map((p) => ({ unit: d.lane.unit, run: d.lane.no, from: Date.parse(p.at), until: Date.parse(p.at) }))),
  }
  const first = drawn.map((d) => `${d.lane.unit} from ${decimals(d.values.first, 2)} to ${decimals(d.values.last, 2)} ${unit}`).join("; ")
  const id = `series-${test.key.replace(/\W/g, "")}-${name.replace(/\W/g, "")}-${width}`
  return (
    <Figure id={id} title={`${capital(name)}, ${test.name}`} says={`As sent or measured: ${first}. ${[...new Set(drawn.map((d) => d.values.source))].join(", ")}.`} describes={first}
      width={width} height={height + foot} table={table} {...(live ? { plot: plotOf(test, window, width, zone), plotHint: zoomHint } : {})}>
      {y.ticks(4).map((t) => (
        <g key={t} class="axis"><path class="grid" d={`M0,${round(y(t))}H${width}`} /><text class="halo" x={width - 2} y={round(y(t) - 4)} text-anchor="end">{t} {unit}</text></g>
      ))}
      {drawn.map((d) => <Line key={d.lane.unit + d.lane.no} drawn={d} x={x} y={y} window={window} />)}
      <TimeAxis window={window} width={width} y={height} zone={zone} />
    </Figure>
  )
}

function capital(text: string): string {
  return text.slice(0, 1).toUpperCase() + text.slice(1)
}

function Line({ drawn, x, y, window }: { drawn: Drawn; x: (ms: number) => number; y: (v: number) => number; window: Window }) {
  const points = drawn.values.points.map((p) => ({ at: Date.parse(p.at), v: p.v })).filter((p) => p.at >= window[0] && p.at <= window[1])
  const last = points.at(-1)
  if (!last) return null
  const path = points.map((p, i) => `${i === 0 ? "M" : "L"}${round(x(p.at))},${round(y(p.v))}`).join("")
  return (
    <g class={unitClass(drawn.lane.index)}>
      <path class="expected" d={path} />
      <path class="solid" d={markPath(drawn.lane.index, x(last.at), y(last.v), 4)} />
    </g>
  )
}
