// Small made-up tests that an engine works through while nobody waits: what ran once need not be compiled when the first log comes.
import type { Bench } from "./bench.gen.ts"
import type { Engine } from "./engine.ts"

const minute = 60_000, begin = Date.UTC(2031, 4, 2, 4)

const bench: Bench = {
  schema: "lastbeacon.bench/1",
  units: [7, 8].map((ssid) => ({ name: `unit ${ssid}`, match: [{ station: `Q0WARM-${ssid}` }], battery: { capacity_mah: 2000, basis: "measured" }, runs: [{ power_on: { at: new Date(begin).toISOString(), precision_s: 60 } }] })),
}

/** One unit that sends so many beacons, one every two minutes, and moves in the end, one that slows down, and a station among them. */
function log(beacons: number): Uint8Array {
  const lines: string[] = []
  const send = (at: number, sender: string, rest: string) => lines.push(`${new Date(begin + at).toISOString().slice(0, 19)}Z ${sender}>APZ001,WIDE1-1,qAR,Q0EAR-10:!6203.${rest}`)
  const parked = beacons - 20
  for (let i = 0, slow = 7000; i < beacons; i++) {
    send(2 * i * minute, "Q0WARM-7", `${10 + Math.max(0, i - parked)}N/00938.10E[000/0${i < parked ? 0 : 1}0/A=001640`)
    if (2 * i < beacons) send(slow += minute * Math.min(8, 2 ** i), "Q0WARM-8", "90N/00938.10E[")
    send(31_000 * i + 3000, `Q${i % 10}OTHER`, "20N/00938.40E-")
  }
  return new TextEncoder().encode(`${lines.sort().join("\n")}\n`)
}

/** Has the engine read and analyse a test of so many beacons; it keeps nothing of it. */
export async function warmUp(engine: Engine, beacons: number): Promise<void> {
  const text = log(beacons)
  await engine.look(bench, new Map([[0, { name: "warm.log", size: text.length, open: async function* () { yield text } }]]))
}
