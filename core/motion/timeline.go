// Package motion turns fixes into a timeline: stationary, moving and unknown periods that tile the time seen, with the
// bounds of each change, and the speed, course and place at any moment.
package motion

import (
	"slices"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
)

// A State is what a unit's place did over a period.
type State uint8

const (
	Unknown    State = iota // nobody can know
	Stationary              // at one place for at least the minimum dwell
	Moving                  // between two places
)

func (s State) String() string { return [...]string{"unknown", "stationary", "moving"}[s] }

// A Period is a stretch of one state. Start and End of neighbours are equal. Distance is in metres along the way, MeanSpeed
// and MaxSpeed in m/s (NaN when not known). Inferred: concluded across a stretch without fixes.
type Period struct {
	State               State
	Start, End          clock.Between
	Distance            estimate.Estimate
	MeanSpeed, MaxSpeed float64
	Inferred            bool
}

// A Timeline tells how one unit moved. Periods tile [Start, End] without gap or overlap; Samples stand in time order and
// give speed and course where they are known. Dense tells that it rests on a recorded track, not on the beacons themselves.
// The zero Timeline knows nothing.
type Timeline struct {
	Periods []Period
	Samples []Sample
	Dense   bool
	trail   trail
}

// Span gives the times of the first and the last fix; ok is false for a timeline that knows nothing.
func (t Timeline) Span() (first, last clock.Instant, ok bool) {
	if len(t.Periods) == 0 {
		return clock.None, clock.None, false
	}
	return t.Periods[0].Start.Best, t.Periods[len(t.Periods)-1].End.Best, true
}

// PeriodAt gives the place in Periods of the one that holds at, or -1 outside the time seen. A moment on a boundary belongs
// to the later period, the very last moment to the last.
func (t Timeline) PeriodAt(at clock.Instant) int {
	first, last, ok := t.Span()
	if !ok || at < first || at > last {
		return -1
	}
	after := sort.Search(len(t.Periods), func(i int) bool { return t.Periods[i].Start.Best > at })
	return after - 1
}

// StateAt gives the state at a moment, Unknown outside the time seen.
func (t Timeline) StateAt(at clock.Instant) State {
	i := t.PeriodAt(at)
	if i < 0 {
		return Unknown
	}
	return t.Periods[i].State
}

// Touches tells whether a period of a state touches the time between two moments.
func (t Timeline) Touches(state State, from, to clock.Instant) bool {
	return slices.ContainsFunc(t.Periods, func(p Period) bool { return p.State == state && p.Start.Best < to && p.End.Best > from })
}

// Clip gives periods that tile exactly [start, end]: those of the timeline, cut where they pass the window, and Unknown
// where nothing was seen. A period is never extended: that a unit stood at its last fix does not say how long it stayed.
func (t Timeline) Clip(start, end clock.Instant) []Period {
	if !start.Known() || !end.Known() || end <= start {
		return nil
	}
	var out []Period
	done := start
	for _, p := range t.Periods {
		if p.End.Best <= done || p.Start.Best >= end {
			continue
		}
		if p.Start.Best > done {
			out = append(out, unseen(done, p.Start.Best))
		}
		out = append(out, t.cut(p, start, end))
		done = min(p.End.Best, end)
	}
	if done < end {
		out = append(out, unseen(done, end))
	}
	return out
}

// cut gives the part of p within the window; its distance and speeds are measured anew.
func (t Timeline) cut(p Period, start, end clock.Instant) Period {
	if p.Start.Best >= start && p.End.Best <= end {
		return p
	}
	if p.Start.Best < start {
		p.Start = clock.Exactly(start)
	}
	if p.End.Best > end {
		p.End = clock.Exactly(end)
	}
	return t.trail.measure(p)
}

// unseen gives a period of which nothing is known.
func unseen(start, end clock.Instant) Period {
	return blank(Unknown, clock.Exactly(start), clock.Exactly(end))
}
