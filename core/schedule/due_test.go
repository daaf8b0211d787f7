package schedule

import (
	"iter"
	"math"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

const kmh = 1 / 3.6

// leg is a stretch of a made-up journey.
type leg struct {
	speed  float64 // m/s
	length time.Duration
}

// journey gives the timeline of legs that follow one another from origin, straight ahead.
func journey(legs ...leg) motion.Timeline {
	m := motion.Timeline{Dense: true}
	at := origin
	for _, l := range legs {
		state := motion.Moving
		if l.speed == 0 {
			state = motion.Stationary
		}
		end := at.Add(l.length)
		m.Periods = append(m.Periods, motion.Period{State: state, Start: clock.Exactly(at), End: clock.Exactly(end)})
		for ; at < end; at = at.Add(5 * time.Second) {
			m.Samples = append(m.Samples, motion.Sample{At: at, Speed: l.speed, Course: 90})
		}
	}
	return m
}

// The interval of the adaptive rule is fast interval * fast speed / speed between the two speeds, as its published
// description says (60 s at 100 km/h here).
func TestAdaptiveIntervals(t *testing.T) {
	s := Schedule{Kind: Adaptive, Slow: 1200, Fast: 60, SlowSpeed: 5 * kmh, FastSpeed: 100 * kmh}
	for speed, want := range map[float64]float64{50: 120, 80: 75, 120: 60, 10: 600, 4: 1200} {
		m := journey(leg{speed * kmh, time.Hour})
		for due := range s.Due(origin, m) {
			if got := due.Best.Sub(origin).Seconds(); got < want-0.01 || got > want+0.01 {
				t.Errorf("%v km/h: due after %.2f s, want %v", speed, got, want)
			}
			break
		}
	}
}

// The distance between beacons is fast interval times fast speed, whose published table has 2 km, 2 km, 1 km and 300 m for these.
func TestMetresBetweenBeacons(t *testing.T) {
	for _, c := range []struct{ seconds, kmPerHour, metres float64 }{{60, 120, 2000}, {120, 60, 2000}, {60, 60, 1000}, {18, 60, 300}} {
		s := Schedule{Kind: Adaptive, Fast: c.seconds, FastSpeed: c.kmPerHour * kmh}
		if got := s.MetresBetween(); math.Abs(got-c.metres) > 1e-9 {
			t.Errorf("%v s at %v km/h: %v m, want %v", c.seconds, c.kmPerHour, got, c.metres)
		}
	}
}

// A route of 2 h at 50 km/h, 1 h at 100 km/h and 5 h parked holds 60 + 60 + 15 beacons (closed form).
func TestAdaptiveRoute(t *testing.T) {
	s := Schedule{Kind: Adaptive, Slow: 1200, Fast: 60, SlowSpeed: 5 * kmh, FastSpeed: 100 * kmh}
	m := journey(leg{50 * kmh, 2 * time.Hour}, leg{100 * kmh, time.Hour}, leg{0, 5 * time.Hour})
	sent := s.Walk(origin, origin.Add(8*time.Hour), m)
	if n := len(sent) - 1; n != 135 {
		t.Errorf("%d beacons, want 135", n)
	}
}

// 1, 2, 4, 8, 16, 32 min is the sequence of a public protocol discussion of 2006; the count follows from it.
func TestDecayingSequence(t *testing.T) {
	s := Schedule{Kind: Decaying, Interval: estimate.Exact(60), BeaconsBeforeDecay: 1, Growth: 2, Longest: 1920}
	sent := s.Walk(origin, origin.Add(8*time.Hour), motion.Timeline{})
	if len(sent) != 20 {
		t.Fatalf("%d beacons in 8 h parked, want 20", len(sent))
	}
	for i, want := range []int{0, 1, 3, 7, 15, 31, 63, 95} {
		if got := sent[i].Sub(origin); got != time.Duration(want)*time.Minute {
			t.Errorf("beacon %d at %v, want %d min", i, got, want)
		}
	}
	s.BeaconsBeforeDecay = 3 // about three cycles are held before the interval grows (common practice, no source)
	sent = s.Walk(origin, origin.Add(time.Hour), motion.Timeline{})
	for i, want := range []int{0, 1, 2, 3, 5, 9, 17, 33} {
		if got := sent[i].Sub(origin); got != time.Duration(want)*time.Minute {
			t.Errorf("three held: beacon %d at %v, want %d min", i, got, want)
		}
	}
}

func TestDueTimesIncreaseWithoutEnd(t *testing.T) {
	m := journey(leg{0, time.Hour}, leg{15, time.Hour})
	for _, s := range []Schedule{
		{},
		{Kind: Undecided, Interval: estimate.Exact(600)},
		{Kind: Fixed, Interval: estimate.Of(59, 60, 61)},
		{Kind: Fixed, Interval: estimate.Exact(0)},
		{Kind: Decaying, Interval: estimate.Exact(60), BeaconsBeforeDecay: 2, Longest: 480},
		{Kind: Decaying},
		{Kind: Adaptive},
		{Kind: Adaptive, Slow: 600, Fast: 30, SlowSpeed: 1, FastSpeed: 20},
		{Kind: Irregular, Interval: estimate.Of(10, 60, 200), Longest: 200},
	} {
		for _, timeline := range []motion.Timeline{{}, m} {
			n, last := 0, origin
			for due := range s.Due(origin, timeline) {
				if due.Best <= last || due.Earliest > due.Best || due.Latest < due.Best {
					t.Fatalf("%v: due %v after %v", s.Kind, due, last)
				}
				last = due.Best
				if n++; n == 5000 {
					break
				}
			}
			if n != 5000 {
				t.Errorf("%v: only %d due times", s.Kind, n)
			}
		}
	}
}

// The timeline kept from the fit is a shortcut and changes no due time.
func TestDueTimesAreTheSameWithAFreshTimeline(t *testing.T) {
	for seed := uint64(600); seed < 612; seed++ {
		u := makeUnit(seed)
		kept := Fit(u.times, time.Second, u.timeline)
		fresh := kept
		fresh.prepared = prepared{}
		for _, i := range []int{0, len(u.times) / 2, len(u.times) - 1} {
			next, stop := iter.Pull(fresh.Due(u.times[i], u.timeline))
			n := 0
			for got := range kept.Due(u.times[i], u.timeline) {
				want, _ := next()
				if off := got.Best.Sub(want.Best).Abs(); off > 6*time.Second {
					t.Errorf("seed %d, %v: due %v after %v, want %v", seed, kept.Kind, got.Best, u.times[i], want.Best)
				}
				if n++; n == 5 {
					break
				}
			}
			stop()
		}
	}
}
