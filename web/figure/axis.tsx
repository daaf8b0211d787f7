// The axis of time under a figure.
import { zoneName } from "../format.ts"
import { round } from "./mark.tsx"
import { ticks, timeScale, type Window } from "./time.ts"
import { textWidth } from "./words.ts"

export function TimeAxis({ window, width, y, zone }: { window: Window; width: number; y: number; zone: string }) {
  const x = timeScale(window, width)
  const name = zoneName(zone)
  return (
    <g class="axis">
      <path class="edge" d={`M0,${y}H${width}`} />
      {ticks(window, width, zone, textWidth(name)).map((t) => (
        <g key={t.at}>
          <path class="edge" d={`M${round(x(t.at))},${y}v5`} />
          {t.text && <text x={round(x(t.at))} y={y + 18} text-anchor="middle">{t.text}</text>}
        </g>
      ))}
      <text x={width} y={y + 18} text-anchor="end">{name}</text>
    </g>
  )
}
