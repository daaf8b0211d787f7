// An excerpt of a large packet log: every line that names a unit's call sign, and of the others as many as show when the file and the
// receivers that heard the units were alive. It holds nothing that the log does not, so whatever it shows of anybody's listening is true.

import type { Bench } from "./bench.gen.ts"

/** No excerpt can stand for the log, or too much of it would be needed. */
export class NoExcerpt extends Error {
  override name = "NoExcerpt"
}

/** The call signs that the units' rules name, without SSID. */
export function callsOf({ units }: Bench): string[] {
  const calls = (units ?? []).flatMap((u) => u.match ?? []).map((m) => (m.station ?? "").split("-")[0]?.trim().toUpperCase() ?? "")
  return calls.some((c) => c.length < 3) ? [] : [...new Set(calls)]
}

/** How much of the beginning is taken whole, since readers learn from it how the stamps are written; bytes. */
const beginning = 64 << 10

/** In about how many places of a log signs of life are looked for. */
const places = 2_500_000

/** How many of these places are left out at once where nothing is looked for. */
const leap = 15

/** Most lines an excerpt may have: the engine reads as many in a third of a second. */
const mostLines = 100_000

const newline = 10, comma = 44, hyphen = 45, colon = 58, after = 62 // ">"

/** A stamp with the year first and minutes, at most three signs from the start of a line. */
const stamped = /^(.{0,3}?)\d{4}[-/.]\d\d[-/.]\d\d[T ,]\d\d:\d\d/

export class Excerpt {
  private readonly sought: Sought
  private readonly stretches: Stretch[]

  /** size: of the log in bytes. It may come in several stretches, which are taken side by side. */
  constructor(bench: Bench, size: number, stretches = 1) {
    this.sought = new Sought(bench, size, () => this.stretches.map((of) => of.bytes))
    this.stretches = Array.from({ length: stretches }, (_, n) => new Stretch(this.sought, n > 0))
  }

  /** Takes the next bytes of a stretch; they may be written over afterwards. The log's beginning must come first. */
  take(chunk: Uint8Array, n = 0) {
    this.stretches[n]!.take(chunk)
  }

  /** Ends the log. What lies across the seams of stretches is looked at. */
  close() {
    this.stretches.forEach((of, n) => of.close(this.stretches[n + 1]))
  }

  /** How many bytes of a stretch's beginning must be taken again, once all are closed: they came before a receiver was known that had
   * heard a unit by then. */
  missed(n: number): number {
    const receivers = this.stretches.slice(0, n).flatMap((before) => [...before.heardBy])
    return Math.max(0, ...receivers.map((r) => this.sought.receivers.get(r)?.[n] ?? 0))
  }

  /** Takes the next of so many bytes that were missed. */
  takeAgain(chunk: Uint8Array, n: number, missed: number) {
    this.stretches[n]!.takeAgain(chunk, missed)
  }

  /** Gives the excerpt, to which the last line belongs too. */
  end(): Uint8Array {
    return joined(...this.stretches.flatMap((of) => of.found()), this.stretches.at(-1)!.end())
  }
}

/** What is looked for in every stretch of a log, and what they found out of it. */
class Sought {
  readonly calls: Uint8Array[] // of the units, without SSID, so that every way to write one is found
  readonly pairs = new Uint8Array(1 << 16) // 1 for every two bytes, as the machine reads them, that stand in the beginning of a call
  readonly step: number // how far apart the search looks at two bytes, so that every call has some of them; even
  readonly stride: number // between places where signs of life are looked for, bytes
  readonly receivers = new Map<number, number[]>() // that heard a unit: how many bytes each stretch had taken when that was found
  stampAt = -1 // where stamps begin in a line; -1 before the beginning was seen
  private lines = 0

  constructor(bench: Bench, size: number, readonly reached: () => number[]) {
    this.calls = callsOf(bench).map((c) => new TextEncoder().encode(c))
    this.stride = Math.max(64, Math.round(size / places))
    const shortest = Math.min(...this.calls.map((c) => c.length))
    this.step = (shortest - 1) & ~1
    for (const call of this.calls) {
      for (let i = 0; i < shortest - 1; i++) this.pairs[new Uint16Array(call.slice(i, i + 2).buffer)[0]!] = 1
    }
  }

  count(lines: number) {
    if ((this.lines += lines) > mostLines) throw new NoExcerpt("too many lines belong to it")
  }
}

/** A part of a log that is read in order. */
class Stretch {
  bytes = 0 // taken
  private last: Uint8Array = new Uint8Array(0) // the last whole line, unless it was taken
  readonly heardBy = new Set<number>() // receivers that heard a unit in it
  private pieces: { at: number; lines: Uint8Array }[] = [] // in the order of the log; at: how many bytes were taken by then
  private again: Stretch | null = null // over a beginning that came too early
  private head: Uint8Array | null // the end of a line that began in the stretch before; null until it was seen
  private rest: Uint8Array = new Uint8Array(0) // of a line that the last chunk cut
  private readonly signs = new Map<number, number>() // the minute of the last sign taken of each receiver of the units
  private minute = -1 // of the last sign taken of the file
  private known = 0 // how many receivers were known when it was taken
  private awaited = 0 // how many receivers of the units gave no sign in that minute yet

  /** middle: whether it begins in the middle of the log. */
  constructor(private readonly sought: Sought, private readonly middle: boolean) {
    this.head = middle ? null : new Uint8Array(0)
  }

  take(chunk: Uint8Array) {
    this.bytes += chunk.length
    let from = 0
    if (!this.head || this.rest.length > 0) {
      from = chunk.indexOf(newline) + 1
      this.rest = begun(this.rest, from === 0 ? chunk : chunk.subarray(0, from))
      if (from === 0) return
      if (this.head) this.look(this.rest)
      else this.head = this.rest
    }
    const until = Math.max(from, chunk.lastIndexOf(newline) + 1)
    if (until > from) this.look(chunk.subarray(from, until))
    this.rest = begun(chunk.subarray(until))
  }

  /** Takes bytes of its beginning once more, in place of what was found in so many. */
  takeAgain(chunk: Uint8Array, missed: number) {
    this.again ??= this.without(missed)
    this.again.take(chunk)
  }

  /** Drops what was found in so many bytes, and gives the stretch that takes them again. */
  private without(missed: number): Stretch {
    const late = this.pieces.filter((p) => p.at > missed)
    this.sought.count(late.length - this.pieces.length)
    this.pieces = late
    return new Stretch(this.sought, true)
  }

  /** Ends the stretch, whose last line ends in the next. */
  close(next: Stretch | undefined) {
    if (!this.head) throw new NoExcerpt("a line without an end")
    const line = next?.head ? joined(this.rest, next.head) : this.rest
    if (line.length > 0) this.look(line, Infinity)
  }

  found(): Uint8Array[] {
    return [...(this.again?.found() ?? []), ...this.pieces.map((p) => p.lines)]
  }

  /** The last line, unless it was found. */
  end(): Uint8Array {
    const { again } = this
    return again && again.bytes === this.bytes && this.rest.length === 0 ? again.last : this.last
  }

  /** Looks through whole lines; at: how many bytes were taken with them, or that they are never taken again. */
  private look(text: Uint8Array, at = this.bytes) {
    const starts: number[] = []
    let from = 0
    if (this.sought.stampAt < 0) from = this.learn(text)
    this.search(text, from, starts)
    this.sample(text, from, starts)
    starts.sort((a, b) => a - b)
    for (const start of new Set(starts)) this.pieces.push({ at, lines: text.slice(start, endOf(text, start)) })
    this.sought.count(starts.length)
    const last = startOf(text, text.length - 1)
    this.last = last < from || last === starts.at(-1) ? new Uint8Array(0) : text.slice(last)
  }

  /** Takes the beginning, whose lines must be packets under stamps that begin with the year, but for one in fifty; gives where it ends. */
  private learn(text: Uint8Array): number {
    if (this.middle) throw new NoExcerpt("a beginning without a stamp")
    const end = text.length <= beginning ? text.length : text.lastIndexOf(newline, beginning) + 1
    const lines = new TextDecoder("latin1").decode(text.subarray(0, end)).split("\n").filter((l) => l.trim() !== "" && !l.startsWith("#"))
    let odd = 0, stampAt = -1
    for (const line of lines) {
      const at = />[^:]+:./.test(line) ? stamped.exec(line)?.[1]?.length ?? -1 : -1
      if (stampAt < 0) stampAt = at
      if (at < 0 || at !== stampAt) odd++
    }
    this.sought.stampAt = stampAt
    if (50 * odd > lines.length) throw new NoExcerpt("lines that are no packets with a stamp")
    this.search(text.subarray(0, end), 0, [])
    this.pieces.push({ at: this.bytes, lines: text.slice(0, end) })
    return end
  }

  /** Finds the lines that hold a call. Two bytes are looked at every few, since a call cannot stand between them unseen. */
  private search(text: Uint8Array, from: number, starts: number[]) {
    const { pairs, step } = this.sought, first = from + ((text.byteOffset + from) & 1), s = step >> 1
    if (first >= text.length) return
    const words = new Uint16Array(text.buffer, text.byteOffset + first, (text.length - first) >> 1), whole = words.length - 3 * s
    const check = (i: number) => pairs[words[i]!] === 1 && this.find(text, from, first + 2 * i, starts)
    let i = 0
    for (; i < whole; i += 4 * s) { // the hot loop of a first look: four places under one branch
      if ((pairs[words[i]!]! | pairs[words[i + s]!]! | pairs[words[i + 2 * s]!]! | pairs[words[i + 3 * s]!]!) === 0) continue
      for (let k = i; k < i + 4 * s; k += s) check(k)
    }
    for (; i < words.length; i += s) check(i)
  }

  /** Takes the line of a call that holds the two bytes at a place, if there is one. */
  private find(text: Uint8Array, from: number, at: number, starts: number[]) {
    for (const call of this.sought.calls) {
      for (let i = 0, begin = at; i < call.length - 1 && begin >= from; i++, begin--) {
        if (!holds(text, begin, call)) continue
        const start = startOf(text, begin)
        if (start !== starts.at(-1)) starts.push(start)
        const receiver = this.receiver(text, start)
        if (!sends(text, begin)) return
        this.heardBy.add(receiver)
        if (!this.sought.receivers.has(receiver)) this.sought.receivers.set(receiver, this.sought.reached())
        return
      }
    }
  }

  /** Finds a line for every minute in which the file, or a receiver of the units, gave a sign of life. Once all did, it leaps, and goes back
   * to where it was when it finds itself in another minute. */
  private sample(text: Uint8Array, from: number, starts: number[]) {
    const { stride, receivers } = this.sought
    for (let i = from, leapt = 0; i < text.length; i += stride + leapt) {
      const start = startOf(text, i), minute = this.minuteOf(text, start)
      if (minute === minute && (minute !== this.minute || receivers.size !== this.known)) {
        if (leapt > 0) {
          i -= stride + leapt
          leapt = 0
          continue
        }
        this.minute = minute
        this.awaited = this.known = receivers.size
        starts.push(start)
      }
      if (this.awaited > 0 && minute === minute) this.hear(text, start, starts)
      leapt = this.awaited > 0 ? 0 : Math.max(0, Math.min(leap * stride, text.length - 1 - i - stride))
    }
  }

  /** Takes a line that is the first sign of a receiver in this minute. */
  private hear(text: Uint8Array, start: number, starts: number[]) {
    const receiver = this.receiver(text, start)
    if (!this.sought.receivers.has(receiver) || this.signs.get(receiver) === this.minute) return
    this.signs.set(receiver, this.minute)
    this.awaited--
    starts.push(start)
  }

  /** A number for the minute of a line's stamp, NaN where it has none. */
  private minuteOf(text: Uint8Array, start: number): number {
    const at = start + this.sought.stampAt
    const two = (i: number) => (text[at + i]! - 48) * 10 + text[at + i + 1]! - 48
    return text[at + 13] === colon ? ((two(5) * 31 + two(8)) * 24 + two(11)) * 60 + two(14) : NaN
  }

  /** A number for the last call in a line's path, which is that of the receiver where there is one. */
  private receiver(text: Uint8Array, start: number): number {
    let i = start + this.sought.stampAt + 16
    while (i < text.length && text[i] !== after && text[i] !== newline) i++
    let hash = 0
    for (; i < text.length && text[i] !== colon && text[i] !== newline; i++) hash = text[i] === comma ? 0 : (Math.imul(hash, 31) + text[i]!) | 0
    return hash
  }
}

function holds(text: Uint8Array, at: number, call: Uint8Array): boolean {
  for (let k = 0; k < call.length; k++) if (text[at + k] !== call[k]) return false
  return true
}

/** Whether a call that the byte belongs to is the one before ">", which sent the packet. */
function sends(text: Uint8Array, at: number): boolean {
  while (text[at]! >= 48 && text[at] !== after || text[at] === hyphen) at++ // figures and letters
  return text[at] === after
}

/** Where the line begins that a byte stands in. */
function startOf(text: Uint8Array, at: number): number {
  while (at > 0 && text[at - 1] !== newline) at--
  return at
}

function endOf(text: Uint8Array, at: number): number {
  const end = text.indexOf(newline, at) + 1
  return end > 0 ? end : text.length
}

/** A line that is not at its end yet, with what comes next of it. */
function begun(...pieces: readonly Uint8Array[]): Uint8Array {
  const line = joined(...pieces)
  if (line.length > beginning) throw new NoExcerpt("a line without an end")
  return line
}

function joined(...pieces: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(pieces.reduce((n, p) => n + p.length, 0))
  let at = 0
  for (const piece of pieces) {
    whole.set(piece, at)
    at += piece.length
  }
  return whole
}
