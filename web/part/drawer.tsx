// The drawer beneath a line: the packets behind an opened number, with file, line, time, the text as received, and why it
// counted. Beacons that were due and not heard stand among them.
import { useEffect, useRef, useState } from "preact/hooks"
import type { PacketRow } from "../client.ts"
import { clock, count, day, many, zoneName } from "../format.ts"
import { saveAs } from "../figure/save.ts"
import { engine, report } from "../state/engine.ts"
import { close, opened, type Opened } from "../state/selection.ts"
import { useView } from "../view.ts"

export function Drawer({ place, columns }: { place: string; columns?: number }) {
  const now = opened.value
  if (now?.place !== place) return null
  const inside = <div onKeyDown={(e) => e.key === "Escape" && closeToNumber()}><Packets key={now.number} of={now} /></div>
  return columns === undefined ? <div class="drawer">{inside}</div> : (
    <tr role="row" class="drawer"><td role="cell" colSpan={columns}>{inside}</td></tr>
  )
}

/** Closes the drawer and takes the reader back to the number, or to the tools of the figure in which it was pointed at. */
function closeToNumber() {
  const number = document.querySelector<HTMLElement>('button.num[aria-expanded="true"]') ?? document.querySelector(".fig:has(> .drawer)")?.querySelector<HTMLElement>(".figtools button:not(:disabled)")
  close()
  number?.focus()
}

interface Shown {
  at: number | null
  row: PacketRow | null // null: due and not heard
}

const page = 40

function Packets({ of }: { of: Opened }) {
  const { zone } = useView()
  const [rows, take] = useState<PacketRow[] | string | null>(null)
  const [from, turn] = useState(0)
  const heading = useRef<HTMLParagraphElement>(null)
  const version = report.value
  useEffect(() => {
    let wanted = true
    const asked = engine()?.packets(of.query) ?? Promise.resolve([])
    asked.then((found) => wanted && take(found), (reason: Error) => wanted && take(reason.message))
    return () => void (wanted = false)
  }, [of, version])
  useEffect(() => heading.current?.focus(), [])
  const all = typeof rows === "object" && rows ? merged(rows, of.missed, of.query.limit) : []
  const shown = all.slice(from, from + page)
  return (
    <>
      <div class="drawerhead">
        <p class="drawertitle" ref={heading} tabIndex={-1}>{of.title}{all.length > page && `; ${count(from + 1)} to ${count(Math.min(from + page, all.length))} of ${count(all.length)}`}</p>
        <div class="tools">
          {all.length > page && <button class="bare" type="button" disabled={from === 0} onClick={() => turn(Math.max(0, from - page))}>Earlier</button>}
          {all.length > page && <button class="bare" type="button" disabled={from + page >= all.length} onClick={() => turn(from + page)}>Later</button>}
          {all.length > 0 && <button class="bare" type="button" onClick={() => saveAs("packets.txt", "text/plain", rawText(all))}>Export</button>}
          <button class="outline" type="button" onClick={closeToNumber}>Close</button>
        </div>
      </div>
      {rows === null && <p class="note">Looking them up.</p>}
      {typeof rows === "string" && <p class="note">The engine did not give them: {rows}</p>}
      {rows !== null && typeof rows !== "string" && all.length === 0 && <p class="note">No packet stands behind this number.</p>}
      {shown.length > 0 && <PacketTable shown={shown} zone={zone} />}
      {typeof rows === "object" && rows && rows.length >= of.query.limit && <p class="note">Only the first {many(of.query.limit, "line")} were looked at; the packets export under Save holds all.</p>}
    </>
  )
}

function PacketTable({ shown, zone }: { shown: readonly Shown[]; zone: string }) {
  const spansDays = new Set(shown.map((s) => (s.at === null ? "" : day(s.at, zone)))).size > 1
  return (
    <table role="table" class="lines packets" aria-label="Packets">
      <thead role="rowgroup">
        <tr role="row">
          <th role="columnheader" scope="col">Time, {zoneName(zone)}</th>
          <th role="columnheader" scope="col">File and line</th>
          <th role="columnheader" scope="col" class="grow">As received</th>
          <th role="columnheader" scope="col">Reading</th>
        </tr>
      </thead>
      <tbody role="rowgroup">
        {shown.map(({ at, row }, i) => (
          <tr key={i} role="row" class={row ? "" : "absent"}>
            <td role="cell">{at === null ? "no time" : `${spansDays ? day(at, zone) + " " : ""}${clock(at, zone, "seconds")}`}</td>
            <td role="cell">{row ? <span class={row.file.length < 24 ? "whole" : ""}>{row.file} {count(row.line)}</span> : "no line"}</td>
            <td role="cell" class="raw">{row ? visible(row.raw) || <span class="aside">its text is not kept</span> : ""}</td>
            <td role="cell">{row ? <Why row={row} /> : "due, not heard"}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

const whys: Record<PacketRow["why"], string> = {
  counted: "counted", copy: "a copy", internet: "came by internet: heard, no transmission", untimed: "without a time, so it counts for nothing",
  unassigned: "belongs to no unit", again: "stood already", "not used": "not used",
}

function Why({ row }: { row: PacketRow }) {
  const what = whys[row.why] ?? row.why
  const which = `${row.unit} no. ${count(row.transmission)}`
  if (row.why === "counted") return <><b>{what}</b>, {which}</>
  if (row.why === "copy") return <>{what} of {which}</>
  return <>{what}{row.of && <> in {row.of.file} {count(row.of.line)}</>}</>
}

/** The packets in order of time; where missed beacons were asked for, those with the packets on either side of each. */
export function merged(rows: readonly PacketRow[], missed: readonly number[] | undefined, limit: number): Shown[] {
  const shown: Shown[] = rows.map((row) => ({ at: row.at === null ? null : Date.parse(row.at), row }))
  if (!missed) return shown
  const last = rows.length < limit ? Infinity : shown.at(-1)?.at ?? 0
  for (const at of missed) if (at <= last) shown.push({ at, row: null })
  shown.sort((a, b) => (a.at ?? 0) - (b.at ?? 0))
  return shown.filter((s, i) => s.row === null || shown[i - 1]?.row === null || shown[i + 1]?.row === null)
}

/** A line as received, with characters that have no shape written as their codes. */
export function visible(raw: string): string {
  return raw.replace(/[\u0000-\u001f\u007f-\u009f]/g, (c) => "\\x" + c.charCodeAt(0).toString(16).padStart(2, "0"))
}

function rawText(all: readonly Shown[]): string {
  return all.flatMap(({ row }) => (row ? [row.raw] : [])).join("\n") + "\n"
}
