// The outlook: what another pack, interval, route or shift would come to, each with its bounds; and the next test.
import type { ComponentChildren } from "preact"
import type { Compare, Outlook as Asked, Shift } from "../bench.gen.ts"
import { Mark, unitClass } from "../figure/mark.tsx"
import type { Outlook as Answer, Report, Unit } from "../report.gen.ts"
import { listed, many } from "../format.ts"
import { fileName, saveAs } from "../figure/save.ts"
import { nextBench, tidied } from "../state/edits.ts"
import { bench, changeBench } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { Drawer } from "./drawer.tsx"
import { Choice, NumberField } from "./field.tsx"
import { Num } from "./number.tsx"
import { Part } from "./part.tsx"

/** Changes what is asked of the outlook, as one step. */
function ask(says: string, change: Asked) {
  changeBench(says, tidied({ ...bench.value, outlook: { ...bench.value.outlook, ...change } }))
}

function askShift(change: Partial<Shift>) {
  const shift = { hours: 0, ...bench.value.outlook?.shift, ...change }
  ask("change the shift", { shift: shift.hours > 0 ? shift : null })
}

export function Outlook() {
  const { report, live } = useView()
  const going = goingOf(report)
  if (report.units.length === 0 || (!live && report.outlook.length + going.length === 0)) return null
  const asked = live && new Set(report.outlook.map((o) => o.kind)).size
  const waiting = going[0] && `${listed(going.map((g) => g.unit.name))} had not ended when the listening did.`
  const line = waiting ?? (asked ? `${many(asked, "question")} answered for ${listed([...new Set(report.outlook.map((o) => o.unit))].filter((u) => u))}, each with its bounds.` : "What another pack, interval, route or shift would come to. Give any of them below.")
  return (
    <Part id="outlook" name="Outlook" line={line} foldable folded={live && report.outlook.length + going.length === 0}>
      {going.length > 0 && <ul>{going.map(({ unit, index, text }) => <li key={unit.name} class={unitClass(index)}><Mark index={index} />{unit.name} had not ended when the listening did. {text}</li>)}</ul>}
      {live ? <Questions /> : <Answers of={report.outlook} />}
    </Part>
  )
}

/** The units whose latest run had not ended, and when it should, or what that waits for. */
function goingOf(report: Report) {
  return report.units.flatMap((unit, index) => {
    const now = unit.runs.findLast((r) => !r.saved)?.now
    return now?.outlook ? [{ unit, index, text: now.outlook }] : []
  })
}

function Questions() {
  const { report } = useView()
  const asked = bench.value.outlook ?? {}
  const shift = asked.shift
  const pack = asked.packs?.[0]
  const routes = [{ value: "", text: "no route" }, ...report.tracks.map((t) => ({ value: t.file, text: t.name || t.file }))]
  return (
    <div class="outlooks">
      <Projected kind="pack">
        With a pack of <NumberField label="Capacity of another pack" value={pack?.capacity_mah} unit="mAh" onChange={(v) => ask("change the other pack", { packs: v === null ? [] : [{ ...pack, capacity_mah: v, basis: pack?.basis ?? "printed" }] })} />
      </Projected>
      <Projected kind="schedule">
        Sending every <NumberField label="Another interval" value={asked.intervals_s?.[0]} unit="s" least={1} most={86400} size={5} onChange={(v) => ask("change the other interval", { intervals_s: v === null ? [] : [v] })} />
      </Projected>
      {report.tracks.length > 0 && (
        <Projected kind="route">
          On the route <Choice label="Route" value={asked.routes?.[0]?.file ?? ""} options={routes} onChange={(file) => ask("change the route", { routes: file === "" ? [] : [{ file }] })} />
        </Projected>
      )}
      <Projected kind="shift">
        For a shift of <NumberField label="Length of the shift" value={shift?.hours} unit="h" least={0} most={500} size={4} onChange={(v) => askShift({ hours: v ?? 0 })} />
        {shift && <>
          {" with "}<NumberField label="Reserve" value={shift.reserve_pct} unit="%" most={90} size={3} onChange={(v) => askShift({ reserve_pct: v ?? 0 })} />
          {" in reserve, sending every "}<NumberField label="Interval in the shift" value={shift.interval_s || null} unit="s" most={86400} size={4} onChange={(v) => askShift({ interval_s: v ?? 0 })} />
          {" and with "}<NumberField label="Voice overs an hour" value={shift.voice_per_h || null} unit="" most={720} size={3} onChange={(v) => askShift({ voice_per_h: v ?? 0 })} />
          {" voice overs an hour of "}<NumberField label="Length of one voice over" value={shift.voice_s || null} unit="s" most={600} size={3} onChange={(v) => askShift({ voice_s: v ?? 0 })} />
          {"; "}<NumberField label="Units that go out" value={shift.units || null} unit="" most={1000} size={3} onChange={(v) => askShift({ units: v ?? 0 })} />
          {" units go out, each beacon repeated "}<NumberField label="Repeats of each beacon" value={shift.repeats || null} unit="" most={20} size={2} onChange={(v) => askShift({ repeats: v ?? 0 })} />
          {" times, "}<Choice label="Temperature in the shift" value={shift.cold ? "cold" : ""} options={[{ value: "", text: "as warm as in the tests" }, { value: "cold", text: "in the cold" }]} onChange={(v) => askShift({ cold: v === "cold" })} />
        </>}
      </Projected>
    </div>
  )
}

/** A question of the outlook with the engine's answers to it. */
function Projected({ kind, children }: { kind: string; children: ComponentChildren }) {
  const { report } = useView()
  return (
    <div class="projected">
      <p class="lead">{children}</p>
      <Answers of={report.outlook.filter((o) => o.kind === kind)} />
    </div>
  )
}

function Answers({ of }: { of: readonly Answer[] }) {
  const { report } = useView()
  return (
    <ul>
      {of.map((o, i) => {
        const index = report.units.findIndex((u) => u.name === o.unit)
        return <li key={i} class={index >= 0 ? unitClass(index) : ""}>{index >= 0 && <Mark index={index} />}{o.text}{o.refused === "" && <RestsOn unit={report.units[index]} place={`outlook ${o.kind} ${i}`} />}</li>
      })}
    </ul>
  )
}

/** The packets of the runs that an answer is worked out from. */
function RestsOn({ unit, place }: { unit: Unit | undefined; place: string }) {
  const { live } = useView()
  if (!live || !unit || unit.transmissions === 0) return null
  const words = many(unit.transmissions, "transmission")
  return <><span class="aside"> It rests on <Num place={place} number="runs" title={`${unit.name}: ${words} heard`} query={{ unit: unit.name, why: "counted" }}>{words}</Num> heard.</span><Drawer place={place} /></>
}

const steps = [
  "The same interval on both units, noted; fixed, not adaptive",
  "A call sign with an SSID of its own for each unit",
  "A comment in every packet that names the unit",
  "Starts staggered by half an interval, times of switching on noted to the minute",
  "Automatic power-off: off. Repeating for others: off",
  "Second receiver off, volume 0, light off, on both",
  "RF power measured with a full pack and again near the end",
  "The recorder must not sleep: power settings checked, mains connected",
  "Somebody is there to see the end, or listens on until well after it",
  "Clock of the recorder against a time signal, its offset noted",
  "Packs exchanged between the units for the second run",
  "Transmit only as your licence allows, on a channel that bears a long test, into an antenna or a load that bears the power",
  "The radio ends the run itself; nobody forces a pack below its cut-off, nobody charges unattended; a swollen, hot or dented pack is put aside",
]

/** The bench of the next test: the units and what is known of them, without runs, and what is stated before it, dated today. */
function saveNext() {
  saveAs(fileName(`${bench.value.title ?? ""} next`.trim(), "bench.json"), "application/json", JSON.stringify(nextBench(bench.value, new Date()), null, 1) + "\n")
}

/** What the number of runs rests on, to be changed in place. */
function Assumptions() {
  const given = bench.value.compare
  const change = (says: string, more: Compare) => changeBench(says, tidied({ ...bench.value, compare: { ...given, ...more } }))
  return (
    <p class="note noprint">
      Difference that matters <NumberField label="Difference that matters" value={given?.margin_pct} unit="%" size={3} most={100} onChange={(v) => change("change the difference that matters", { margin_pct: v })} />
      {", spread from run to run "}<NumberField label="Spread assumed from run to run" value={given?.assumed_cv_pct} unit="%" size={3} most={100} onChange={(v) => change("change the assumed spread", { assumed_cv_pct: v })} />
      {"; left empty, 5\u00a0% and 3\u00a0% are taken. A spread that the runs themselves show goes before. The certainty of 80\u00a0% is fixed."}
    </p>
  )
}

/** What to prepare before units are left alone again, as a sheet to print. */
export function NextTest() {
  const { report, live } = useView()
  if (report.units.length === 0) return null
  return (
    <Part id="next" name="The next test" line={report.next_test?.text ?? "A fair run: the same interval, fresh charges, nobody disturbs it. One sheet to print."} foldable folded={live}>
      {live && <Assumptions />}
      <h3>Before you leave it alone</h3>
      <ul class="checks">{steps.map((s, i) => <li key={s}>{live ? <label><input type="checkbox" id={`step-${i}`} /> {s}</label> : <><span class="box" aria-hidden="true" /> {s}</>}</li>)}</ul>
      {live && (
        <div class="buttons noprint">
          <button class="outline" type="button" onClick={() => window.print()}>Print this sheet</button>
          <button class="outline" type="button" onClick={saveNext}>Save a bench file for it</button>
        </div>
      )}
    </Part>
  )
}

/** Safety belongs to what is shown, and stands at its foot. */
export function Cautions() {
  const { report } = useView()
  if (report.cautions.length === 0) return <p class="note">Silence is not a safety alarm. Transmit only as your licence allows, into an antenna or a load that bears the power; leave each pack its own cut-off. The makers' instructions come first.</p>
  return <>{report.cautions.map((c) => <p key={c.topic + c.text} class="note">{c.text}</p>)}</>
}
