// The exports of a JSON object a line as others may see them. They may be larger than a text may be, so they go through piece by
// piece: once to learn every call sign in them, once to be written.
import type { Discretion, Names } from "./share.ts"
import { mapped, withoutText } from "./share.ts"

/** What an object of either export may hold that somebody may want to leave out. */
interface Row {
  station?: string
  unit?: string
  receiver?: string
  path?: string[]
  lat?: number | null
  lon?: number | null
  [property: string]: unknown
}

/** What packets say: the whole line, and what is read out of it. A destination may hold a latitude, a name a call sign. */
const said = ["raw", "text", "comment", "name", "destination", "path"]
/** What tells a place. */
const placed = ["lat", "lon", "ambiguity", "altitude_m"]

/** Metres a degree of latitude, on the sphere of the same size as the earth. */
const metresADegree = 6_371_009 * Math.PI / 180

/** An export with what is to be left out left out. names must know what the report holds, and learns what else stands here. */
export async function rowsForOthers(exported: Blob, d: Discretion, names: Names | null): Promise<Blob> {
  if (names) await eachLine(exported, (line) => learn(line, names))
  const out: string[] = [], firsts = new Map<string, [number, number]>()
  await eachLine(exported, (line) => out.push(rowForOthers(line, d, names, firsts), "\n"))
  return new Blob(out, { type: "application/jsonl" })
}

function learn(line: string, names: Names) {
  const { station, receiver, path } = JSON.parse(line) as Row
  for (const call of [station, receiver, ...(path ?? [])]) if (call && !/^(?:WIDE|TRACE|RELAY|TCP|q[A-Z])/.test(call)) names.learn(call.replace(/\*$/, ""))
  names.learnFrom(line)
}

function rowForOthers(line: string, d: Discretion, names: Names | null, firsts: Map<string, [number, number]>): string {
  const row = JSON.parse(line) as Row
  if (d.places === "metres") Object.assign(row, inMetres(row, firsts))
  for (const name of [...(withoutText(d) ? said : []), ...(d.places === "kept" ? [] : placed)]) delete row[name]
  return JSON.stringify(names ? mapped(row, (text) => names.renamed(text)) : row)
}

/** Where a packet was, in metres from the first place of its station or unit. */
function inMetres({ station, unit, lat, lon }: Row, firsts: Map<string, [number, number]>): { east_m?: number; north_m?: number } {
  if (lat == null || lon == null) return {}
  const whose = station ?? unit ?? "", first = firsts.get(whose) ?? [lat, lon]
  firsts.set(whose, first)
  const east = ((lon - first[1] + 540) % 360) - 180
  return { east_m: Math.round(east * metresADegree * Math.cos(first[0] * Math.PI / 180)), north_m: Math.round((lat - first[0]) * metresADegree) }
}

/** The lines of an export, which may be larger than a text may be, one by one. */
export async function eachLine(blob: Blob, take: (line: string) => void) {
  const reader = blob.stream().pipeThrough(new TextDecoderStream()).getReader()
  for (let rest = "";;) {
    const { done, value } = await reader.read()
    const lines = (rest + (value ?? "")).split("\n")
    rest = done ? "" : lines.pop() ?? ""
    for (const line of lines) if (line !== "") take(line)
    if (done) return
  }
}
