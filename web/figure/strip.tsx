// The strip: what each unit of a test did, one lane a unit, on one axis of time.
import type { ComponentChildren } from "preact"
import { instant, moment, passed, type Measure } from "../format.ts"
import type { Event, Period } from "../report.gen.ts"
import { TimeAxis } from "./axis.tsx"
import { endOf, startOf, type ChancePoint } from "./law.ts"
import { hollow, markPath, round, unitClass } from "./mark.tsx"
import { beaconsOf, type Area } from "./slots.ts"
import { laneName, type RunLane, type Test } from "./tests.ts"
import { timeScale, type TimeScale, type Window } from "./time.ts"
import { eventLabel, placeLabels, scheduleInShort, stateName, textWidth, type Placed } from "./words.ts"

const bar = 24, tick = 18, band = 13, head = 20

/** Heights within a lane, from its top, px. */
interface Rows {
  name: number
  second: number // the second line of the name, where it splits
  event: number
  base: number
  missed: number
  band: number
  height: number
}

function rowsOf(width: number, events: boolean): Rows {
  const split = width < 720 ? 16 : 0
  const event = head + split + (events ? 16 : 4)
  const base = event + 6 + bar
  return { name: 14, second: 14 + split, event, base, missed: base + 4, band: base + 12, height: base + 12 + band + 22 }
}

export interface Letter {
  letter: string
  text: string
}

interface Flag {
  lane: number
  event: Event
  at: number
  label: string
  placed: Placed | null
  letter: string
}

/** Flags of all lanes; letters for all of them when any label finds no room or the figure is narrow. */
function flagsOf(test: Test, x: TimeScale, window: Window, width: number, zone: string): Flag[] {
  const flags: Flag[] = test.runs.flatMap((r, lane) => r.run.events
    .map((event) => ({ lane, event, at: Date.parse(event.at), label: eventLabel(event, zone), placed: null, letter: "" }))
    .filter((f) => f.at >= window[0] && f.at <= window[1]))
  flags.sort((a, b) => a.at - b.at)
  const rows = test.runs.map((_, lane) => flags.filter((f) => f.lane === lane))
  const ends = test.runs.map((r) => [endOf(r.run.end)].flatMap(({ best, open }) => (best === null || open ? [] : [x(best)])))
  const placed = rows.map((row, lane) => placeLabels(row.map((f) => ({ x: x(f.at), width: textWidth(f.label) })), 0, width, ends[lane]))
  if (width < 900 || placed.some((p) => p === null)) {
    flags.forEach((f, i) => (f.letter = letterOf(i)))
    return flags
  }
  rows.forEach((row, lane) => row.forEach((f, i) => (f.placed = placed[lane]?.[i] ?? null)))
  return flags
}

function letterOf(i: number): string {
  return i < 26 ? String.fromCharCode(97 + i) : String(i - 25)
}

/** The letters that stand in the drawing and what they mean; empty when the labels themselves found room. */
export function lettersOf(test: Test, window: Window, width: number, zone: string): Letter[] {
  return flagsOf(test, timeScale(window, width), window, width, zone).filter((f) => f.letter !== "")
    .map((f) => ({ letter: f.letter, text: `${test.runs[f.lane]?.unit ?? ""}, ${f.label}${f.event.text ? `: ${f.event.text}` : ""}` }))
}

export interface StripProps {
  test: Test
  window: Window
  width: number
  zone: string
  measure: Measure
  id: string
}

/** Which lane lies at a height of the drawing. */
export function laneAt(test: Test, width: number, y: number): number {
  const each = rowsOf(width, test.runs.some((r) => r.run.events.length > 0)).height
  return Math.max(0, Math.min(test.runs.length - 1, Math.floor(y / each)))
}

export function stripHeight(test: Test, width: number): number {
  return test.runs.length * rowsOf(width, test.runs.some((r) => r.run.events.length > 0)).height + 26
}

/** The drawing itself, as the content of an svg of stripHeight. */
export function Strip({ test, window, width, zone, measure, id }: StripProps) {
  const x = timeScale(window, width)
  const rows = rowsOf(width, test.runs.some((r) => r.run.events.length > 0))
  const flags = flagsOf(test, x, window, width, zone)
  return (
    <>
      <Patterns id={id} />
      {test.runs.map((r, i) => (
        <g key={`${r.unit} ${r.no}`} class={unitClass(r.index)} transform={`translate(0,${i * rows.height})`}>
          <LaneName test={test} lane={r} rows={rows} width={width} zone={zone} measure={measure} />
          <Bar lane={r} rows={rows} x={x} width={width} />
          <BeaconMarks lane={r} rows={rows} x={x} window={window} />
          <Band periods={r.run.periods} rows={rows} x={x} width={width} id={id} />
          <Silences lane={r} rows={rows} x={x} id={id} />
          <BestEnd lane={r} rows={rows} x={x} />
          {flags.filter((f) => f.lane === i).map((f, k) => <FlagMark key={k} flag={f} rows={rows} x={x(f.at)} />)}
        </g>
      ))}
      <TimeAxis window={window} width={width} y={test.runs.length * rows.height + 2} zone={zone} />
    </>
  )
}

/** The hatchings; ids are the figure's own, so that several figures on a page keep theirs. */
export function Patterns({ id }: { id: string }) {
  return (
    <defs>
      <pattern id={`${id}-moving`} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
        <path class="hatch" d="M0,0V6" />
      </pattern>
      <pattern id={`${id}-silent`} width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
        <path class="hatch" d="M0,0V5" />
      </pattern>
      <pattern id={`${id}-unknown`} width="4" height="4" patternUnits="userSpaceOnUse">
        <circle class="dots" cx="1" cy="1" r="0.8" />
        <circle class="dots" cx="3" cy="3" r="0.8" />
      </pattern>
    </defs>
  )
}

function LaneName({ test, lane, rows, width, zone, measure }: { test: Test; lane: RunLane; rows: Rows; width: number; zone: string; measure: Measure }) {
  const schedule = scheduleInShort(lane.run.schedule, measure)
  const name = laneName(test, lane)
  const wide = rows.second === rows.name
  return (
    <>
      <path class={hollow(lane.index) ? "hollow" : "solid"} d={markPath(lane.index, 6, rows.name - 5, 4.5)} />
      <text class="name" x={16} y={rows.name}>{name}</text>
      <text class="aside" x={wide ? 24 + name.length * 8 : 0} y={rows.second}>{wide ? schedule : cut(schedule, width)}</text>
      <text class="halo" x={width} y={rows.name} text-anchor="end">{endWords(lane, zone, wide)}</text>
    </>
  )
}

function cut(text: string, width: number): string {
  const most = Math.floor(width / 6.3)
  return text.length > most ? text.slice(0, most - 1) + "\u2026" : text
}

/** How the run ended; the day stands wherever it is not the one before in the line, and not that of the start. */
function endWords(lane: RunLane, zone: string, wide: boolean): ComponentChildren {
  const { start, end, last_heard } = lane.run
  const began = instant(start.best) ?? instant(lane.run.first_heard), last = instant(last_heard), best = instant(end.best)
  const heard = last === null ? "" : `last heard ${moment(last, zone, began)}`
  const said = wide && last !== null ? last : began
  const from = instant(end.earliest), until = instant(end.latest)
  if (until === null || best === null) {
    const least = from ?? last
    return least === null ? heard : <>{wide && heard ? `${heard}, ` : ""}on the air until at least <tspan class="bold">{moment(least, zone, said)}</tspan></>
  }
  const bounds = from === null || from === until ? "" : ` (${moment(from, zone, best)} to ${moment(passed(until), zone, best)})`
  return <>{wide && heard ? `${heard}, ` : ""}ended <tspan class="bold">{moment(best, zone, said)}</tspan><tspan class="aside">{bounds}</tspan></>
}

/** The tinted bar: full while the unit was surely on the air, as high as the chance of it elsewhere. */
function Bar({ lane, rows, x, width }: { lane: RunLane; rows: Rows; x: TimeScale; width: number }) {
  const start = startOf(lane.run.start), end = endOf(lane.run.end)
  const first = start[0] ?? end.curve[0], last = end.curve.at(-1) ?? start.at(-1)
  if (!first || !last) return <path class="edge" d={`M0,${rows.base}H${width}`} />
  const corner = (p: ChancePoint) => `${round(x(p.x))},${round(rows.base - bar * p.p)}`
  const outline = [...start, ...end.curve].map(corner).join("L")
  const to = round(x(last.x))
  const rising = start.length > 1 ? "" : `V${rows.base - bar}`
  return (
    <>
      <path class="tint" d={`M${round(x(first.x))},${rows.base}${rising}L${outline}L${to},${rows.base}z`} />
      <path class="line" d={`M${round(x(first.x))},${rows.base}${rising}L${outline}${end.open ? "" : `L${to},${rows.base}`}`} />
      {lane.run.start.earliest === null && start[0] && <path class="line" d={`M${round(x(start[0].x))},${rows.base - bar / 2}h-14m5,-4l-5,4l5,4`} />}
      {end.open && <path class="line" d={`M${to},${rows.base - bar / 2}h14m-5,-4l5,4l-5,4`} />}
      <path class="edge" d={`M0,${rows.base}H${width}`} />
    </>
  )
}

function BeaconMarks({ lane, rows, x, window }: { lane: RunLane; rows: Rows; x: TimeScale; window: Window }) {
  if (!lane.lane) return null
  const found = beaconsOf(lane.lane, x, window)
  const ticks = found.ticks.map((at) => `M${round(x(at))},${rows.base}v${-tick}`).join("")
  const missed = found.missed.map((at) => `M${round(x(at))},${rows.missed}v5`).join("")
  return (
    <>
      {found.areas.map((area, i) => <path key={i} class="many" d={stepped(area, x, rows.base)} />)}
      {ticks && <path class="sent" d={ticks} />}
      {missed && <path class="missed" d={missed} />}
    </>
  )
}

function stepped(area: Area, x: TimeScale, base: number): string {
  const steps = area.map((b) => `V${round(base - tick * b.share)}H${round(x(b.to))}`).join("")
  return `M${round(x(area[0]?.from ?? 0))},${base}${steps}V${base}z`
}

function Band({ periods, rows, x, width, id }: { periods: readonly Period[]; rows: Rows; x: TimeScale; width: number; id: string }) {
  return (
    <>
      {periods.map((p, i) => {
        const from = Math.max(-2, x(Date.parse(p.start))), to = Math.min(width + 2, x(Date.parse(p.end)))
        if (to <= from) return null
        const fill = p.state === "stationary" ? {} : { fill: `url(#${id}-${p.state})` }
        const word = stateName(p.state)
        return (
          <g key={i}>
            <rect class={`band ${p.state}${p.inferred ? " inferred" : ""}`} x={round(from)} y={rows.band} width={round(to - from)} height={band} {...fill} />
            {width >= 600 && to - from > textWidth(word) + 10 && <text class="inband halo" x={round(Math.max(0, from) + 8)} y={rows.band + 11}>{word}</text>}
          </g>
        )
      })}
    </>
  )
}

function Silences({ lane, rows, x, id }: { lane: RunLane; rows: Rows; x: TimeScale; id: string }) {
  const top = rows.base - bar, bottom = rows.band + band
  return (
    <>
      {(lane.lane?.silent ?? []).map((s) => (
        <g key={s.start}>
          <rect x={round(x(s.start))} y={top} width={round(x(s.end) - x(s.start))} height={bottom - top} fill={`url(#${id}-silent)`} />
          <path class="silent" d={`M${round(x(s.start))},${top}V${bottom}M${round(x(s.end))},${top}V${bottom}`} />
        </g>
      ))}
    </>
  )
}

/** Triangle and stem at the best end; an upright where somebody noted it. */
function BestEnd({ lane, rows, x }: { lane: RunLane; rows: Rows; x: TimeScale }) {
  const { best, open } = endOf(lane.run.end)
  if (best === null || open) return null
  const at = round(x(best)), top = rows.base - bar
  return (
    <>
      <path class="stem" d={`M${at},${top - 2}V${rows.base}`} />
      <path class="solid" d={`M${at - 4},${top - 9}h8l-4,7z`} />
    </>
  )
}

function FlagMark({ flag, rows, x }: { flag: Flag; rows: Rows; x: number }) {
  const at = round(x), y = rows.event - 9
  const noted = flag.event.basis !== "suspected"
  return (
    <g class="flag">
      <path class="pole" d={`M${at},${y}V${rows.base}`} />
      {flag.letter
        ? <><circle class={noted ? "letter" : "letter suspect"} cx={at} cy={y} r="8" /><text class="lettered" x={at} y={y + 4} text-anchor="middle">{flag.letter}</text></>
        : <path class={noted ? "noted" : "suspected"} d={`M${at},${y}h7v6h-7z`} />}
      {flag.placed && (
        <text class="halo" x={flag.placed.side === "right" ? at + 11 : at - 5} y={y + 8} text-anchor={flag.placed.side === "right" ? "start" : "end"}>
          {flag.label}
        </text>
      )}
    </g>
  )
}
