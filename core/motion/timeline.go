// Package motion turns fixes into a timeline: stationary, moving and unknown periods that tile the time seen, with the
// bounds of each change, and the speed and course at any moment.
package motion

import (
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

// A Sample is the speed (m/s) and course (degrees, NaN when unknown) at a moment.
type Sample struct {
	At            clock.Instant
	Speed, Course float64
}

// A Timeline tells how one unit moved. Periods tile [Start, End] without gap or overlap; Samples stand in time order and
// give speed and course where they are known. Dense tells that it rests on a recorded track, not on the beacons themselves.
// The zero Timeline knows nothing.
type Timeline struct {
	Periods []Period
	Samples []Sample
	Dense   bool
}
