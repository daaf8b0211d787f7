// When the engine stopped: what happened, where, what is safe, what next. When a bench was refused, or a file not opened.
import { many, visible } from "../format.ts"
import { saveAs } from "../figure/save.ts"
import { analysing, fault, refusal, report, stopped, tryAgain, version } from "../state/engine.ts"
import { notOpened } from "../state/intake.ts"
import { files, undo, undoable } from "../state/sheet.ts"
import { Part } from "./part.tsx"

export function FaultPart() {
  const now = fault.value
  if (!now) return null
  const [said = "", ...rest] = now.message.split("\n")
  const describe = () => saveAs("engine-fault.txt", "text/plain", `Lastbeacon ${version.value}\n${now.during.replace(/reading .*/, "reading a file")}\n${said}\n${rest.join("\n")}\n`)
  return (
    <Part id="fault" name={now.during === "starting" ? "Engine missing" : "Engine replaced"} heavy
      line={now.during === "starting" ? "The engine could not start." : `The engine stopped while ${now.during}. A fresh one has taken its place; your ${many(files.value.length, "file")} and all answers are still here.`}>
      <dl class="facts-list">
        <dt>What it said</dt><dd class="raw">{said}</dd>
        <dt>What you can do</dt><dd>{now.during === "starting" ? "Get the file again: it may be cut short or changed. A current browser is needed." : "Try it once more, or undo the last step. A description of the fault, without call signs or places, helps whoever looks after this tool."}</dd>
      </dl>
      <div class="buttons">
        {now.during !== "starting" && <button class="filled" type="button" onClick={tryAgain}>Try it once more</button>}
        {now.during !== "starting" && undoable.value && <button class="outline" type="button" onClick={() => (undo(), tryAgain())}>Undo the last step</button>}
        <button class="outline" type="button" onClick={describe}>Save the description</button>
        <button class="bare" type="button" onClick={() => (fault.value = null)}>Close</button>
      </div>
    </Part>
  )
}

/** The reader stopped the analysis: nothing is lost, and going on is one click. */
export function Stopped() {
  if (!stopped.value || analysing.value) return null
  return (
    <Part id="stopped" name="Stopped" heavy
      line={`You stopped the analysis. Your ${many(files.value.length, "file")} and all answers are still here${report.value ? "; what is shown below is from before" : ""}.`}>
      <div class="buttons">
        <button class="filled" type="button" onClick={tryAgain}>Work it out</button>
        {undoable.value && <button class="outline" type="button" onClick={undo}>Undo: {undoable.value}</button>}
      </div>
    </Part>
  )
}

export function Refused() {
  if (refusal.value === "") return null
  return (
    <Part id="refused" name="Not worked out" heavy line={`The engine refused this sheet: ${refusal.value}. What is shown below is from before.`}>
      <div class="buttons">{undoable.value && <button class="filled" type="button" onClick={undo}>Undo: {undoable.value}</button>}</div>
    </Part>
  )
}

export function NotOpened() {
  const now = notOpened.value
  if (now.length === 0) return null
  return (
    <Part id="not-opened" name="Not opened" heavy line={`${many(now.length, "file")} could not be opened; everything else on the sheet is as it was.`}>
      <ul class="raw">{now.map((why) => <li key={why}>{visible(why)}</li>)}</ul>
      <div class="buttons"><button class="bare" type="button" onClick={() => (notOpened.value = [])}>Close</button></div>
    </Part>
  )
}
