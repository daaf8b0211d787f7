// Fields in place: an underlined value that can be typed over, with its unit outside. A wrong entry keeps what was typed
// and says what is wrong with it.
import type { ComponentChildren } from "preact"
import { useId, useState } from "preact/hooks"
import { clock, day, decimals, withUnit, zoneName } from "../format.ts"
import { momentAt } from "../state/edits.ts"
import { useView } from "../view.ts"
import { readWhen } from "../zone.ts"
import type { Moment } from "../bench.gen.ts"

interface FieldProps {
  label: string
  value: string
  onCommit: (text: string) => string | null // what is wrong with it, or null when it was taken
  onType?: ((text: string) => void) | undefined // with every key
  unit?: string
  size?: number
  asked?: boolean
  numeric?: boolean
  list?: string
  describedBy?: string | undefined
  usual?: string // what it is called as long as nobody said
}

export function Field({ label, value, onCommit, onType, usual, unit, size = 8, asked, numeric, list, describedBy }: FieldProps) {
  const id = useId()
  const { live } = useView()
  const [typed, type] = useState<string | null>(null)
  const [wrong, say] = useState("")
  if (!live) return <span class="value">{value === "" ? usual ?? "not noted" : value}{unit && value !== "" ? `\u00a0${unit}` : ""}</span>
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
          inputMode={numeric ? "decimal" : "text"} aria-label={label} aria-invalid={wrong !== ""} aria-describedby={wrong ? `${id}-wrong` : describedBy} list={list} placeholder={usual}
          value={typed ?? value} onInput={(e) => (type(e.currentTarget.value), onType?.(e.currentTarget.value.trim()))} onBlur={commit}
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

/** What one of another unit is in the unit of a field; units are told by their names in lower case. */
const conversions: Record<string, Record<string, (v: number) => number>> = {
  mAh: { ah: (v) => v * 1000 }, W: { mw: (v) => v / 1000, kw: (v) => v * 1000, dbm: (v) => 10 ** (v / 10 - 3) }, A: { ma: (v) => v / 1000 }, V: { mv: (v) => v / 1000 },
  s: { ms: (v) => v / 1000, min: (v) => v * 60 }, h: { min: (v) => v / 60, d: (v) => v * 24 }, kHz: { hz: (v) => v / 1000 }, "\u00b0C": { c: (v) => v, f: (v) => (v - 32) / 1.8, "\u00b0f": (v) => (v - 32) / 1.8 },
}

/** Reads a number with or without its unit, or with another unit of the same kind; other is what was written then, else "". */
export function readQuantity(text: string, unit: string): { value: number; other: string } | null {
  const found = /^(.*[\d.,])\s*([^\d.,]*)$/.exec(text.trim())
  const value = found && readNumber(found[1] ?? ""), name = (found?.[2] ?? "").toLowerCase()
  if (value === null) return null
  if (name === "" || name === unit.toLowerCase()) return { value, other: "" }
  const turn = conversions[unit]?.[name]
  return turn ? { value: Number(turn(value).toPrecision(4)), other: withUnit((found?.[1] ?? "").trim(), found?.[2] ?? "") } : null
}

export function NumberField({ label, value, onChange, unit, least = 0, most = 1e6, size = 6, asked, describedBy }: NumberFieldProps) {
  const [written, note] = useState({ as: "", of: value })
  const commit = (text: string) => {
    note({ as: "", of: null })
    if (text === "") return onChange(null), null
    const read = readQuantity(text, unit)
    if (read === null) return `${label}: a number is wanted, such as 2000 or 4.8`
    if (read.value < least || read.value > most) return `${label}: from ${decimals(least, 0)} to ${decimals(most, 0)} ${unit}`
    onChange(read.value)
    note({ as: read.other, of: read.value })
    return null
  }
  return (
    <>
      <Field label={`${label}, ${unit}`} value={value == null ? "" : plainNumber(value)} unit={unit} size={size} numeric onCommit={commit} asked={asked ?? false} describedBy={describedBy} />
      {written.as !== "" && written.of === value && <span class="note"> ({written.as})</span>}
    </>
  )
}

function plainNumber(v: number): string {
  const places = (String(v).split(".")[1] ?? "").length
  return decimals(v, Math.min(places, 6))
}

/** A noted time with its day, and with seconds where somebody looked so closely. */
function momentNoted(ms: number, precisionS: number, zone: string): string {
  return `${day(ms, zone)} ${clock(ms, zone, precisionS < 30 ? "seconds" : "minutes")}`.replaceAll("\u00a0", " ")
}

interface WhenProps {
  label: string
  value: Moment | null | undefined
  near: number // Unix ms: the day that is meant when only a clock time is typed
  onChange: (value: Moment | null) => void
  asked?: boolean
  inTable?: boolean // the zone stands in the table's head
  eager?: boolean // takes a time as soon as it is whole, before the field is left
}

/** A time that somebody noted, in the sheet's zone. */
export function WhenField({ label, value, near, onChange, asked, inTable, eager }: WhenProps) {
  const { zone } = useView()
  const read = (text: string) => {
    const when = readWhen(text, near, zone)
    return when && momentAt(when.at, when.precisionS)
  }
  const commit = (text: string) => {
    if (text === "") return onChange(null), null
    const when = read(text)
    if (!when) return `${label}: a time is wanted, such as 05:40 or 2 May 05:40; days as 2 May, May 2, 2.5.2031 or 2031-05-02`
    onChange(when)
    return null
  }
  const text = value ? momentNoted(Date.parse(value.at), value.precision_s ?? 30, zone) : ""
  return <Field label={`${label}, ${zoneName(zone)}`} value={text} unit={inTable ? "" : zoneName(zone)} size={Math.max(inTable ? 5 : 7, text.length)} onCommit={commit} onType={eager ? (typed) => onChange(read(typed)) : undefined} asked={asked ?? false} />
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
