package sim

import (
	"math/rand/v2"

	"lastbeacon/core/geo"
)

// A Unit is how a radio behaves. Times are seconds after the begin of the scenario.
type Unit struct {
	Home       geo.Place
	Journey    Journey // none: it stays at home
	Charges    []Charge
	Rule       Rule
	Timing     Timing
	First      Habit
	FixAfter   float64   // median time from power-on to the first fix
	Strays     float64   // beacons sent by hand, an hour; they leave the schedule as it was
	Relays     []float64 // moments at which it repeats others' packets, in order; each costs what a beacon costs
	SleepAfter float64   // asleep after so long at one place, until it moves; 0 never
	AutoOff    float64   // switches itself off so long after power-on; 0 never
	Until      float64   // the simulation ends here; 0: when the charge is spent, at most 60 days after power-on
}

// A Charge is a battery from the moment On at which the unit is switched on with it. It ends when spent, when switched
// Off (0: not), or when the next charge of the unit begins.
type Charge struct {
	On, Off   float64
	Battery   Battery
	Rule      Rule // nil: the unit's
	Afterlife Afterlife
}

// An Afterlife is what a spent pack still does: Restarts at key-up, Every so many seconds on average, each with one packet
// sent without a fix; and, when Late is above 0, one more packet after the cells have recovered for that long.
type Afterlife struct {
	Restarts    int
	Every, Late float64
}

// Timing is how far a beacon goes out from the moment at which it is due.
type Timing struct {
	Jitter   float64 // standard deviation, cut at three of them
	Delay    float64 // the longest send delay; delays are even from 0
	Access   bool    // waits for the channel in slots of 100 ms with persistence 1/4
	FromSent bool    // the next interval counts from the beacon as sent, not as due
}

// A Habit is when a unit sends its first beacon after power-on.
type Habit uint8

const (
	AtOnce Habit = iota
	AfterFix
	AfterInterval
)

// late draws how long after its due time a beacon goes out; jitter may make it early.
func (t Timing) late(r *rand.Rand) float64 {
	late := t.Jitter * max(-3, min(3, r.NormFloat64()))
	late += t.Delay * r.Float64()
	for t.Access {
		if late += 0.1; r.Float64() < 0.25 {
			break
		}
	}
	return late
}
