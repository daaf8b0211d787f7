package sim

import (
	"math"
	"math/rand/v2"
)

// stream gives the random numbers of one purpose. Each purpose has its own, so that a change in one part of a scenario
// leaves the others as they were.
func stream(seed uint64, purpose string, n int) *rand.Rand {
	const prime = 1099511628211 // FNV-1a, 64 bits
	h := uint64(14695981039346656037)
	for i := range len(purpose) {
		h = (h ^ uint64(purpose[i])) * prime
	}
	return rand.New(rand.NewPCG(seed, (h^uint64(n))*prime))
}

// between draws evenly from low to high.
func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// never is the moment of what does not happen.
var never = math.Inf(1)

// A span is a stretch of time in seconds after the scenario's begin; the end does not belong to it.
type span struct{ from, until float64 }

func (s span) holds(t float64) bool { return t >= s.from && t < s.until }

// overlap gives how many seconds the two spans share.
func (s span) overlap(o span) float64 {
	return max(0, min(s.until, o.until)-max(s.from, o.from))
}

func anyHolds(spans []span, t float64) bool {
	for _, s := range spans {
		if s.holds(t) {
			return true
		}
	}
	return false
}
