// The bars beneath a verdict: one a run, as long as its value, narrowing where its bounds lie.
import { endOfEstimate } from "./law.ts"
import { hollow, markPath, round, unitClass } from "./mark.tsx"
import type { Estimate } from "../report.gen.ts"

export interface VerdictBar {
  index: number
  value: Estimate
}

const height = 15, each = 20

/** How wide the bars of one of two verdicts are in a column of that width. */
export function barsWidth(column: number): number {
  return column >= 600 ? Math.min(430, Math.floor((column - 48) / 2)) : Math.min(430, column)
}

export function barsHeight(bars: readonly VerdictBar[]): number {
  return bars.length * each + 4
}

export function VerdictBars({ bars, width }: { bars: readonly VerdictBar[]; width: number }) {
  const ends = bars.map((b) => endOfEstimate(b.value))
  const most = Math.max(...ends.flatMap((e) => e.curve.map((p) => p.x)), 1)
  const scale = (v: number) => round(16 + (v / most) * (width - 40))
  return (
    <>
      {bars.map((b, i) => {
        const end = ends[i]
        const base = i * each + height + 3
        const last = end?.curve.at(-1)
        if (!end || !last) return null
        const outline = end.curve.map((p) => `L${scale(p.x)},${round(base - height * p.p)}`).join("")
        const tip = scale(last.x)
        return (
          <g key={i} class={unitClass(b.index)}>
            <path class={hollow(b.index) ? "hollow" : "solid"} d={markPath(b.index, 6, base - 7, 4.2)} />
            <path class="tint" d={`M16,${base}V${base - height}${outline}L${tip},${base}z`} />
            <path class="line" d={`M16,${base}V${base - height}${outline}${end.open ? `M${tip},${base - height / 2}h14m-5,-4l5,4l-5,4` : ""}`} />
            <path class="edge" d={`M16,${base}H${width}`} />
            {end.best !== null && <path class="best" d={`M${scale(end.best)},${base - height - 1}V${base}`} />}
          </g>
        )
      })}
    </>
  )
}
