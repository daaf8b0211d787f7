package schedule

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

const origin = clock.Instant(1_935_000_000_000) // 2031-04-27, a whole second

// every gives n times, period seconds apart, without those for which lost tells true.
func every(period float64, n int, lost func(i int) bool) []clock.Instant {
	var times []clock.Instant
	for i := range n {
		if lost == nil || !lost(i) {
			times = append(times, origin.Add(clock.Seconds(math.Round(float64(i)*period))))
		}
	}
	return times
}

func TestFixedPeriod(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	sometimes := func(share float64) func(int) bool { return func(int) bool { return rng.Float64() < share } }
	cases := []struct {
		name   string
		period float64
		n      int
		lost   func(int) bool
	}{
		{"nothing lost", 60, 40, nil},
		{"three in ten lost", 120, 60, sometimes(0.3)},
		{"half lost", 600, 60, sometimes(0.5)},
		{"odd period", 44.87, 400, sometimes(0.1)},
		{"short and even", 20, 200, nil},
		{"a long silence", 60, 300, func(i int) bool { return i > 100 && i < 220 }},
	}
	for _, c := range cases {
		s := Fit(every(c.period, c.n, c.lost), time.Second, motion.Timeline{})
		if s.Kind != Fixed {
			t.Errorf("%s: kind %v (%s), want fixed", c.name, s.Kind, s.Reason)
			continue
		}
		if math.Abs(s.Interval.Best/c.period-1) > 0.001 {
			t.Errorf("%s: period %.3f, want %.3f", c.name, s.Interval.Best, c.period)
		}
		if s.Interval.Low > c.period || s.Interval.High < c.period {
			t.Errorf("%s: period %.3f outside %.3f..%.3f", c.name, c.period, s.Interval.Low, s.Interval.High)
		}
	}
}

func TestMissedAcrossALongSilence(t *testing.T) {
	times := every(60, 300, func(i int) bool { return i == 7 || i > 100 && i < 220 })
	m := Missed(times, Fit(times, time.Second, motion.Timeline{}), motion.Timeline{})
	if len(m.Due) != 120 {
		t.Fatalf("%d missed, want 120", len(m.Due))
	}
	if m.Due[0] != origin.Add(7*time.Minute) {
		t.Errorf("first missed at %v, want 7 min after the start", m.Due[0])
	}
}

// One last beacon after a long silence is on time when it stands on a due time, and beside the rule when it does not.
func TestLastBeaconAfterALongSilence(t *testing.T) {
	for _, c := range []struct {
		late   time.Duration
		missed int
	}{{0, 20}, {25 * time.Second, 0}} {
		times := every(60, 100, nil)
		times = append(times, origin.Add((99+21)*time.Minute+c.late))
		m := Missed(times, Fit(times, time.Second, motion.Timeline{}), motion.Timeline{})
		if len(m.Due) != c.missed {
			t.Errorf("%v late: %d missed, want %d", c.late, len(m.Due), c.missed)
		}
	}
}

// Where nothing is in doubt the number missed stands as it is; where another base would count otherwise it does not.
func TestDoubtAboutTheNumberMissed(t *testing.T) {
	fixed := every(60, 300, func(i int) bool { return i%7 == 3 })
	if m := Missed(fixed, Fit(fixed, time.Second, motion.Timeline{}), motion.Timeline{}); m.Fewer != 0 || m.More != 0 || len(m.Due) != 43 {
		t.Errorf("fixed: %d missed, %g fewer, %g more, want 43 exactly", len(m.Due), m.Fewer, m.More)
	}
	// A ladder of 60, 60, 120, 240 ... of which half was lost leaves room for other holds and bases.
	at, times := 0.0, []clock.Instant{origin}
	for i, step := range slices.Concat([]float64{60, 60, 120, 240, 480}, slices.Repeat([]float64{960}, 30)) {
		if at += step; i%2 == 1 && i != 3 || i == 2 || i == 20 {
			times = append(times, origin.Add(clock.Seconds(at)))
		}
	}
	s := Fit(times, time.Second, motion.Timeline{})
	if m := Missed(times, s, motion.Timeline{}); m.More == 0 && m.Fewer == 0 {
		t.Errorf("%s every %v: %d missed without a doubt", s.Kind, s.Interval.Best, len(m.Due))
	}
}

func TestTooFewGapsAreNotDecided(t *testing.T) {
	s := Fit(every(60, 4, nil), time.Second, motion.Timeline{})
	if s.Kind != Undecided || s.Reason != Few || s.Interval.Best != 60 || !s.AsFarAsHeard {
		t.Errorf("got %+v, want undecided with the longest gap of 60 s", s)
	}
}
