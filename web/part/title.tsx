// The head of the page and the title of the sheet.
import { useRef } from "preact/hooks"
import { zoneName } from "../format.ts"
import { busy, reading, stop } from "../state/engine.ts"
import { bench, changeBench, files, redo, redoable, undo, undoable, unsaved } from "../state/sheet.ts"
import { forgetSettings, set, settings } from "../state/settings.ts"
import { notKept } from "../state/kept.ts"
import { takeFiles } from "../state/intake.ts"
import { tidied } from "../state/edits.ts"
import { zoneKnown } from "../zone.ts"
import { useSignal } from "@preact/signals"
import { Choice, Field } from "./field.tsx"
import { InTurn } from "./turn.tsx"

function Logo() {
  return (
    <svg class="logo" width="46" height="17" viewBox="0 0 46 17" aria-hidden="true">
      <path class="logo-fade" d="M25,1C33,4 34,14 46,15H25z" />
      <path class="logo-ink" d="M0,15.5H46M1.5,1V15M7.5,1V15M13.5,1V15M19.5,1V15" />
    </svg>
  )
}

export function Header() {
  const settled = useSignal(false)
  const any = files.value.length > 0 || (bench.value.units?.length ?? 0) > 0
  return (
    <header class="top">
      <div class="topline">
        <p class="brand"><Logo /> Lastbeacon</p>
        {busy.value && !reading.value && <p class="note busy">Working it out. <button class="outline" type="button" onClick={stop}>Stop<span class="sr"> working it out</span></button></p>}
        <div class="tools">
          {any && (
            <>
              <button class="bare" type="button" disabled={undoable.value === null} title={undoable.value ?? ""} onClick={undo}>Undo<span class="sr">{undoable.value ? ` ${undoable.value}` : ""}</span></button>
              <button class="bare" type="button" disabled={redoable.value === null} title={redoable.value ?? ""} onClick={redo}>Redo<span class="sr">{redoable.value ? ` ${redoable.value}` : ""}</span></button>
              <FileButton class="bare">Add files</FileButton>
            </>
          )}
          <button class="bare" type="button" aria-expanded={settled.value} onClick={() => (settled.value = !settled.value)}>Settings</button>
          {any && <a class="button filled" href="#save">Save</a>}
        </div>
      </div>
      {settled.value && <SettingsLine />}
    </header>
  )
}

function SettingsLine() {
  const now = settings.value
  return (
    <div class="settings" role="group" aria-label="Settings">
      <label>Look <Choice label="Look" value={now.look} onChange={(v) => set({ look: v as typeof now.look })}
        options={[{ value: "auto", text: "as the system" }, { value: "light", text: "light" }, { value: "dark", text: "dark" }]} /></label>
      <label>Distances <Choice label="Distances" value={now.measure} onChange={(v) => set({ measure: v as typeof now.measure })}
        options={[{ value: "metric", text: "metres, km/h" }, { value: "imperial", text: "feet, miles" }]} /></label>
      <label>Decimals in CSV <Choice label="Decimals in CSV" value={now.decimal} onChange={(v) => set({ decimal: v as typeof now.decimal })}
        options={[{ value: "dot", text: "dot" }, { value: "comma", text: "comma" }]} /></label>
      <label><input type="checkbox" checked={now.keep} onChange={() => set({ keep: !now.keep })} /> Keep the bench in this browser until it is saved</label>
      <button class="bare" type="button" onClick={forgetSettings}>Forget these settings</button>
      <p class="note">{kept(now.keep)}</p>
    </div>
  )
}

/** What this browser remembers. */
function kept(keep: boolean): string {
  if (!keep) return "Only these choices are remembered in this browser, never a file, a call sign or a place."
  if (notKept.value) return `The bench cannot be kept (${notKept.value}); save the bench file.`
  return "The bench holds what you answered, names and call signs too. Until it is saved it stands in this browser's memory, which others who use this browser, and in some browsers other pages opened from files, can read. Files are never kept."
}

/** A button that opens the browser's own choice of files. */
export function FileButton({ class: look, folder, children }: { class: string; folder?: boolean; children: string }) {
  const input = useRef<HTMLInputElement>(null)
  const taken = () => {
    takeFiles(input.current?.files ?? null)
    if (input.current) input.current.value = ""
  }
  return (
    <>
      <button type="button" class={look} onClick={() => input.current?.click()}>{children}</button>
      <input ref={input} class="picker" type="file" multiple hidden aria-label={children} tabIndex={-1} onChange={taken}
        {...(folder ? { webkitdirectory: true } : {})} />
    </>
  )
}

/** Title, who wrote it, and the one zone of all times. */
export function Title() {
  const now = bench.value
  const naming = useSignal(false)
  const setZone = (text: string) => {
    const zone = text.replaceAll(" ", "_")
    if (!zoneKnown(zone)) return "a zone is wanted, such as Europe/Oslo, UTC or +02:00"
    changeBench("change the zone of the sheet", tidied({ ...now, display_zone: zone === "UTC" ? "" : zone }))
    return null
  }
  return (
    <div class="title">
      <h1 tabIndex={-1}>{now.title || "Untitled trial"}</h1>
      <button class="bare small" type="button" aria-expanded={naming.value} onClick={() => (naming.value = !naming.value)}>{now.title ? "Rename" : "Name it"}</button>
      {naming.value && <p><Field label="Title of this trial" value={now.title ?? ""} size={Math.max(24, (now.title ?? "").length)}
        onCommit={(title) => (changeBench("change the title", tidied({ ...now, title })), (naming.value = false), null)} /></p>}
      <p class="note">
        Written by <Field label="Written by" value={now.author ?? ""} size={Math.max(14, (now.author ?? "").length)} onCommit={(author) => (changeBench("change the author", tidied({ ...now, author })), null)} />.
        {" "}All times <Field label="Zone of all times" value={zoneName(now.display_zone ?? "")} size={Math.max(6, (now.display_zone ?? "").length + 1)} list="zones" onCommit={setZone} />.
        {" "}Nothing has left this page.{unsaved.value > 0 ? " Not saved yet." : ""}
      </p>
      <InTurn><Zones /></InTurn>
    </div>
  )
}

/** Names of zones to choose from, as far as this browser knows them. */
export function Zones() {
  const names = (Intl as unknown as { supportedValuesOf?: (key: string) => string[] }).supportedValuesOf?.("timeZone") ?? []
  return <datalist id="zones"><option value="UTC" />{names.map((z) => <option key={z} value={z} />)}</datalist>
}
