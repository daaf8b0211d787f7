// The page: the window as a drop target, the head, and the sheet as far as there is one.
import { useComputed, useSignal } from "@preact/signals"
import { useEffect, useRef } from "preact/hooks"
import { many } from "./format.ts"
import { Empty } from "./part/empty.tsx"
import { Evidence } from "./part/evidence.tsx"
import { FinishedCopy } from "./part/finished.tsx"
import { FaultPart, NotOpened, Refused, Stopped } from "./part/fault.tsx"
import { FirstFindings, FirstResult } from "./part/first-look.tsx"
import { Kept } from "./part/kept.tsx"
import { Part } from "./part/part.tsx"
import { Result } from "./part/result.tsx"
import { Running } from "./part/running.tsx"
import { Save } from "./part/save.tsx"
import { Turns } from "./part/turn.tsx"
import { Header, Title } from "./part/title.tsx"
import { BelowEvidence, Foot } from "./sheet.tsx"
import { analysing, busy, lanes, reading, report, stopped } from "./state/engine.ts"
import { firstLook } from "./state/first-look.ts"
import { finished } from "./state/finished.ts"
import { takeDrop, takeText } from "./state/intake.ts"
import { said } from "./state/selection.ts"
import { settings } from "./state/settings.ts"
import { drawAll, drawing } from "./state/turns.ts"
import { bench, files, redo, undo, unsaved } from "./state/sheet.ts"
import { emptyReport, ViewContext, type View } from "./view.ts"

export function App() {
  const width = useSignal(976)
  const main = useRef<HTMLDivElement>(null)
  useEffect(() => follow(main.current, (w) => (width.value = w)), [])
  const view = useComputed((): View => ({
    report: report.value ?? emptyReport, lanes: lanes.value, bench: bench.value, zone: bench.value.display_zone ?? "UTC",
    measure: settings.value.measure, width: width.value, live: true,
  }))
  const empty = files.value.length === 0 && (bench.value.units?.length ?? 0) === 0
  return (
    <ViewContext.Provider value={view.value}><Turns.Provider value>
      <DropTarget />
      <div class="page" ref={main}>
        <Header />
        <main>
          {empty && finished.value ? <><FaultPart /><NotOpened /><FinishedCopy width={width.value} /></> : empty ? <><FaultPart /><NotOpened /><Kept /><Empty /></> : (
            <>
              <Title />
              <FaultPart />
              <NotOpened />
              <Kept />
              <Refused />
              <Stopped />
              <Running />
              {report.value ? <Result /> : firstLook.value ? <FirstResult width={width.value} /> : <Awaited />}
              <Evidence />
              {report.value ? <BelowEvidence /> : firstLook.value && <FirstFindings width={width.value} />}
              {report.value && <Save />}
            </>
          )}
        </main>
        <Foot />
        <Status />
      </div>
    </Turns.Provider></ViewContext.Provider>
  )
}

/** What the page is at, for those who listen; a component of its own, so that a change of it draws nothing else anew. */
function Status() {
  return <p class="sr" role="status">{said.value ? `${said.value}. ` : ""}{firstLook.value ? "A first look; reading the whole." : reading.value ? "Reading." : busy.value ? "Working it out." : drawing.value ? "Drawing it." : stopped.value ? "Stopped." : report.value ? "The sheet is up to date." : ""}</p>
}

/** Where the result will stand. */
function Awaited() {
  return analysing.value && !reading.value && files.value.length > 0 ? <Part id="result" name="Result" heavy line={`It is being worked out from ${many(files.value.length, "file")}.`} /> : null
}

/** The content column's width: 976 beside the margin of names, else the window less its margins. */
function columnWidth(page: number): number {
  if (page >= 1056) return Math.min(976, page - 128 - 176)
  return page >= 720 ? Math.min(648, page - 64) : Math.max(240, page - 32)
}

function follow(page: HTMLElement | null, told: (width: number) => void) {
  if (!page) return
  const tell = () => told(columnWidth(document.documentElement.clientWidth))
  const observer = new ResizeObserver(tell)
  observer.observe(page)
  tell()
  const paper = () => {
    drawAll()
    told(648)
  }
  window.addEventListener("beforeprint", paper)
  window.addEventListener("afterprint", tell)
  return () => {
    observer.disconnect()
    window.removeEventListener("beforeprint", paper)
    window.removeEventListener("afterprint", tell)
  }
}

/** Files may be dropped anywhere; while they hang over the window a line says what will happen. It lies over the whole sheet and takes the
 * drop: the browser gives a drop to what it last met below the pointer, and where that was drawn anew meanwhile, opens the file instead. */
function DropTarget() {
  const over = useSignal("")
  useEffect(() => listen(over), [])
  return over.value === "" ? null : <div class="dropping" aria-hidden="true"><p>{over.value}</p></div>
}

function listen(over: { value: string }) {
  const control = new AbortController()
  const on = <K extends keyof WindowEventMap>(type: K, run: (e: WindowEventMap[K]) => void) => window.addEventListener(type, run, { signal: control.signal })
  on("dragover", (e) => {
    e.preventDefault()
    const n = [...(e.dataTransfer?.items ?? [])].filter((i) => i.kind === "file").length
    over.value = n > 0 ? `adds ${many(n, "file")} to this sheet` : "adds this text to the sheet"
  })
  on("dragleave", (e) => {
    if (e.relatedTarget === null) over.value = ""
  })
  on("pointermove", () => (over.value = "")) // there are none while something is dragged
  on("drop", (e) => {
    e.preventDefault()
    over.value = ""
    if (e.dataTransfer) void takeDrop(e.dataTransfer)
  })
  on("paste", (e) => {
    if (typing(e.target)) return
    const text = e.clipboardData?.getData("text/plain") ?? ""
    if (text !== "") takeText(text)
  })
  on("keydown", (e) => {
    if (typing(e.target) || !(e.ctrlKey || e.metaKey) || e.key.toLowerCase() !== "z") return
    e.preventDefault()
    if (e.shiftKey) redo()
    else undo()
  })
  on("beforeunload", (e) => {
    if (unsaved.value > 0) e.preventDefault()
  })
  return () => control.abort()
}

function typing(target: EventTarget | null): boolean {
  return target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement
}
