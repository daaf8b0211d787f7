package schedule

import "math"

// A rule spaces beacons. Given a beacon due at from, on the given rung, next gives when the following one is due, its rung,
// and the standard deviation (s) that the rule's own knowledge adds to that due time. The rung is the rule's memory: how
// far a decaying schedule has slowed down; rules without memory use 0. next is always later than from.
type rule interface {
	next(from float64, rung int) (due float64, nextRung int, sd float64)
	// leap steps over due times that all lie before to and of which nothing need be known; it may do nothing.
	leap(from float64, rung int, to float64) (due float64, nextRung, steps int)
	// briefest gives the shortest interval that the rule sets by itself, s.
	briefest() float64
	// starts gives the chance of each rung at the first beacon heard.
	starts() []float64
}

// fixedRule spaces beacons by one period.
type fixedRule struct{ period float64 }

func (r fixedRule) next(from float64, _ int) (float64, int, float64) { return from + r.period, 0, 0 }

func (r fixedRule) leap(from float64, _ int, to float64) (float64, int, int) {
	steps := int(max(0, math.Floor((to-from)/r.period)-1))
	return from + float64(steps)*r.period, 0, steps
}

func (r fixedRule) briefest() float64 { return r.period }

func (r fixedRule) starts() []float64 { return []float64{1} }
