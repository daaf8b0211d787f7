package endurance

import (
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
	"lastbeacon/core/traffic"
)

// A beat is one due time of a run: when, and which transmission it was; -1 when it was missed.
type beat struct {
	due  clock.Instant
	sent int
}

func (b beat) heard() bool { return b.sent >= 0 }

// A walk goes from beacon to beacon over the due times of one run.
type walk struct {
	unit     *traffic.Unit
	schedule schedule.Schedule
	timeline motion.Timeline
}

// beats gives all due times from the first of the beacons to the last, with bounds on how many were missed. Beacons that no
// due time explains, sent by hand, are no beats. Without a rule every beacon is one and the missed ones are unknown.
func (w walk) beats(beacons []int) (beats []beat, missed estimate.Estimate) {
	times := w.times(beacons)
	misses := schedule.Missed(times, w.schedule, w.timeline)
	if len(misses.Slots) == 0 {
		for i, b := range beacons {
			beats = append(beats, beat{times[i], b})
		}
		return beats, estimate.Unknown
	}
	missed = estimate.Exact(0)
	due, anchor := misses.Due, 0
	for i, b := range beacons {
		slots := misses.Slots[i]
		if i > 0 && slots == 0 {
			continue
		}
		if i > 0 {
			lost := w.exact(beacons[anchor], b, due[:slots-1])
			due = due[slots-1:]
			for _, d := range lost {
				beats = append(beats, beat{d, -1})
			}
			least, most := w.bounds(times[anchor], times[i], len(lost))
			missed.Low, missed.Best, missed.High = missed.Low+least, missed.Best+float64(len(lost)), missed.High+most
		}
		beats = append(beats, beat{times[i], b})
		anchor = i
	}
	return beats, missed
}

func (w walk) times(indexes []int) []clock.Instant {
	times := make([]clock.Instant, len(indexes))
	for i, t := range indexes {
		times[i] = w.unit.Transmissions[t].At
	}
	return times
}

// exact lets the running numbers of telemetry decide how many were missed between two beacons, where both carry one that
// agrees roughly with the schedule; numbers that began anew or count other packets too say nothing.
func (w walk) exact(a, b int, lost []clock.Instant) []clock.Instant {
	first, second := &w.unit.Transmissions[a], &w.unit.Transmissions[b]
	from, to := first.Sequence, second.Sequence
	if !from.Known() || from.Wrap != to.Wrap {
		return lost
	}
	n := (to.No-from.No+from.Wrap)%from.Wrap - 1
	if n < 0 || n == len(lost) || n > 2*len(lost)+1 || len(lost) > 2*n+1 {
		return lost
	}
	even := make([]clock.Instant, n)
	for i := range even {
		even[i] = first.At.Add(second.At.Sub(first.At) * time.Duration(i+1) / time.Duration(n+1))
	}
	return even
}

// bounds gives the fewest and the most missed beacons that the bounds of the due times between two beacons allow.
func (w walk) bounds(from, to clock.Instant, best int) (least, most float64) {
	early, late := 0, 0
	for due := range w.schedule.Due(from, w.timeline) {
		if earliest(due) >= to || early > 2*best+2 {
			break
		}
		early++
		if latest(due) < to {
			late++
		}
	}
	return float64(min(best, max(late, 0))), float64(max(best, early-1))
}

// latest gives the latest moment of a due time, the best one when that side is open.
func latest(b clock.Between) clock.Instant {
	if b.Latest.Known() {
		return max(b.Latest, b.Best)
	}
	return b.Best
}

func earliest(b clock.Between) clock.Instant {
	if b.Earliest.Known() {
		return min(b.Earliest, b.Best)
	}
	return b.Best
}

// shortest is the least interval in seconds that is worth calling one.
const shortest = 0.5

// step gives the interval that the schedule expects after a beacon, in seconds; 0 when it expects none.
func (w walk) step(after clock.Instant) float64 {
	for due := range w.schedule.Due(after, w.timeline) {
		if s := due.Best.Sub(after).Seconds(); s >= shortest {
			return s
		}
		break
	}
	return 0
}

// ahead gives the law of falling silent after the last beacon: gaps between due times, in seconds after alive, the last
// moment at which the unit is known to have been on. anchor is the beacon from which the due times run. Only due times in
// the listened spans teach anything; the law ends with the gap in which the listening ends. silent counts the due times that
// were listened for in vain.
func (w walk) ahead(anchor, alive clock.Instant, listened spans, l loss) (after law, silent int) {
	if w.step(anchor) == 0 {
		return nil, 0
	}
	from, unheard := 0.0, l.silence()
	for due := range w.schedule.Due(anchor, w.timeline) {
		if due.Best <= alive {
			continue
		}
		to := due.Best.Sub(alive).Seconds()
		after = append(after, gap{from, to, unheard.chance(), latest(due).Sub(due.Best).Seconds()})
		if listened.cover(due.Best) && listened.cover(latest(due)) {
			unheard.miss()
			silent++
		}
		if unheard.chance() < leastWeight || len(after) == mostGaps || due.Best > listened.end() {
			break
		}
		from = to
	}
	return after, silent
}

// countable tells whether due times can be counted one by one: without a rule a gap heard may hide any number.
func countable(s schedule.Schedule) bool {
	return s.Kind != schedule.Undecided && s.Kind != schedule.Irregular
}
