// What is running now, as long as a log grows: when each unit was last heard, what is due next, and how odd a silence is.
import { clock, count, many, share, span } from "../format.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Run, Unit } from "../report.gen.ts"
import { pair } from "../state/selection.ts"
import { grown, now } from "../state/growth.ts"
import { files } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { Part } from "./part.tsx"
import { Table } from "./table.tsx"

export function Running() {
  const { report, live } = useView()
  if (!live || grown.value.size === 0 || report.units.length === 0) return null
  const names = files.value.filter((f) => grown.value.has(f.id)).map((f) => f.name)
  const alike = report.comparisons[pair.value]?.alike.text ?? ""
  const lines = report.units.flatMap((u, index) => {
    const run = u.runs.at(-1)
    return run?.last_heard ? [{ key: u.name, cells: cellsOf(u, index, run, Date.parse(run.last_heard)), under: run.now?.text }] : []
  })
  const heads = [{ name: "Unit" }, { name: "Last heard", kind: "num" as const }, { name: "Next due", kind: "num" as const }, { name: "Due and not heard", kind: "num" as const }, { name: "By loss alone", kind: "grow" as const }]
  return (
    <Part id="running" name="Running now" line={alike || `${many(names.length, "log")} ${names.length === 1 ? "grows" : "grow"}.`}>
      <Table caption="Running now" heads={heads} groups={[{ key: "now", name: null, lines }]} />
      <p class="note">From {names.join(", ")}, still growing. This is a test reading, not a safety alarm.</p>
    </Part>
  )
}

function cellsOf(unit: Unit, index: number, run: Run, last: number) {
  const silent = Math.max(0, now.value - last) / 1000
  const every = run.schedule.interval_s?.best ?? null
  const due = every === null ? null : Math.floor(silent / every)
  return [
    <UnitName name={unit.name} index={index} />, <Ago last={last} silent={silent} />,
    every === null ? "not known" : `in ${span(every - (silent % every))}`, due === null ? "not known" : count(due),
    due === null || due === 0 ? "nothing missed" : oddsOf(due, run),
  ]
}

function Ago({ last, silent }: { last: number; silent: number }) {
  const { zone } = useView()
  return <>{clock(last, zone, "seconds")}, {span(silent)} ago</>
}

/** How often a unit that still sends would be silent that long, were each loss an accident of its own. */
function oddsOf(due: number, run: Run): string {
  const heard = run.share_heard?.best
  if (heard == null) return "share heard not known"
  const chance = (1 - heard) ** due
  const odds = chance > 0 ? 1 / chance : Infinity
  const words = odds > 10_000 ? "less than 1 in 10,000" : `1 in ${count(Math.max(1, Math.round(odds)))}`
  return `${words}, at ${share(run.share_heard).best} heard`
}

