package endurance

import (
	"cmp"
	"slices"
	"sort"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/traffic"
)

// Spans are stretches of time in order that do not touch.
type spans []evidence.Span

// cover tells whether t lies in one of them.
func (s spans) cover(t clock.Instant) bool {
	i, found := slices.BinarySearchFunc(s, t, func(a evidence.Span, t clock.Instant) int { return cmp.Compare(a.Start, t) })
	return found || i > 0 && t <= s[i-1].End
}

// end gives the last moment in them; clock.None, which is before everything, when there are none.
func (s spans) end() clock.Instant {
	if len(s) == 0 {
		return clock.None
	}
	return s[len(s)-1].End
}

// overlap gives how much of a lies in them.
func (s spans) overlap(a evidence.Span) time.Duration {
	var sum time.Duration
	for _, b := range s {
		if from, to := max(b.Start, a.Start), min(b.End, a.End); from < to {
			sum += to.Sub(from)
		}
	}
	return sum
}

// holes gives the parts of a that they leave open.
func (s spans) holes(a evidence.Span) spans {
	var out spans
	at := a.Start
	for _, b := range s {
		if b.End <= at || b.Start >= a.End {
			continue
		}
		if b.Start > at {
			out = append(out, evidence.Span{Start: at, End: b.Start})
		}
		at = max(at, b.End)
	}
	if at < a.End {
		out = append(out, evidence.Span{Start: at, End: a.End})
	}
	return out
}

// joined sorts them and joins those that lie at most apart from each other.
func (s spans) joined(apart time.Duration) spans {
	s = slices.Clone(s)
	sort.SliceStable(s, func(i, j int) bool {
		a, b := s[i], s[j]
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End)) < 0
	})
	var out spans
	for _, b := range s {
		if n := len(out); n > 0 && b.Start <= out[n-1].End.Add(apart) {
			out[n-1].End = max(out[n-1].End, b.End)
			continue
		}
		out = append(out, b)
	}
	return out
}

// An ear is one receiver in one file.
type ear struct {
	file evidence.FileID
	call ax25.Call
}

func earOf(r *evidence.Reception) ear { return ear{r.Line.File, r.Receiver} }

func compareEars(a, b ear) int {
	return cmp.Or(cmp.Compare(a.file, b.file), cmp.Compare(a.call.String(), b.call.String()))
}

// bridge is how long a receiver may give no sign of life between two and still count as listening throughout: nobody
// switches a recorder off for half an hour, and a quiet channel is common.
const bridge = 30 * time.Minute

// ears gives the receivers that heard any of the transmissions.
func ears(u *traffic.Unit, transmissions []int) []ear {
	var all []ear
	for _, i := range transmissions {
		for _, r := range u.Transmissions[i].Heard {
			if e := earOf(r); !slices.Contains(all, e) {
				all = append(all, e)
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return compareEars(all[i], all[j]) < 0 })
	return all
}

// listening gives when an ear is proven to have listened: as stated for its file, and between its signs of life.
func (w Watch) listening(e ear) spans {
	signs := w.signs(e)
	return append(w.stated(e.file), signs.joined(habit(signs))...).joined(0)
}

// stated gives what the user said about a file.
func (w Watch) stated(id evidence.FileID) spans {
	var out spans
	for _, s := range w.Stated {
		if s.File != id {
			continue
		}
		span, f := s.Span, w.file(id)
		if !span.Start.Known() {
			span.Start = f.First
		}
		if !span.End.Known() {
			span.End = f.Last
		}
		if span.Start.Known() && span.End.Known() && span.Start < span.End {
			out = append(out, span)
		}
	}
	return out
}

// signs gives the spans in which the receiver gave signs of life.
func (w Watch) signs(e ear) spans {
	var out spans
	for _, p := range w.Presence {
		if p.File == e.file && p.Receiver == e.call {
			out = append(out, p.Spans...)
		}
	}
	return out.joined(0)
}

// habit gives the longest silence between signs of life that a receiver's own habit explains.
func habit(signs spans) time.Duration {
	if len(signs) < 6 {
		return bridge
	}
	holes := make([]time.Duration, 0, len(signs)-1)
	for i := 1; i < len(signs); i++ {
		holes = append(holes, signs[i].Start.Sub(signs[i-1].End))
	}
	slices.Sort(holes)
	return max(bridge, 3*holes[len(holes)/2])
}

func (w Watch) file(id evidence.FileID) evidence.File {
	for _, f := range w.Files {
		if f.ID == id {
			return f
		}
	}
	return evidence.File{ID: id, First: clock.None, Last: clock.None}
}

// resolution gives the coarsest step of the stamps under which the transmissions were heard.
func (w Watch) resolution(u *traffic.Unit, transmissions []int) time.Duration {
	coarsest := 0.0
	for _, e := range ears(u, transmissions) {
		coarsest = max(coarsest, w.file(e.file).Resolution)
	}
	return clock.Seconds(coarsest)
}

// union gives when at least one of the ears listened.
func (w Watch) union(all []ear) spans {
	var out spans
	for _, e := range all {
		out = append(out, w.listening(e)...)
	}
	return out.joined(0)
}

// deaf gives the stretches of a run in which no ear listened: those between their files, and holes in what was heard of anybody,
// where the ears otherwise go on hearing others while the unit is silent. Where nobody but the unit was ever heard, a hole within
// a file is as well a loss, and counts as one, which widens the bounds.
func (w Watch) deaf(all []ear, heard []clock.Instant) spans {
	if len(heard) < 2 {
		return nil
	}
	listening, signs, files := w.union(all), w.signsOf(all), w.filesOf(all)
	var silent, covered time.Duration
	var holes, between spans
	for i := 1; i < len(heard); i++ {
		gap := evidence.Span{Start: heard[i-1], End: heard[i]}
		if gap.End.Sub(gap.Start) <= bridge/3 {
			continue
		}
		silent += files.overlap(gap)
		covered += signs.overlap(gap)
		holes = append(holes, listening.holes(gap)...)
		between = append(between, files.holes(gap)...)
	}
	if 2*covered < silent {
		return between
	}
	return holes
}

// filesOf gives the stretches from the first line of each ear's file to its last, and those stated for it.
func (w Watch) filesOf(all []ear) spans {
	var out spans
	for _, e := range all {
		out = append(out, w.stated(e.file)...)
		if f := w.file(e.file); f.First.Known() && f.Last.Known() {
			out = append(out, evidence.Span{Start: f.First, End: f.Last})
		}
	}
	return out.joined(bridge)
}

// signsOf gives the signs of life of all the ears.
func (w Watch) signsOf(all []ear) spans {
	var out spans
	for _, e := range all {
		out = append(out, w.signs(e)...)
	}
	return out.joined(0)
}

// before cuts the spans at t.
func (s spans) before(t clock.Instant) spans {
	var out spans
	for _, b := range s {
		if b.Start < t {
			b.End = min(b.End, t)
			out = append(out, b)
		}
	}
	return out
}
