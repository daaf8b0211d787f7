package schedule

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/clock"
)

// A series is the heard times in seconds since the first of them.
type series struct {
	origin clock.Instant
	at     []float64
	gaps   []float64 // gaps[i] = at[i+1] - at[i]
	floor  float64   // least standard deviation of a gap, s: what the rounding of the stamps alone makes
	cell   float64   // s; a stamp stands for the time from it up to a cell later. 0 where that is too short to matter
	twice  int       // times that stood beside an equal one
	reach  float64   // density of a stray is 1/reach, s
}

// newSeries sorts the times and drops equal ones, which one unit cannot have sent.
func newSeries(times []clock.Instant, resolution time.Duration) *series {
	sorted := slices.Clone(times)
	slices.Sort(sorted)
	sorted = slices.Compact(sorted)
	for len(sorted) > 0 && !sorted[0].Known() {
		sorted = sorted[1:]
	}
	s := &series{floor: gapFloor(resolution)}
	if len(sorted) == 0 {
		s.origin = clock.None
		return s
	}
	s.twice = len(times) - len(sorted)
	s.origin = sorted[0]
	for _, t := range sorted {
		s.at = append(s.at, s.second(t))
	}
	for i := 1; i < len(s.at); i++ {
		s.gaps = append(s.gaps, s.at[i]-s.at[i-1])
	}
	if len(s.gaps) > 0 {
		s.reach = 1.2 * slices.Max(s.gaps)
		s.cell = cellOf(resolution, s.gaps)
	}
	return s
}

// fineStamps is how many steps of the stamps the shorter gaps must hold for their rounding to be an error like any other.
const fineStamps = 6

// cellOf gives the step of the stamps where it is a good part of the gaps, else 0. Stamps finer than a second count as a
// second: no beacon keeps to its time much better.
func cellOf(resolution time.Duration, gaps []float64) float64 {
	cell := max(1, resolution.Seconds())
	if resolution > 0 && quantile(gaps, 0.25) < fineStamps*cell {
		return cell
	}
	return 0
}

// gapFloor: a stamp rounded to r is off by a rectangular error of standard deviation r/sqrt(12), a gap by sqrt(2) of that.
func gapFloor(resolution time.Duration) float64 {
	return max(0.5, resolution.Seconds()/math.Sqrt(6))
}

func (s *series) second(t clock.Instant) float64 { return float64(int64(t)-int64(s.origin)) / 1000 }

func (s *series) instant(second float64) clock.Instant {
	return s.origin + clock.Instant(math.Round(second*1000))
}

// instants gives the heard times on the common clock.
func (s *series) instants() []clock.Instant {
	times := make([]clock.Instant, len(s.at))
	for i, at := range s.at {
		times[i] = s.instant(at)
	}
	return times
}

// since gives the same series with its seconds counted from another origin.
func (s *series) since(origin clock.Instant) *series {
	moved := *s
	moved.origin, moved.at = origin, nil
	for _, at := range s.at {
		moved.at = append(moved.at, moved.second(s.instant(at)))
	}
	return &moved
}

// last gives the time of the last beacon heard, s.
func (s *series) last() float64 { return s.at[len(s.at)-1] }
