package endurance

import (
	"math"
	"math/rand/v2"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// stillOn is the steady unit with the recorder stopped so many seconds after the last packet.
func stillOn(after float64) (Subject, Watch, *trial) {
	s, w, tr := steady()
	last := s.Unit.Transmissions[len(s.Unit.Transmissions)-1].At
	w.Presence[0].Spans[0].End = last.Add(clock.Seconds(after))
	return s, w, tr
}

func TestNow(t *testing.T) {
	for _, c := range []struct {
		name   string
		after  float64
		missed int
	}{
		{"the log ends with the unit", 0, 0}, {"before the next is due", 250, 0},
		{"one is due", 330, 1}, {"two are due", 640, 2},
	} {
		s, w, _ := stillOn(c.after)
		n := one(s, w).Now
		if n == nil {
			t.Errorf("%s: nothing is said", c.name)
			continue
		}
		if n.DueMissed != c.missed || n.SinceHeard != c.after || n.SlowingSince.Known() {
			t.Errorf("%s: %d missed after %v s, slowing %v", c.name, n.DueMissed, n.SinceHeard, n.SlowingSince)
		}
		if (n.Chance > 0.999999) != (c.missed == 0) || n.Chance < 0 || n.Chance > 1 {
			t.Errorf("%s: chance %v", c.name, n.Chance)
		}
	}
}

func TestNowIsSaidOfRunsThatMayGoOn(t *testing.T) {
	s, w, _ := steady()
	if r := one(s, w); r.State != Ended || r.Now != nil {
		t.Errorf("ended hours before the log: %s, %v", r.State, r.Now)
	}
	s, w, _ = stillOn(640)
	s.Notes.Runs[0].Events = []Event{{Moment: *at(40000), What: SwitchedOff}}
	if r := one(s, w); r.Now != nil {
		t.Errorf("switched off: %v", r.Now)
	}
	s, w, _ = stillOn(640)
	w.Unrepeated = []evidence.FileID{0}
	if n := one(s, w).Now; n == nil || !math.IsNaN(n.Chance) {
		t.Errorf("the source drops repeats: %v, want no chance", n)
	}
	s, w, _ = stillOn(10)
	s.Unit.Transmissions = s.Unit.Transmissions[len(s.Unit.Transmissions)-3:]
	if n := one(s, w).Now; n == nil || n.DueMissed != -1 || !math.IsNaN(n.Chance) {
		t.Errorf("no schedule yet: %v", n)
	}
}

func TestNowSlowing(t *testing.T) {
	tr := &trial{on: 0, off: 4000, step: 1, listened: 4100}
	for at, k := 0.0, 0; at < tr.off; k++ {
		tr.sent = append(tr.sent, at)
		at += 60 * float64(int(1)<<min(4, max(0, k-5)))
	}
	u := tr.hear(rand.New(rand.NewPCG(1, 1)), func(int) float64 { return 1 })
	n := one(tr.subject(u), tr.watch()).Now
	if n == nil || n.SlowingSince != second(tr.sent[7]) {
		t.Errorf("%v, want slowing since the first beacon after two minutes", n)
	}
}

// Two beacons behind an hour of silence: loss explains a silence that it explained just before, for the chance as for the end.
func TestNowGoesByTheLastPart(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	tr := &trial{on: 0, off: 40000, step: 1, listened: 42040}
	tr.sent = parked(r, tr.on, tr.off, 0.5, 60)
	u := tr.hear(r, func(i int) float64 {
		if i >= 600 && i < len(tr.sent)-2 {
			return 0
		}
		return 0.95
	})
	run := one(tr.subject(u), tr.watch())
	if n := run.Now; run.State != OnAirAtLogEnd || n == nil || n.DueMissed < 30 || n.Chance < 1e-3 {
		t.Errorf("%s, %+v: want 30 and more missed, and a chance that the end of the run explains", run.State, n)
	}
}
