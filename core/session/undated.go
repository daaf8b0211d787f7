package session

import (
	"encoding/binary"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// inTime gives the sources with what may stand beside each other in time. A file whose lines tell no day runs on a day that
// was only taken for it: alone, or together with files that share lines with it, its spans are right; beside dated files it
// would be years off. Then what it holds is heard, but has no time until somebody gives its day.
func inTime(sources []*evidence.Source) []*evidence.Source {
	var undated []int
	dated := false
	for i, s := range sources {
		if s.File.Kind == evidence.Nothing {
			continue
		}
		if noDay(&s.File) {
			undated = append(undated, i)
		} else {
			dated = true
		}
	}
	if len(undated) == 0 || !dated && oneListing(sources, undated) {
		return sources
	}
	out := slices.Clone(sources)
	for _, i := range undated {
		out[i] = timeless(sources[i])
	}
	return out
}

func noDay(f *evidence.File) bool {
	return slices.ContainsFunc(f.Ask, func(a evidence.Ask) bool { return a.Field == "date" && a.Taken == intake.NoDay })
}

// oneListing tells whether each of the sources shares a line, stamp and bytes, with one before it: pastes of one listing.
func oneListing(sources []*evidence.Source, which []int) bool {
	seen := map[string]bool{}
	for n, i := range which {
		shares := n == 0
		var keys []string
		for k := range sources[i].Receptions {
			r := &sources[i].Receptions[k]
			key := string(binary.LittleEndian.AppendUint64(nil, uint64(r.At))) + string(r.Raw)
			shares = shares || seen[key]
			keys = append(keys, key)
		}
		if !shares {
			return false
		}
		for _, key := range keys {
			seen[key] = true
		}
	}
	return true
}

// timeless gives the source without its times.
func timeless(s *evidence.Source) *evidence.Source {
	out := *s
	out.File.First, out.File.Last = clock.None, clock.None
	out.Receptions = slices.Clone(s.Receptions)
	for i := range out.Receptions {
		out.Receptions[i].At = clock.None
	}
	out.Tracks, out.Readings, out.Presence = nil, nil, nil
	out.Notes = append(slices.Clone(s.Notes), evidence.Note{Line: evidence.Line{File: s.File.ID}, Code: "file.no-day", Count: 1,
		Text: "the day of this file is not known, so what it holds was heard but has no place beside the other files",
		Help: "give the day of its first line"})
	return &out
}
