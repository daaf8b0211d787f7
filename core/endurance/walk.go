package endurance

import (
	"math"
	"slices"
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
	unit      *traffic.Unit
	schedule  schedule.Schedule
	timeline  motion.Timeline
	schedules Schedules
}

// beats gives all due times from the first of the beacons to the last, with bounds on how many were missed. Beacons that no
// due time explains, sent by hand, are no beats.
func (w walk) beats(beacons []int) (beats []beat, missed estimate.Estimate) {
	times := w.times(beacons)
	misses := w.schedules.Missed(times, w.schedule, w.timeline)
	if len(misses.Slots) == 0 {
		return w.numbered(beacons)
	}
	count := counting{misses: misses}
	due, anchor := misses.Due, 0
	for i, b := range beacons {
		slots := misses.Slots[i]
		if i > 0 && slots == 0 {
			continue
		}
		if i > 0 {
			passed := w.take(w.clear(due[:slots-1], times[i]), beacons[anchor+1:i])
			due = due[slots-1:]
			if anchor+1 == i {
				passed = w.exact(beacons[anchor], b, passed)
			}
			count.gap(w, times[anchor], times[i], passed, beacons[anchor+1:i])
			beats = append(beats, passed...)
		}
		beats = append(beats, beat{times[i], b})
		anchor = i
	}
	return beats, count.missed(w, beats)
}

// numbered gives the beats between beacons that keep to no rule by the running numbers of telemetry, those missed spread evenly;
// without them every beacon is a beat and nobody knows what was missed.
func (w walk) numbered(beacons []int) (beats []beat, missed estimate.Estimate) {
	n, known := 0, len(beacons) > 1
	for i, b := range beacons {
		if i > 0 && known {
			var between []beat
			between, known = w.skipped(beacons[i-1], b)
			beats, n = append(beats, between...), n+len(between)
		}
		beats = append(beats, beat{w.unit.Transmissions[b].At, b})
	}
	if !known {
		return slices.DeleteFunc(beats, func(b beat) bool { return !b.heard() }), estimate.Unknown
	}
	return beats, estimate.Exact(float64(n))
}

// mostSkipped is how many numbers in a row may be missing before the counter is taken to have begun anew.
const mostSkipped = 50

// skipped gives the beats that the numbers of two beacons leave out; known is false where they tell nothing, or count other packets
// too.
func (w walk) skipped(a, b int) (beats []beat, known bool) {
	t := w.unit.Transmissions
	from, to := t[a].Sequence, t[b].Sequence
	if !from.Known() || from.Wrap != to.Wrap || slices.ContainsFunc(t[a+1:b], func(x traffic.Transmission) bool { return x.Sequence.Known() }) {
		return nil, false
	}
	n := (to.No-from.No+from.Wrap)%from.Wrap - 1
	if n < 0 || n > mostSkipped {
		return nil, false
	}
	return evenly(t[a].At, t[b].At, n), true
}

// evenly gives n missed beats spread over the time between two beacons.
func evenly(from, to clock.Instant, n int) []beat {
	even := make([]beat, n)
	for i := range even {
		even[i] = beat{from.Add(to.Sub(from) * time.Duration(i+1) / time.Duration(n+1)), -1}
	}
	return even
}

// A counting adds up what was missed, gap by gap.
type counting struct {
	misses            schedule.Misses
	least, best, most float64
	slowed            float64 // how many fewer were missed if speed never quickened the beacons of an adaptive unit
	stretches         []stretch
	byHand            int // beacons heard direct that stand for no due time
	copies            int // others, heard through repeaters only: as likely late copies that nothing gave away
}

// A stretch is what lies between two beacons heard where only beacons tell how the unit moved.
type stretch struct {
	lost        int
	fewer, more float64 // missed, at most, if a decaying unit stood still in it, or the unit moved fast all along
	turned      bool    // the unit set off or stopped in it
	atOnePlace  bool
}

// gap adds the due times that passed between two beacons, between which others came.
func (c *counting) gap(w walk, from, to clock.Instant, passed []beat, others []int) {
	lost := 0
	for _, p := range passed {
		if !p.heard() {
			lost++
		}
	}
	for _, b := range others {
		switch stands := slices.ContainsFunc(passed, func(p beat) bool { return p.sent == b }); {
		case stands:
		case w.unit.Transmissions[b].Direct():
			c.byHand++
		default:
			c.copies++
		}
	}
	least, most := w.bounds(from, to, lost)
	c.least, c.best, c.most = c.least+least, c.best+float64(lost), c.most+most
	if w.timeline.Dense {
		return
	}
	within := func(interval float64) float64 { return max(0, math.Ceil(to.Sub(from).Seconds()/interval-0.1)-1) }
	if slow := w.schedule.Slow; slow > 0 {
		c.slowed += max(0, float64(lost)-within(slow))
	}
	s := stretch{lost: lost}
	switch w.schedule.Kind {
	case schedule.Decaying:
		s.fewer, s.more = max(0, float64(lost)-within(w.schedule.Longest)), max(0, within(w.schedule.Interval.Best)-float64(lost))
	case schedule.Adaptive:
		s.more = max(0, within(w.schedule.Fast)-float64(lost))
	}
	if s.fewer > 0 || s.more > 0 { // only then is it asked how the unit moved
		s.turned, s.atOnePlace = w.turns(from, to), w.stands(from, to)
		c.stretches = append(c.stretches, s)
	}
}

// stands tells whether the unit is known to have stood from one beacon to another.
func (w walk) stands(from, to clock.Instant) bool {
	return !w.timeline.Touches(motion.Moving, from, to) && !w.timeline.Touches(motion.Unknown, from, to)
}

// turns tells whether the unit set off or stopped between two beacons.
func (w walk) turns(from, to clock.Instant) bool {
	return slices.ContainsFunc(w.timeline.Periods, func(p motion.Period) bool {
		return p.State == motion.Moving && (from < p.Start.Best && p.Start.Best <= to || from <= p.End.Best && p.End.Best < to)
	})
}

// missed gives the sum with its limits. Where beacons that no schedule spaces were heard, others of their kind were not: with a
// share heard, how many is a matter of the negative binomial law. Where only beacons tell how an adaptive unit moved, the rule
// that quickens them is known from the same beacons, and may be wrong in every gap alike; a decaying one may have stood in any.
func (c *counting) missed(w walk, beats []beat) estimate.Estimate {
	heard := 0.0
	for _, b := range beats {
		if b.heard() {
			heard++
		}
	}
	unheard := mostUnheard(c.byHand+c.copies, (heard+0.5)/(heard+c.best+1))
	e := w.cornered(estimate.Of(max(0, c.least-c.misses.Fewer-float64(c.copies)), c.best, c.most+c.misses.More+unheard))
	fewer, more := c.unseen(beats)
	return estimate.Of(max(0, min(e.Low, c.best-c.slowed, c.best-fewer)), e.Best, e.High+more)
}

// unseen gives how many fewer and how many more were missed, at 97.5 %, where nobody knows when between two beacons the unit set off or
// stopped: each one more would have gone unheard after one that did. In a stretch out of reach everything goes unheard, and it may
// have stood or moved all along.
func (c *counting) unseen(beats []beat) (fewer, more float64) {
	heard := make([]bool, len(beats))
	for i, b := range beats {
		heard[i] = b.heard()
	}
	l := lossOf(heard)
	lost, less, squares := l.next(1), 0.0, 0.0
	for _, s := range c.stretches {
		switch {
		case !s.atOnePlace && l.outOfReach(s.lost):
			fewer, more = fewer+s.fewer, more+s.more
		case s.turned:
			less += s.fewer * s.fewer
			squares += min(s.more*s.more, lost*(1+lost)/((1-lost)*(1-lost)))
		}
	}
	return math.Ceil(fewer + 2*math.Sqrt(less)), math.Ceil(more + 2*math.Sqrt(squares))
}

// mostUnheard gives how many were lost, at 97.5 %, beside so many heard of which a share is heard.
func mostUnheard(heard int, share float64) (n float64) {
	chance := math.Pow(share, float64(heard))
	for sum := chance; sum < 0.975 && n < 1000; sum += chance {
		chance *= (float64(heard) + n) / (n + 1) * (1 - share)
		n++
	}
	return n
}

// cornered widens the count for a schedule that follows the speed: speeds between beacons are known roughly, and a missed
// beacon at a corner leaves no trace in the due times.
func (w walk) cornered(missed estimate.Estimate) estimate.Estimate {
	if w.schedule.MetresBetween() == 0 {
		return missed
	}
	more := 2 * math.Sqrt(missed.Best+1)
	return estimate.Of(math.Floor(max(0, missed.Low-more)), missed.Best, math.Ceil(missed.High+more))
}

// clear leaves out the due times that a beacon itself may stand for: those within a quarter of the interval of it.
func (w walk) clear(due []clock.Instant, at clock.Instant) []clock.Instant {
	for n := len(due); n > 0 && at.Sub(due[n-1]) <= w.spacing(due, n-1)/4; n-- {
		due = due[:n-1]
	}
	return due
}

// take makes beats of due times between two beacons. A beacon in between that is off its due time, as behind a busy channel,
// but within a quarter of the interval of it, stands for that due time; the others were sent by hand.
func (w walk) take(due []clock.Instant, between []int) []beat {
	beats := make([]beat, len(due))
	for i, d := range due {
		beats[i] = beat{d, -1}
	}
	for _, b := range between {
		i := w.near(beats, due, b)
		if i < 0 && !w.unit.Transmissions[b].Direct() {
			i = w.late(beats, b)
		}
		if i >= 0 {
			beats[i].sent = b
		}
	}
	return beats
}

// near gives the due time within a quarter of the interval of a transmission that no other stands for; -1 when there is none.
func (w walk) near(beats []beat, due []clock.Instant, b int) int {
	at := w.unit.Transmissions[b].At
	for i, x := range beats {
		if !x.heard() && x.due.Sub(at).Abs() <= w.spacing(due, i)/4 {
			return i
		}
	}
	return -1
}

// mostLate is how late a repeater was seen to pass a packet on: copies came up to 191 s late.
const mostLate = 200 * time.Second

// late gives the last due time that went unheard before a transmission heard through repeaters only; -1 when there is none.
func (w walk) late(beats []beat, b int) int {
	at := w.unit.Transmissions[b].At
	for i, x := range slices.Backward(beats) {
		if since := at.Sub(x.due); !x.heard() && since > 0 && since <= mostLate {
			return i
		}
	}
	return -1
}

// spacing gives the interval about one of a row of due times.
func (w walk) spacing(due []clock.Instant, i int) time.Duration {
	if i > 0 {
		return due[i].Sub(due[i-1])
	}
	if i+1 < len(due) {
		return due[i+1].Sub(due[i])
	}
	return clock.Seconds(w.step(due[i]))
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
func (w walk) exact(a, b int, passed []beat) []beat {
	first, second := &w.unit.Transmissions[a], &w.unit.Transmissions[b]
	from, to := first.Sequence, second.Sequence
	if !from.Known() || from.Wrap != to.Wrap {
		return passed
	}
	n := (to.No-from.No+from.Wrap)%from.Wrap - 1
	if n < 0 || n == len(passed) || n > 2*len(passed)+1 || len(passed) > 2*n+1 {
		return passed
	}
	return evenly(first.At, second.At, n)
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
func (w *walk) step(after clock.Instant) float64 {
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
