// What is asked of the reader: one thing at a time, with why it matters and the field for the answer. Any may stay empty.
import type { ComponentChildren } from "preact"
import { many } from "../format.ts"
import type { Question } from "../report.gen.ts"
import { report } from "../state/engine.ts"
import { useView } from "../view.ts"
import { WatchedAsk } from "./evidence.tsx"
import { Asked } from "./field.tsx"
import { Charge, FirstBeacon, Power, PowerOn, Switch, switches, Temperature, Volts } from "./units.tsx"

/** Whether a question is open that this field answers: by its code, unit and run. */
export function asked(code: string, unit: string, run?: number): boolean {
  return (report.value?.questions ?? []).some((q) => q.code.replace(/_(?:open|zone)$/, "") === code && q.unit === unit && (run === undefined || q.run === run))
}

/** The open questions, each once: until when a file was watched may be asked for several of its units. */
export function openQuestions(all: readonly Question[]): Question[] {
  return all.filter((q, i) => q.code !== "watched_until" || all.findIndex((o) => o.code === q.code && o.file === q.file) === i)
}

const most = 4

/** Those asked in full: the first few, and until when a file was watched, which no field below takes. */
const inFull = (q: Question, i: number) => i < most || q.code === "watched_until"

/** The open questions about units and the listening; those about a file's lines stand with the evidence. */
export function Questions() {
  const { report } = useView()
  const open = openQuestions(report.questions).filter((q) => q.unit !== "" || q.code === "watched_until")
  if (open.length === 0) return null
  const further = open.filter((q, i) => !inFull(q, i)).length
  return (
    <>
      <div class="asks">
        {open.filter(inFull).map((q) => (q.code === "watched_until"
          ? <WatchedAsk key={q.id} file={q.file} question={q.ask} why={q.why} />
          : <Asked key={q.id} question={q.ask} why={q.why}><Answer of={q} /></Asked>))}
      </div>
      {further > 0 && <p class="note">{many(further, "further question")} stand{further === 1 ? "s" : ""} marked in the fields below.</p>}
    </>
  )
}

/** The field that takes the answer. */
function Answer({ of }: { of: Question }): ComponentChildren {
  const { report, bench } = useView()
  const at = (bench.units ?? []).findIndex((u) => u.name === of.unit)
  const unit = bench.units?.[at]
  const found = report.units.find((u) => u.name === of.unit)
  const run = found?.runs[of.run]
  if (!unit) return null
  switch (of.code) {
    case "capacity":
      return <Charge unit={unit} at={at} />
    case "rf_power":
      return <Power unit={unit} at={at} />
    case "nominal_v":
      return <Volts unit={unit} at={at} />
    case "first_beacon":
      return <FirstBeacon unit={unit} at={at} />
    case "temperature":
      return <Temperature unit={unit} at={at} />
    case "power_on":
    case "power_on_open":
    case "power_on_zone":
      return found && run ? <PowerOn unit={found} index={at} run={run} no={of.run} /> : null
  }
  const known = switches.find(([what]) => what === of.code)
  return known ? <Switch unit={unit} at={at} what={known[0]} name={known[1]} /> : null
}
