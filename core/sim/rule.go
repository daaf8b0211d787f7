package sim

import (
	"math"
	"math/rand/v2"
)

// A Rule spaces the beacons of a radio that is switched on.
type Rule interface {
	// Kind names the rule as the truth does: fixed, decaying, adaptive, irregular.
	Kind() string
	pace(r *rand.Rand) pacer
}

// A pacer is a rule at work. next gives when the next beacon is due, in seconds after the scenario's begin, when the last
// one was at last and the unit moves along way.
type pacer interface {
	next(last float64, way *Way) float64
}

// Fixed beacons at one interval always, in seconds.
type Fixed struct{ Every float64 }

func (Fixed) Kind() string                        { return "fixed" }
func (f Fixed) pace(*rand.Rand) pacer             { return f }
func (f Fixed) next(last float64, _ *Way) float64 { return last + f.Every }

// Decaying lengthens the interval while the position holds: Hold intervals of Base seconds, then Growth times as long each
// time up to Longest. Movement brings it back to Base at once.
type Decaying struct {
	Base    float64
	Hold    int // at least 1
	Growth  float64
	Longest float64
}

func (Decaying) Kind() string            { return "decaying" }
func (d Decaying) pace(*rand.Rand) pacer { return &decay{Decaying: d, now: d.Base} }

type decay struct {
	Decaying
	now  float64 // the running interval
	done int     // intervals since movement
}

func (d *decay) next(last float64, way *Way) float64 {
	if d.done >= d.Hold {
		d.now = min(d.now*d.Growth, d.Longest)
	}
	d.done++
	onset := way.movesAfter(last)
	if onset >= last+d.now {
		return last + d.now
	}
	d.now, d.done = d.Base, 0
	return max(onset, last+d.Base)
}

// Adaptive follows the speed, as published for speed-adaptive beaconing: below SlowSpeed every Slow seconds, at FastSpeed
// and above every Fast seconds, between them Fast * FastSpeed / speed. With TurnTime above 0 a beacon goes out at once
// when the course has changed by more than TurnMin + TurnSlope / speed degrees since the last one and TurnTime has passed.
// Speeds in m/s. The running interval is weighed anew every second. Capped holds the interval at Slow at most, which some
// radios do and the published text does not.
type Adaptive struct {
	Slow, Fast                   float64
	SlowSpeed, FastSpeed         float64
	TurnMin, TurnSlope, TurnTime float64
	Capped                       bool
}

func (Adaptive) Kind() string            { return "adaptive" }
func (a Adaptive) pace(*rand.Rand) pacer { return a }

// Interval gives the seconds between beacons at a steady speed, corners apart.
func (a Adaptive) Interval(speed float64) float64 {
	switch {
	case speed < a.SlowSpeed:
		return a.Slow
	case speed >= a.FastSpeed:
		return a.Fast
	case a.Capped:
		return min(a.Slow, a.Fast*a.FastSpeed/speed)
	}
	return a.Fast * a.FastSpeed / speed
}

func (a Adaptive) next(last float64, way *Way) float64 {
	_, course := way.pointer(last)
	for t := last + 1; ; t++ {
		if until := way.restsUntil(t); until > t { // parked: nothing to weigh until it leaves
			if until > last+a.Slow {
				return max(t, last+a.Slow)
			}
			t += math.Ceil(until - t)
		}
		speed, now := way.pointer(t)
		if t-last >= a.Interval(speed) || a.corner(t-last, speed, turned(course, now)) {
			return t
		}
	}
}

func (a Adaptive) corner(since, speed, turn float64) bool {
	return a.TurnTime > 0 && speed >= a.SlowSpeed && since > a.TurnTime && turn > a.TurnMin+a.TurnSlope/speed
}

// turned gives the angle between two courses, 0 to 180 degrees.
func turned(a, b float64) float64 {
	d := math.Mod(math.Abs(a-b), 360)
	return min(d, 360-d)
}

// ByHand is no schedule: gaps are log-normal about Median seconds with the spread Sigma of their logarithm.
type ByHand struct{ Median, Sigma float64 }

func (ByHand) Kind() string              { return "irregular" }
func (b ByHand) pace(r *rand.Rand) pacer { return byHand{b, r} }

type byHand struct {
	ByHand
	r *rand.Rand
}

func (b byHand) next(last float64, _ *Way) float64 {
	return last + max(5, b.Median*math.Exp(b.Sigma*b.r.NormFloat64()))
}
