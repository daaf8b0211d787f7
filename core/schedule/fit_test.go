package schedule

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// later gives a timeline and times moved by d.
func later(u made, d time.Duration) ([]clock.Instant, motion.Timeline) {
	var times []clock.Instant
	for _, t := range u.times {
		times = append(times, t.Add(d))
	}
	m := motion.Timeline{Dense: u.timeline.Dense}
	for _, p := range u.timeline.Periods {
		p.Start, p.End = clock.Exactly(p.Start.Best.Add(d)), clock.Exactly(p.End.Best.Add(d))
		m.Periods = append(m.Periods, p)
	}
	for _, s := range u.timeline.Samples {
		s.At = s.At.Add(d)
		m.Samples = append(m.Samples, s)
	}
	return times, m
}

func TestShiftedClocksChangeNothingElse(t *testing.T) {
	for seed := uint64(1); seed <= 12; seed++ {
		u := makeUnit(seed)
		want := Fit(u.times, time.Second, u.timeline)
		want.prepared, want.explained = prepared{}, explanation{}
		times, m := later(u, -17*time.Hour)
		got := Fit(times, time.Second, m)
		got.prepared, got.explained = prepared{}, explanation{}
		for i := range got.marks {
			got.marks[i].at += 17 * 3600 * 1000
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("seed %d: %v every %v, want %v every %v", seed, got.Kind, got.Interval, want.Kind, want.Interval)
		}
	}
}

func TestOrderAndRepeatsChangeNothing(t *testing.T) {
	u := makeUnit(3)
	want := Fit(u.times, time.Second, u.timeline)
	mixed := append(slices.Clone(u.times), u.times...)
	rand.New(rand.NewPCG(4, 4)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	if got := Fit(mixed, time.Second, u.timeline); !reflect.DeepEqual(got, want) {
		t.Errorf("got %v every %v, want %v every %v", got.Kind, got.Interval, want.Kind, want.Interval)
	}
}

// Odd input gives an answer of some kind, in time, with no number that is not one.
func TestOddTimes(t *testing.T) {
	year := 365 * 24 * time.Hour
	far := func(n int, step time.Duration) []clock.Instant {
		var times []clock.Instant
		for i := range n {
			times = append(times, origin.Add(time.Duration(i)*step))
		}
		return times
	}
	cases := map[string][]clock.Instant{
		"none":                  nil,
		"one":                   {origin},
		"not known":             {clock.None, clock.None},
		"one known":             {clock.None, origin},
		"all the same":          {origin, origin, origin, origin, origin, origin, origin},
		"a millisecond apart":   far(50, time.Millisecond),
		"a second apart":        far(50, time.Second),
		"years apart":           far(9, 10*year),
		"fast, then years":      append(far(50, 30*time.Second), origin.Add(year), origin.Add(2*year)),
		"before the epoch":      {-5000, -4000, -3000, -2000, -1000, 0, 1000},
		"two bursts a week off": append(far(20, time.Minute), every(60, 20, nil)[0].Add(7*24*time.Hour)),
	}
	m := journey(leg{0, time.Hour}, leg{15, time.Hour})
	for name, times := range cases {
		for _, timeline := range []motion.Timeline{{}, m} {
			began := time.Now()
			s := Fit(times, time.Second, timeline)
			Missed(times, s, timeline)
			Segments(times, time.Second, timeline)
			PhaseBreaks(s, timeline)
			if spent := time.Since(began); spent > 5*time.Second {
				t.Errorf("%s: took %v", name, spent)
			}
			for _, v := range []float64{s.Interval.Low, s.Interval.Best, s.Interval.High, s.Jitter, s.Lead, s.Received.Best} {
				if math.IsNaN(v) {
					t.Errorf("%s: a number is not one in %+v", name, s)
				}
			}
		}
	}
}

// Stamps cut to the minute still show a period of several minutes, and none of one minute.
func TestMinuteStamps(t *testing.T) {
	cut := func(times []clock.Instant) []clock.Instant {
		for i := range times {
			times[i] -= times[i] % 60000
		}
		return times
	}
	s := Fit(cut(every(600, 60, losing(9, 0.2))), time.Minute, motion.Timeline{})
	if s.Kind != Fixed || !close(s.Interval.Best, 600, 0.01) {
		t.Errorf("600 s: %v %+v (%s), want fixed", s.Kind, s.Interval, s.Reason)
	}
	s = Fit(cut(every(47, 200, losing(9, 0.2))), time.Minute, motion.Timeline{})
	if s.Kind != Undecided {
		t.Errorf("47 s: %v %+v, want undecided", s.Kind, s.Interval)
	}
}

// Without positions a journey's schedule cannot be told: nothing may be called adaptive.
func TestNothingIsAdaptiveWithoutMotion(t *testing.T) {
	for seed := uint64(500); seed < 540; seed++ {
		if u := makeUnit(seed); u.kind == Adaptive {
			if s := Fit(u.times, time.Second, motion.Timeline{}); s.Kind == Adaptive {
				t.Errorf("seed %d: adaptive without a timeline", seed)
			}
		}
	}
}

// Parked, an adaptive schedule is a fixed one at the slow interval; always moving, a decaying one is fixed at its base.
func TestWhatCannotBeToldApart(t *testing.T) {
	parked := journey(leg{0, 6 * time.Hour})
	adaptive := Schedule{Kind: Adaptive, Slow: 600, Fast: 60, SlowSpeed: 5 * kmh, FastSpeed: 100 * kmh}
	s := Fit(adaptive.Walk(origin, origin.Add(6*time.Hour), parked), time.Second, parked)
	if s.Kind != Fixed || !close(s.Interval.Best, 600, 0.001) || !s.AsFarAsHeard {
		t.Errorf("parked adaptive: %v %v, as far as heard %v", s.Kind, s.Interval.Best, s.AsFarAsHeard)
	}
	moving := journey(leg{15, 3 * time.Hour})
	decaying := Schedule{Kind: Decaying, BeaconsBeforeDecay: 2, Longest: 960}
	decaying.Interval.Best = 60
	s = Fit(decaying.Walk(origin, origin.Add(3*time.Hour), moving), time.Second, moving)
	if s.Kind != Fixed || !close(s.Interval.Best, 60, 0.001) || !s.AsFarAsHeard {
		t.Errorf("moving decaying: %v %v, as far as heard %v", s.Kind, s.Interval.Best, s.AsFarAsHeard)
	}
}
