// Zooming the figures of a test: the same by buttons, keys and drag, and for all its figures at once.
import { nameWithin, type Test } from "../figure/tests.ts"
import { panned, shortest, timeScale, zoomed, type Window } from "../figure/time.ts"
import { said, zoom } from "../state/selection.ts"
import { dragged } from "./dragged.ts"

function show(test: Test, to: Window, zone: string) {
  const all = to[0] <= test.whole[0] && to[1] >= test.whole[1]
  zoom(test.key, all ? null : to)
  said.value = `Shown: ${all ? test.name : nameWithin(test, to, zone)}`
}

export function ZoomTools({ test, window, zone }: { test: Test; window: Window; zone: string }) {
  const to = (next: Window) => () => show(test, next, zone)
  const middle = (window[0] + window[1]) / 2
  const all = window === test.whole
  return (
    <span class="zoomtools" role="group" aria-label={`Zoom, ${test.name}`}>
      <button class="bare" type="button" aria-label="Earlier" disabled={all} onClick={to(panned(window, test.whole, -0.5))}>{"\u2039"}</button>
      <button class="bare" type="button" aria-label="Later" disabled={all} onClick={to(panned(window, test.whole, 0.5))}>{"\u203a"}</button>
      <button class="bare" type="button" aria-label="Zoom in" onClick={to(zoomed(window, test.whole, 0.5, middle))}>+</button>
      <button class="bare" type="button" aria-label="Zoom out" disabled={all} onClick={to(zoomed(window, test.whole, 2, middle))}>{"\u2212"}</button>
      <button class="bare" type="button" disabled={all} onClick={to(test.whole)}>All<span class="sr"> of {test.name}</span></button>
    </span>
  )
}

/** The handlers of a drawing that can be zoomed. Keys work only while it has the focus. */
export function plotOf(test: Test, window: Window, width: number, zone: string, pointed?: (at: number, y: number) => void): Record<string, unknown> {
  const x = timeScale(window, width)
  const middle = (window[0] + window[1]) / 2
  const keys: Record<string, () => Window> = {
    ArrowLeft: () => panned(window, test.whole, -0.2), ArrowRight: () => panned(window, test.whole, 0.2),
    "+": () => zoomed(window, test.whole, 0.5, middle), "=": () => zoomed(window, test.whole, 0.5, middle),
    "-": () => zoomed(window, test.whole, 2, middle), "0": () => test.whole,
  }
  return {
    onKeyDown: (e: KeyboardEvent) => {
      const move = keys[e.key]
      if (!move || e.ctrlKey || e.metaKey || e.altKey) return
      e.preventDefault()
      show(test, move(), zone)
    },
    ...dragged((from, to) => {
      const a = x.invert(Math.min(from, to)), b = x.invert(Math.max(from, to))
      const middle = (a + b) / 2, half = Math.max(b - a, shortest) / 2
      show(test, [Math.max(middle - half, test.whole[0]), Math.min(middle + half, test.whole[1])], zone)
    }, pointed && ((px, py) => pointed(x.invert(px), py))),
  }
}
