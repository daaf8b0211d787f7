// An excerpt of a large log against the log: what must stand in it, that nothing else does, and of which logs none is taken.
import assert from "node:assert/strict"
import { test } from "node:test"
import type { Bench } from "../bench.gen.ts"
import { callsOf, Excerpt, NoExcerpt } from "../excerpt.ts"
import { worthALook } from "../state/first-look.ts"

const unit = (...stations: string[]): Bench => ({ schema: "lastbeacon.bench/1", units: [{ name: "Heron", match: stations.map((station) => ({ station })) }] })
const bench = unit("QX1ABC-7", "QZ2DE-1")
const minute = (line: string) => line.slice(0, 16)
const receiver = (line: string) => /([A-Z0-9-]+):!/.exec(line)?.[1] ?? ""
const names = (line: string) => /QX1ABC|QZ2DE/.test(line)
const sent = (line: string) => /Z (QX1ABC|QZ2DE)/.test(line)

/** Numbers below n by chance, the same ones for a seed. */
const chance = (seed: number) => (n: number) => Math.floor(((seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 2 ** 32) * n)

/** Four days of 30 receivers, a line every few seconds but for a break, two of which hear units now and then. */
function log(): string[] {
  const below = chance(7)
  const lines: string[] = []
  for (let ms = Date.UTC(2031, 4, 30, 4); ms < Date.UTC(2031, 5, 3, 4); ms += 1000 * below(14)) {
    if (ms > Date.UTC(2031, 5, 1, 8) && ms < Date.UTC(2031, 5, 1, 9)) continue
    const station = below(300) > 0 ? `QA${below(10)}BCD-${below(15)}` : below(2) > 0 ? "QX1ABC-7" : "QZ2DE"
    const heard = names(station) ? 3 + below(2) : below(30)
    lines.push(`${new Date(ms).toISOString().slice(0, 19)}Z ${station}>APZ001,WIDE2-1,qAR,QG${heard}GW-10:!6203.90N/00938.10E[${below(400) > 0 ? "" : " to QX1ABC"}`)
  }
  return lines
}

/** The excerpt's lines, from a log that comes in pieces of so many bytes into one room, as the browser gives it, and in stretches. */
function excerptOf(text: string, most: number, stretches = 1, of = bench): string[] {
  const bytes = new TextEncoder().encode(text), excerpt = new Excerpt(of, bytes.length, stretches), room = new Uint8Array(most)
  const size = Math.ceil(bytes.length / stretches), parts = Array.from({ length: stretches }, (_, n) => bytes.subarray(n * size, (n + 1) * size))
  const give = (part: Uint8Array, at: number, take: (chunk: Uint8Array) => void) => {
    const piece = part.subarray(at, at + most)
    room.set(piece)
    if (piece.length > 0) take(room.subarray(0, piece.length))
  }
  for (let at = 0; at < size; at += most) parts.forEach((part, n) => give(part, at, (chunk) => excerpt.take(chunk, n)))
  excerpt.close()
  parts.forEach((part, n) => {
    const missed = excerpt.missed(n)
    for (let at = 0; at < missed; at += most) give(part.subarray(0, missed), at, (chunk) => excerpt.takeAgain(chunk, n, missed))
  })
  return new TextDecoder().decode(excerpt.end()).split("\n")
}

/** Lines are lines of the log, each once and in its order. */
function partOf(log: readonly string[], taken: readonly string[]) {
  let at = -1
  for (const line of taken) assert.ok((at = log.indexOf(line, at + 1)) >= 0, line)
}

const lines = log(), text = lines.join("\n")

for (const [most, stretches] of [[61, 1], [4093, 1], [100_003, 1], [text.length, 1], [61, 3], [4093, 2], [4093, 3], [100_003, 3], [text.length, 3], [4093, 7]] as const) {
  test(`an excerpt of a log in pieces of ${most} bytes and ${stretches} stretches holds what it must, and lines of the log only`, () => {
    const taken = excerptOf(text, most, stretches)
    partOf(lines, taken)
    assert.deepEqual(taken.filter(names), lines.filter(names))
    assert.deepEqual([taken[0], taken.at(-1)], [lines[0], lines.at(-1)])
    assert.deepEqual([...new Set(taken.map(minute))], [...new Set(lines.map(minute))])
    assert.ok(taken.length < lines.length / 2, `${taken.length} of ${lines.length}`)
  })
}

/** The lines taken show of each receiver in which minutes it lived since it heard a unit. */
function showsLife(log: readonly string[], taken: readonly string[]) {
  for (const ear of new Set(log.filter(sent).map(receiver))) {
    const from = log.findIndex((l) => sent(l) && receiver(l) === ear)
    const alive = (all: readonly string[]) => [...new Set(all.filter((l) => receiver(l) === ear && minute(l) > minute(log[from] ?? "")).map(minute))]
    assert.deepEqual(alive(taken), alive(log))
  }
  partOf(log, taken)
}

test("wherever seams fall, an excerpt holds the units' lines, the last one, and what shows that their receivers lived", () => {
  for (let n = 0; n < 300; n++) {
    const below = chance(n), from = below(lines.length - 500), few = lines.slice(from, from + 100 + below(400)).filter((l) => !names(l))
    for (let k = below(4); k >= 0; k--) {
      const i = below(few.length)
      few[i] = few[i]?.replace(/Z [^>]+/, "Z QX1ABC-7") ?? ""
    }
    const taken = excerptOf(`${few.join("\n")}${below(2) ? "\n" : ""}`, 90 + below(3000), 1 + below(7)).filter((l) => l !== "")
    showsLife(few, taken)
    assert.deepEqual([taken.filter(names), taken.at(-1)], [few.filter(names), few.at(-1)])
  }
})

/** Lines without the units' but for some days of the month. */
const onDays = (...days: string[]) => lines.filter((l) => !names(l) || days.includes(l.slice(8, 10)))

for (const [when, log] of [["throughout", lines], ["on the first day", onDays("30")], ["on the second and the last", onDays("01", "03")], ["on the last", onDays("03")]] as const) {
  for (const stretches of [1, 2, 3, 7]) {
    test(`an excerpt of ${stretches} stretches shows in which minutes the receivers of units heard ${when} lived, from the first packet they heard`, () => {
      showsLife(log, excerptOf(log.join("\n"), 4093, stretches))
    })
  }
}

test("no excerpt stands for a log whose lines need their neighbours, or that is no text", () => {
  const stampless = "QX1ABC-7>APZ001:>on\n".repeat(50)
  const others = {
    stampless, twoLines: "2031-05-02T06:00:00Z QX1ABC-7>APZ001:\n!6203.90N/00938.10E[\n".repeat(50), clockOnly: stampless.replaceAll("QX1", "06:00:00 QX1"),
    dayFirst: stampless.replaceAll("QX1", "02.05.2031 06:00:00 QX1"), packed: "\u001f\u008b\u0008".repeat(500) + "\n", endless: `${lines[0]}\n${"x".repeat(100_000)}`,
  }
  for (const [name, text] of Object.entries(others)) assert.throws(() => excerptOf(text, 1000), NoExcerpt, name)
  assert.equal(excerptOf(`${text.slice(0, 20_000)}\nnoise\n${text.slice(20_000)}`, 100_003).includes("noise"), true)
  assert.ok(excerptOf(`# begun\n\n[2031-05-02 06:00:00] QX1ABC-7>APZ001:>on\n`, 1000).length > 0)
})

test("an excerpt that would be most of the log is given up", () => {
  assert.throws(() => excerptOf(`${lines[0]}\n`.repeat(300_000).replaceAll("QA", "QX1ABC>QA"), 1 << 20), NoExcerpt)
})

test("only large logs are looked at, beside small files, under rules that all name a call sign", () => {
  const file = (id: number, size: number) => ({ id, name: `${id}.log`, size, source: { getFile: () => undefined } as unknown as File })
  const small = file(1, 1000), big = file(2, 2e8), pasted = { ...file(3, 2e8), source: new Uint8Array(1) }
  assert.deepEqual(worthALook([small, big, pasted], [], bench), [big])
  assert.deepEqual(worthALook([big], [small], bench), [big])
  assert.deepEqual(worthALook([big], [file(4, 2e8)], bench), [])
  assert.deepEqual(worthALook([big], [], { schema: bench.schema }), [])
  assert.deepEqual(worthALook([big], [], { ...bench, files: [{ name: "a.log", sha256: "ab" }] }), [])
  assert.deepEqual(callsOf({ ...unit("qx1abc-7", "QX1ABC-8") }), ["QX1ABC"])
  assert.deepEqual(callsOf({ ...bench, units: [...(bench.units ?? []), { name: "Lapwing", match: [{ comment: "hill pack" }] }] }), [])
})
