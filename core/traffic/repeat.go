package traffic

import (
	"bytes"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// enoughPairs is how many packets, each with the one before it from the same station, show a source's habit.
const enoughPairs = 50

// Unrepeated gives the files in which no station ever sends the same information, or the same place, twice in a row, though
// enough was heard to tell. Their sources drop repeats or keep changed positions only, and make parked units look dead.
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
			repeated[s.file] = bytes.Equal(b.info, now.info) || b.placed && now.placed && b.place == now.place
		}
	}
	var found []evidence.FileID
	for _, f := range ev.Files {
		if pairs[f.ID] >= enoughPairs && !repeated[f.ID] {
			found = append(found, f.ID)
		}
	}
	return found
}
