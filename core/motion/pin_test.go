package motion

import (
	"math"
	"testing"
)

// A unit that stands, drives straight on and stands again, seen without error every minute at each phase: when it left and came is
// where the straight line through its places on the way meets the stop (elementary), up to what no unit does at once: to speed up.
func TestPinsAChangeBetweenTwoBeacons(t *testing.T) {
	const interval, leaves, comes, speed, most = 60, 1800, 3600, 10, 15
	for phase := range interval {
		fixes := drive(phase, interval, 0, leaves, comes, speed)
		for at := phase; at < leaves; at += interval {
			fixes[(at-phase)/interval] = still(at, 0)
		}
		for at := fixes[len(fixes)-1].At; len(fixes) < 2*comes/interval; {
			at += interval * 1000
			fixes = append(fixes, still(int(at-noon)/1000, speed*(comes-leaves)))
		}
		line := OfBeacons(fixes)
		if len(line.Periods) != 3 {
			t.Fatalf("phase %d: %v", phase, states(line))
		}
		for i, want := range []float64{leaves, comes} {
			if got := seconds(line.Periods[i+1].Start.Best, noon); math.Abs(got-want) > most {
				t.Errorf("phase %d: change at %.1f s, want %.0f within %d", phase, got, want, most)
			}
		}
	}
}

// The chances of all speeds a receiver can report add up to one, beside those for a wrong one, however coarse the steps.
func TestChancesOfReportedSpeeds(t *testing.T) {
	for _, step := range []float64{0.1, knot, 5} {
		for m := standing; m <= halted; m++ {
			sum := 0.0
			for v := 0.0; v < 400; v += step {
				sum += math.Exp(speedFit(m, v, step)) * (v + step/2 - max(v-step/2, 0))
			}
			if wrong := 0.001 * 400.0; math.Abs(sum-1-wrong) > 0.01 {
				t.Errorf("mode %d in steps of %.2f m/s: chances add up to %.3f, want %.3f", m, step, sum, 1+wrong)
			}
		}
	}
}
