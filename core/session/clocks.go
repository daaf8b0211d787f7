package session

import (
	"fmt"
	"slices"
	"strings"

	"lastbeacon/core/evidence"
	"lastbeacon/core/skew"
)

// Comparing clocks takes time that grows with the pairs of files and the beacons, so both are bounded.
const (
	mostClocks  = 6
	mostBeacons = 200
)

// clocks suggests by how much the clocks of files are ahead; what was found for the same evidence before is remembered.
func (a *analysis) clocks(memory *memory) []skew.Offset {
	var key strings.Builder
	for i := range a.evidence.Files {
		fmt.Fprintf(&key, "%s %v %v;", a.evidence.Files[i].SHA256, a.evidence.Files[i].First, a.evidence.Files[i].Zone)
	}
	for i := range a.units {
		fmt.Fprintf(&key, "%q %d;", a.bench.Units[i].Tracks, len(a.units[i].Transmissions))
	}
	if found, known := memory.offsets[key.String()]; known {
		return found
	}
	if len(memory.offsets) >= mostRemembered {
		clear(memory.offsets)
	}
	found := a.findOffsets()
	memory.offsets[key.String()] = found
	return found
}

func (a *analysis) findOffsets() []skew.Offset {
	var logs []evidence.FileID
	for i := range a.evidence.Files {
		if a.evidence.Files[i].Packets > 0 && len(logs) < mostClocks {
			logs = append(logs, evidence.FileID(i))
		}
	}
	var found []skew.Offset
	keep := func(o skew.Offset, ok bool) {
		if ok && !slices.ContainsFunc(found, func(f skew.Offset) bool { return f.File == o.File }) {
			found = append(found, o)
		}
	}
	for _, file := range logs {
		keep(skew.OfPackets(a.evidence, file))
	}
	for i := range a.units {
		a.againstTrack(i, keep)
	}
	for i, file := range logs {
		for _, earlier := range logs[:i] {
			keep(skew.Between(a.evidence, earlier, file))
		}
	}
	return found
}

// againstTrack compares where a unit said it was, log by log, with the track that travelled with it.
func (a *analysis) againstTrack(i int, keep func(skew.Offset, bool)) {
	track, _ := a.track(&a.bench.Units[i])
	if len(track) == 0 {
		return
	}
	by := map[evidence.FileID][]evidence.Fix{}
	for _, f := range beacons(&a.units[i]) {
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
		keep(skew.OfTrack(some, track, evidence.FileID(file), track[0].Line.File))
	}
}
