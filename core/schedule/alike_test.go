package schedule

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// The chance that a gap is an even multiple is sum over even m of p q^(m-1) = q/(1+q) (closed form of the geometric law).
func TestDoubleChance(t *testing.T) {
	for _, c := range []struct {
		lost, chance float64
		gaps         int
	}{
		{0.05, 0.047619047619047616, 1}, {0.1, 0.09090909090909091, 2}, {0.2, 0.16666666666666669, 2},
		{0.3, 0.23076923076923075, 3}, {0.4, 0.28571428571428575, 3}, {0.5, 0.3333333333333333, 3},
	} {
		if got := DoubleChance(c.lost); math.Abs(got-c.chance) > 1e-9 {
			t.Errorf("chance at loss %v = %v, want %v", c.lost, got, c.chance)
		}
		if got := GapsToRuleOutDouble(c.lost); got != c.gaps {
			t.Errorf("gaps at loss %v = %d, want %d", c.lost, got, c.gaps)
		}
	}
}

// jittered gives n beacons about a period with a loss and an even jitter, in seconds.
func jittered(rng *rand.Rand, period float64, n int, loss, jitter float64) Observed {
	o := Observed{Resolution: time.Second}
	phase := rng.Float64() * period
	for i := range n {
		at := phase + float64(i)*period + (rng.Float64()-0.5)*jitter
		if rng.Float64() >= loss {
			o.Times = append(o.Times, origin.Add(clock.Seconds(math.Floor(at))))
		}
	}
	return o
}

// Two units whose periods differ by 2:1 or 1.2:1 are to be told apart after a few gaps, and equal ones not called
// different. The shares are those of the simulation behind the rule: 95 % right, 2.5 % false.
func TestAlikeAfterAFewBeacons(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	const runs = 60
	for _, ratio := range []float64{1, 1.2, 2} {
		different := 0
		for range runs {
			loss, jitter := 0.05+0.3*rng.Float64(), 1+4*rng.Float64()
			a, b := jittered(rng, 120, 12, loss, jitter), jittered(rng, 120*ratio, 12, loss, jitter)
			if Alike(a, b).Verdict == Different {
				different++
			}
		}
		share := float64(different) / runs
		if ratio == 1 && share > 0.05 {
			t.Errorf("equal periods called different in %.0f %%", 100*share)
		}
		if ratio > 1 && share < 0.9 {
			t.Errorf("ratio %v told apart in only %.0f %%", ratio, 100*share)
		}
	}
}

// moving gives times under which the unit moved all the while.
func moving(times []clock.Instant) Observed {
	return Observed{times, time.Second, underWay(times[0], times[len(times)-1]), nil, nil}
}

// restedAndMoved gives times in the second half of which the unit moved.
func restedAndMoved(times []clock.Instant) Observed {
	return Observed{times, time.Second, underWay(times[len(times)/2], times[len(times)-1]), nil, nil}
}

func underWay(from, to clock.Instant) motion.Timeline {
	return motion.Timeline{Periods: []motion.Period{{State: motion.Moving, Start: clock.Exactly(from), End: clock.Exactly(to)}}}
}

func TestAlike(t *testing.T) {
	slowing := Schedule{Kind: Decaying, BeaconsBeforeDecay: 3, Longest: 960}
	slowing.Interval.Best = 60
	parked := slowing.Walk(origin, origin.Add(3*time.Hour), motion.Timeline{})
	of := func(times []clock.Instant) Observed { return Observed{Times: times, Resolution: time.Second} }
	cases := []struct {
		name    string
		a, b    Observed
		want    Verdict
		waiting string
	}{
		{"one beacon each", of(every(60, 1, nil)), of(every(60, 1, nil)), TooEarly, WaitGaps},
		{"the same for four intervals", of(every(60, 7, nil)), of(every(60, 7, nil)), TooEarly, WaitDecay},
		{"the same for an hour", of(every(60, 60, nil)), of(every(60, 60, nil)), AlikeSoFar, ""},
		{"twice the rate", of(every(60, 12, nil)), of(every(120, 12, nil)), Different, ""},
		{"one slows down", of(every(60, 180, nil)), of(parked), Different, ""},
		{"two to one, a fifth not heard", of(every(60, 200, losing(21, 0.2))), of(every(120, 100, losing(22, 0.2))), Different, ""},
		{"nothing heard of one", Observed{}, of(every(60, 60, nil)), TooEarly, WaitGaps},
		{"one always moves", moving(every(60, 60, nil)), of(parked), TooEarly, WaitDecay},
		{"one stands at the longest interval", of(every(960, 12, nil)), of(parked), TooEarly, WaitDecay},
		{"one stands at the longest interval and moved too", restedAndMoved(every(960, 60, nil)), of(parked), Different, ""},
		{"both slow down", of(parked), of(parked), AlikeSoFar, ""},
	}
	for _, c := range cases {
		for _, pair := range [][2]Observed{{c.a, c.b}, {c.b, c.a}} {
			got := Alike(pair[0], pair[1])
			if got.Verdict != c.want || got.Waiting != c.waiting {
				t.Errorf("%s: %v waiting for %q, want %v, %q", c.name, got.Verdict, got.Waiting, c.want, c.waiting)
			}
			if got.CertainAt.Known() != (c.want == Different) {
				t.Errorf("%s: certain at %v", c.name, got.CertainAt)
			}
		}
	}
	if since, ok := of(parked).schedule().SlowingSince(); !ok || since != origin.Add(5*time.Minute) {
		t.Errorf("slows down %v since %v, want since the beacon after the first two minutes' wait", ok, since)
	}
	if _, ok := of(every(60, 180, nil)).schedule().SlowingSince(); ok {
		t.Error("a steady unit was said to slow down")
	}
}

func TestDifferenceBecomesCertainEarly(t *testing.T) {
	a := Observed{Times: every(60, 200, nil), Resolution: time.Second}
	b := Observed{Times: every(120, 100, nil), Resolution: time.Second}
	got := Alike(a, b)
	if late := got.CertainAt.Sub(origin); got.Verdict != Different || late > 12*time.Minute {
		t.Errorf("%v, certain after %v, want within 12 min", got.Verdict, late)
	}
}
