// What this browser kept of the last sheet, and the reader's choice whether to have it back.
import { many } from "../format.ts"
import { forgetKept, offered, takeBack } from "../state/kept.ts"
import { Part } from "./part.tsx"

export function Kept() {
  const bench = offered.value
  if (!bench) return null
  const units = bench.units ?? []
  const of = units.length > 0 ? ` with ${many(units.length, "unit")} (${units.map((u) => u.name).join(", ")})` : ""
  return (
    <Part id="kept" name="Kept bench" heavy noPrint
      line={`This browser kept a bench that was not saved: ${bench.title || "an untitled trial"}${of}. Files are never kept: drop them again beside it. Until you decide, nothing newer is kept.`}>
      <div class="buttons">
        <button class="filled" type="button" onClick={takeBack}>Take it back</button>
        <button class="outline" type="button" onClick={forgetKept}>Forget it</button>
      </div>
    </Part>
  )
}
