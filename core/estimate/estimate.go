// Package estimate holds claimed numbers, each with its 95 % limits, and the intervals, quantiles and fits that make
// them. Quantiles come from gonum; every formula names its source.
package estimate

import "math"

// An Estimate is a claimed number: Low and High are its 2.5 % and 97.5 % points and Best its median. An infinite limit is
// open ("at least 6 h" has High +Inf). The zero Estimate is unknown, which is never the same as 0.
type Estimate struct {
	Low, Best, High float64
	Known           bool
}

// Unknown is the number that cannot be given.
var Unknown = Estimate{}

// Exact gives a number without uncertainty, such as a count.
func Exact(v float64) Estimate { return Estimate{v, v, v, true} }

// Of gives an estimate with both limits.
func Of(low, best, high float64) Estimate { return Estimate{low, best, high, true} }

// AtLeast gives an estimate that is open above; Best is the least value too.
func AtLeast(v float64) Estimate { return Estimate{v, v, math.Inf(1), true} }

// Scale multiplies by a positive factor without uncertainty.
func (e Estimate) Scale(f float64) Estimate {
	return Estimate{e.Low * f, e.Best * f, e.High * f, e.Known}
}

// Sound tells whether e is a number at all: known, its best value finite, and its limits in order around it.
func (e Estimate) Sound() bool {
	return e.Known && !math.IsInf(e.Best, 0) && e.Low <= e.Best && e.Best <= e.High
}

// Positive tells whether e is sound and above 0 with its lower limit.
func (e Estimate) Positive() bool { return e.Sound() && e.Low > 0 }

// Open tells whether a limit is missing.
func (e Estimate) Open() bool { return math.IsInf(e.Low, 0) || math.IsInf(e.High, 0) }
