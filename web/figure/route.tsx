// The way of a run on a local grid of metres, without a map: the recorded track, where nothing was recorded, and where the
// unit beaconed. East and north are drawn alike; a scale bar and the grid tell the size.
import { distance, type Measure } from "../format.ts"
import type { Lane, Spot } from "../report.gen.ts"
import { hollow, markPath, round, unitClass } from "./mark.tsx"
import { textWidth } from "./words.ts"

/** How metres lie on the drawing: px for a metre, and where the origin stands. */
export interface Ground {
  perMetre: number
  x: number
  y: number
  grid: number // metres between lines
}

const room = 18
const steps = [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000]

export function spotsOf(lane: Lane): Spot[] {
  return [...lane.way, ...lane.places]
}

/** Fits all spots into a drawing of that width, at most as high as three quarters of it. */
export function groundOf(spots: readonly Spot[], width: number): Ground & { height: number } {
  const bounds = { west: 0, east: 0, south: 0, north: 0 }
  for (const s of spots) {
    bounds.west = Math.min(bounds.west, s.east_m)
    bounds.east = Math.max(bounds.east, s.east_m)
    bounds.south = Math.min(bounds.south, s.north_m)
    bounds.north = Math.max(bounds.north, s.north_m)
  }
  const wide = Math.max(20, bounds.east - bounds.west), high = Math.max(20, bounds.north - bounds.south)
  const perMetre = Math.min((width - 2 * room) / wide, (Math.max(240, width * 0.6) - 2 * room) / high)
  const height = Math.max(160, Math.ceil(high * perMetre + 2 * room))
  const grid = steps.find((s) => s * perMetre >= 56) ?? 100_000
  return {
    perMetre, grid, height, x: (width - wide * perMetre) / 2 - bounds.west * perMetre, y: (height - high * perMetre) / 2 + bounds.north * perMetre,
  }
}

interface Props {
  lane: Lane
  index: number
  width: number
  measure: Measure
}

export function Route({ lane, index, width, measure }: Props) {
  const ground = groundOf(spotsOf(lane), width)
  const at = (s: Spot): [number, number] => [ground.x + s.east_m * ground.perMetre, ground.y - s.north_m * ground.perMetre]
  const first = lane.way[0] ?? lane.places[0], last = lane.way.at(-1) ?? lane.places.at(-1)
  return (
    <g class={unitClass(index)}>
      <Grid ground={ground} width={width} />
      <path class="track" d={path(lane.way, at, "recorded")} />
      <path class="track unrecorded" d={path(lane.way, at, "not recorded")} />
      <path class={hollow(index) ? "hollow" : "solid"} d={lane.places.filter((s) => !s.corner).map((s) => markPath(index, ...at(s), 2.6)).join("")} />
      <path class="hollow" d={lane.places.filter((s) => s.corner).map((s) => markPath(index, ...at(s), 4)).join("")} />
      {first && <EndMark at={at(first)} name="start" width={width} />}
      {first && last && apart(at(first), at(last)) && <EndMark at={at(last)} name="end" width={width} />}
      <ScaleBar ground={ground} at={emptiest(spotsOf(lane).map(at), ground, width)} measure={measure} />
    </g>
  )
}

function apart(a: readonly [number, number], b: readonly [number, number]): boolean {
  return Math.hypot(a[0] - b[0], a[1] - b[1]) > 24
}

/** The track as a path: its recorded stretches, or the straight lines over stretches without a record. */
function path(way: readonly Spot[], at: (s: Spot) => [number, number], which: "recorded" | "not recorded"): string {
  let d = ""
  way.forEach((s, i) => {
    const [x, y] = at(s)
    const before = way[i - 1]
    if (which === "recorded") d += `${!before || s.gap ? "M" : "L"}${round(x)},${round(y)}`
    else if (before && s.gap) d += `M${at(before).map(round).join(",")}L${round(x)},${round(y)}`
  })
  return d
}

function Grid({ ground, width }: { ground: Ground & { height: number }; width: number }) {
  const step = ground.grid * ground.perMetre
  let d = ""
  for (let x = ground.x % step; x < width; x += step) if (x > 0) d += `M${round(x)},0V${ground.height}`
  for (let y = ground.y % step; y < ground.height; y += step) if (y > 0) d += `M0,${round(y)}H${width}`
  return (
    <>
      <path class="grid" d={d} />
      <rect class="band" x="0.5" y="0.5" width={width - 1} height={ground.height - 1} />
    </>
  )
}

function EndMark({ at, name, width }: { at: readonly [number, number]; name: string; width: number }) {
  const left = at[0] + textWidth(name) + 12 > width
  return (
    <>
      <path class="inkfill" d={`M${round(at[0] - 4)},${round(at[1] - 4)}h8v8h-8z`} />
      <text class="halo" x={round(at[0] + (left ? -8 : 8))} y={round(at[1] + 14)} text-anchor={left ? "end" : "start"}>{name}</text>
    </>
  )
}

/** One grid step as a bar with its length, and north. */
function ScaleBar({ ground, at, measure }: { ground: Ground; at: readonly [number, number]; measure: Measure }) {
  const length = round(ground.grid * ground.perMetre)
  return (
    <g transform={`translate(${round(at[0])},${round(at[1])})`}>
      <text class="halo" x={4} y={13} text-anchor="middle">N</text>
      <path class="ink" d="M18,15V1m-4,5l4,-5l4,5" />
      <path class="inkfill" d={`M34,7h${length / 2}v5h${-length / 2}z`} />
      <path class="ink" d={`M34,7h${length}v5h${-length}z`} />
      <text class="halo" x={34 + length} y={27} text-anchor="end">{distance(ground.grid, measure)}</text>
    </g>
  )
}

/** The corner for the scale bar: the one furthest from every spot. */
function emptiest(spots: readonly (readonly [number, number])[], ground: Ground & { height: number }, width: number): [number, number] {
  const wide = 34 + ground.grid * ground.perMetre, high = 30
  const corners: [number, number][] = [[width - wide - 12, 8], [12, 8], [width - wide - 12, ground.height - high - 6], [12, ground.height - high - 6]]
  const free = ([cx, cy]: [number, number]) => spots.reduce((least, [x, y]) => {
    const dx = Math.max(cx - x, 0, x - cx - wide), dy = Math.max(cy - y, 0, y - cy - high)
    return Math.min(least, Math.hypot(dx, dy))
  }, Infinity)
  return corners.reduce((best, c) => (free(c) > free(best) + 1 ? c : best))
}
