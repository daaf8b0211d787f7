// The headless command: reads files under a bench with the same engine as the page, and writes reports and exports.
import { createHash } from "node:crypto"
import { createReadStream, createWriteStream, readFileSync, statSync, writeFileSync } from "node:fs"
import { basename, extname } from "node:path"
import type { Bench } from "./bench.gen.ts"
import { Engine, EngineFault, type ExportKind, type FileSource } from "./engine.ts"
import { visible } from "./format.ts"
import { reportPage } from "./report-page.tsx"
import type { Report } from "./report.gen.ts"
import { sheetCSS } from "./style.ts"
import { benchFrom } from "./state/bench-file.ts"

// The build replaces this by the packed engine.
declare const ENGINE_PACKED: string

const usage = `usage: node lastbeacon.mjs [--bench BENCH.json] [--report OUT.json|.csv|.md|.html]... [--packets OUT.jsonl]
                           [--transmissions OUT.jsonl] [--zone ZONE] FILE...
  --bench          the units, what is known of them, and settings (lastbeacon.bench/1)
  --report         where to write the report; its ending decides the form; may be given more than once
  --packets        one JSON object per evidence line
  --transmissions  one JSON object per transmission of a unit
  --zone           the zone of files that state none, such as Europe/Oslo or +02:00 (default UTC)`

class UsageError extends Error {}

interface Options {
  bench: string | undefined
  reports: string[]
  packets: string | undefined
  transmissions: string | undefined
  zone: string | undefined
  files: string[]
  help: boolean
}

function parseArguments(args: string[]): Options {
  const options: Options = { bench: undefined, reports: [], packets: undefined, transmissions: undefined, zone: undefined, files: [], help: false }
  for (let i = 0; i < args.length; i++) {
    const word = args[i] as string
    const value = () => {
      const next = args[++i]
      if (next === undefined) throw new UsageError(`${word} wants a value`)
      return next
    }
    if (word === "--bench") options.bench = value()
    else if (word === "--report") options.reports.push(value())
    else if (word === "--packets") options.packets = value()
    else if (word === "--transmissions") options.transmissions = value()
    else if (word === "--zone") options.zone = value()
    else if (word === "--help" || word === "-h") options.help = true
    else if (word === "--") options.files.push(...args.slice(i + 1)), (i = args.length)
    else if (word.startsWith("--")) throw new UsageError(`there is no option ${word}`)
    else options.files.push(word)
  }
  for (const out of options.reports) {
    if (![".json", ".csv", ".md", ".html"].includes(extname(out))) throw new UsageError(`--report ${out}: the name must end in .json, .csv, .md or .html`)
  }
  if (!options.help && options.files.length === 0 && options.bench === undefined) throw new UsageError("no file was given")
  return options
}

/** The text of a bench file, as it stands there: what is wrong with it is said with its line. */
function readBench(path: string | undefined): string {
  if (path === undefined) return JSON.stringify({ schema: "lastbeacon.bench/1" })
  try {
    return readFileSync(path, "utf8").replace(/^\ufeff/, "")
  } catch (fault) {
    throw new UsageError(`the bench file cannot be read: ${(fault as Error).message}`)
  }
}

function fileSource(path: string): FileSource {
  return { name: basename(path), size: statSync(path).size, open: () => createReadStream(path, { highWaterMark: 1 << 20 }) }
}

async function writeLines(path: string, run: (write: (chunk: Uint8Array) => Promise<void>) => Promise<void>) {
  const out = createWriteStream(path)
  const broken = new Promise<never>((_, reject) => out.on("error", reject))
  broken.catch(() => undefined)
  await run((chunk) => Promise.race([broken, new Promise<void>((done) => (out.write(chunk) ? done() : out.once("drain", done)))]))
  await Promise.race([broken, new Promise<void>((done) => out.end(done))])
}

async function writeReport(engine: Engine, report: Report, bench: Bench, path: string) {
  const kind = extname(path).slice(1)
  if (kind === "html") return writeFileSync(path, reportPage(report, engine.lanes(), bench, sheetCSS))
  writeFileSync(path, engine.export(kind as ExportKind))
}

export async function main(args: string[]): Promise<number> {
  const options = parseArguments(args)
  if (options.help) {
    console.log(usage)
    return 0
  }
  const text = readBench(options.bench)
  const engine = await Engine.start(ENGINE_PACKED, () => createHash("sha256"))
  let bench: Bench
  try {
    engine.prepare(text)
    const found = benchFrom(text)
    if (!found) throw new Error("it has no schema")
    bench = found
    if (options.zone !== undefined) bench.options = { ...bench.options, default_zone: options.zone }
    engine.prepare(bench)
  } catch (fault) {
    if (fault instanceof EngineFault) throw fault
    throw new UsageError(`${options.bench ?? "the bench"}: ${(fault as Error).message}`)
  }
  let read = 0
  for (const [id, path] of options.files.entries()) {
    try {
      await engine.read(id, fileSource(path))
      read++
    } catch (fault) {
      if (fault instanceof EngineFault) throw fault
      console.error(oneLine(`${path}: ${(fault as Error).message}`))
    }
  }
  const report = await engine.analyse(bench)
  complain(report)
  for (const out of options.reports) await writeReport(engine, report, bench, out)
  if (options.packets !== undefined) await writeLines(options.packets, (write) => engine.exportPackets(write))
  if (options.transmissions !== undefined) writeFileSync(options.transmissions, engine.export("transmissions"))
  process.stdout.write(engine.export("summary"))
  if (process.env.LASTBEACON_MEMORY) console.error(`engine memory: ${(engine.memory / 1e6).toFixed(1)} MB`)
  const evidence = report.evidence.some((file) => file.packets + file.fixes + file.readings > 0 || file.kind === "report")
  if (options.files.length === 0) return report.units.some((u) => u.runs.length > 0) ? 0 : 2 // runs typed by hand, or of saved reports
  return read > 0 && evidence ? 0 : 2
}

function complain(report: Report) {
  for (const note of report.notes) {
    const where = note.line > 0 ? `${note.file}:${note.line}` : note.file
    const times = note.count > 1 ? ` (${note.count} lines)` : ""
    console.error(oneLine(`${where}: ${note.text}${times} [${note.code}]`))
  }
}

/** A message in one line, whatever stands in the names in it: none may look like another message. */
function oneLine(text: string): string {
  return visible(text).replaceAll("\n", "\\u000a")
}

main(process.argv.slice(2)).then(
  (code) => process.exit(code),
  (fault: Error) => {
    console.error(visible(fault.message))
    if (fault instanceof UsageError) console.error(usage)
    process.exit(fault instanceof UsageError ? 1 : 3)
  },
)
