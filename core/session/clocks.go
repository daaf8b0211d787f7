package session

import (
	"math"
	"slices"

	"lastbeacon/core/evidence"
	"lastbeacon/core/skew"
)

// Comparing clocks takes time that grows with the pairs of files and the beacons, so both are bounded.
const (
	mostClocks  = 6
	mostBeacons = 200
)

// clocks suggests which clocks of files are off, and by how much; what was found from the same evidence before is remembered.
func (a *analysis) clocks(memory *memory) []skew.Offset {
	return memory.offsets.of(digestOf(a.clockEvidence), a.findOffsets)
}

// clockEvidence feeds a digest with all that offsets are found from: the content of the files, when each line was heard, and
// the ways of the units that a track went with.
func (a *analysis) clockEvidence(w func(uint64)) {
	for i := range a.evidence.Files {
		f := &a.evidence.Files[i]
		letters(f.SHA256, w)
		w(math.Float64bits(f.Resolution))
		letters(f.ZoneBasis, w)
		for _, ask := range f.Ask {
			letters(ask.Field, w)
		}
		for _, c := range f.Columns {
			letters(c.Header, w)
			letters(c.Meaning, w)
		}
	}
	for i := range a.evidence.Receptions {
		r := &a.evidence.Receptions[i]
		w(uint64(r.Line.File)<<32 | uint64(uint32(r.Line.No)))
		w(uint64(r.At))
	}
	for i := range a.units {
		track, _ := a.track(&a.bench.Units[i])
		if len(track) == 0 {
			continue
		}
		for _, fixes := range [][]evidence.Fix{track, a.found[i].fixes} {
			w(uint64(len(fixes)))
			for _, f := range fixes {
				w(uint64(f.Line.File))
				w(uint64(f.At))
				w(math.Float64bits(f.Place.Lat))
				w(math.Float64bits(f.Place.Lon))
			}
		}
	}
}

func (a *analysis) findOffsets() []skew.Offset {
	var logs []evidence.FileID
	for i := range a.evidence.Files {
		if a.evidence.Files[i].Packets > 0 && len(logs) < mostClocks {
			logs = append(logs, evidence.FileID(i))
		}
	}
	var sure, between []skew.Offset
	for _, file := range logs {
		if o, told := skew.OfPackets(a.evidence, file); told {
			sure = append(sure, o)
		}
	}
	for i := range a.units {
		sure = append(sure, a.againstTrack(i)...)
	}
	for i, file := range logs {
		for _, earlier := range logs[:i] {
			if o, told := skew.Between(a.evidence, earlier, file); told {
				between = append(between, o)
			}
		}
	}
	waits := func(o skew.Offset) bool { return a.openClock(o.File) || a.openClock(o.Against) }
	assumed := func(file evidence.FileID) bool { return a.evidence.Files[file].ZoneBasis == "assumed" }
	return skew.Judge(slices.DeleteFunc(sure, waits), slices.DeleteFunc(between, waits), assumed)
}

// openClock tells whether a question about the file's stamps is open whose answer may move its times. Until then nothing is said
// of its clock: an offset that somebody took over would come on top of the answer.
func (a *analysis) openClock(file evidence.FileID) bool {
	return slices.ContainsFunc(a.evidence.Files[file].Ask, func(ask evidence.Ask) bool { return ask.Field != "columns" })
}

// againstTrack compares where a unit said it was, log by log, with the track that travelled with it.
func (a *analysis) againstTrack(i int) (found []skew.Offset) {
	track, _ := a.track(&a.bench.Units[i])
	if len(track) == 0 {
		return nil
	}
	by := map[evidence.FileID][]evidence.Fix{}
	for _, f := range a.found[i].fixes {
		by[f.Line.File] = append(by[f.Line.File], f)
	}
	for file := range a.evidence.Files {
		fixes := by[evidence.FileID(file)]
		if len(fixes) == 0 {
			continue
		}
		var some []evidence.Fix
		for k := 0; k < len(fixes); k += (len(fixes)-1)/mostBeacons + 1 {
			some = append(some, fixes[k])
		}
		if o, told := skew.OfTrack(some, track, evidence.FileID(file), track[0].Line.File); told {
			found = append(found, o)
		}
	}
	return found
}
