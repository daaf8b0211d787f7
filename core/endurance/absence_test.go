package endurance

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/evidence"
	"lastbeacon/core/traffic"
)

// apart is a parked unit whose beacons keep to the minute through so many charges of ten hours, off for so many seconds between.
func apart(charges int, off float64) (Subject, Watch) {
	r := rand.New(rand.NewPCG(4, 4))
	t := &trial{on: 0, step: 1}
	for n := range charges {
		from := float64(n) * (36000 + off)
		for at := from; at < from+36000; at += 60 {
			t.sent = append(t.sent, at+2*r.Float64())
		}
		t.off = from + 36000
	}
	t.listened = t.off + 36000
	s := t.subject(t.hear(r, func(int) float64 { return 0.9 }))
	return s, t.watch()
}

// hearInAnother has all but the first charge of apart heard in another file.
func hearInAnother(s *Subject) {
	for i := range s.Unit.Transmissions {
		if x := &s.Unit.Transmissions[i]; x.At > second(36000) {
			x.Heard[0].Line.File = 1
		}
	}
}

// A unit that was off for long and goes on in step shows it by its silence alone, where that was listened to.
func TestAbsences(t *testing.T) {
	const hour = 3600.0
	for _, c := range []struct {
		name    string
		charges int
		off     float64
		change  func(s *Subject, w *Watch)
		want    int
	}{
		{"three charges", 3, 55 * hour, nil, 2},
		{"off for two hours", 2, 2 * hour, nil, 1},
		{"quiet for half an hour", 2, 0.5 * hour, nil, 0},
		{"two hours by somebody whose place nobody knows", 2, 2 * hour, func(s *Subject, _ *Watch) {
			for i := range s.Unit.Transmissions {
				s.Unit.Transmissions[i].Fix = nil
			}
		}, 0},
		{"nobody listened meanwhile", 2, 55 * hour, func(_ *Subject, w *Watch) {
			whole := w.Presence[0].Spans[0]
			w.Presence[0].Spans = []evidence.Span{{Start: whole.Start, End: second(36000)}, {Start: second(36000 + 55*hour), End: whole.End}}
		}, 1},
		{"another receiver listened", 2, 55 * hour, func(s *Subject, w *Watch) {
			hearInAnother(s)
			w.Files = append(w.Files, evidence.File{ID: 1, First: w.Files[0].First, Last: w.Files[0].Last, Resolution: 1})
			w.Presence = append(w.Presence, evidence.Presence{File: 1, Spans: []evidence.Span{{Start: second(36000 + 55*hour), End: w.Files[0].Last}}})
		}, 0},
		{"two logs and nobody between them", 2, 30 * hour, func(s *Subject, w *Watch) {
			hearInAnother(s)
			whole := w.Presence[0].Spans[0]
			w.Files[0].Last = second(36000)
			w.Files = append(w.Files, evidence.File{ID: 1, First: second(36000 + 30*hour), Last: whole.End, Resolution: 1})
			w.Presence[0].Spans = []evidence.Span{{Start: whole.Start, End: second(36000)}}
			w.Presence = append(w.Presence, evidence.Presence{File: 1, Spans: []evidence.Span{{Start: second(36000 + 30*hour), End: whole.End}}})
		}, 1},
		{"one log a test", 2, 55 * hour, func(s *Subject, w *Watch) {
			hearInAnother(s)
			w.Files = append(w.Files, evidence.File{ID: 1, First: w.Files[0].First, Last: w.Files[0].Last, Resolution: 1})
			whole := w.Presence[0].Spans[0]
			w.Presence[0].Spans = []evidence.Span{{Start: whole.Start, End: second(36000 + 2*hour)}}
			w.Presence = append(w.Presence, evidence.Presence{File: 1, Spans: []evidence.Span{{Start: second(36000 + 55*hour), End: whole.End}}})
		}, 1},
		{"its own log proves that it was on", 2, 55 * hour, func(s *Subject, w *Watch) { s.Alive = w.Presence[0].Spans }, 0},
		{"its numbers went on", 2, 55 * hour, func(s *Subject, _ *Watch) {
			for i := range s.Unit.Transmissions {
				x := &s.Unit.Transmissions[i]
				x.Sequence = traffic.Sequence{No: int(x.At.Sub(second(0))/time.Minute) % 1000, Wrap: 1000}
			}
		}, 0},
	} {
		s, w := apart(c.charges, c.off)
		if c.change != nil {
			c.change(&s, &w)
		}
		r := one(s, w)
		n := 0
		for _, f := range r.Flags {
			if f.Code == FlagAbsence || f.Code == FlagUnheeded {
				n++
			}
		}
		if n != c.want || r.Rankable && c.want > 0 {
			t.Errorf("%s: %d absences, want %d; rankable %v", c.name, n, c.want, r.Rankable)
		}
		if c.want == 0 {
			continue
		}
		signs := slices.DeleteFunc(slices.Clone(r.Events), func(e Event) bool { return e.Sign != SignAbsence || e.What != PowerCycled })
		if len(signs) != c.want || signs[0].At.Sub(second(36000+c.off)) > 5*time.Minute {
			t.Errorf("%s: events %v", c.name, r.Events)
		}
		heard, sent, due := float64(len(r.Transmissions)), float64(600*c.charges), float64(c.want)*c.off/60
		if got := heard + r.Missed.Best; got < sent-3 || got > sent || heard+r.Missed.High < sent+due-3 || len(r.MissedAt) != int(r.Missed.Best) {
			t.Errorf("%s: missed %v (%d shown), want %g for best and %g more at most", c.name, r.Missed, len(r.MissedAt), sent-heard, due)
		}
		if p := r.Periods[0]; p.Missed != r.Missed {
			t.Errorf("%s: missed %v in the only period, want %v", c.name, p.Missed, r.Missed)
		}
		if r.ShareHeard.Low > 0.9 || r.ShareHeard.High < 0.9 || r.ShareHeard.High-r.ShareHeard.Low > 0.1 || flagged(r, FlagBursts) {
			t.Errorf("%s: share heard %v, flags %v", c.name, r.ShareHeard, r.Flags)
		}
	}
}

// A restart that a broken phase shows may have begun in the silence before it: what was due in that is not surely missed.
func TestSilenceBeforeARestart(t *testing.T) {
	s, w, _ := steady()
	for i := 30; i < len(s.Unit.Transmissions); i++ {
		s.Unit.Transmissions[i].At = s.Unit.Transmissions[i].At.Add(1000 * time.Second)
	}
	if r := one(s, w); !flagged(r, FlagSwap) || r.Missed.Low > r.Missed.Best-3 {
		t.Errorf("flags %v, missed %v, want three less at least", r.Flags, r.Missed)
	}
}

// A unit of which nothing was lost but in one long silence has not surely ended when it falls silent again.
func TestSilenceAfterAnAbsence(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	tr := &trial{on: 0, off: 30000, step: 1, listened: 33000}
	for _, from := range []float64{0, 18000} {
		tr.sent = append(tr.sent, parked(r, from, from+12000, 0.5, 300)...)
	}
	if run := one(tr.subject(tr.hear(r, func(int) float64 { return 1 })), tr.watch()); !flagged(run, FlagAbsence) || run.State != OnAirAtLogEnd || !flagged(run, FlagSilentBefore) || flagged(run, FlagFewSilent) {
		t.Errorf("%s, flags %v", run.State, run.Flags)
	}
}
