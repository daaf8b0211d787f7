// Zooming the figures of a test: the same by buttons, keys and drag, and for all its figures at once.
import type { Test } from "../figure/tests.ts"
import { panned, timeScale, zoomed, type Window } from "../figure/time.ts"
import { zoom } from "../state/selection.ts"
import { dragged } from "./dragged.ts"

function show(test: Test, to: Window) {
  const all = to[0] <= test.whole[0] && to[1] >= test.whole[1]
  zoom(test.key, all ? null : to)
}

export function ZoomTools({ test, window }: { test: Test; window: Window }) {
  const middle = (window[0] + window[1]) / 2
  const all = window === test.whole
  return (
    <span class="zoomtools" role="group" aria-label={`Zoom, ${test.name}`}>
      <button class="bare" type="button" aria-label="Earlier" disabled={all} onClick={() => show(test, panned(window, test.whole, -0.5))}>{"\u2039"}</button>
      <button class="bare" type="button" aria-label="Later" disabled={all} onClick={() => show(test, panned(window, test.whole, 0.5))}>{"\u203a"}</button>
      <button class="bare" type="button" aria-label="Zoom in" onClick={() => show(test, zoomed(window, test.whole, 0.5, middle))}>+</button>
      <button class="bare" type="button" aria-label="Zoom out" disabled={all} onClick={() => show(test, zoomed(window, test.whole, 2, middle))}>{"\u2212"}</button>
      <button class="bare" type="button" disabled={all} onClick={() => show(test, test.whole)}>All<span class="sr"> of {test.name}</span></button>
    </span>
  )
}

/** The handlers of a drawing that can be zoomed. Keys work only while it has the focus. */
export function plotOf(test: Test, window: Window, width: number, pointed?: (at: number, y: number) => void): Record<string, unknown> {
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
      show(test, move())
    },
    ...dragged((from, to) => {
      const a = x.invert(Math.min(from, to)), b = x.invert(Math.max(from, to))
      if (b - a >= 60_000) show(test, [Math.max(a, test.whole[0]), Math.min(b, test.whole[1])])
    }, pointed && ((px, py) => pointed(x.invert(px), py))),
  }
}
