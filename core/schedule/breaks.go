package schedule

import (
	"math"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// A Break is a place where the phase of a schedule breaks and the interval stays: a suspected restart between two heard
// beacons. Shift is how long after the last due time of the old clock the new one began.
type Break struct {
	Before, After clock.Instant
	Shift         time.Duration
}

const (
	steadyMarks = 3    // beacons in a row that keep to the rule on either side of a break
	startUp     = 4    // beacons that a decaying schedule, fixed as far as it was heard, may take from a restart to its longest interval
	leastShift  = 10.0 // s by which a phase must have moved, or
	shiftSpread = 12.0 // so many standard deviations of a beacon: clocks that wander are not restarts
)

// PhaseBreaks gives the phase breaks of a schedule while the unit rested, as found by the fit: movement may set a clock anew,
// also behind an interval that seems fixed as far as it was heard; one not shown at rest may be of a schedule that slows down there. A
// single beacon beside the phase is a stray, not a break.
func PhaseBreaks(s Schedule, m motion.Timeline) []Break {
	_, parked := s.Steady()
	if parked == 0 || !s.shownAtRest(m) {
		return nil
	}
	var found []Break
	for i := 1; i < len(s.marks); i++ {
		if s.marks[i].role == onTime || !s.steady(i-steadyMarks, i) {
			continue
		}
		b, steadied := s.settled(i)
		if !steadied || math.Abs(math.Remainder(b.Shift.Seconds(), parked)) < max(leastShift, shiftSpread*s.Jitter) {
			continue
		}
		rested, until := b.Before, b.After
		if s.Kind != Fixed { // on the way to its place and off again turns and speed set the clock, before anybody hears of it
			rested = s.marks[i-steadyMarks].at.Add(-s.ramp())
			until = s.marks[min(len(s.marks), i+steadyMarks+1)-1].at
		}
		if !m.Touches(motion.Moving, rested, until) {
			found = append(found, b)
		}
	}
	return found
}

// ramp gives how long a decaying schedule takes to its longest interval, at most.
func (s Schedule) ramp() time.Duration {
	if s.Kind != Decaying {
		return 0
	}
	return clock.Seconds(float64(s.BeaconsBeforeDecay)*s.Interval.Best + 2*s.Longest)
}

// settled gives the break at mark i, when the clock begins anew and keeps to the rule from there on, or after the first few
// beacons of a ramp.
func (s Schedule) settled(i int) (b Break, ok bool) {
	b = Break{s.marks[i-1].at, s.marks[i].at, clock.Seconds(s.marks[i].shift)}
	for j := i; j < min(len(s.marks), i+startUp); j++ {
		if s.marks[j].role != anew || !s.steady(j+1, j+1+steadyMarks) {
			continue
		}
		if j > i {
			b.Shift = s.marks[j].at.Sub(b.Before)
		}
		return b, true
	}
	return b, false
}

// steady tells whether the marks from one place up to another all keep to the rule; the first mark of all does.
func (s Schedule) steady(from, to int) bool {
	if from < 0 || to > len(s.marks) {
		return false
	}
	for i := from; i < to; i++ {
		if s.marks[i].role != onTime && i > 0 {
			return false
		}
	}
	return true
}
