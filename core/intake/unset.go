package intake

import (
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// unset takes their times from packets that the recorder wrote before its clock was set, in a file that has others. A file all
// of whose stamps are of such a clock keeps them: what lies between them is right.
func (rd *reading) unset() {
	f, src := &rd.src.File, rd.src
	if !f.First.Known() || f.First >= clock.Set || f.Last < clock.Set {
		return
	}
	n, first := 0, clock.None
	for i := range src.Receptions {
		switch r := &src.Receptions[i]; {
		case !r.At.Known():
		case r.At < clock.Set:
			rd.notes.add(note{line: r.Line.No, code: "time.not-set", excerpt: r.Raw})
			r.At = clock.None
			n++
		case !first.Known() || r.At < first:
			first = r.At
		}
	}
	if n == 0 || !first.Known() {
		return
	}
	for i := range src.Presence {
		p := &src.Presence[i]
		p.Spans = slices.DeleteFunc(p.Spans, func(s evidence.Span) bool { return s.End < clock.Set })
		if len(p.Spans) > 0 && p.Spans[0].Start < clock.Set {
			p.Spans[0].Start = first
		}
	}
	src.Presence = slices.DeleteFunc(src.Presence, func(p evidence.Presence) bool { return len(p.Spans) == 0 })
	if f.Fixes+f.Readings == 0 {
		f.First = first
	}
}
