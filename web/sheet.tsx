// The sheet from the result down, the same on the page and in the report without an engine.
import { count } from "./format.ts"
import { About } from "./part/about.tsx"
import { ConditionsPart } from "./part/conditions.tsx"
import { Evidence } from "./part/evidence.tsx"
import { Findings } from "./part/findings.tsx"
import { Cautions, NextTest, Outlook } from "./part/outlook.tsx"
import { Result } from "./part/result.tsx"
import { Stations } from "./part/stations.tsx"
import { Units } from "./part/units.tsx"
import { useView } from "./view.ts"

export function SheetParts() {
  return (
    <>
      <Result />
      <Evidence />
      <BelowEvidence />
    </>
  )
}

export function BelowEvidence() {
  return (
    <>
      <Stations />
      <Units />
      <Findings />
      <ConditionsPart />
      <Outlook />
      <NextTest />
    </>
  )
}

export function Foot() {
  const { report, live } = useView()
  const lines = report.evidence.reduce((n, f) => n + f.lines, 0), unused = report.evidence.reduce((n, f) => n + f.not_used, 0)
  return (
    <footer class="foot">
      <div>
        <p class="note">
          {lines > 0 && `Read ${count(lines - unused)} of ${count(lines)} lines; ${count(unused)} not used. `}
          {live ? "This page makes no network request: switch the network off and it works the same. A bench file can be dropped as well. " : ""}
          Lastbeacon{report.version && ` ${report.version}, ${report.schema}`}.
        </p>
        {live && <About />}
      </div>
      <div><Cautions /></div>
    </footer>
  )
}
