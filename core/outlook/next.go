package outlook

import (
	"math"

	"lastbeacon/core/estimate"
)

// A Question is what the next test is to show: a relative difference, with a power, where runs scatter by CV. ShortestS and
// LongestS are the run times to expect and Heard the share of beacons that reach the receiver. A Margin is a difference that was stated
// not to matter.
type Question struct {
	Difference, Power, CV      float64
	ShortestS, LongestS, Heard float64
	Margin                     bool
}

// A Test is the plan: runs of each unit, the longest interval that still bounds the ends well enough, and from when to watch and
// until when to listen, counted from power-on. One further run like the shortest ends before WatchS in 2.5 of 100 cases.
type Test struct {
	Runs, RunsEqual int // to show the difference; to show that there is none beyond a margin, 0 without one
	Power           float64
	IntervalS       float64
	WatchS          float64 // from when on somebody should be there to see an end
	ListenS         float64
}

// ends is how well run times should be known: limits within 2.5 % on either side.
const ends = 0.025

// silences is how many due beacons must stay out before an end is believed at the usual loss.
const silences = 5

// Next plans a test. Intervals are whole and of those that people can set.
func Next(q Question) Test {
	t := Test{}
	plan := estimate.RunsToDiffer(q.Difference, q.CV, q.Power)
	t.Runs, t.Power = plan.Runs, plan.Power
	if q.Margin {
		t.RunsEqual = estimate.RunsToEqual(q.Difference, q.CV, q.Power).Runs
	}
	width := Age(1, q.Heard, 0.975) - Age(1, q.Heard, 0.025)
	most := 2 * ends * q.ShortestS / width
	for _, s := range []float64{10, 15, 20, 30, 60, 120, 180, 300, 600, 900, 1200, 1800} {
		if s <= most {
			t.IntervalS = s
		}
	}
	t.WatchS = math.Floor(q.ShortestS*math.Exp(-estimate.Z*math.Sqrt2*q.CV)/900) * 900
	t.ListenS = math.Ceil((q.LongestS*1.15+silences*t.IntervalS)/1800) * 1800
	return t
}
