// How this reader likes the page, remembered in the browser; no data, unless the reader asks for the bench to be kept. Everything
// works without a memory too.
import { effect, signal } from "@preact/signals"
import type { Measure } from "../format.ts"

export interface Settings {
  look: "auto" | "light" | "dark"
  measure: Measure
  decimal: "dot" | "comma" // in CSV exports
  keep: boolean // whether this browser keeps the bench until it is saved
}

const key = "lastbeacon.settings"
export const usual: Settings = { look: "auto", measure: "metric", decimal: "dot", keep: false }
export const settings = signal<Settings>(usual)

/** Takes what was remembered, as far as it makes sense. */
export function settingsFrom(text: string | null): Settings {
  try {
    const found = JSON.parse(text ?? "{}") as Partial<Record<keyof Settings, unknown>>
    return {
      look: found.look === "light" || found.look === "dark" ? found.look : usual.look,
      measure: found.measure === "imperial" ? "imperial" : usual.measure,
      decimal: found.decimal === "comma" ? "comma" : usual.decimal,
      keep: found.keep === true,
    }
  } catch {
    return usual
  }
}

/** Reads the memory and keeps it in step from now on. */
export function remember() {
  const store = memory()
  settings.value = settingsFrom(store?.getItem(key) ?? null)
  effect(() => {
    const now = settings.value
    document.documentElement.toggleAttribute("data-look", now.look !== "auto")
    if (now.look !== "auto") document.documentElement.setAttribute("data-look", now.look)
    put(store, key, JSON.stringify(now) === JSON.stringify(usual) ? null : JSON.stringify(now))
  })
}

export function set(change: Partial<Settings>) {
  settings.value = { ...settings.value, ...change }
}

/** Forgets everything remembered. */
export function forgetSettings() {
  settings.value = usual
}

/** The browser's memory; null where there is none. */
export function memory(): Storage | null {
  try {
    return window.localStorage
  } catch {
    return null
  }
}

/** Writes into the browser's memory or, for null, removes; says why it could not, "" when it could. */
export function put(store: Storage | null, key: string, text: string | null): string {
  try {
    if (text === null) store?.removeItem(key)
    else if (store) store.setItem(key, text)
    else return "this browser gives the page no memory"
    return ""
  } catch (reason) {
    return (reason as Error).message
  }
}
