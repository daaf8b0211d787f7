package schedule

import (
	"math"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

// Misses are the due beacons between heard ones that were not heard. Slots[i] counts the due times from the heard beacon
// before times[i] up to and with times[i]: 1 when none was missed, 0 for the first and for a beacon that no due time explains.
type Misses struct {
	Due   []clock.Instant
	Slots []int
}

// Missed walks the due times of s between heard beacons, which must be known and in time order. Without a rule nothing can
// be said and both lists are empty.
func Missed(times []clock.Instant, s Schedule, m motion.Timeline) Misses {
	if len(times) == 0 || !times[0].Known() || !slices.IsSorted(times) {
		return Misses{}
	}
	r, origin := s.rule(times[0], m)
	if r == nil {
		return Misses{}
	}
	at := newSeries(times, 0).since(origin)
	f := newFilter(at)
	heard := clamp(s.Received.Best, leastHeard, mostHeard)
	marks := f.trace(fit{rule: r, noise: noise{heard, firstStray, max(at.floor, s.Jitter*math.Sqrt2)}})
	return f.misses(r, marks, times)
}

// misses walks the rule between the marks that it explains.
func (f *filter) misses(r rule, marks []mark, times []clock.Instant) Misses {
	found := Misses{Slots: make([]int, len(times))}
	next, anchor := 0, marks[0]
	for i, t := range times {
		if i > 0 && t == times[i-1] {
			continue
		}
		m := marks[next]
		next++
		if m.role == stray || m.steps == 0 {
			continue
		}
		found.Slots[i] = m.steps
		from, rung := anchor.at, anchor.rung
		for range m.steps - 1 {
			from, rung, _ = r.next(from, rung)
			found.Due = append(found.Due, f.s.instant(from))
		}
		anchor = m
	}
	return found
}

// received gives the share of due beacons heard, from the slots between heard ones: the interval of Wilson (1927, JASA 22,
// 209), widened when losses come in bursts by the correlation of neighbouring slots.
func received(marks []mark) estimate.Estimate {
	var slots []float64
	for _, m := range marks[1:] {
		for range m.steps - 1 {
			slots = append(slots, 0)
		}
		if m.steps > 0 {
			slots = append(slots, 1)
		}
	}
	if len(slots) == 0 {
		return estimate.Unknown
	}
	heard, n := 0.0, float64(len(slots))
	for _, v := range slots {
		heard += v
	}
	bursts := clamp(lagOne(slots), 0, 0.9)
	return wilson(heard/n, n*(1-bursts)/(1+bursts))
}

// wilson gives the 95 % interval of a share seen in n trials.
func wilson(share, n float64) estimate.Estimate {
	const z = 1.959963984540054
	middle := (share + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(share*(1-share)/n+z*z/(4*n*n))
	return estimate.Of(clamp(middle-half, 0, share), share, clamp(middle+half, share, 1))
}
