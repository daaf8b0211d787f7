// The key of the strip: only what the figure holds.
import type { ComponentChildren } from "preact"
import type { Test } from "../figure/tests.ts"

export function Key({ test, id }: { test: Test; id: string }) {
  const states = new Set(test.runs.flatMap((r) => r.run.periods.map((p) => p.state)))
  const bases = new Set(test.runs.flatMap((r) => r.run.events.map((e) => e.basis)))
  const missed = test.runs.some((r) => (r.lane?.missed.length ?? 0) > 0)
  const silent = test.runs.some((r) => (r.lane?.silent.length ?? 0) > 0)
  const ended = test.runs.some((r) => r.run.end.latest !== null)
  return (
    <ul class="key" aria-label="Key">
      <Entry name="a transmission heard"><path class="ink" d="M3,2V12M9,2V12M15,2V12" /></Entry>
      <Entry name="many: height is the share heard"><path class="inkfill" d="M0,12V5H6V3H10V7H14V4H20V12z" /></Entry>
      {missed && <Entry name="due, not heard"><path class="edge" d="M0,3H20" /><path class="ink" d="M6,5V10M13,5V10" /></Entry>}
      <Entry name="a bound: height is the chance it was on the air"><path class="plainbar" d="M0,12V2H8C14,3 14,11 20,12z" /></Entry>
      {states.has("stationary") && <Entry name="stationary"><rect class="band" x="0.5" y="3" width="19" height="8" /></Entry>}
      {states.has("moving") && <Entry name="moving"><rect class="band" x="0.5" y="3" width="19" height="8" fill={`url(#${id}-moving)`} /></Entry>}
      {states.has("unknown") && <Entry name="not known"><rect class="band" x="0.5" y="3" width="19" height="8" fill={`url(#${id}-unknown)`} /></Entry>}
      {silent && <Entry name="recorder silent"><rect x="0" y="1" width="20" height="12" fill={`url(#${id}-silent)`} /></Entry>}
      {bases.has("noted") && <Entry name="event, noted"><path class="inkfill" d="M4,2h7v6h-7zM3.5,2h1V13h-1z" /></Entry>}
      {bases.has("suspected") && <Entry name="event, suspected"><path class="ink" d="M4,2h7v6h-7zM4,2V13" /></Entry>}
      {ended && <Entry name="end, best"><path class="inkfill" d="M5,1h8l-4,7z" /><path class="ink" d="M9,7V13" /></Entry>}
    </ul>
  )
}

function Entry({ name, children }: { name: string; children: ComponentChildren }) {
  return <li><svg class="figure keymark" width="20" height="14" viewBox="0 0 20 14" aria-hidden="true">{children}</svg>{name}</li>
}
