package evidence

import (
	"bytes"
	"cmp"
	"slices"
	"sort"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// Gather joins what the files hold. A file whose bytes stood already in an earlier one adds nothing. A line that stands
// twice in one file (same stamp, same bytes) is one reception, unless the file's stamps are coarser than a second: then two
// equal packets may well have been heard, and only those of a list that was pasted again count once. Across files the greatest
// count of a stamp and its bytes in any one file holds. Receptions come by time, then file and line; those without a time come
// first.
func Gather(sources []*Source) *Evidence {
	ev := &Evidence{Again: make([]int, len(sources))}
	var fresh []*Source
	first := map[string]int{}
	for i, s := range sources {
		ev.Files = append(ev.Files, s.File)
		if j, again := first[s.File.SHA256]; again && s.File.SHA256 != "" {
			ev.sameAgain(i, s, sources[j].File.ID)
			ev.Notes = append(ev.Notes, sameFile(s, sources[j]))
			continue
		}
		first[s.File.SHA256] = i
		fresh = append(fresh, s)
	}
	again := ev.gatherReceptions(sources, fresh)
	for _, s := range fresh {
		ev.Tracks = append(ev.Tracks, s.Tracks...)
		ev.Readings = append(ev.Readings, s.Readings...)
		ev.Presence = append(ev.Presence, s.Presence...)
		ev.Notes = append(ev.Notes, s.Notes...)
	}
	ev.gatherReadings(sources)
	ev.Stations = gatherStations(fresh, ev.Receptions, again)
	sort.SliceStable(ev.Notes, func(i, j int) bool { return compareNotes(ev.Notes[i], ev.Notes[j]) < 0 })
	sort.SliceStable(ev.Repeats, func(i, j int) bool { return compareLines(ev.Repeats[i].Line, ev.Repeats[j].Line) < 0 })
	return ev
}

// again counts a line of the i-th file that stood already.
func (ev *Evidence) again(i int, r Repeat) {
	if ev.Again[i]++; ev.Again[i] <= MostRepeats {
		ev.Repeats = append(ev.Repeats, r)
	}
}

// sameAgain counts the lines of a file whose bytes are those of an earlier one: each stands in the same line of that.
func (ev *Evidence) sameAgain(i int, s *Source, earlier FileID) {
	for k := range s.Receptions {
		ev.again(i, Repeat{s.Receptions[k], Line{earlier, s.Receptions[k].Line.No}})
	}
	for _, t := range s.Tracks {
		for k := range t.Fixes {
			ev.again(i, Repeat{Reception{At: t.Fixes[k].At, Line: t.Fixes[k].Line}, Line{earlier, t.Fixes[k].Line.No}})
		}
	}
	for _, r := range s.Readings {
		ev.again(i, Repeat{Reception{At: r.At, Line: r.Line}, Line{earlier, r.Line.No}})
	}
	ev.Again[i] = s.File.Packets + s.File.Fixes + s.File.Readings
}

func sameFile(s, earlier *Source) Note {
	return Note{Line: Line{File: s.File.ID}, Code: "file.again", Count: 1,
		Text: "the same bytes were added before as " + earlier.File.Name + "; this copy adds nothing",
		Help: "remove one of the two, or leave both: the result is the same"}
}

// gatherReceptions joins and orders the receptions and counts, per station, the lines that stood already.
func (ev *Evidence) gatherReceptions(sources, fresh []*Source) map[ax25.Call]int {
	n := 0
	for _, s := range fresh {
		n += len(s.Receptions)
	}
	all := make([]Reception, 0, n)
	for _, s := range fresh {
		all = append(all, s.Receptions...)
	}
	slices.SortFunc(all, compareReceptions)
	place := map[FileID]int{}
	for i, s := range sources {
		place[s.File.ID] = i
	}
	again := map[ax25.Call]int{}
	var room []uint64
	kept := all[:0]
	for len(all) > 0 {
		k := 1
		for k < len(all) && all[k].At == all[0].At {
			k++
		}
		group := all[:k]
		all = all[k:]
		if k > 1 && group[0].At.Known() && twice(group, &room) {
			group = dropAgain(group, func(id FileID) bool { return sources[place[id]].File.Resolution > 1 }, func(r *Reception, of Line) {
				ev.again(place[r.Line.File], Repeat{*r, of})
				again[r.From]++
			})
		}
		kept = append(kept, group...)
	}
	clear(kept[len(kept):cap(kept)]) // lets go of what the dropped ones hold
	ev.Receptions = kept
	return again
}

// twice tells whether two of the receptions may hold the same bytes: a busy second has dozens, and hardly ever two alike. room is
// used for the work.
func twice(group []Reception, room *[]uint64) bool {
	hashes := (*room)[:0]
	for i := range group {
		hashes = append(hashes, Hash(group[i].Raw))
	}
	slices.Sort(hashes)
	*room = hashes
	for i := 1; i < len(hashes); i++ {
		if hashes[i] == hashes[i-1] {
			return true
		}
	}
	return false
}

// dropAgain removes from receptions of one instant those that stood already, and reports each with the line that counts.
func dropAgain(group []Reception, coarse func(FileID) bool, dropped func(r *Reception, of Line)) []Reception {
	slices.SortFunc(group, func(a, b Reception) int {
		return cmp.Or(bytes.Compare(a.Raw, b.Raw), compareLines(a.Line, b.Line))
	})
	kept := group[:0]
	for i := 0; i < len(group); {
		have, raw, first := 0, group[i].Raw, len(kept)
		for i < len(group) && bytes.Equal(group[i].Raw, raw) {
			file, from := group[i].Line.File, i
			for i < len(group) && group[i].Line.File == file && bytes.Equal(group[i].Raw, raw) {
				i++
			}
			count := 0
			for _, r := range group[from:i] {
				if !r.Again {
					count++
				}
			}
			if !coarse(file) {
				count = 1
			}
			count = max(1, count)
			for j := from; j < i; j++ {
				if j-from < count && j-from >= have {
					kept = append(kept, group[j])
					continue
				}
				dropped(&group[j], kept[first+min(j-from, count-1)].Line)
			}
			have = max(have, count)
		}
	}
	slices.SortFunc(kept, compareReceptions)
	return kept
}

// gatherReadings orders the readings and drops those that two files hold alike.
func (ev *Evidence) gatherReadings(sources []*Source) {
	place := map[FileID]int{}
	for i, s := range sources {
		place[s.File.ID] = i
	}
	sort.SliceStable(ev.Readings, func(i, j int) bool {
		a, b := &ev.Readings[i], &ev.Readings[j]
		return cmp.Or(cmp.Compare(a.At, b.At), compareLines(a.Line, b.Line)) < 0
	})
	kept := ev.Readings[:0]
	for _, r := range ev.Readings {
		if n := len(kept); n > 0 && kept[n-1].At == r.At && r.At.Known() && kept[n-1].Line.File != r.Line.File &&
			same(kept[n-1].Volts, r.Volts) && same(kept[n-1].Amps, r.Amps) {
			ev.again(place[r.Line.File], Repeat{Reception{At: r.At, Line: r.Line}, kept[n-1].Line})
			continue
		}
		kept = append(kept, r)
	}
	ev.Readings = kept
}

// same compares two readings, where NaN is a value that was not given.
func same(a, b float64) bool { return a == b || (a != a && b != b) }

// gatherStations sums up the stations of all files. Where every line of a station is held, counts and intervals come from
// the joined receptions; otherwise from the surveys of the files, which cannot see lines that stand in two of them.
func gatherStations(fresh []*Source, receptions []Reception, again map[ax25.Call]int) []Station {
	var stations []Station
	for _, s := range fresh {
		if s.Survey != nil {
			stations = mergeStations(stations, s.Survey.Stations())
		}
	}
	held := map[ax25.Call]int{}
	joined := NewSurvey()
	for i := range receptions {
		held[receptions[i].From]++
		joined.Add(&receptions[i], nil)
	}
	exact := joined.Stations()
	for i, j := 0, 0; i < len(stations); i++ {
		st := &stations[i]
		for j < len(exact) && exact[j].Call.Compare(st.Call) < 0 {
			j++
		}
		if j < len(exact) && exact[j].Call == st.Call && held[st.Call]+again[st.Call] == st.Heard {
			st.Heard, st.Internet, st.Duplicates = exact[j].Heard, exact[j].Internet, exact[j].Duplicates
			st.Typical = exact[j].Typical
		}
		st.Again = again[st.Call]
	}
	return stations
}

// mergeStations joins two lists in order of call signs.
func mergeStations(a, b []Station) []Station {
	if len(a) == 0 {
		return b
	}
	out := make([]Station, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		switch c := a[0].Call.Compare(b[0].Call); {
		case c < 0:
			out, a = append(out, a[0]), a[1:]
		case c > 0:
			out, b = append(out, b[0]), b[1:]
		default:
			out, a, b = append(out, mergeStation(a[0], b[0])), a[1:], b[1:]
		}
	}
	return append(append(out, a...), b...)
}

func mergeStation(a, b Station) Station {
	if b.Heard > a.Heard {
		a.Typical, a.Comments, b.Comments = b.Typical, b.Comments, a.Comments
		a.Destinations, b.Destinations = b.Destinations, a.Destinations
	}
	a.Heard, a.Internet, a.Duplicates, a.Relayed = a.Heard+b.Heard, a.Internet+b.Internet, a.Duplicates+b.Duplicates, a.Relayed+b.Relayed
	if a.Sample == "" || b.Sample != "" && b.First < a.First {
		a.Sample = b.Sample
	}
	a.First, a.Last = earlier(a.First, b.First), max(a.Last, b.Last)
	a.Comments, a.Destinations = union(a.Comments, b.Comments), union(a.Destinations, b.Destinations)
	if len(a.Comments) > 0 {
		a.Sample = ""
	}
	return a
}

// earlier gives the earlier of two instants of which either may be unknown.
func earlier(a, b clock.Instant) clock.Instant {
	if a == clock.None || (b != clock.None && b < a) {
		return b
	}
	return a
}

func union(a, b []string) []string {
	for _, s := range b {
		if !slices.Contains(a, s) {
			a = append(a, s)
		}
	}
	return a
}

func compareReceptions(a, b Reception) int {
	return cmp.Or(cmp.Compare(a.At, b.At), compareLines(a.Line, b.Line))
}

func compareLines(a, b Line) int { return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.No, b.No)) }

func compareNotes(a, b Note) int {
	return cmp.Or(compareLines(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Code, b.Code))
}

// JoinWithin is how far two signs of life may lie apart and still be one span of a Presence.
const JoinWithin = 10 * time.Minute

// See adds a sign of life at t. Signs may come a little out of order, or newest first.
func (p *Presence) See(t clock.Instant) {
	reach := clock.Instant(JoinWithin / time.Millisecond)
	for i := len(p.Spans) - 1; i >= 0 && i >= len(p.Spans)-3; i-- {
		s := &p.Spans[i]
		if t >= s.Start-reach && t <= s.End+reach {
			s.Start, s.End = min(s.Start, t), max(s.End, t)
			return
		}
	}
	p.Spans = append(p.Spans, Span{t, t})
}

// Settle orders the spans and joins those that grew together.
func (p *Presence) Settle() {
	sort.SliceStable(p.Spans, func(i, j int) bool {
		a, b := p.Spans[i], p.Spans[j]
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End)) < 0
	})
	kept := p.Spans[:0]
	for _, s := range p.Spans {
		if n := len(kept); n > 0 && s.Start.Sub(kept[n-1].End) < JoinWithin {
			kept[n-1].End = max(kept[n-1].End, s.End)
			continue
		}
		kept = append(kept, s)
	}
	p.Spans = kept
}
