// The evidence: a row a file with how far its reading is, what was not used and why, and what a file leaves to ask.
import { bytes, count, listed, many, moment, stretch, withUnit, zoneName } from "../format.ts"
import type { Ask, File as ReportFile, Note } from "../report.gen.ts"
import type { ComponentChildren } from "preact"
import { useState } from "preact/hooks"
import type { Behind } from "../figure/table.ts"
import { saveAs } from "../figure/save.ts"
import { unusedLines } from "../state/unused.ts"
import { fileNamed, withFileNamed } from "../state/edits.ts"
import { cancel, engine, places, read, reading, readings, stopped, type Reading } from "../state/engine.ts"
import { renewed } from "../state/growth.ts"
import { bench, changeBench, files, removeFile, type Entry } from "../state/sheet.ts"
import { useView } from "../view.ts"
import { isoDay, readDay, zoneKnown } from "../zone.ts"
import { orphans, ownable, OwnerAsk, Owners } from "./belongs.tsx"
import { Columns, ColumnsAsk } from "./columns.tsx"
import { AddButtons } from "./empty.tsx"
import { Asked, Field, NumberField, WhenField } from "./field.tsx"
import { Num } from "./number.tsx"
import { Fold, Part } from "./part.tsx"
import { Table, type Head, type Line } from "./table.tsx"

export function Evidence() {
  const { report, live, bench } = useView()
  const owned = live ? orphans(report, bench) : []
  const asks = owned.length > 0 || report.evidence.some((f) => f.asks.length > 0) || report.questions.some((q) => isClock(q.code))
  const missing = [...readings.value.values()].some((r) => r.stage === "refused")
  const settled = (bench.units?.length ?? 0) > 0 && !asks && !reading.value && !missing
  return (
    <Part id="evidence" name={reading.value ? "Reading" : "Evidence"} line={<Sum />} foldable folded={settled}>
      {live ? <LiveFiles /> : <ReadFiles />}
      {report.evidence.flatMap((f) => f.asks.map((a) => <FileAsk key={f.id + a.field} file={f} ask={a} />))}
      {owned.map((f) => <OwnerAsk key={f.id} file={f} />)}
      {live && report.questions.filter((q) => isClock(q.code)).map((q) => <ClockAsk key={q.id} file={q.file} question={q.ask} why={q.why} />)}
      {report.evidence.map((f) => <Columns key={f.id} file={f} />)}
      <Notes />
      {live && <AddButtons />}
    </Part>
  )
}

/** "5 files. Read 9,812 of 9,840 lines; 28 not used: 14 without a header." */
function Sum() {
  const { report } = useView()
  const lines = report.evidence.reduce((n, f) => n + f.lines, 0)
  const unused = report.evidence.reduce((n, f) => n + f.not_used, 0)
  const kinds = reasonsOf(report.notes).slice(0, 3).map(([why, n]) => `${count(n)} because ${why}`)
  return (
    <>
      {many(Math.max(report.evidence.length, files.value.length), "file")}.
      {lines > 0 && <> Read {count(lines - unused)} of {many(lines, "line")}{unused > 0 ? `; ${count(unused)} not used${kinds.length > 0 ? `: ${listed(kinds)}` : ""}` : ""}.</>}
    </>
  )
}

/** Why lines were not used, in short, and how many of them; the commonest first. */
function reasonsOf(notes: readonly Note[]): [string, number][] {
  const found = new Map<string, number>()
  for (const n of notes.filter((n) => n.unused)) {
    const why = n.text.split(/ \(|: /)[0] ?? ""
    found.set(why, (found.get(why) ?? 0) + n.count)
  }
  return [...found].sort((a, b) => b[1] - a[1])
}

const heads: Head[] = [
  { name: "File" }, { name: "Holds", kind: "grow" }, { name: "Lines", kind: "num" }, { name: "Not used", kind: "num" }, { name: "Seen before", kind: "num" },
  { name: "First to last" }, { name: "Zone, and why" }, { name: "Clock ahead", kind: "num" }, { name: "Remove", kind: "action" },
]

const pendingHeads: Head[] = [
  { name: "File" }, { name: "Read", kind: "grow" }, { name: "Bytes", kind: "num" }, { name: "Lines", kind: "num" }, { name: "Not used", kind: "num" }, { name: "Stage" }, { name: "Cancel or remove", kind: "action" },
]

/** Files that are being read or could not be, then those that were. */
function LiveFiles() {
  const { report } = useView()
  const pending: Line[] = [], done: Line[] = []
  for (const entry of files.value) {
    const now = readings.value.get(entry.id) ?? { stage: "waiting", progress: null, message: "" } as const
    const found = report.evidence[places.value.get(entry.id) ?? -1]
    if (now.stage === "done" && found) done.push(doneLine(entry, found))
    else pending.push(pendingLine(entry, now))
  }
  return (
    <>
      {pending.length > 0 && <Table caption="Files being read" heads={pendingHeads} groups={[{ key: "files", name: null, lines: pending }]} fixed="files" />}
      {done.length > 0 && <Table caption="Files" heads={heads} groups={[{ key: "files", name: null, lines: done }]} fixed="files" />}
    </>
  )
}

function ReadFiles() {
  const { report, bench } = useView()
  const lines = report.evidence.map((f) => ({ key: String(f.id), under: ownable(f, bench) && <Owners file={f} />, cells: cellsOf(f) }))
  return <Table caption="Files" heads={heads.slice(0, -1)} groups={[{ key: "files", name: null, lines }]} />
}

const stages = { waiting: "waiting", reading: "reading", done: "being worked out", cancelled: "cancelled", refused: "not read" } as const

function pendingLine(entry: Entry, now: Reading): Line {
  const p = now.progress
  const busy = now.stage === "reading" || now.stage === "waiting"
  const size = entry.size || p?.size || 0
  return {
    key: String(entry.id),
    cells: [
      <span class="file">{entry.name}</span>,
      now.message === "" ? <Progress done={now.stage === "done" ? size : p?.bytes ?? 0} of={size} name={entry.name} /> : <span class="aside">{now.message}</span>,
      size > 0 && busy && now.message === "" ? `${bytes(p?.bytes ?? 0)} of ${bytes(size)}` : bytes(busy ? p?.bytes ?? size : size),
      p && p.stage !== "first look" ? count(p.lines) : "", p && p.stage !== "first look" ? count(p.notUsed) : "", now.stage === "reading" ? p?.stage ?? "reading" : now.stage === "done" && stopped.value ? "read" : stages[now.stage],
      busy ? <button class="outline" type="button" onClick={() => cancel(entry.id)}>Cancel<span class="sr"> reading {entry.name}</span></button> : (
        <>
          {now.stage !== "done" && <button class="bare" type="button" onClick={() => void read(entry)}>Read again<span class="sr"> {entry.name}</span></button>}
          <RemoveButton entry={entry} />
        </>
      ),
    ],
  }
}

/** Progress is ink in a frame. */
function Progress({ done, of, name }: { done: number; of: number; name: string }) {
  const share = of > 0 ? Math.min(1, done / of) : 0
  return (
    <svg class="progress" width="120" height="9" viewBox="0 0 120 9" role="progressbar" aria-label={`Reading ${name}`} aria-valuemin={0} aria-valuemax={100} aria-valuenow={Math.round(share * 100)}>
      <rect class="frame" x="0.5" y="0.5" width="119" height="8" />
      <rect class="ink" x="0" y="0" width={Math.round(share * 120)} height="9" />
    </svg>
  )
}

function RemoveButton({ entry }: { entry: Entry }) {
  return <button class="bare" type="button" onClick={() => removeFile(entry.id)}>Remove<span class="sr"> {entry.name}</span></button>
}

function doneLine(entry: Entry, f: ReportFile): Line {
  const [file, ...rest] = cellsOf(f)
  const anew = renewed.value.has(entry.id) && <span class="aside"> Another log was begun under this name. What was read stays until the file must be read again; drop it again to have the new log too.</span>
  return { key: String(entry.id), place: `file ${f.id}`, under: ownable(f, bench.value) && <Owners file={f} />, cells: [<>{file}{anew}</>, ...rest, <RemoveButton entry={entry} />] }
}

function cellsOf(f: ReportFile) {
  const behind = (number: string, title: string, children: ComponentChildren, more: Behind = {}) => <Num place={`file ${f.id}`} number={number} title={title} query={{ file: f.id, ...more }}>{children}</Num>
  return [
    <span class="file" title={f.sha256 ? `SHA-256 ${f.sha256}` : ""}>{f.file}</span>,
    f.packets > 0 ? behind("packets", `${f.file}, ${many(f.packets, "packet")}`, holds(f)) : holds(f),
    count(f.lines),
    f.not_used > 0 ? <a class="num" href="#notused">{count(f.not_used)}</a> : "0",
    f.again > 0 ? behind("again", `${f.file}, ${many(f.again, "line")} seen before`, count(f.again), { why: "again" }) : "0",
    f.packets > 0 ? behind("span", `${f.file}, first to last`, <Span file={f} />) : <Span file={f} />,
    f.first === null ? "" : <ZoneOf file={f} />,
    f.first === null ? "" : <ClockOf file={f} />,
  ]
}

function Span({ file }: { file: ReportFile }) {
  const { zone } = useView()
  return <>{stretch(file.first, file.last, zone)}</>
}

/** What a file holds, in a few words. */
function holds(f: ReportFile): string {
  const parts = [
    f.packets > 0 ? many(f.packets, "packet") : "", f.fixes > 0 ? many(f.fixes, "fix", "fixes") : "", f.readings > 0 ? many(f.readings, "reading") : "",
  ].filter((t) => t !== "")
  return parts.length > 0 ? listed(parts) : f.format === "" || f.format === "unknown" ? "nothing we can read" : `nothing we can read (${f.format})`
}

function ZoneOf({ file }: { file: ReportFile }) {
  const { live } = useView()
  const known = fileNamed(bench.value, file.file).zone ?? ""
  if (!live || (file.zone_basis.startsWith("stated") && known === "")) return <>{zoneName(file.zone)}, {file.zone_basis}</>
  const commit = (text: string) => {
    const zone = text.replaceAll(" ", "_")
    if (zone !== "" && !zoneKnown(zone)) return "a zone is wanted, such as Europe/Oslo or +02:00"
    changeBench(`change the zone of ${file.file}`, withFileNamed(bench.value, file.file, (f) => ({ ...f, zone })))
    return null
  }
  return <><Field label={`Zone of ${file.file}`} value={zoneName(known || file.zone)} size={Math.max(6, file.zone.length)} list="zones" onCommit={commit} /> <span class="aside">{file.zone_basis}</span></>
}

function ClockOf({ file }: { file: ReportFile }) {
  const { live, bench: shown } = useView()
  const ahead = fileNamed(live ? bench.value : shown, file.file).clock_offset_s ?? 0
  if (!live) return <>{withUnit(String(ahead), "s")}</>
  const set = (v: number | null) => changeBench(`change the clock of ${file.file}`, withFileNamed(bench.value, file.file, (f) => ({ ...f, clock_offset_s: v ?? 0 })))
  return <NumberField label={`How far the clock of ${file.file} is ahead`} value={ahead} unit="s" least={-86400 * 400} most={86400 * 400} size={4} onChange={set} />
}

const askWords: Record<string, string> = {
  day_order: "In which order does % write its dates?", half_day: "Does % begin before noon or after it?", zone: "In which zone did % write its times?", date: "On which day does % begin?",
}

const askLabels: Record<string, string> = { zone: "Zone asked", date: "Date", day_order: "Day order", half_day: "Half of the day" }

const choiceWords: Record<string, string> = { dmy: "Day first", mdy: "Month first", ymd: "Year first", am: "Before noon", pm: "After noon" }

/** A remark as a sentence of its own. */
function sentence(text: string): string {
  const t = text.trim()
  return t === "" ? "" : `${t.slice(0, 1).toUpperCase()}${t.slice(1)}${/[.:?]$/.test(t) ? "" : "."}`
}

/** What the file's own lines leave open, with two of them to look at. */
function FileAsk({ file, ask }: { file: ReportFile; ask: Ask }) {
  const { live } = useView()
  if (!live) return null
  if (ask.field === "columns") return <ColumnsAsk file={file} why={sentence(ask.why)} />
  const set = (value: string) => {
    changeBench(`answer for ${file.file}`, withFileNamed(bench.value, file.file, (f) => ({ ...f, [ask.field]: value })))
  }
  const free = (text: string) => {
    if (ask.field === "zone" && !zoneKnown(text.replaceAll(" ", "_"))) return "a zone is wanted, such as Europe/Oslo or +02:00"
    const day = ask.field === "date" && /\d{4}/.test(text) ? readDay(text, Date.now(), "UTC") : null
    if (ask.field === "date" && !day) return "a date is wanted, such as 2031-05-02 or 2 May 2031"
    set(day ? isoDay(day) : text.replaceAll(" ", "_"))
    return null
  }
  return (
    <Asked question={(askWords[ask.field] ?? `What is the ${ask.field} of %?`).replace("%", file.file)} why={`${sentence(ask.why)}${ask.taken ? ` Meanwhile taken: ${choiceWords[ask.taken] ?? zoneName(ask.taken)}.` : ""}`}>
      {ask.choices.length === 0 && <Field label={`${askLabels[ask.field] ?? ask.field} of ${file.file}`} value="" asked size={14} onCommit={free} {...(ask.field === "zone" ? { list: "zones" } : {})} />}
      {ask.samples.length > 0 && <pre class="rawlines" tabIndex={0} role="region" aria-label={`Lines of ${file.file}`}>{ask.samples.join("\n")}</pre>}
      {ask.choices.length > 0 && <span class="buttons">{ask.choices.map((c) => <button key={c} class="outline" type="button" onClick={() => set(c)}>{choiceWords[c] ?? zoneName(c)}</button>)}</span>}
    </Asked>
  )
}

function isClock(code: string): boolean {
  return code === "clock_offset" || code === "clock_either" || code === "clock_zone"
}

/** Offers to put a clock right that the evidence shows to be off; the suggestion comes on top of what is set already. Where
 * either of two may be off, both are offered. */
function ClockAsk({ file, question, why }: { file: string; question: string; why: string }) {
  const { report } = useView()
  const found = report.evidence.find((f) => f.file === file)
  const seconds = Math.round(found?.suggested_offset_s?.best ?? 0)
  const take = (name: string, by: number) => changeBench(`put the clock of ${name} right`, withFileNamed(bench.value, name, (f) => ({ ...f, clock_offset_s: (f.clock_offset_s ?? 0) + by })))
  const by = withUnit(String(Math.abs(seconds)), "s")
  const zone = found?.suggested_zone ?? ""
  const write = () => changeBench(`set the zone of ${file}`, withFileNamed(bench.value, file, (f) => ({ ...f, zone })))
  if (zone !== "") return <Asked question={question} why={why}><button class="outline" type="button" onClick={write}>Set {zoneName(zone)}</button></Asked>
  if (!found?.offset_either) return <Asked question={question} why={why}><button class="outline" type="button" onClick={() => take(file, seconds)}>Put it right by {by}</button></Asked>
  return (
    <Asked question={question} why={why}>
      <span class="buttons">
        <button class="outline" type="button" onClick={() => take(file, seconds)}>Put {file} right by {by}</button>
        <button class="outline" type="button" onClick={() => take(found.offset_against, -seconds)}>Put {found.offset_against} right by {by}</button>
      </span>
    </Asked>
  )
}

/** Notes grouped by kind: how many lines, why, the first of them, what to do. */
export function Notes() {
  const { report } = useView()
  const unused = report.notes.filter((n) => n.unused)
  const whole = report.notes.filter((n) => !n.unused && n.line === 0)
  const odd = report.notes.filter((n) => !n.unused && n.line > 0)
  const total = unused.reduce((n, note) => n + note.count, 0)
  return (
    <>
      {unused.length > 0 && <><h3 id="notused">{many(total, "line")} not used</h3><NoteTable caption="Lines not used" notes={unused} /><ExportUnused total={total} /></>}
      {whole.length > 0 && <><h3>{many(new Set(whole.map((n) => n.file)).size, "file")} with a remark</h3><NoteTable caption="Remarks on files" notes={whole} /></>}
      {odd.length > 0 && <Fold title={`${many(odd.reduce((n, note) => n + note.count, 0), "remark")} on lines that were used`}><NoteTable caption="Remarks on lines" notes={odd} /></Fold>}
    </>
  )
}

function ExportUnused({ total }: { total: number }) {
  const { live } = useView()
  const [failed, fail] = useState("")
  if (!live) return null
  const save = async () => {
    const exported = await engine()?.exportPackets()
    if (exported) saveAs("lines-not-used.txt", "text/plain", await unusedLines(exported))
  }
  return (
    <div class="buttons">
      <button class="outline" type="button" onClick={() => void save().catch((reason: Error) => fail(reason.message))}>Export the {many(total, "line")}</button>
      {failed && <span class="wrongtext" role="alert">It was not saved: {failed}</span>}
    </div>
  )
}

const noteHeads: Head[] = [{ name: "How many" }, { name: "Why" }, { name: "The first of them", kind: "grow" }, { name: "What to do" }]

function NoteTable({ caption, notes }: { caption: string; notes: readonly Note[] }) {
  const { report } = useView()
  const lines = notes.map((n, i) => {
    const id = report.evidence.find((f) => f.file === n.file)?.id
    return {
      key: String(i), place: `note ${n.file} ${n.line} ${n.code}`,
      cells: [
        n.line > 0 || n.count > 1 ? many(n.count, "line") : "the file", n.text,
        <span class="quoted">
          <span class="aside">{n.file}{n.line > 0 && <>, line{" "}{id === undefined ? count(n.line) : (
            <Num place={`note ${n.file} ${n.line} ${n.code}`} number="line" title={`${n.file}, line ${count(n.line)} and around`} query={{ file: id, line: n.line }}>{count(n.line)}</Num>
          )}</>}</span>
          {n.excerpt !== "" && <span class="raw">{n.excerpt}</span>}
        </span>,
        n.help,
      ],
    }
  })
  return <Table caption={caption} heads={noteHeads} groups={[{ key: "notes", name: null, lines }]} fixed="notes" />
}

/** Asks until when a recorder is known to have listened, in place. */
export function WatchedAsk({ file, question, why }: { file: string; question: string; why: string }) {
  const { report, zone } = useView()
  const found = report.evidence.find((f) => f.file === file)
  const last = found?.last ? Date.parse(found.last) : 0
  const watched = fileNamed(bench.value, file).watched ?? []
  const until = watched.at(-1)?.until
  return (
    <Asked question={question} why={`${why}${last > 0 ? ` The file ends at ${moment(last, zone)}.` : ""}`}>
      <WhenField label={`Watched until, ${file}`} value={until ? { at: until } : null} near={last} asked
        onChange={(v) => changeBench(`note until when ${file} was watched`, withFileNamed(bench.value, file, (f) => ({ ...f, watched: v ? [{ until: v.at }] : [] })))} />
    </Asked>
  )
}
