// What the reader looks at: which number is open, which parts are folded, the window of time of each test's figures, and
// which pair is compared. None of it changes a result.
import { signal } from "@preact/signals"
import type { PacketQuery } from "../client.ts"

/** A number that was opened: its packets stand in a drawer beneath the line whose place it names. */
export interface Opened {
  place: string // the line or row that holds the drawer
  number: string // the number within it
  title: string
  query: PacketQuery
  missed?: readonly number[] // due times (Unix ms) to show among the packets
}

export const opened = signal<Opened | null>(null)

/** How many packets a drawer asks for at once. */
const drawerLimit = 400
/** How many packets are looked through for the neighbours of missed beacons: the most that the engine gives. */
const deepLimit = 2000

/** Opens a number's packets; the number that is open is closed. */
export function openPackets(what: Omit<Opened, "query"> & { query: Omit<PacketQuery, "limit"> }) {
  const now = opened.value
  const same = now && now.place === what.place && now.number === what.number
  opened.value = same ? null : { ...what, query: { ...what.query, limit: what.missed ? deepLimit : drawerLimit } }
}

export function close() {
  opened.value = null
}

/** Parts folded or unfolded by hand; the others follow the sheet. */
export const folds = signal<ReadonlyMap<string, boolean>>(new Map())

export function fold(part: string, folded: boolean) {
  folds.value = new Map(folds.value).set(part, folded)
}

/** The event being noted: on which test's timeline, and where it was pointed at. */
export interface Noting {
  test: string
  at: number | null // Unix ms
  lane: number // of the test's runs
}

export const noting = signal<Noting | null>(null)

/** The stretch of time (Unix ms) that a test's figures show; absent: all of it. */
export const windows = signal<ReadonlyMap<string, readonly [number, number]>>(new Map())

export function zoom(test: string, to: readonly [number, number] | null) {
  const next = new Map(windows.value)
  if (to) next.set(test, to)
  else next.delete(test)
  windows.value = next
}

export const pair = signal(0) // which comparison the verdicts show
export const stationsShown = signal(12)
export const allUnits = signal(false) // whether a long sheet shows every unit

/** The last thing that happened, for those who listen instead of look. */
export const said = signal("")
