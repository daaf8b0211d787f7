// Estimates as whiskers: a row a value, on a linear axis (draw) or a logarithmic one with the line of equality (ratios).
import { scaleLinear, scaleLog } from "d3-scale"
import { decimals, type Worded } from "../format.ts"
import type { Estimate } from "../report.gen.ts"
import { hollow, markPath, round, unitClass } from "./mark.tsx"
import type { Behind } from "./table.ts"
import { textWidth } from "./words.ts"

export interface WhiskerRow {
  key: string
  label: string
  index: number | null // the unit; null draws in ink
  value: Estimate
  words: Worded
  ranked: boolean
  gapBefore: boolean
  behind?: Behind | null // its packets
}

interface Axis {
  name: string
  kind: "linear" | "ratio"
  margin?: number | undefined // a ratio's margin stated beforehand, as a share: 0.05
  sides?: readonly [string, string] | undefined // who has more, below and above 1
}

const rowHeight = 30, stackedRow = 42, between = 8

function geometry(width: number) {
  const stacked = width < 720
  return { stacked, left: stacked ? 8 : Math.round(width * 0.4), right: width - 10, row: stacked ? stackedRow : rowHeight }
}

export function whiskerHeight(rows: readonly WhiskerRow[], width: number, axis: Axis): number {
  return top(axis) + rows.length * geometry(width).row + rows.filter((r) => r.gapBefore).length * between + 30
}

function top(axis: Axis): number {
  return axis.sides ? 22 : 6
}

/** The ends of the axis: every limit of what is bounded on both sides, and equality for ratios, with a little room. */
export function domainOf(rows: readonly WhiskerRow[], kind: Axis["kind"]): [number, number] {
  const closed = rows.filter((r) => r.value.low !== null && r.value.high !== null)
  const all = (closed.length > 0 ? closed : rows).flatMap((r) => [r.value.low, r.value.best, r.value.high]).filter((v): v is number => v !== null && (kind === "linear" || v > 0))
  if (kind === "ratio") {
    const least = Math.min(1, ...all), most = Math.max(1, ...all)
    return [Math.min(least / 1.08, 0.8), Math.max(most * 1.08, 1.25)]
  }
  const least = Math.min(...all), most = Math.max(...all)
  const room = (most - least || Math.abs(most) || 1) * 0.15
  return [Math.max(0, least - room), most + room]
}

const ratioTicks = [0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.25, 1.4, 1.6, 2, 3, 5, 10, 20, 50, 100]

export function Whiskers({ rows, width, axis, onOpen }: { rows: readonly WhiskerRow[]; width: number; axis: Axis; onOpen?: ((row: WhiskerRow) => void) | undefined }) {
  const { stacked, left, right, row } = geometry(width)
  const domain = domainOf(rows, axis.kind)
  const x = axis.kind === "ratio" ? scaleLog().domain(domain).range([left, right]) : scaleLinear().domain(domain).range([left, right])
  const bottom = whiskerHeight(rows, width, axis) - 28
  const ticks = axis.kind === "ratio" ? spaced(ratioTicks.filter((t) => t > domain[0] && t < domain[1]), x) : x.ticks(stacked ? 4 : 6)
  const places = axis.kind === "linear" ? placesFor(ticks) : null
  let y = top(axis)
  return (
    <>
      {axis.kind === "ratio" && axis.margin !== undefined && (
        <rect class="sunk" x={round(x(1 / (1 + axis.margin)))} y={top(axis)} width={round(x(1 + axis.margin) - x(1 / (1 + axis.margin)))} height={bottom - top(axis)} />
      )}
      {ticks.map((t) => (
        <g key={t} class="axis">
          <path class="grid" d={`M${round(x(t))},${top(axis)}V${bottom}`} />
          <path class="edge" d={`M${round(x(t))},${bottom}v5`} />
          <text x={round(x(t))} y={bottom + 18} text-anchor={x(t) > right - 14 ? "end" : x(t) < left + 14 ? "start" : "middle"}>{tickText(t, places)}</text>
        </g>
      ))}
      <path class="edge" d={`M${left},${bottom}H${right}`} />
      {!stacked && <text class="aside" x={left - 16} y={bottom + 18} text-anchor="end">{axis.name}</text>}
      {axis.kind === "ratio" && <path class="equal" d={`M${round(x(1))},${top(axis) - 2}V${bottom}`} />}
      {axis.sides && <Sides sides={axis.sides} x={x(1)} left={0} right={width} />}
      {rows.map((r) => {
        if (r.gapBefore) y += between
        const at = y
        y += row
        return <Row key={r.key} row={r} y={at} height={row} x={x} left={left} right={right} width={width} stacked={stacked} domain={domain} onOpen={onOpen} />
      })}
    </>
  )
}

function Sides({ sides, x, left, right }: { sides: readonly [string, string]; x: number; left: number; right: number }) {
  const fits = x - 10 - textWidth(sides[0]) > left && x + 10 + textWidth(sides[1]) < right
  if (!fits) return null
  return (
    <>
      <text class="aside" x={round(x - 8)} y={12} text-anchor="end">{sides[0]}</text>
      <text class="aside" x={round(x + 8)} y={12}>{sides[1]}</text>
    </>
  )
}

type Scale = (v: number) => number

function Row({ row, y, height, x, left, right, width, stacked, domain, onOpen }: {
  row: WhiskerRow; y: number; height: number; x: Scale; left: number; right: number; width: number; stacked: boolean
  domain: readonly [number, number]; onOpen?: ((row: WhiskerRow) => void) | undefined
}) {
  const middle = stacked ? y + height - 12 : y + height / 2, words = stacked ? y + 15 : middle + 4
  return (
    <g class={`${row.index === null ? "plain" : unitClass(row.index)}${onOpen && row.behind ? " opens" : ""}`} onClick={onOpen && row.behind ? () => onOpen(row) : undefined}>
      {onOpen && row.behind && <rect class="target" x={0} y={y} width={width} height={height} />}
      {row.index !== null && <path class={hollow(row.index) ? "hollow" : "solid"} d={markPath(row.index, 6, words - 4, 4.5)} />}
      <text class="halo" x={row.index === null ? 0 : 16} y={words}>{row.label}</text>
      <text class="halo" x={stacked ? width : left - 16} y={words} text-anchor="end">
        <tspan class="bold">{row.words.best}</tspan>
        {row.words.bounds && <tspan class="aside"> ({row.words.bounds})</tspan>}
      </text>
      <Whisker row={row} y={middle} x={x} left={left} right={right} domain={domain} />
    </g>
  )
}

type End = "cap" | "open" | "beyond"

/** How the whisker of a value ends on either side: at its limit, without one, or at one beyond the axis. */
export function endsOf({ low, high }: Estimate, [least, most]: readonly [number, number]): [End, End] {
  const end = (limit: number | null): End => (limit === null ? "open" : limit < least || limit > most ? "beyond" : "cap")
  return [end(low), end(high)]
}

/** What the marks at the ends mean, as far as the rows have them. */
export function endsSay(rows: readonly WhiskerRow[], kind: Axis["kind"]): string {
  const ends = rows.flatMap((r) => endsOf(r.value, domainOf(rows, kind)))
  return (ends.includes("open") ? " Arrow: no limit on that side." : "") + (ends.includes("beyond") ? " Two strokes across: the limit lies beyond the scale." : "")
}

/** The whisker: a cap at each limit, an arrow where there is none, two strokes across where it lies beyond the axis. */
function Whisker({ row, y, x, left, right, domain }: { row: WhiskerRow; y: number; x: Scale; left: number; right: number; domain: readonly [number, number] }) {
  const { low, best, high } = row.value
  if (low === null && high === null && best === null) return null
  const inside = (v: number) => Math.min(right, Math.max(left, x(v)))
  const [below, above] = endsOf(row.value, domain)
  // A limit beyond the side to which nothing is open would leave no room for either mark.
  const from = low === null ? left : Math.min(inside(low), high === null ? right - 24 : right)
  const to = high === null ? right : Math.max(inside(high), low === null ? left + 24 : left)
  const mark = (end: End, at: number, way: 1 | -1) => (end === "open" ? arrow(at, y, way) : end === "beyond" ? strokes(at, y, way) : `M${round(at)},${y - 5}v10`)
  const caps = mark(below, from, 1) + mark(above, to, -1)
  return (
    <>
      <path class={row.ranked ? "whisker" : "whisker unranked"} d={`M${round(from)},${y}H${round(to)}`} />
      <path class="whisker" d={caps} />
      {best !== null && x(best) >= left && x(best) <= right && <path class={row.ranked ? "solid" : "open"} d={markPath(row.index ?? 3, x(best), y, 5)} />}
    </>
  )
}

function arrow(x: number, y: number, way: 1 | -1): string {
  return `M${round(x + 6 * way)},${y - 4}L${round(x)},${y}L${round(x + 6 * way)},${y + 4}`
}

/** Two strokes across the line a little before its end. */
function strokes(x: number, y: number, way: 1 | -1): string {
  return [8, 12].map((d) => `M${round(x + d * way - 2)},${y + 5}l4,-10`).join("")
}

/** The fewest decimals with which every tick is written as what it is. */
export function placesFor(ticks: readonly number[]): number {
  return [0, 1, 2, 3, 4].find((p) => ticks.every((t) => Math.abs(t - Number(t.toFixed(p))) < 1e-9 * Math.max(1, Math.abs(t)))) ?? 5
}

function tickText(t: number, places: number | null): string {
  return places !== null ? decimals(t, places) : Number.isInteger(t) ? decimals(t, 0) : String(Number(t.toPrecision(3)))
}

function spaced(ticks: readonly number[], x: Scale): number[] {
  const kept: number[] = []
  for (const t of ticks) {
    const near = kept.at(-1)
    if (near === undefined || x(t) - x(near) >= 34) kept.push(t)
    else if (t === 1) kept[kept.length - 1] = 1
  }
  return kept
}
