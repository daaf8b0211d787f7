package outlook

import (
	"math"
	"testing"

	"lastbeacon/core/estimate"
)

func TestAgain(t *testing.T) {
	runs := func(hours ...float64) Unit {
		u := Unit{CV: 0.03}
		for _, h := range hours {
			u.Runs = append(u.Runs, Run{Time: estimate.About(h*3600, 60)})
		}
		return u
	}
	for _, c := range []struct {
		name            string
		u               Unit
		lasted          float64 // h
		low, best, high float64 // h; 0 unknown
	}{
		{"no run", runs(), 1, 0, 0, 0},
		{"a run without an end", Unit{CV: 0.03, Runs: []Run{{Time: estimate.AtLeast(3600)}}}, 1, 0, 0, 0},
		// 10 exp(+-1.96 x 0.03 sqrt 2)
		{"one run, just begun", runs(10), 0, 9.202, 10, 10.867},
		// The median of the upper half of a normal law lies 0.6745 standard deviations up, its 2.5 % point 0.0313, its 97.5 % point 2.2414.
		{"one run, as long as it", runs(10), 10, 10.013, 10.290, 10.998},
		{"outlasted", runs(10), 12, 0, 0, 0},
		// Student's t of 3 degrees of freedom at 97.5 %: 3.182 (any published table); sd of the logarithms 0.025820, times sqrt(5/4)
		{"four runs show their own spread", runs(10*math.Exp(-0.03), 10*math.Exp(-0.01), 10*math.Exp(0.01), 10*math.Exp(0.03)), 0, 9.1222, 10, 10.9622},
	} {
		got := Again(c.u, c.lasted*3600)
		if got.Known != (c.best > 0) {
			t.Errorf("%s: %v", c.name, got)
			continue
		}
		if !got.Known {
			continue
		}
		for i, pair := range [][2]float64{{got.Low, c.low}, {got.Best, c.best}, {got.High, c.high}} {
			if math.Abs(pair[0]/3600-pair[1]) > 0.01 {
				t.Errorf("%s: limit %d is %.4f h, want %.4f", c.name, i, pair[0]/3600, pair[1])
			}
		}
	}
}
