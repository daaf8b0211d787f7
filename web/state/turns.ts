// What the sheet draws for the first time takes turns, so that no frame lasts long: a sheet of ten units would take a third of a second
// in one.
import { signal } from "@preact/signals"

/** Whether something still waits for its turn. */
export const drawing = signal(false)

type Turn = () => void

const waiting = new Set<Turn>()
let hurried = false

/** How long a frame may take for turns, ms; layout comes on top. */
const share = 4

/** Has something drawn when its turn comes; returns how to give that up. */
export function takeTurn(draw: Turn): () => void {
  waiting.add(draw)
  if (!drawing.value) {
    drawing.value = true
    requestAnimationFrame(frame)
  }
  return () => void waiting.delete(draw)
}

async function frame() {
  const start = performance.now()
  do await next()
  while (waiting.size > 0 && performance.now() - start < share)
  if (waiting.size > 0) requestAnimationFrame(frame)
  else drawing.value = false
}

/** Draws what waits longest, and returns once it stands. */
async function next() {
  const [draw] = waiting
  if (!draw) return
  waiting.delete(draw)
  draw()
  await Promise.resolve() // what a signal changes is rendered in a microtask of its own
}

/** How long to wait for a page that may be hidden, and then draws nothing, ms. */
const patience = 300

/** Resolves when the next frame is about to be drawn, or after a while in a page that draws none. */
export function nextFrame(): Promise<unknown> {
  return Promise.race([new Promise((next) => requestAnimationFrame(next)), new Promise((next) => setTimeout(next, patience))])
}

/** Resolves once what was just shown stands: what is heavy starts only then, where it would leave the page no core to draw with. */
export async function standing(): Promise<void> {
  const late = performance.now() + patience
  do await nextFrame()
  while (drawing.value && performance.now() < late)
}

/** Draws all that waits at once, and what it holds too: paper cannot be drawn later. */
export function drawAll() {
  hurried = true
  for (const draw of waiting) draw()
  waiting.clear()
  void Promise.resolve().then(() => (hurried = false))
}

/** Whether what appears now must not wait. */
export function hurry(): boolean {
  return hurried
}
