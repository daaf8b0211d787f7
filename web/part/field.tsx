// Fields in place: an underlined value that can be typed over, with its unit outside. A wrong entry keeps what was typed
// and says what is wrong with it.
import type { ComponentChildren } from "preact"
import { useId, useState } from "preact/hooks"
import { decimals, moment, zoneName } from "../format.ts"
import { momentAt } from "../state/edits.ts"
import { useView } from "../view.ts"
import { readWhen } from "../zone.ts"
import type { Moment } from "../bench.gen.ts"

interface FieldProps {
  label: string
  value: string
  onCommit: (text: string) => string | null // what is wrong with it, or null when it was taken
  unit?: string
  size?: number
  asked?: boolean
  numeric?: boolean
  list?: string
  describedBy?: string | undefined
}

export function Field({ label, value, onCommit, unit, size = 8, asked, numeric, list, describedBy }: FieldProps) {
  const id = useId()
  const { live } = useView()
  const [typed, type] = useState<string | null>(null)
  const [wrong, say] = useState("")
  if (!live) return <span class="value">{value === "" ? "not noted" : value}{unit && value !== "" ? `\u00a0${unit}` : ""}</span>
  const commit = () => {
    if (typed === null || (typed.trim() === value && wrong === "")) return type(null)
    const fault = typed.trim() === value ? null : onCommit(typed.trim())
    say(fault ?? "")
    if (fault === null) type(null)
  }
  return (
    <span class="field">
      <span class="nobreak">
        <input id={id} class={`${asked ? "asked" : ""}${wrong ? " wrong" : ""}${numeric ? " numeric" : ""}`} type="text" size={size} autocomplete="off" spellcheck={false}
          inputMode={numeric ? "decimal" : "text"} aria-label={label} aria-invalid={wrong !== ""} aria-describedby={wrong ? `${id}-wrong` : describedBy} list={list}
          value={typed ?? value} onInput={(e) => type(e.currentTarget.value)} onBlur={commit}
          onKeyDown={(e) => {
            if (e.key === "Enter") commit()
            if (e.key === "Escape") (type(null), say(""))
          }} />
        {unit && <span class="unitname">{"\u00a0"}{unit}</span>}
      </span>
      {wrong && <span class="wrongtext" id={`${id}-wrong`} role="alert"><span aria-hidden="true">{"\u2715"} </span>{wrong}</span>}
    </span>
  )
}

interface NumberFieldProps {
  label: string
  value: number | null | undefined
  onChange: (value: number | null) => void
  unit: string
  least?: number
  most?: number
  size?: number
  asked?: boolean
  describedBy?: string | undefined
}

/** Reads a number as people write it: a comma or a dot for the decimals, spaces between thousands. Null: not a number. */
export function readNumber(text: string): number | null {
  const plain = text.replace(/[\s\u00a0\u202f]/g, "").replace(/^\u2212/, "-")
  const dotted = /^-?\d{1,3}(,\d{3})+(\.\d+)?$/.test(plain) ? plain.replaceAll(",", "") : plain.replace(",", ".")
  return /^-?(\d+\.?\d*|\.\d+)$/.test(dotted) ? Number(dotted) : null
}

export function NumberField({ label, value, onChange, unit, least = 0, most = 1e6, size = 6, asked, describedBy }: NumberFieldProps) {
  const commit = (text: string) => {
    if (text === "") return onChange(null), null
    const v = readNumber(unit !== "" && text.toLowerCase().endsWith(unit.toLowerCase()) ? text.slice(0, -unit.length) : text)
    if (v === null) return `${label}: a number is wanted, such as 2000 or 4.8`
    if (v < least || v > most) return `${label}: from ${decimals(least, 0)} to ${decimals(most, 0)} ${unit}`
    onChange(v)
    return null
  }
  return <Field label={`${label}, ${unit}`} value={value == null ? "" : plainNumber(value)} unit={unit} size={size} numeric onCommit={commit} asked={asked ?? false} describedBy={describedBy} />
}

function plainNumber(v: number): string {
  const places = (String(v).split(".")[1] ?? "").length
  return decimals(v, Math.min(places, 6))
}

interface WhenProps {
  label: string
  value: Moment | null | undefined
  near: number // Unix ms: the day that is meant when only a clock time is typed
  onChange: (value: Moment | null) => void
  asked?: boolean
  inTable?: boolean // the zone stands in the table's head
}

/** A time that somebody noted, in the sheet's zone. */
export function WhenField({ label, value, near, onChange, asked, inTable }: WhenProps) {
  const { zone } = useView()
  const commit = (text: string) => {
    if (text === "") return onChange(null), null
    const when = readWhen(text, near, zone)
    if (!when) return `${label}: a time is wanted, such as 05:40 or 2 May 05:40`
    onChange(momentAt(when.at, when.precisionS))
    return null
  }
  const text = value ? moment(Date.parse(value.at), zone, near).replaceAll("\u00a0", " ") : ""
  return <Field label={`${label}, ${zoneName(zone)}`} value={text} unit={inTable ? "" : zoneName(zone)} size={Math.max(inTable ? 5 : 7, text.length)} onCommit={commit} asked={asked ?? false} />
}

export interface Option {
  value: string
  text: string
}

export function Choice({ label, value, options, onChange, asked, disabled }: { label: string; value: string; options: readonly Option[]; onChange: (value: string) => void; asked?: boolean; disabled?: boolean }) {
  const { live } = useView()
  if (!live) return <span class="value">{options.find((o) => o.value === value)?.text ?? value}</span>
  return (
    <select class={`choice${asked ? " asked" : ""}`} aria-label={label} value={value} disabled={disabled} onChange={(e) => onChange(e.currentTarget.value)}>
      {options.map((o) => <option key={o.value} value={o.value}>{o.text}</option>)}
    </select>
  )
}

/** Something asked of the reader: the marker, the question, its field, and why it matters. */
export function Asked({ question, why, children }: { question: ComponentChildren; why: ComponentChildren; children?: ComponentChildren }) {
  return (
    <div class="ask">
      <p class="askline"><span class="askmark" aria-hidden="true">?</span> <b>{question}</b> {children}</p>
      {why && <p class="note">{why}</p>}
    </div>
  )
}
