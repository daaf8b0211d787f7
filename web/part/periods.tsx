// What each unit did in each period of standing still or moving: counts and intervals.
import { clock, count, counted, distance, gap, instant, many, moment, quantity, speed, type Measure } from "../format.ts"
import { stateName } from "../figure/words.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Period } from "../report.gen.ts"
import { useView } from "../view.ts"
import { Num } from "./number.tsx"
import { Fold } from "./part.tsx"
import { Table, type Group, type Head, type Line } from "./table.tsx"

const heads: Head[] = [
  { name: "Period" }, { name: "From", kind: "num" }, { name: "To", kind: "num" }, { name: "Heard", kind: "num" }, { name: "Due, not heard", kind: "num" },
  { name: "Shortest", kind: "num" }, { name: "Median", kind: "num" }, { name: "Mean", kind: "num" }, { name: "Longest", kind: "num" },
  { name: "Sent an hour", kind: "num" }, { name: "Distance", kind: "num" }, { name: "Mean speed", kind: "num" },
]

export function Periods() {
  const { report, measure } = useView()
  const groups: Group[] = report.units.flatMap((u, index) => u.runs.flatMap((run, no) => (!run.periods.some(lasts) ? [] : [{
    key: `${u.name} ${no}`, name: <><UnitName name={u.name} index={index} /> {run.label || (u.runs.length > 1 ? `run ${no + 1}` : "")}</>,
    lines: run.periods.flatMap((p, i) => (lasts(p) ? [lineOf(u.name, no, i, p, measure)] : [])),
  }])))
  const rows = groups.reduce((n, g) => n + g.lines.length, 0)
  if (rows === 0) return null
  return <Fold title={`Periods: counts and intervals, ${many(rows, "row")}`}><Table caption="Periods" heads={heads} groups={groups} fixed="periods" /></Fold>
}

/** Whether a period is more than the moment between two others. */
function lasts(p: Period): boolean {
  return p.transmissions > 0 || (p.missed?.high ?? 0) > 0 || (instant(p.end) ?? 0) - (instant(p.start) ?? 0) >= 1000
}

function lineOf(unit: string, no: number, i: number, p: Period, measure: Measure): Line {
  const place = `period ${unit} ${no} ${i}`
  const from = instant(p.start) ?? 0, until = instant(p.end) ?? 0
  const gaps = p.interval_s
  const query = { unit, run: no, from, until }
  const behind = (number: string, title: string, children: string) => (children === "" || children === "0" ? children : <Num place={place} number={number} title={`${unit}, ${stateName(p.state)}: ${title}`} query={query}>{children}</Num>)
  const around = (number: string, ms: number, near: number | null, other: number) => <Num place={place} number={number} title={`${unit}, ${stateName(p.state)}: a quarter of an hour before and after`} query={{ unit, run: no, from: ms - 900_000, until: ms + 900_000 }}><At ms={ms} near={near} closely={Math.abs(ms - other) < 60_000} /></Num>
  return {
    key: place, place,
    cells: [
      `${stateName(p.state)}${p.inferred ? ", inferred" : ""}`, around("from", from, null, until), around("until", until, from, from),
      behind("heard", `${count(p.transmissions)} heard`, count(p.transmissions)),
      <MissedIn unit={unit} no={no} period={p} place={place} />,
      behind("min", "intervals", gaps ? gap(gaps.min) : ""), behind("median", "intervals", gaps ? gap(gaps.median) : ""), behind("mean", "intervals", gaps ? gap(gaps.mean) : ""), behind("max", "intervals", gaps ? gap(gaps.max) : ""),
      behind("rate", "sent an hour", p.rate_per_h ? quantity(p.rate_per_h).best : ""), behind("way", wayTitle(p, measure), p.distance_m && p.state !== "stationary" ? distance(p.distance_m.best ?? 0, measure) : ""),
      behind("speed", "mean speed", p.mean_mps === null || p.state === "stationary" ? "" : speed(p.mean_mps, measure)),
    ],
  }
}

function MissedIn({ unit, no, period, place }: { unit: string; no: number; period: Period; place: string }) {
  const { lanes } = useView()
  const from = instant(period.start) ?? 0, until = instant(period.end) ?? 0
  const missed = lanes.find((l) => l.unit === unit && l.run === no)?.missed.filter((at) => at >= from && at <= until)
  const words = counted(period.missed).best
  if (!period.missed || !missed?.length) return <>{words}</>
  return <Num place={place} number="missed" title={`${unit}, ${stateName(period.state)}: ${words} due and not heard`} query={{ unit, run: no, from, until }} missed={missed}>{words}</Num>
}

/** A moment; with its seconds where the period lasts less than a minute. */
function At({ ms, near, closely }: { ms: number; near: number | null; closely: boolean }) {
  const { zone } = useView()
  return <>{moment(ms, zone, near)}{closely && clock(ms, zone, "seconds").slice(5)}</>
}

/** What the way of a period is called, with its bounds. */
function wayTitle({ distance_m }: Period, measure: Measure): string {
  const { low, high } = distance_m ?? {}
  return low == null || high == null ? "distance" : `distance, ${distance(low, measure)} to ${distance(high, measure)}`
}
