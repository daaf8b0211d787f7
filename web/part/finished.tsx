// A copy saved without its evidence: says so first, then shows the finished report as it was.
import { listed } from "../format.ts"
import { finished, goOn } from "../state/finished.ts"
import { settings } from "../state/settings.ts"
import { SheetParts } from "../sheet.tsx"
import { ViewContext } from "../view.ts"
import { Part } from "./part.tsx"

export function FinishedCopy({ width }: { width: number }) {
  const copy = finished.value
  if (!copy) return null
  const { report, lanes, bench, left } = copy
  return (
    <ViewContext.Provider value={{ report, lanes, bench, zone: report.display_zone || "UTC", measure: settings.value.measure, width, live: false }}>
      <div class="title"><h1 tabIndex={-1}>{report.title || "Untitled trial"}</h1></div>
      <Part id="copy" name="A copy without its evidence" heavy
        line={`This copy holds a finished report and no packet: ${listed(left)}. So its numbers open no packets and nothing of it can be worked out anew.`}>
        <p class="note">Its runs can be taken onto a sheet, as finished ones, to compare them with others; logs that you add stand beside them.</p>
        <div class="buttons"><button class="filled" type="button" onClick={goOn}>Go on with its runs</button></div>
      </Part>
      <SheetParts />
    </ViewContext.Provider>
  )
}
