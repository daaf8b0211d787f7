package traffic

import (
	"bytes"
	"math"
	"slices"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// enoughPairs is how many packets, each with the one before it from the same station, show a source's habit.
const enoughPairs = 50

// Unrepeated gives the files in which no station ever sends the same information, or the same place, twice in a row, though
// enough was heard to tell, or in which nobody does so sooner than after a time that some station keeps to as if it were a
// fence. Their sources drop repeats, for ever or for that time, or keep changed positions only, and make parked units look dead.
func Unrepeated(ev *evidence.Evidence) (found []evidence.FileID) {
	sources := map[evidence.FileID]*source{}
	for _, f := range ev.Files {
		sources[f.ID] = &source{before: map[ax25.Call]last{}, again: map[ax25.Call][]float64{}}
	}
	var d reader
	for i := range ev.Receptions {
		r := &ev.Receptions[i]
		if s := sources[r.Line.File]; r.At.Known() && !s.repeats {
			p := d.read(r)
			s.hear(r.From, last{r.InfoField(), r.At, p.OwnPlace(), p.Place})
		}
	}
	for _, f := range ev.Files {
		if sources[f.ID].drops() {
			found = append(found, f.ID)
		}
	}
	return found
}

// A source is what a file shows of equal packets in a row.
type source struct {
	before  map[ax25.Call]last
	pairs   int
	repeats bool                    // equal packets soon after one another: nothing is dropped
	again   map[ax25.Call][]float64 // s, from packets to equal ones, none of them soon
}

// last is what a station sent last.
type last struct {
	info   []byte
	at     clock.Instant
	placed bool
	place  geo.Place
}

func (s *source) hear(from ax25.Call, now last) {
	b, known := s.before[from]
	after := now.at.Sub(b.at)
	if known && after <= usualWindow {
		return // perhaps a copy
	}
	s.before[from] = now
	if !known {
		return
	}
	s.pairs++
	equal := bytes.Equal(b.info, now.info)
	s.repeats = equal && after < soonAgain || !equal && b.placed && now.placed && b.place == now.place
	if equal && after >= soonAgain {
		s.again[from] = append(s.again[from], after.Seconds())
	}
}

// drops tells whether the source drops repeats.
func (s *source) drops() bool {
	if s.repeats || len(s.again) == 0 {
		return !s.repeats && s.pairs >= enoughPairs
	}
	fence := math.Inf(1)
	for _, gaps := range s.again {
		fence = min(fence, slices.Min(gaps))
	}
	on := 0 // stations that stand on the fence
	for _, gaps := range s.again {
		if len(gaps) >= fewestOn && slices.Min(gaps) < 1.02*fence {
			on++
		}
	}
	need := alone
	if on > 1 {
		need = together
	}
	for _, gaps := range s.again {
		if hugs(gaps, fence, need) {
			return true
		}
	}
	return false
}

const (
	soonAgain = 2 * time.Minute // sources that drop repeats on purpose do so for longer
	fewestOn  = 5               // gaps that show a fence
	// Gaps clearly behind a fence that tell it from an interval, where one station stands on it and where several do.
	alone, together = 2, 1
)

// hugs tells whether the gaps of a station stand close behind a fence without being one interval or several of it: next to it,
// but some clearly later, by less than a third. A station that sends every few minutes gets through as soon as the
// fence is past; one that keeps to such an interval itself stands on it or on its double, and one that strays about it stands
// seldom near the shortest of its gaps and mostly in their middle.
func hugs(gaps []float64, fence float64, need int) bool {
	near, later := 0, 0
	var behind []float64
	for _, g := range gaps {
		excess := g - fence
		if excess < 0.3*fence {
			near++
			behind = append(behind, excess)
		}
		if excess > max(20, 0.01*fence) && excess < 0.3*fence {
			later++
		}
	}
	return len(gaps) >= fewestOn && 10*near >= 7*len(gaps) && later >= need && !bell(behind)
}

// bell tells whether enough values show that they stand thinly in the lowest quarter of their range, where values cut off at a
// fence stand as densely as anywhere: sums of two even errors have an eighth of them there.
func bell(values []float64) bool {
	if len(values) < fewestBell {
		return false
	}
	low, high := slices.Min(values), slices.Max(values)
	n := 0
	for _, v := range values {
		if v < low+(high-low)/4 {
			n++
		}
	}
	return float64(n) < 0.17*float64(len(values))
}

const fewestBell = 30 // gaps that show how they spread
