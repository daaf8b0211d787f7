package compare

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
)

// Beacons are the heard times of one run, in order, with what is needed to find their schedule.
type Beacons struct {
	Times      []clock.Instant
	Resolution time.Duration
	Timeline   motion.Timeline
}

// Fit finds a schedule, as schedule.Fit does; a caller that analyses again may remember its answers.
type Fit func(times []clock.Instant, resolution time.Duration, m motion.Timeline) schedule.Schedule

// An Alike says whether two units keep one schedule: "different", "alike_so_far" or "too_early". CertainAt is the first
// packet after which "different" is claimed, and clock.None otherwise. "Alike" is never certain, for one may slow down later.
type Alike struct {
	Verdict   string
	CertainAt clock.Instant
}

const (
	Different  = "different"
	AlikeSoFar = "alike_so_far"
	TooEarly   = "too_early"
)

// AlikeOf compares two schedules, and finds how early they could be told apart: a fair test can then be rescued within
// minutes, not after the packs are spent.
func AlikeOf(a, b Beacons, fit Fit) Alike {
	if differ, ok := told(a, b, fit, math.MaxInt64); !ok {
		return Alike{TooEarly, clock.None}
	} else if !differ {
		return Alike{AlikeSoFar, clock.None}
	}
	moments := slices.Concat(a.Times, b.Times)
	slices.Sort(moments)
	// What is told once stays told: the moment is bracketed by doubling, which keeps to short and cheap beginnings, then halved.
	low, high := 0, len(moments)-1
	for n := 2 * fewestHeard; n < high; n += n / 2 {
		if differ, _ := told(a, b, fit, moments[n]); differ {
			high = n
			break
		}
		low = n
	}
	for low+1 < high {
		mid := (low + high) / 2
		if differ, _ := told(a, b, fit, moments[mid]); differ {
			high = mid
		} else {
			low = mid
		}
	}
	return Alike{Different, moments[high]}
}

// fewestHeard is the number of beacons from which a schedule is looked for.
const fewestHeard = 6

// told compares what was heard until a moment; ok is false while one schedule is not decided.
func told(a, b Beacons, fit Fit, until clock.Instant) (differ, ok bool) {
	x, y := a.until(until), b.until(until)
	if len(x) < fewestHeard || len(y) < fewestHeard {
		return false, false
	}
	sa, sb := fit(x, a.Resolution, a.Timeline), fit(y, b.Resolution, b.Timeline)
	if sa.Kind == schedule.Undecided || sb.Kind == schedule.Undecided {
		return false, false
	}
	return schedulesDiffer(ruled{sa, x, a.Timeline}, ruled{sb, y, b.Timeline}), true
}

// A ruled is what was heard and the schedule found in it.
type ruled struct {
	schedule.Schedule
	times    []clock.Instant
	timeline motion.Timeline
}

func (b Beacons) until(t clock.Instant) []clock.Instant {
	n, found := slices.BinarySearch(b.Times, t)
	if found {
		n++
	}
	return b.Times[:n]
}

// schedulesDiffer judges two decided schedules. Of two kinds one may look like the other so far: a unit that has not yet
// slowed down, or not yet moved, keeps a fixed interval.
func schedulesDiffer(a, b ruled) bool {
	switch {
	case a.Kind == b.Kind:
		return apart(a.Interval, b.Interval) || parametersDiffer(a.Schedule, b.Schedule)
	case a.Kind == schedule.Irregular || b.Kind == schedule.Irregular:
		return true
	case a.Kind == schedule.Fixed:
		return !a.canBecome(b.Schedule)
	case b.Kind == schedule.Fixed:
		return !b.canBecome(a.Schedule)
	}
	return true
}

// canBecome tells whether a fixed interval may be a part of the other rule: the slow or fast interval of one that follows the
// speed, the longest of a decaying one, or its base while it had no time to lengthen or moved on and on.
func (r ruled) canBecome(other schedule.Schedule) bool {
	for _, s := range []float64{other.Longest, other.Slow, other.Fast} {
		if s > 0 && !apart(r.Interval, estimate.Exact(s)) {
			return true
		}
	}
	if other.Kind != schedule.Decaying || apart(r.Interval, other.Interval) {
		return false
	}
	hold := float64(max(1, other.BeaconsBeforeDecay))
	heard := r.times[len(r.times)-1].Sub(r.times[0]).Seconds()
	return r.moved() || heard < 2*(hold+1)*other.Interval.Best
}

// moved tells whether the unit is known to have moved.
func (r ruled) moved() bool {
	return slices.ContainsFunc(r.timeline.Periods, func(p motion.Period) bool { return p.State == motion.Moving })
}

// apart tells whether two intervals differ for certain: by more than 2.2 standard uncertainties of the difference and half
// a percent, which keeps false claims below 2.5 %.
func apart(a, b estimate.Estimate) bool {
	if !a.Known || !b.Known {
		return false
	}
	u := math.Hypot(half(a), half(b)) / estimate.Z
	return math.Abs(a.Best-b.Best) > 2.2*u+0.005*max(a.Best, b.Best)
}

// parametersDiffer compares what the data resolve of both.
func parametersDiffer(a, b schedule.Schedule) bool {
	both := func(name string) bool { return slices.Contains(a.Resolved, name) && slices.Contains(b.Resolved, name) }
	off := func(x, y, tolerance float64) bool { return x > 0 && y > 0 && math.Abs(math.Log(x/y)) > tolerance }
	switch a.Kind {
	case schedule.Decaying:
		return both("beacons_before_decay") && a.BeaconsBeforeDecay != b.BeaconsBeforeDecay ||
			both("longest_s") && off(a.Longest, b.Longest, 0.1)
	case schedule.Adaptive:
		return both("slow_interval_s") && off(a.Slow, b.Slow, 0.1) ||
			both("metres_between_beacons") && off(a.MetresBetween(), b.MetresBetween(), 0.15)
	}
	return false
}
