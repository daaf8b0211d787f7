// A made-up report for looking at components and testing them: two units, two tests, all kinds of marks. Its numbers are
// plausible but come from no engine.
import type { Bench } from "../bench.gen.ts"
import type { Comparison, Condition, Estimate, Lane, LawPoint, Period, Report, Run, Schedule, Unit } from "../report.gen.ts"

const iso = (ms: number) => new Date(ms).toISOString().replace(".000Z", "Z")
const at = (text: string) => Date.parse(text)
const est = (low: number | null, best: number | null, high: number | null): Estimate => ({ low, best, high })
const minutes = 60_000

const noSchedule: Schedule = {
  kind: "fixed", interval_s: null, jitter_s: null, beacons_before_decay: null, growth: null, longest_s: null, slow_interval_s: null, fast_interval_s: null,
  slow_speed_mps: null, fast_speed_mps: null, metres_between_beacons: null, resolved: [], as_far_as_heard: false, text: "",
}

/** Beacons every so often with some left out, by a fixed pattern instead of chance. */
function beacons(from: number, until: number, everyS: number, missEvery: number): { sent: number[]; missed: number[] } {
  const sent: number[] = [], missed: number[] = []
  for (let t = from, n = 1; t <= until; t += everyS * 1000, n++) ((n * 7) % missEvery === 3 ? missed : sent).push(t)
  return { sent, missed }
}

function fading(from: number, until: number): LawPoint[] {
  const steps = [1, 0.85, 0.5, 0.22, 0.09, 0.03, 0.01, 0]
  return steps.map((p, i) => ({ at: iso(from + ((until - from) * i) / (steps.length - 1)), p }))
}

interface Made { run: Run; lane: Lane }

function period(state: string, start: number, end: number, heard: number, everyS: number, km: number | null): Period {
  return {
    state, start: iso(start), end: iso(end), start_between: [iso(start), iso(start + 30_000)], end_between: [iso(end), iso(end + 30_000)], inferred: state === "unknown",
    transmissions: heard, missed: est(0, 2, 3), interval_s: { min: everyS - 1, median: everyS, mean: everyS + 2, max: everyS * 2 }, rate_per_h: est(3500 / everyS, 3600 / everyS, 3700 / everyS),
    distance_m: km === null ? null : est(km * 960, km * 1000, km * 1080), mean_mps: km === null ? null : 1.1, max_mps: km === null ? null : 2.2,
  }
}

function finish(unit: string, no: number, label: string, run: Partial<Run>, lane: Partial<Lane>, from: number, last: number, until: number): Made {
  const sent = lane.sent ?? []
  return {
    lane: { unit, run: no, sent, missed: [], due: [], silent: [], way: [], places: [], paces: [], curve: [], ...lane },
    run: {
      label, noted: no, start: { earliest: iso(from - 30_000), best: iso(from), latest: iso(from + 30_000), basis: "power_on", law: [] },
      first_heard: iso(sent[0] ?? from), last_heard: iso(last),
      end: { earliest: iso(last), best: iso(last + (until - last) * 0.4), latest: iso(until), state: "ended", text: `${unit} fell silent while others were heard.`, reason: "The silence after that is longer than loss explains.", law: fading(last, until) },
      runtime_s: est((last - from) / 1000, (last - from) / 1000 + (until - last) / 2500, (until - from) / 1000), rankable: true, transmissions: sent.length,
      missed: est((lane.missed ?? []).length, (lane.missed ?? []).length, (lane.missed ?? []).length + 2), share_heard: est(0.93, 0.955, 0.975),
      sent: est(sent.length + 10, sent.length + 12, sent.length + 15), rate_per_h: est(29.2, 30, 30.8), schedule: noSchedule, periods: [], airtime_s: est(280, 301, 322), path: "WIDE1-1", busy_pct: 1.2,
      charge: { mah: est(1880, 1960, 2040), basis: "recharged" }, draw: null, budget: [], series: [], events: [], flags: [], schedules: [], now: null, saved: null, ...run,
    },
  }
}

function fairRun(unit: string, no: number, from: number, last: number, until: number, mA: Estimate): Made {
  const { sent, missed } = beacons(from + 40_000, last, 120, unit === "Heron" ? 27 : 13)
  const start = period("stationary", from, last, sent.length, 120, null)
  return finish(unit, no, "fair run", {
    schedule: { ...noSchedule, kind: "fixed", interval_s: est(119.9, 120, 120.1), text: "Every 120.0 s." }, periods: [start],
    draw: { mean_ma: mA, mah_per_min: est(2.4, 2.57, 2.73), mean_mw: est(1065, 1140, 1214), energy_mwh: est(13900, 14500, 15100), c_rate: est(0.074, 0.079, 0.083), mah_per_transmission: est(4.8, 5.1, 5.4), text: `${unit} draws by the charge put back, ${unit === "Heron" ? "1,960" : "2,140"} mAh.` },
    budget: [{ source: "charge", name: "charger or meter", type: "B", relative_pct: 1.5, assumed: true }, { source: "time", name: "run time", type: "A", relative_pct: 0.2, assumed: false }],
  }, { sent, missed, due: [{ at: from, interval_s: 120 }] }, from, last, until)
}

/** A round walk of about two kilometres, with a stretch that nothing recorded. */
function walked(from: number, until: number, n: number) {
  return Array.from({ length: n }, (_, i) => {
    const turn = (i / (n - 1)) * 2 * Math.PI
    return { at: from + ((until - from) * i) / (n - 1), east_m: 700 * Math.sin(turn) + 60 * Math.sin(7 * turn), north_m: 450 * (1 - Math.cos(turn)), gap: n > 100 && i === 60, corner: n === 50 && i % 7 === 3 }
  })
}

function lentHeron(): Made {
  const from = at("2031-05-02T05:40:00Z"), walk = at("2031-05-02T07:06:00Z"), back = at("2031-05-02T10:37:00Z"), last = at("2031-05-02T18:43:00Z")
  const a = beacons(from, walk, 600, 99), b = beacons(walk + 20_000, back, 110, 19), c = beacons(back + 300_000, last, 600, 24)
  return finish("Heron", 0, "as lent", {
    schedule: { ...noSchedule, kind: "adaptive", interval_s: est(600, 600, 600), slow_interval_s: 600, fast_interval_s: 90, slow_speed_mps: 0.83, fast_speed_mps: 1.67, text: "Speed-adaptive: 10 min below 3 km/h, 90 s at 6 km/h." },
    periods: [period("stationary", from, walk, 9, 600, null), period("moving", walk, back - 90 * minutes, 59, 110, 7.3), period("unknown", back - 90 * minutes, back - 60 * minutes, 12, 115, 1.3), period("moving", back - 60 * minutes, back, 46, 109, 6), period("stationary", back, last, 45, 600, null)],
    draw: { mean_ma: est(139, 149, 159), mah_per_min: null, mean_mw: null, energy_mwh: null, c_rate: null, mah_per_transmission: null, text: "" }, rankable: false,
    events: [{ at: "2031-05-02T17:02:00Z", precision_s: 30, what: "seen_on", basis: "noted", text: "" }, { at: "2031-05-02T18:55:00Z", precision_s: 30, what: "seen_dead", basis: "noted", text: "" }],
    flags: [{ code: "rate", text: "Its rate differs from the other unit's." }],
    series: [{ name: "voltage", unit: "V", source: "in the comments", first: 8.3, last: 6.4, points: [...a.sent, ...b.sent, ...c.sent].map((t) => ({ at: iso(t), v: 8.3 - 1.9 * ((t - from) / (last - from)) ** 2 })) }],
  }, {
    sent: [...a.sent, ...b.sent, ...c.sent], missed: [...a.missed, ...b.missed, ...c.missed],
    due: [{ at: from, interval_s: 600 }, { at: walk, interval_s: 110 }, { at: back, interval_s: 600 }],
    silent: [{ start: at("2031-05-02T14:24:00Z"), end: at("2031-05-02T14:51:00Z") }], way: walked(walk, back, 200), places: walked(walk, back, 50),
    paces: walked(walk, back, 40).map((s, i) => ({ at: s.at, speed_mps: 0.6 + (i % 9) / 6, interval_s: i % 11 === 5 ? 300 : Math.min(600, 150 / (0.6 + (i % 9) / 6)), single: i % 11 !== 5 })),
    curve: Array.from({ length: 50 }, (_, i) => ({ at: 0, speed_mps: i / 20, interval_s: i / 20 < 0.83 ? 600 : Math.max(90, 150 / (i / 20)), single: true })),
  }, from, last, at("2031-05-02T18:58:00Z"))
}

function lentLapwing(): Made {
  const from = at("2031-05-02T05:41:00Z"), walk = at("2031-05-02T07:06:00Z"), back = at("2031-05-02T10:37:00Z"), last = at("2031-05-02T16:10:00Z")
  const a = beacons(from, from + 4 * minutes, 60, 99), a2 = beacons(from + 6 * minutes, walk, 960, 99), b = beacons(walk, back, 60, 31), c = beacons(back + 3 * minutes, last, 1920, 9)
  return finish("Lapwing", 0, "as lent", {
    schedule: { ...noSchedule, kind: "decaying", interval_s: est(60, 60, 60), longest_s: 1920, text: "Every 60 s; slows from the fourth parked beacon to 32 min." }, rankable: false,
    periods: [period("stationary", from, walk, 14, 240, null), period("moving", walk, back, 210, 60, 14.6), period("stationary", back, last, 18, 480, null)],
    draw: { mean_ma: est(183, 198, 213), mah_per_min: null, mean_mw: null, energy_mwh: null, c_rate: null, mah_per_transmission: null, text: "" },
    events: [{ at: "2031-05-02T12:11:00Z", precision_s: 60, what: "power_cycled", basis: "suspected", text: "the schedule began anew without movement" }, { at: "2031-05-02T15:52:00Z", precision_s: 30, what: "low_battery", basis: "noted", text: "" }],
  }, {
    sent: [...a.sent, ...a2.sent, ...b.sent, ...c.sent], missed: [...b.missed, ...c.missed],
    due: [{ at: from, interval_s: 60 }, { at: from + 6 * minutes, interval_s: 960 }, { at: walk, interval_s: 60 }, { at: back, interval_s: 1920 }],
    silent: [{ start: at("2031-05-02T14:24:00Z"), end: at("2031-05-02T14:51:00Z") }],
  }, from, last, at("2031-05-02T17:02:00Z"))
}

function unit(name: string, runs: Made[]): Unit {
  const sent = runs.reduce((n, r) => n + r.run.transmissions, 0)
  return {
    name, kind: "borrowed handheld", heard: sent * 2, duplicates: sent, transmissions: sent, unassigned: name === "Heron" ? 6 : 0, contested: 0, relayed: 0, acknowledged: 0, for_others_s: null, internet: 0, current_fix_pct: 99.6,
    runs: runs.map((r) => r.run),
    idle_and_beacon: { idle_ma: name === "Heron" ? est(135, 145, 155) : est(180, 194, 208), mah_per_beacon: est(0.2, 0.31, 0.42), basis: "runs", runs: 2, resolved: true, text: `${name} idles at ${name === "Heron" ? "145 mA (135 to 155)" : "194 mA (180 to 208)"}.` },
  }
}

const names: Record<string, string> = {
  rate: "Transmit rate", rf_power: "RF power", airtime: "Time on the air", pack: "Pack", fix: "GPS fix", second_receiver: "Second receiver", motion: "Motion", temperature: "Temperature",
}
const condition = (check: string, state: string, a: string, b: string, text = ""): Condition => ({ check, name: names[check] ?? check, state, a, b, text })

function comparison(label: string, ranked: boolean): Comparison {
  return {
    a: "Heron", b: "Lapwing", label, exchanged: null,
    runtime: { a: est(45720, 45780, 45900), b: est(37680, 37800, 37980), ratio: est(1.11, 1.21, 1.32), verdict: "a_lasts_longer", text: "Heron lasted longer: 12 h 43 min against 10 h 30 min on one charge.", basis: "Heron lasted 1.21 times (1.11 to 1.32) as long as Lapwing. The run times are known to 3 min (Heron) and 5 min (Lapwing). From run to run a spread of 3 % is assumed, for there was one run each." },
    draw: ranked
      ? { a: est(144, 154, 164), b: est(191, 204, 217), ratio: est(0.69, 0.76, 0.83), verdict: "b_draws_more", text: "Lapwing draws more: 204 mA against 154 mA at one beacon rate.", basis: "1.32 times as much (1.20 to 1.45). Both sent 30 an hour, so the beacons explain none of it." }
      : { a: null, b: null, ratio: est(0.68, 0.75, 0.83), verdict: "cannot_rank", text: "Draw cannot be ranked: 15.3 beacons an hour against 28.6.", basis: "Of the 49 mA between them the transmit rates explain 4 mA (3 to 5)." },
    rate_ratio: est(0.98, 1, 1.02), rate_explains_ma: est(0, 0, 0.4), at_equal_rate: null,
    conditions: [
      condition("rate", ranked ? "match" : "mismatch", ranked ? "30.0 an hour" : "15.3 an hour", ranked ? "30.0 an hour" : "28.6 an hour"), condition("rf_power", "match", "4.80 W", "4.65 W", "0.14 dB apart; two \u00b1 5 % meters differ by that much by chance"),
      condition("airtime", "match", "0.74 s", "0.76 s"), condition("pack", "corrected", "1,960 mAh", "2,140 mAh", "capacity is taken out of the draw"), condition("fix", "match", "in 99.7 %", "in 99.4 %", "from the packets"),
      condition("second_receiver", "match", "off", "off"), condition("motion", "match", "stationary", "stationary"), condition("temperature", "not_noted", "not noted", "21 \u00b0C", "Below 20 \u00b0C a pack gives about 1 % less per kelvin."),
    ],
    alike: { verdict: "alike_so_far", certain_at: "2031-05-04T07:31:00Z", text: "Both send every 120 s, certain since 4 May 07:31." }, groups: [], like_for_like: ranked ? "Like for like in draw, as corrected and as far as noted; not in run time, which stands as set up (transmit rate)" : "Not like for like", fairness: ranked ? "6 conditions match, 1 is corrected and 1 is not noted." : "6 conditions match, 1 differs and 1 is not noted.",
  }
}

const made = {
  heron: [lentHeron(), fairRun("Heron", 1, at("2031-05-04T05:30:00Z"), at("2031-05-04T18:12:00Z"), at("2031-05-04T18:15:00Z"), est(144, 154, 164))],
  lapwing: [lentLapwing(), fairRun("Lapwing", 1, at("2031-05-04T05:32:00Z"), at("2031-05-04T16:00:00Z"), at("2031-05-04T16:03:00Z"), est(191, 204, 217))],
}

export const sampleLanes: Lane[] = [...made.heron, ...made.lapwing].map((m) => m.lane)

export const sampleReport: Report = {
  schema: "lastbeacon.report/1", version: "0.1", title: "Two borrowed handhelds before the long search exercise", display_zone: "UTC",
  evidence: [
    { id: 0, file: "ridge-2may.log", sha256: "a".repeat(64), kind: "packets", format: "monitor text", bytes: 310_000, lines: 3180, packets: 3171, fixes: 0, readings: 0, not_used: 9, empty: 0, again: 0, first: "2031-05-02T05:12:00Z", last: "2031-05-03T06:58:00Z", zone: "Europe/Oslo", zone_basis: "stated in the file", time_resolution_s: 1, suggested_offset_s: null, offset_basis: "", offset_against: "", offset_either: false, suggested_zone: "", watched: [], asks: [], columns: [] },
    { id: 1, file: "valley-4may.log.gz", sha256: "b".repeat(64), kind: "packets", format: "monitor text", bytes: 98_000, lines: 2245, packets: 2240, fixes: 0, readings: 0, not_used: 5, empty: 0, again: 412, first: "2031-05-04T05:03:00Z", last: "2031-05-04T21:38:00Z", zone: "UTC", zone_basis: "assumed", time_resolution_s: 1, suggested_offset_s: null, offset_basis: "", offset_against: "", offset_either: false, suggested_zone: "", watched: [], asks: [
      { field: "day_order", choices: ["dmy", "mdy"], taken: "dmy", why: "No line decides it. Two of them:", lines: [40, 41], samples: ["04/05/2031 06:12:44 QX1ABC-7>APZ001,WIDE1-1:!6123.45N/00812.30E>hill pack Heron", "05/05/2031 06:12:41 QW4MET-13>APZ001:_05040612c045s003g007t061"] },
    ], columns: [] },
    { id: 2, file: "day-out.gpx", sha256: "c".repeat(64), kind: "track", format: "GPX track", bytes: 2_900_000, lines: 23_500, packets: 0, fixes: 23_410, readings: 0, not_used: 0, empty: 90, again: 0, first: "2031-05-02T07:04:00Z", last: "2031-05-02T13:02:00Z", zone: "UTC", zone_basis: "stated by the format", time_resolution_s: 1, suggested_offset_s: null, offset_basis: "", offset_against: "", offset_either: false, suggested_zone: "", watched: [], asks: [], columns: [] },
    { id: 3, file: "supply.csv", sha256: "d".repeat(64), kind: "meter", format: "table (CSV)", bytes: 41_000, lines: 1441, packets: 0, fixes: 0, readings: 1440, not_used: 0, empty: 0, again: 0, first: "2031-05-02T06:00:00Z", last: "2031-05-03T06:00:00Z", zone: "UTC", zone_basis: "assumed", time_resolution_s: 60, suggested_offset_s: null, offset_basis: "", offset_against: "", offset_either: false, suggested_zone: "", watched: [], asks: [], columns: [
      { no: 1, header: "Time", sample: "2031-05-02 06:00", meaning: "time", said: false }, { no: 2, header: "Supply", sample: "7412", meaning: "volts mV", said: true },
      { no: 3, header: "current_ma", sample: "151.2", meaning: "amps mA", said: false }, { no: 4, header: "Note written by whoever passed the bench", sample: "window open, 14 degrees at the bench", meaning: "none", said: false },
    ] },
  ],
  notes: [
    { file: "ridge-2may.log", line: 211, column: 1, code: "header.none", text: "no \u201c>\u201d between two call signs", help: "nothing, if these are the receiver's own messages", excerpt: "2031-05-04 07:58:02 QX1ABC-7 APZ001 WIDE1-1 restart", count: 9, unused: true },
    { file: "valley-4may.log.gz", line: 40, column: 1, code: "time.none", text: "no time in front", help: "give the file a date, or leave them out", excerpt: "QR7HUT-1>APZ001:>valley receiver up", count: 5, unused: true },
    { file: "ridge-2may.log", line: 1874, column: 55, code: "position.short", text: "cut short in the position", help: "heard, and counted as sent; only the place is missing", excerpt: "2031-05-02 14:53:40 QX1ABC-8>APZ001,WIDE1-1:!6123.4", count: 9, unused: false },
  ],
  stations: [
    { station: "QX1ABC-7", destinations: ["APZ001"], comments: ["hill pack Heron"], comment_sample: "", heard: 1204, duplicates: 611, transmissions: 593, first: "2031-05-02T05:40:00Z", last: "2031-05-04T18:12:00Z", typical_interval_s: 120, internet: 0, units: ["Heron"] },
    { station: "QX1ABC-8", destinations: ["APZ001"], comments: ["hill pack Lapwing"], comment_sample: "", heard: 1033, duplicates: 402, transmissions: 631, first: "2031-05-02T05:41:00Z", last: "2031-05-04T16:00:00Z", typical_interval_s: 60, internet: 0, units: ["Lapwing"] },
    { station: "QR7HUT-1", destinations: ["APZ001"], comments: ["ridge repeater"], comment_sample: "", heard: 2310, duplicates: 1190, transmissions: 1120, first: "2031-05-02T05:12:00Z", last: "2031-05-04T21:38:00Z", typical_interval_s: 300, internet: 0, units: [] },
    { station: "QW4MET-13", destinations: ["APZ001"], comments: [], comment_sample: "relay 3, 71 %", heard: 12, duplicates: 0, transmissions: 12, first: "2031-05-02T05:14:00Z", last: "2031-05-02T05:19:00Z", typical_interval_s: null, internet: 0, units: [] },
  ],
  stations_all: 41, tracks: [], proposals: [],
  units: [unit("Heron", made.heron), unit("Lapwing", made.lapwing)],
  kinds: [],
  comparisons: [{ ...comparison("fair run", true), groups: [comparison("as lent", false), comparison("fair run", true)] }],
  next_test: {
    difference_pct: 5, power_pct: 80, spread_pct: 3, runs: 7, runs_equal: 0, interval_s: 120, watch_from_s: 34200, listen_s: 54000,
    text: "To show a difference of 5\u00a0% with 80\u00a0% certainty, with an assumed spread of 3\u00a0% from run to run: 7\u00a0runs of each unit, one beacon every 2\u00a0min, or more often where local practice allows, listening for 15\u00a0h or until well after the end.",
  },
  outlook: [
    { unit: "Heron", kind: "pack", of: "this_unit", text: "With a pack of 3,000 mAh, Heron would run 19 h 28 min (17 h 50 min to 21 h 10 min).", runtime_s: est(64200, 70080, 76200), draw_ma: null, transmissions: null, extrapolated: false, refused: "", ends_after_s: null, ends_along_m: null, age_moving_s: null, age_parked_s: null, channel_load: null, channel_lost: null },
    { unit: "Lapwing", kind: "schedule", of: "this_unit", text: "Sending every 300 s instead of 120 s, Lapwing would run 11 h 11 min (10 h 05 min to 12 h 20 min).", runtime_s: est(36300, 40260, 44400), draw_ma: null, transmissions: null, extrapolated: true, refused: "", ends_after_s: null, ends_along_m: null, age_moving_s: null, age_parked_s: null, channel_load: null, channel_lost: null },
  ],
  questions: [
    { id: "power_on Lapwing 1", code: "power_on", file: "", unit: "Lapwing", run: 1, ask: "When was Lapwing switched on, 4 May?", why: "Its start is known only to 3 min. A time noted to the minute makes the run time sure to 1 min." },
    { id: "watched ridge", code: "watched_until", file: "ridge-2may.log", unit: "", run: 0, ask: "Until when was ridge-2may.log watched?", why: "Other stations prove the recorder until 3 May 06:58. Say so only if somebody looked earlier." },
  ],
  cautions: [],
}

export const sampleBench: Bench = {
  schema: "lastbeacon.bench/1", title: "Two borrowed handhelds before the long search exercise", author: "the radio group",
  units: [
    { name: "Heron", match: [{ station: "QX1ABC-7", comment: "Heron" }], battery: { capacity_mah: 1960, basis: "recharged", nominal_v: 7.4 }, tx: { power_w: 4.8, power_basis: "measured", meter_pct: 5 }, first_beacon: "at_once",
      runs: [{ label: "as lent", power_on: { at: "2031-05-02T05:40:00Z", precision_s: 30 }, events: [{ at: "2031-05-02T17:02:00Z", precision_s: 30, what: "seen_on" }, { at: "2031-05-02T18:55:00Z", precision_s: 30, what: "seen_dead" }] }, { label: "fair run", power_on: { at: "2031-05-04T05:30:00Z", precision_s: 30 } }] },
    { name: "Lapwing", match: [{ station: "QX1ABC-8" }], battery: { capacity_mah: 2140, basis: "recharged" }, tx: { power_w: 4.65, power_basis: "measured", meter_pct: 5 },
      runs: [{ label: "as lent", power_on: { at: "2031-05-02T05:41:00Z", precision_s: 30 } }, { label: "fair run" }] },
  ],
  compare: { margin_pct: 5, stated: "2031-05-01" },
}
