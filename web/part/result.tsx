// The two verdicts, which the eye meets first, and whether the comparison was fair.
import type { ComponentChildren } from "preact"
import { VerdictBars, barsHeight, barsWidth, type VerdictBar } from "../figure/bars.tsx"
import type { Comparison, Report, Unit, Verdict } from "../report.gen.ts"
import { listed, many } from "../format.ts"
import { pair } from "../state/selection.ts"
import { useView } from "../view.ts"
import { Drawer } from "./drawer.tsx"
import { Choice } from "./field.tsx"
import { Num } from "./number.tsx"
import { Part } from "./part.tsx"
import { Icon } from "./condition.tsx"
import { openQuestions } from "./questions.tsx"

export function Result() {
  const { report } = useView()
  const comparison = report.comparisons[pair.value] ?? report.comparisons[0]
  if (!comparison) return <Alone />
  const test = comparison.groups.length > 1 && comparison.label !== "" ? `; test \u201c${comparison.label}\u201d` : ""
  return (
    <Part id="result" name="Result" heavy>
      {report.comparisons.length > 1 && <p class="note">Compared: <PairChoice /></p>}
      <div class="verdicts">
        <Claim name={`Run time, as set up${test}`} verdict={comparison.runtime} unlike={unlike(comparison)} bars={bars(report, comparison, comparison.runtime)} />
        <Claim name={`Draw, pack capacity taken out${test}`} verdict={comparison.draw} bars={bars(report, comparison, comparison.draw)} />
      </div>
      <Behind of={comparison} place="verdict" />
      <Fairness of={comparison} />
      <TestByTest of={comparison} />
      <Kinds />
    </Part>
  )
}

/** Chooses the pair, and within a pair nothing: tests of one pair stand beneath each other. */
export function PairChoice() {
  const { report } = useView()
  const options = report.comparisons.map((c, i) => ({ value: String(i), text: `${c.a} and ${c.b}` }))
  return <Choice label="Units compared" value={String(pair.value)} options={options} onChange={(v) => (pair.value = Number(v))} />
}

function Alone() {
  const { report, live } = useView()
  const only = report.units[0]
  if (!only) return null
  const run = only.runs[0]
  return (
    <Part id="result" name="Result" heavy>
      <p class="verdict">
        <b>{only.name} stands alone:</b> a second unit makes a comparison.
      </p>
      <p class="basis">{run?.end.text}</p>
      {live && only.transmissions > 0 && <p class="note behind">This rests on <Num place="verdict" number={only.name} title={`${only.name}: ${many(only.transmissions, "transmission")} heard`} query={{ unit: only.name }}>{many(only.transmissions, "transmission")}</Num> heard.</p>}
      <Drawer place="verdict" />
    </Part>
  )
}

/** The claim before the colon is set in bold. */
function Claim({ name, verdict, unlike = "", bars }: { name: string; verdict: Verdict; unlike?: string; bars: VerdictBar[] }) {
  const cut = verdict.text.indexOf(":")
  const claim = cut > 0 ? verdict.text.slice(0, cut + 1) : ""
  const width = barsWidth(useView().width)
  return (
    <div class="claim">
      <p class="note">{name}</p>
      <p class="verdict"><b>{unbroken(claim)}</b>{unbroken(verdict.text.slice(claim.length))}</p>
      {unlike && <p class="basis">{unbroken(unlike)}</p>}
      {bars.length > 0 && (
        <svg class="figure bars" role="img" aria-label={`${name}: ${verdict.text}`} width={width} height={barsHeight(bars)} viewBox={`0 0 ${width} ${barsHeight(bars)}`}>
          <VerdictBars bars={bars} width={width} />
        </svg>
      )}
      <p class="basis">{verdict.basis}</p>
    </div>
  )
}

/** What stands between a run time and a fair one: what differs as the units were set up. */
function unlike(c: Comparison): string {
  const apart = c.conditions.filter((k) => k.state === "mismatch" || k.check === "transmit_rate" && k.state === "corrected")
  const [first] = apart
  if (!first || c.runtime.verdict === "cannot_rank") return ""
  const more = apart.length > 1 ? `; ${many(apart.length - 1, "more condition")} beneath` : ""
  const name = first.name.replace(/^[A-Z](?=[a-z])/, (letter) => letter.toLowerCase())
  return `${first.state === "mismatch" ? "Not like for like" : "As set up"}: ${name} ${first.a} for ${c.a}, ${first.b} for ${c.b}${more}.`
}

interface RunBehind {
  unit: string
  run: number
  heard: number
}

/** The runs that a comparison rests on: of its units, or of every unit of its kinds; of its test, where it is of one. */
export function runsBehind(report: Report, of: Comparison): RunBehind[] {
  const compared = (u: Unit) => u.name === of.a || u.name === of.b || report.kinds.includes(of) && (u.kind === of.a || u.kind === of.b)
  return report.units.filter(compared).flatMap((u) => u.runs.flatMap((r, run) => (r.saved || of.label !== "" && r.label !== of.label ? [] : [{ unit: u.name, run, heard: r.transmissions }])))
}

/** The packets that the verdicts rest on, unit by unit. */
function Behind({ of, place }: { of: Comparison; place: string }) {
  const { report, live } = useView()
  const runs = runsBehind(report, of)
  if (!live || runs.length === 0) return null
  const units = [...new Set(runs.map((r) => r.unit))]
  const summed = (name: string, own: readonly RunBehind[]) => ({ name, words: many(own.reduce((n, r) => n + r.heard, 0), "transmission"), among: own.map(({ unit, run }) => ({ unit, run })) })
  const found = units.length > 4 ? [summed(many(units.length, "unit"), runs)] : units.map((name) => summed(name, runs.filter((r) => r.unit === name)))
  return (
    <>
      <p class="note behind">
        {of.runtime.verdict === "cannot_rank" && of.draw.verdict === "cannot_rank" ? "The sheet holds " : "The verdicts rest on "}{found.map((f, i) => (
          <span key={f.name}>{i > 0 && (i === found.length - 1 ? " and " : ", ")}<Num place={place} number={f.name} title={`${f.name}: ${f.words} heard`} query={{ among: f.among }}>{f.words}</Num> heard of {f.name}</span>
        ))}.
      </p>
      <Drawer place={place} />
    </>
  )
}

/** A text in which no call sign is broken at its hyphen. */
function unbroken(text: string): ComponentChildren {
  return text.split(/([A-Z0-9]+-\d+)/).map((piece, i) => (i % 2 === 1 ? <span key={i} class="whole">{piece}</span> : piece))
}

/** One bar a unit: the two values behind the verdict. */
function bars(report: Report, c: Comparison, v: Verdict): VerdictBar[] {
  const index = (name: string) => report.units.findIndex((u) => u.name === name)
  if (!v.a || !v.b) return []
  return [{ index: index(c.a), value: v.a }, { index: index(c.b), value: v.b }]
}

const order = ["mismatch", "not_noted", "corrected", "match"] as const
const words = { match: ["condition matches", "conditions match"], corrected: ["is corrected", "are corrected"], mismatch: ["does not match", "do not match"], not_noted: ["is not noted", "are not noted"] } as const

/** "9 conditions match, 1 is corrected, 1 is not noted" */
export function tallied(c: Comparison): string {
  const parts = [...order].reverse().flatMap((state) => {
    const n = c.conditions.filter((k) => k.state === state).length
    return n === 0 ? [] : [`${n} ${words[state][n === 1 ? 0 : 1]}`]
  })
  return parts.join(", ")
}

/** The state that counts most among a comparison's conditions. */
function worst(c: Comparison): string {
  return order.find((state) => c.conditions.some((k) => k.state === state)) ?? "match"
}

function Fairness({ of }: { of: Comparison }) {
  const { report, live } = useView()
  if (of.conditions.length === 0) return null
  const state = worst(of)
  const open = openQuestions(report.questions).length
  const tally = tallied(of)
  const bad = of.conditions.filter((c) => c.state === "mismatch").map((c) => c.name.toLowerCase())
  return (
    <p class="fairness">
      <Icon state={state} /> {of.like_for_like}: {live ? <a href="#conditions">{tally}</a> : tally}{bad.length > 0 ? ` (${listed(bad)})` : ""}.
      {open > 0 && live && <> <a href="#units">{many(open, "answer")}</a> would narrow it.</>}
      {" "}Brackets hold 95 % throughout.
    </p>
  )
}

/** Kinds of unit, where several specimens of one were tested. */
function Kinds() {
  const { report } = useView()
  if (report.kinds.length === 0) return null
  return (
    <div class="bytest">
      {report.kinds.map((k) => (
        <div key={`${k.a} ${k.b}`} class="onetest">
          <h3>By kind: {k.a} and {k.b}</h3>
          <p>{k.runtime.text} {k.runtime.basis}</p>
          <p>{k.draw.text} {k.draw.basis}</p>
          <Behind of={k} place={`verdict ${k.a} ${k.b}`} />
        </div>
      ))}
    </div>
  )
}

function TestByTest({ of }: { of: Comparison }) {
  const others = of.groups.filter((g) => of.label === "" || g.label !== of.label)
  if (of.groups.length < 2 || others.length === 0) return null
  return (
    <div class="bytest">
      {others.map((g) => (
        <div key={g.label} class="onetest">
          <h3>{g.label || "Without a label"}</h3>
          <p>{g.runtime.text}</p>
          <p>{g.draw.text}</p>
          <Behind of={g} place={`verdict ${g.label}`} />
        </div>
      ))}
    </div>
  )
}
