// Where the keyboard goes on when what it stood on is gone: a file's row that was removed, a button that made a unit.
import { effect } from "@preact/signals"
import { report } from "./engine.ts"
import { sheet } from "./sheet.ts"

let last: Element | null = null
let part = ""

/** Keeps the focus within the part of the sheet in which it was lost; at the sheet's title when that part is gone too. */
export function keepFocus() {
  document.addEventListener("focusin", (e) => {
    last = e.target as Element
    part = last.closest(".part")?.id ?? ""
  })
  effect(() => {
    void sheet.value
    void report.value
    requestAnimationFrame(() => requestAnimationFrame(restore))
  })
}

function restore() {
  if (!last || last.isConnected || document.activeElement !== document.body) return
  const place = document.getElementById(part)?.querySelector<HTMLElement>("button, a[href]") ?? document.querySelector<HTMLElement>(".title h1")
  place?.focus({ preventScroll: true })
}
