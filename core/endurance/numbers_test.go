package endurance

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/schedule"
	"lastbeacon/core/traffic"
)

// byHand is a unit that sends when it likes, with running numbers, and how often it sent from its first packet heard to its last.
func byHand(number func(i int) traffic.Sequence) (Subject, Watch, int) {
	r := rand.New(rand.NewPCG(7, 7))
	t := &trial{on: 0, step: 1}
	for at, i := 60.0, 0; i < 120; i++ {
		t.sent = append(t.sent, at)
		at += max(20, 200*math.Exp(0.8*r.NormFloat64()))
		t.off = at
	}
	t.listened = t.off + 36000
	u := &traffic.Unit{Name: "Heron"}
	first, last := -1, 0
	for i, at := range t.sent {
		if r.Float64() < 0.8 {
			x := heardAt(second(math.Floor(at)), int32(i+1))
			x.Sequence = number(i)
			u.Transmissions = append(u.Transmissions, x)
			last = i
			if first < 0 {
				first = i
			}
		}
	}
	return t.subject(u), t.watch(), last - first + 1
}

// Running numbers tell what was missed where no schedule does, also over their end; numbers that began anew tell nothing.
func TestMissedByNumbersAlone(t *testing.T) {
	for _, c := range []struct {
		name   string
		number func(i int) traffic.Sequence
		known  bool
	}{
		{"in comments", func(i int) traffic.Sequence { return traffic.Sequence{No: (8200 + i) % 8281, Wrap: 8281} }, true},
		{"in telemetry packets", func(i int) traffic.Sequence { return traffic.Sequence{No: (950 + i) % 1000, Wrap: 1000} }, true},
		{"begun anew", func(i int) traffic.Sequence {
			return traffic.Sequence{No: 100 + i - 100*(i/60) - 60*(i/60), Wrap: 1000}
		}, false},
		{"none", func(int) traffic.Sequence { return traffic.Sequence{} }, false},
	} {
		s, w, sent := byHand(c.number)
		r := one(s, w)
		if r.Schedule.Kind != schedule.Irregular || r.Missed.Known != c.known {
			t.Errorf("%s: %v, missed %v, want them known: %v", c.name, r.Schedule.Kind, r.Missed, c.known)
			continue
		}
		heard := float64(len(r.Transmissions))
		if c.known && (heard+r.Missed.Low > float64(sent) || heard+r.Missed.High < float64(sent) || len(r.MissedAt) != int(r.Missed.Best) || r.ShareHeard.Low > 0.8 || r.ShareHeard.High < 0.8) {
			t.Errorf("%s: %g heard, missed %v, share %v, want %d sent", c.name, heard, r.Missed, r.ShareHeard, sent)
		}
		if restarted := slices.ContainsFunc(r.Events, func(e Event) bool { return e.Sign == SignSequence }); restarted != (c.name == "begun anew") {
			t.Errorf("%s: events %v", c.name, r.Events)
		}
	}
}

// Radios that count to 255 do not start anew there.
func TestNumbersThatRunTo255(t *testing.T) {
	s, w, _ := steady()
	from := s.Unit.Transmissions[0].At
	for i := range s.Unit.Transmissions {
		x := &s.Unit.Transmissions[i]
		x.Sequence = traffic.Sequence{No: (220 + int(x.At.Sub(from)/clock.Seconds(299))) % 256, Wrap: 8281}
	}
	if r := one(s, w); len(r.Events) > 0 || r.Missed.Best != 8 {
		t.Errorf("events %v, missed %v, want none and 8", r.Events, r.Missed)
	}
}
