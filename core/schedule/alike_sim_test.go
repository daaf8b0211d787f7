package schedule

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/sim"
)

// lived gives what is heard of a simulated radio that stays at home, in the first seconds after power-on: a share is lost at
// random, stamps are whole seconds.
func lived(seed uint64, rule sim.Rule, seconds, lost float64) Observed {
	life := sim.Live(seed, origin, sim.Unit{Rule: rule, First: sim.AtOnce, Timing: sim.Timing{Jitter: 1, Access: true},
		Charges: []sim.Charge{{Battery: sim.Battery{True: 2000, Idle: 20}}}, Until: seconds})
	rng := rand.New(rand.NewPCG(seed, 99))
	o := Observed{Resolution: time.Second}
	for _, s := range life.Sent {
		if rng.Float64() >= lost {
			o.Times = append(o.Times, origin.Add(clock.Seconds(math.Floor(s.At.Sub(origin).Seconds()))))
		}
	}
	return o
}

// Three to five heard gaps of each unit tell 2 to 1 and 1.2 to 1 apart in 95 % of cases, and call equal ones different in
// 2.5 % at most: the figures of a simulation of our own. Here a fifth is lost; the limits leave room for 60 trials.
func TestDifferenceIsCertainWithinFiveGaps(t *testing.T) {
	const trials = 60
	for _, ratio := range []float64{2, 1.2, 1} {
		early, ever := 0, 0
		for seed := uint64(1); seed <= trials; seed++ {
			a := lived(seed, sim.Fixed{Every: 120}, 3000*ratio, 0.2)
			b := lived(seed+1000, sim.Fixed{Every: 120 * ratio}, 3000*ratio, 0.2)
			got := Alike(a, b)
			if got.Verdict != Different {
				continue
			}
			ever++
			if len(b.until(got.CertainAt).Times)-1 <= 5 {
				early++
			}
		}
		t.Logf("%v to 1: different in %d of %d, within five gaps of the slower in %d", ratio, ever, trials, early)
		if ratio == 1 && ever > trials/20 {
			t.Errorf("equal ones were called different in %d of %d", ever, trials)
		}
		if ratio > 1 && (early < trials*9/10 || ever < trials*95/100) {
			t.Errorf("%v to 1: different in %d of %d, within five gaps in %d", ratio, ever, trials, early)
		}
	}
}

// A unit that lengthens its interval looks at first like a fixed one of the same base: "alike" must wait until the hold and
// one lengthening would have been heard, and is then never said.
func TestDecayingIsNeverAlikeFixed(t *testing.T) {
	wrong, asked, fixedLate := 0, 0, 0
	for seed := uint64(1); seed <= 8; seed++ {
		for hold := 1; hold <= 6; hold++ {
			fixed := lived(seed, sim.Fixed{Every: 60}, 7200, 0.2)
			slowing := lived(seed+uint64(hold)*100, sim.Decaying{Base: 60, Hold: hold, Growth: 2, Longest: 960}, 7200, 0.2)
			for _, minutes := range []time.Duration{5, 8, 11, 15, 25} {
				at := origin.Add(minutes * time.Minute)
				a, b := fixed.until(at), slowing.until(at)
				asked++
				if got := Alike(a, b); got.Verdict == AlikeSoFar {
					wrong++
					t.Logf("seed %d, hold %d, %d min: alike", seed, hold, minutes)
				}
			}
			twin := lived(seed+5000, sim.Fixed{Every: 60}, 7200, 0.2)
			if hold == 1 && Alike(fixed.until(origin.Add(25*time.Minute)), twin.until(origin.Add(25*time.Minute))).Verdict != AlikeSoFar {
				fixedLate++
			}
			if early := Alike(fixed.until(origin.Add(6*time.Minute)), twin.until(origin.Add(6*time.Minute))); early.Verdict == AlikeSoFar {
				t.Errorf("seed %d: two fixed units were called alike after six intervals", seed)
			}
		}
	}
	if wrong > 0 {
		t.Errorf("a decaying unit was called alike to a fixed one in %d of %d looks", wrong, asked)
	}
	if fixedLate > 2 {
		t.Errorf("two fixed units were not called alike after 25 intervals in %d of 8", fixedLate)
	}
}
