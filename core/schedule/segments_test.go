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

// after puts more times a pause after the last of times.
func after(times []clock.Instant, pause time.Duration, more []clock.Instant) []clock.Instant {
	joined := slices.Clone(times)
	shift := times[len(times)-1].Add(pause) - more[0]
	for _, t := range more {
		joined = append(joined, t+shift)
	}
	return joined
}

func losing(seed uint64, share float64) func(int) bool {
	rng := rand.New(rand.NewPCG(seed, 7))
	return func(int) bool { return rng.Float64() < share }
}

func TestSegments(t *testing.T) {
	cases := []struct {
		name  string
		times []clock.Instant
		want  []float64
	}{
		{"never changed", every(60, 200, losing(1, 0.2)), []float64{60}},
		{"twice as long", after(every(60, 80, losing(2, 0.2)), time.Minute, every(120, 60, losing(3, 0.2))), []float64{60, 120}},
		{"a quarter longer", after(every(120, 60, losing(4, 0.1)), 2*time.Minute, every(150, 60, losing(5, 0.3))), []float64{120, 150}},
		{"there and back", after(after(every(60, 60, nil), time.Minute, every(300, 40, nil)), time.Minute, every(60, 60, nil)), []float64{60, 300, 60}},
		{"a long silence", every(60, 300, func(i int) bool { return i > 100 && i < 190 }), []float64{60}},
		{"a restart", after(every(120, 50, nil), 71*time.Second, every(120, 50, nil)), []float64{120}},
	}
	for _, c := range cases {
		parts := Segments(c.times, time.Second, motion.Timeline{})
		var got []float64
		for _, p := range parts {
			got = append(got, math.Round(p.Schedule.Interval.Best))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: intervals %v, want %v", c.name, got, c.want)
		}
	}
}

func TestSegmentsOfUnitsThatNeverChanged(t *testing.T) {
	split, all := 0, 0
	for seed := uint64(300); seed < 315; seed++ {
		u := makeUnit(seed)
		if u.kind == Irregular || len(u.times) < 20 {
			continue
		}
		all++
		if parts := Segments(u.times, time.Second, u.timeline); len(parts) > 1 {
			split++
			t.Logf("seed %d, %v: %d segments", seed, u.kind, len(parts))
		}
	}
	if split > all/20 {
		t.Errorf("%d of %d unchanged schedules were split", split, all)
	}
}

func TestPhaseBreaks(t *testing.T) {
	restarted := after(every(120, 40, losing(6, 0.1)), 71*time.Second, every(120, 40, losing(7, 0.1)))
	byHand := append(every(120, 40, nil), origin.Add(1000*time.Second))
	cases := []struct {
		name  string
		times []clock.Instant
		want  int
	}{
		{"no break", every(120, 80, losing(8, 0.2)), 0},
		{"a restart", restarted, 1},
		{"one sent by hand", byHand, 0},
		{"a long silence", every(120, 200, func(i int) bool { return i > 60 && i < 120 }), 0},
	}
	for _, c := range cases {
		found := PhaseBreaks(Fit(c.times, time.Second, motion.Timeline{}), motion.Timeline{})
		if len(found) != c.want {
			t.Errorf("%s: %v, want %d breaks", c.name, found, c.want)
			continue
		}
		if c.want == 1 && math.Abs(found[0].Shift.Seconds()-71) > 2 {
			t.Errorf("%s: shift %v, want 71 s", c.name, found[0].Shift)
		}
	}
}

// The clock of an adaptive schedule breaks when the unit starts anew at rest.
func TestPhaseBreaksOfAdaptiveSchedules(t *testing.T) {
	m := journey(leg{0, time.Hour}, leg{12, time.Hour}, leg{6, time.Hour}, leg{0, 3 * time.Hour})
	s := Schedule{Kind: Adaptive, Slow: 300, Fast: 60, SlowSpeed: 5 * kmh, FastSpeed: 60 * kmh}
	swap := origin.Add(4*time.Hour + 400*time.Second)
	before := s.Walk(origin, swap, m)
	for want, from := range []clock.Instant{before[len(before)-1].Add(300 * time.Second), swap} {
		times := append(slices.Clone(before), s.Walk(from, origin.Add(6*time.Hour), m)...)
		found := PhaseBreaks(Fit(times, time.Second, m), m)
		if len(found) != want || want > 0 && found[0].After != swap {
			t.Errorf("%v, want %d breaks", found, want)
		}
	}
}

// A decaying schedule lengthens its first few intervals and keeps to the longest from then on: no change of settings.
func TestRunUpIsNoChange(t *testing.T) {
	at, times := 0.0, []clock.Instant{origin}
	for i, step := range slices.Concat([]float64{120, 240, 480}, slices.Repeat([]float64{960}, 50)) {
		if at += step; i != 4 && i != 6 && i != 7 && i != 9 {
			times = append(times, origin.Add(clock.Seconds(at)))
		}
	}
	if all := Segments(times, time.Second, motion.Timeline{}); len(all) != 1 {
		t.Errorf("%d segments, want 1", len(all))
	}
}
