// Who was heard, and which of them become units.
import { count, gap, listed, many, stretch } from "../format.ts"
import type { Bench, Match } from "../bench.gen.ts"
import type { Station } from "../report.gen.ts"
import { UnitName } from "../figure/mark.tsx"
import { withUnits } from "../state/edits.ts"
import { fold, said, stationsShown } from "../state/selection.ts"
import { bench, changeBench } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { Num } from "./number.tsx"
import { Part } from "./part.tsx"
import { Table, type Head } from "./table.tsx"

export function Stations() {
  const { report, live, bench } = useView()
  if (report.stations_all === 0) return null
  const units = bench.units?.length ?? 0
  const unassigned = report.units.reduce((n, u) => n + u.unassigned, 0)
  const line = (
    <>
      {many(report.stations_all, "station")}{units > 0 ? `, ${many(units, "unit")} among them.` : "."}
      {unassigned > 0 && ` ${many(unassigned, "packet")} of ${units === 1 ? "its" : "their"} call signs ${unassigned === 1 ? "belongs" : "belong"} to no unit.`}
    </>
  )
  return (
    <Part id="stations" name="Stations heard" line={line} foldable folded={units > 0}>
      {live && <Proposals />}
      <StationTable />
    </Part>
  )
}

type Wanted = { name: string; match: readonly Match[] }

function make(found: readonly Wanted[]) {
  changeBench(found.length === 1 ? `make ${found[0]?.name} a unit` : `make ${many(found.length, "unit")}`, withUnits(bench.value, found))
  said.value = `${listed(found.map((f) => f.name))} made ${found.length === 1 ? "a unit" : "units"}`
}

/** The units that the evidence suggests, with one click to make them. */
function Proposals() {
  const { report } = useView()
  const taken = new Set((report.units).map((u) => u.name))
  const strong = report.proposals.filter((p) => p.strong && !taken.has(p.name))
  if (strong.length === 0 || report.units.length > 0) return null
  return (
    <div class="proposals">
      <p class="lead">{strong.length === 1 ? "One of them beacons like a unit under test." : `${count(strong.length)} of them beacon like units under test.`}</p>
      <ul>{strong.slice(0, 8).map((p) => <li key={p.name}><b>{p.name}</b>: {p.text}</li>)}</ul>
      {strong.length > 8 && <p class="note">And {count(strong.length - 8)} more, in the table below.</p>}
      <div class="buttons">
        <button class="filled" type="button" onClick={() => make(strong.slice(0, 8))}>
          {strong.length === 1 ? "Make a unit of it" : `Make ${strong.length === 2 ? "units of these two" : `units of these ${Math.min(8, strong.length)}`}`}
        </button>
      </div>
    </div>
  )
}

const heads: Head[] = [
  { name: "Station" }, { name: "Comment", kind: "grow" }, { name: "Heard", kind: "num" }, { name: "Copies", kind: "num" }, { name: "Transmissions", kind: "num" },
  { name: "Typical interval", kind: "num" }, { name: "First to last" }, { name: "Unit" },
]

function behind({ station, heard }: Station, number: string, text: string) {
  return <Num place={`station ${station}`} number={number} title={`${station}, heard ${many(heard, "time")}`} query={{ stations: [station] }}>{text}</Num>
}

function StationTable() {
  const { report, zone, live } = useView()
  const most = live ? stationsShown.value : 40
  const shown = [...report.stations].sort((a, b) => Number(b.units.length > 0) - Number(a.units.length > 0) || b.heard - a.heard || (a.station < b.station ? -1 : 1)).slice(0, most)
  const lines = shown.map((s) => ({
    key: s.station, place: `station ${s.station}`,
    cells: [
      <span class="file">{s.station}</span>,
      s.comments.length > 0 ? <Comments of={s.comments} /> : <span class="aside">{s.comment_sample ? `differs each time; first: ${s.comment_sample}` : "no comment"}</span>,
      behind(s, "heard", count(s.heard)),
      s.duplicates > 0 ? behind(s, "copies", count(s.duplicates)) : "0", behind(s, "transmissions", count(s.transmissions)),
      s.typical_interval_s === null ? <span class="aside">too few</span> : behind(s, "interval", gap(s.typical_interval_s)),
      behind(s, "stretch", stretch(s.first, s.last, zone)),
      s.units.length > 0 || live ? <UnitsOf station={s} /> : null,
    ],
  }))
  return (
    <>
      <Table caption="Stations heard" heads={heads} groups={[{ key: "stations", name: null, lines }]} />
      {report.stations.length > most && live && (
        <div class="buttons"><button class="outline" type="button" onClick={() => (stationsShown.value = Math.min(report.stations.length, most * 4))}>Show {count(Math.min(report.stations.length, most * 4))} of {count(report.stations.length)}</button></div>
      )}
      {report.stations_all > report.stations.length && <p class="note">The {count(report.stations.length)} heard most of {count(report.stations_all)} are listed; the packets export holds all.</p>}
    </>
  )
}

function Comments({ of }: { of: readonly string[] }) {
  const first = of.slice(0, 3).join("; ")
  return <>{first}{of.length > 3 && <span class="aside"> and {of.length - 3} more</span>}</>
}

function UnitsOf({ station }: { station: Station }) {
  const { report, live } = useView()
  const rest = live ? byComment(station, bench.value) : []
  if (station.units.length > 0) {
    return <>{station.units.map((name) => <UnitName key={name} name={name} index={report.units.findIndex((u) => u.name === name)} />)}
      {rest.map((p) => <MakeUnits key={p.name} found={[p]}>{`Make “${p.name}” a unit`}</MakeUnits>)}</>
  }
  if (!live) return <></>
  const found = report.proposals.filter((p) => p.match.some((m) => m.station === station.station))
  const proposals = found.length > 0 ? found : [{ name: station.station, match: [{ station: station.station }] }]
  return <>
    <MakeUnits found={proposals} of={station.station}>{proposals.length > 1 ? `Make ${proposals.length} units` : "Make a unit"}</MakeUnits>
    {rest.length > 1 && proposals.length === 1 && <MakeUnits found={rest} of={station.station}>{`Make ${rest.length}, by comment`}</MakeUnits>}
  </>
}

function MakeUnits({ found, of, children }: { found: readonly Wanted[]; of?: string; children: string }) {
  return <button class="outline" type="button" onClick={() => (fold("stations", false), make(found))}>{children}{of && <span class="sr"> of {of}</span>}</button>
}

/** A unit for each comment of a station that no unit's rule takes; none where a comment differs from packet to packet. */
function byComment({ station, comments }: Station, { units }: Bench): Wanted[] {
  if (comments.length < 2 || comments.length > 4) return []
  const rules = (units ?? []).flatMap((u) => u.match ?? []).filter((m) => m.station === station)
  return comments.filter((c) => !rules.some((m) => c.includes(m.comment ?? ""))).map((comment) => ({ name: comment.slice(0, 24), match: [{ station, comment }] }))
}
