// Events of a run on the timeline: noting one, and confirming or taking one away.
import { useState } from "preact/hooks"
import { instant, moment } from "../format.ts"
import type { Test } from "../figure/tests.ts"
import { eventKinds, eventName } from "../figure/words.ts"
import type { Moment } from "../bench.gen.ts"
import type { Event } from "../report.gen.ts"
import { momentAt } from "../state/edits.ts"
import { noteEvent, takeEventAway, whereNoted } from "../state/runs.ts"
import { noting } from "../state/selection.ts"
import { useView } from "../view.ts"
import { Choice, WhenField } from "./field.tsx"

export function NoteEvent({ test }: { test: Test }) {
  const open = noting.value?.test === test.key
  const show = (wanted: boolean) => (noting.value = wanted ? { test: test.key, at: null, lane: 0 } : null)
  const events = test.runs.flatMap((r) => r.run.events.map((event) => ({ event, r })))
  return (
    <div class="events">
      {events.length > 0 && (
        <ul class="eventlist" aria-label={`Events, ${test.name}`}>
          {events.map(({ event, r }, i) => <EventLine key={i} event={event} unit={r.unit} index={r.index} no={r.no} />)}
        </ul>
      )}
      <button class="bare" type="button" aria-expanded={open} onClick={() => show(!open)}>Note an event<span class="sr">, {test.name}</span></button>
      {open && <EventForm key={`${noting.value?.at} ${noting.value?.lane}`} test={test} done={() => show(false)} />}
    </div>
  )
}

function EventLine({ event, unit, index, no }: { event: Event; unit: string; index: number; no: number }) {
  const { zone } = useView()
  const name = `${unit}, ${eventName(event.what)}, ${moment(Date.parse(event.at), zone)}`
  const confirm = () => noteEvent(`confirm: ${name}`, index, no, { at: event.at, precision_s: event.precision_s, what: event.what, text: event.text })
  return (
    <li>
      {name}{event.basis === "suspected" ? ", suspected" : ""}{event.text ? `: ${event.text}` : ""}
      {event.basis === "suspected" && <button class="bare" type="button" onClick={confirm}>It was so<span class="sr">: {name}</span></button>}
      {whereNoted(index, event) && <button class="bare" type="button" onClick={() => takeEventAway(`take away: ${name}`, index, no, event)}>Take away<span class="sr">: {name}</span></button>}
    </li>
  )
}

function EventForm({ test, done }: { test: Test; done: () => void }) {
  const pointed = noting.value
  const [which, choose] = useState(pointed?.lane ?? 0)
  const [what, name] = useState("low_battery")
  const [at, time] = useState<Moment | null>(pointed?.at == null ? null : momentAt(Math.round(pointed.at / 60_000) * 60_000, 60))
  const lane = test.runs[which] ?? test.runs[0]
  if (!lane) return null
  const near = instant(lane.run.last_heard) ?? instant(lane.run.start.best) ?? test.whole[0]
  const add = () => {
    if (!at) return
    noteEvent(`note: ${lane.unit}, ${eventName(what)}`, lane.index, lane.no, { at: at.at, precision_s: at.precision_s ?? 30, what })
    done()
  }
  return (
    <p class="eventform">
      <Choice label="Unit of the event" value={String(which)} onChange={(v) => choose(Number(v))} options={test.runs.map((r, i) => ({ value: String(i), text: `${r.unit}${r.run.label ? `, ${r.run.label}` : ""}` }))} />{" "}
      <Choice label="What happened" value={what} onChange={name} options={eventKinds.map((k) => ({ value: k, text: eventName(k) }))} />{" at "}
      <WhenField label="When it happened" value={at} near={near} onChange={time} asked eager />{" "}
      <button class="filled" type="button" disabled={!at} onClick={add}>Note it</button>{!at && <span class="note"> Give its time first.</span>}
    </p>
  )
}
