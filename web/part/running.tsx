// What is running now, as long as a log grows: when each unit was last heard, what was due since, and how odd a silence is.
// Everything but the time passing is the engine's, which reckons by due times and by how far the receivers listened.
import type { ComponentChildren } from "preact"
import { clock, count, listed, many, moment, instant, passed, span, zoneName } from "../format.ts"
import { UnitName } from "../figure/mark.tsx"
import type { Now, Run } from "../report.gen.ts"
import { pair } from "../state/selection.ts"
import { grown, now } from "../state/growth.ts"
import { files, type Entry } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { Num } from "./number.tsx"
import { Part } from "./part.tsx"
import { Table, type Head } from "./table.tsx"
import { Ended } from "./units.tsx"

interface Going {
  unit: string
  index: number
  no: number
  run: Run
}

export function Running() {
  const { report, live, zone } = useView()
  const growing = growingFiles()
  const going = report.units.flatMap((u, index): Going[] => {
    const no = u.runs.findLastIndex((r) => !r.saved), run = u.runs[no]
    return run?.last_heard ? [{ unit: u.name, index, no, run }] : []
  })
  if (!live || growing.length === 0 || going.length === 0) return null
  const slowing = going.some((g) => g.run.now?.slowing_since)
  const heads: Head[] = [
    { name: "Unit" }, { name: "Last heard", kind: "num", shown: <>Last heard, {zoneName(zone)}</> }, { name: "Due since, not heard", kind: "num" }, { name: "By loss alone", kind: "num" },
    ...(slowing ? [{ name: "Longer intervals since", kind: "num" as const }] : []), { name: "End, expected or inferred", kind: "grow" },
  ]
  const names = growing.map((f) => f.name)
  const alike = report.comparisons[pair.value]?.alike.text
  return (
    <Part id="running" name="Running now" line={warning(going)}>
      <Table caption="Running now" heads={heads} groups={[{ key: "now", name: null, lines: going.map((g) => lineOf(g, slowing)) }]} fixed="running" />
      {alike && <p class="note">{alike}</p>}
      <p class="note">{listed(names)} last grew {span(sinceGrown())} ago and {names.length === 1 ? "is" : "are"} looked at every 5 s; a log that stops growing may mean that nothing was heard, or that the recorder stopped. This is a test reading, no safety alarm: silence does not show that somebody is in trouble, nor do beacons show that all is well.</p>
    </Part>
  )
}

/** The files on the sheet that were seen to grow. */
function growingFiles(): Entry[] {
  return files.value.filter((f) => grown.value.has(f.id))
}

function sinceGrown(): number {
  return Math.max(0, Math.round((now.value - Math.max(...growingFiles().map((f) => grown.value.get(f.id) ?? 0))) / 1000))
}

/** Whether a run is called ended, as in the strip. */
function isEnded(run: Run): boolean {
  return run.end.best !== null && run.end.latest !== null
}

/** The oddest silence first, in one line. */
function warning(going: readonly Going[]): string {
  const silent = going.filter((g) => (g.run.now?.due_missed ?? 0) > 0).sort((a, b) => chance(a) - chance(b))[0]
  const over = going.filter((g) => !g.run.now), ended = over.filter((g) => isEnded(g.run)).map((g) => g.unit), hushed = over.filter((g) => !isEnded(g.run)).map((g) => g.unit)
  const parts = [
    silent ? `${silent.unit} ${isEnded(silent.run) ? "has ended" : "is silent"}: ${many(silent.run.now?.due_missed ?? 0, "due beacon")} not heard${oddsOf(silent.run.now) === "" ? "" : `, by loss alone in ${oddsOf(silent.run.now)} of cases`}.` : "",
    ended.length > 0 ? `${listed(ended)} ${ended.length === 1 ? "has" : "have"} ended.` : "",
    hushed.length > 0 ? `${listed(hushed)} ${hushed.length === 1 ? "has" : "have"} been silent for long; whether that is the end is not known.` : "",
  ].filter((t) => t !== "")
  return parts.length > 0 ? parts.join(" ") : `No beacon that was due is missing from ${listed(going.map((g) => g.unit))}.`
}

function chance(g: Going): number {
  return g.run.now?.chance_by_loss_alone ?? 1
}

function oddsOf(n: Now | null): string {
  const p = n?.chance_by_loss_alone ?? null
  if (p === null) return ""
  if (p < 0.001) return "less than 0.1\u00a0%"
  return `${(p * 100).toFixed(p < 0.0995 ? 1 : 0)}\u00a0%`
}

function lineOf({ unit, index, no, run }: Going, slowing: boolean) {
  const place = `now ${unit}`, n = run.now
  const behind = (number: string, children: ComponentChildren) => <Num place={place} number={number} title={`${unit}: the last hour of its packets`} query={{ unit, run: no, from: Date.parse(run.last_heard ?? "") - 3_600_000 }}>{children}</Num>
  return {
    key: unit, place,
    cells: [
      <UnitName name={unit} index={index} />, <Ago place={place} unit={unit} no={no} run={run} />,
      n ? n.due_missed === null ? "not known" : behind("due", count(n.due_missed)) : isEnded(run) ? "ended" : "not known", n && n.due_missed !== 0 ? oddsOf(n) === "" ? "not known" : behind("odds", oddsOf(n)) : "",
      ...(slowing ? [n?.slowing_since ? behind("slowing", <When at={n.slowing_since} />) : ""] : []), isEnded(run) ? <>ended <Ended run={run} /></> : n ? n.expected_end ? behind("end", <End of={n} />) : <End of={n} /> : run.end.reason,
    ],
  }
}

/** The moment of the last packet by its log, and how long ago that is: up to the end of the listening by the log, since then by this clock. */
function Ago({ place, unit, no, run }: { place: string; unit: string; no: number; run: Run }) {
  const { zone } = useView()
  const last = Date.parse(run.last_heard ?? "")
  const ago = run.now ? run.now.since_last_heard_s + sinceGrown() : null
  return (
    <Num place={place} number="last" title={`${unit}, last heard`} query={{ unit, run: no, from: last, until: last }}>
      {clock(last, zone, "seconds")}{ago !== null && <span class="bounds">{span(ago)} ago</span>}
    </Num>
  )
}

function When({ at }: { at: string | null }) {
  const { zone } = useView()
  const ms = instant(at)
  return <>{ms === null ? "" : moment(ms, zone)}</>
}

function End({ of }: { of: Now }) {
  const { zone } = useView()
  const end = of.expected_end
  const best = instant(end?.best), from = instant(end?.earliest), until = instant(end?.latest)
  if (best === null) return <span class="aside">no ended run like it foretells it</span>
  return <>{moment(best, zone)}{from !== null && until !== null && <span class="aside"> ({moment(from, zone)} to {moment(passed(until), zone, from)})</span>}</>
}
