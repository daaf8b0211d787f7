package traffic

import (
	"bytes"
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
func Unrepeated(ev *evidence.Evidence) []evidence.FileID {
	type sender struct {
		file evidence.FileID
		call ax25.Call
	}
	type last struct {
		info   []byte
		at     clock.Instant
		placed bool
		place  geo.Place
	}
	var d reader
	before := map[sender]last{}
	pairs, repeated := map[evidence.FileID]int{}, map[evidence.FileID]bool{}
	again := map[sender][]float64{} // s, from packets to equal ones, none of them soon
	for i := range ev.Receptions {
		r := &ev.Receptions[i]
		if !r.At.Known() || repeated[r.Line.File] {
			continue
		}
		s, p := sender{r.Line.File, r.From}, d.read(r)
		now := last{r.InfoField(), r.At, p.OwnPlace(), p.Place}
		b, known := before[s]
		if known && now.at.Sub(b.at) <= usualWindow {
			continue // perhaps a copy
		}
		before[s] = now
		if known {
			pairs[s.file]++
			equal := bytes.Equal(b.info, now.info)
			after := now.at.Sub(b.at)
			repeated[s.file] = equal && after < soonAgain || !equal && b.placed && now.placed && b.place == now.place
			if equal && after >= soonAgain {
				again[s] = append(again[s], after.Seconds())
			}
		}
	}
	fences, fenced := map[evidence.FileID]float64{}, map[evidence.FileID]bool{}
	for s, gaps := range again {
		if least, ok := fences[s.file]; !ok || slices.Min(gaps) < least {
			fences[s.file] = slices.Min(gaps)
		}
	}
	on := map[evidence.FileID]int{} // stations that stand on the fence
	for s, gaps := range again {
		if len(gaps) >= fewestOn && slices.Min(gaps) < 1.02*fences[s.file] {
			on[s.file]++
		}
	}
	for s, gaps := range again {
		need := alone
		if on[s.file] > 1 {
			need = together
		}
		fenced[s.file] = fenced[s.file] || hugs(gaps, fences[s.file], need)
	}
	var found []evidence.FileID
	for _, f := range ev.Files {
		_, some := fences[f.ID]
		if !repeated[f.ID] && (pairs[f.ID] >= enoughPairs && !some || fenced[f.ID]) {
			found = append(found, f.ID)
		}
	}
	return found
}

const (
	soonAgain = 2 * time.Minute // sources that drop repeats on purpose do so for longer
	fewestOn  = 5               // gaps that show a fence
	// Gaps clearly behind a fence that tell it from an interval, where one station stands on it and where several do.
	alone, together = 2, 1
)

// hugs tells whether the gaps of a station stand close behind a fence without being one interval or several of it: next to it,
// but some clearly later, by less than a third. A station that sends every few minutes gets through as soon as the
// fence is past; one that keeps to such an interval itself stands on it or on its double.
func hugs(gaps []float64, fence float64, need int) bool {
	near, later := 0, 0
	for _, g := range gaps {
		excess := g - fence
		if excess < 0.3*fence {
			near++
		}
		if excess > max(20, 0.01*fence) && excess < 0.3*fence {
			later++
		}
	}
	return len(gaps) >= fewestOn && 10*near >= 7*len(gaps) && later >= need
}
