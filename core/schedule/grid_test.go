package schedule

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// stamped gives n beacons of a fixed schedule as a recorder with coarse stamps wrote them down, those heard: sent late by up to
// delay seconds each, and either the clock waits for that or runs on.
func stamped(rng *rand.Rand, period float64, n int, loss, delay, resolution float64) []clock.Instant {
	var times []clock.Instant
	waits := rng.IntN(2) == 0
	at := rng.Float64() * 600
	for range n {
		late := rng.Float64() * delay
		if rng.Float64() >= loss {
			times = append(times, origin.Add(clock.Seconds(math.Floor((at+late)/resolution)*resolution)))
		}
		if waits {
			at += late
		}
		at += period
	}
	return times
}

// TestCoarseStamps measures how fixed schedules and irregular ones are told with stamps of a second, ten, a minute.
func TestCoarseStamps(t *testing.T) {
	repeats := number("GRID_CASES", 0)
	if repeats == 0 {
		t.Skip("a measurement: GRID_CASES says how many cases each")
	}
	for _, resolution := range []float64{1, 10, 60} {
		for _, period := range []float64{5, 7, 10, 20, 30, 45, 60, 75, 90, 100, 120, 150, 180, 300, 600} {
			for _, loss := range []float64{0, 0.2, 0.4, 0.6} {
				for _, n := range []int{30, 200} {
					var kinds [Irregular + 1]int
					reasons := map[string]int{}
					held, near, missed, width := 0, 0, 0, 0.0
					var spent []time.Duration
					for i := range repeats {
						rng := rand.New(rand.NewPCG(uint64(i), uint64(period*1000+resolution*10+loss*100)))
						delay := []float64{0, 0, 0.5, 2}[rng.IntN(4)]
						p := period * (0.995 + 0.01*rng.Float64())
						if i%2 == 0 {
							p = period
						}
						times := stamped(rng, p, n, loss, delay, resolution)
						began := time.Now()
						s := Fit(times, time.Duration(resolution*1e9), motion.Timeline{})
						spent = append(spent, time.Since(began))
						kinds[s.Kind]++
						reasons[s.Reason]++
						if s.Kind != Fixed {
							if os.Getenv("GRID_SHOW") != "" {
								fmt.Printf("   %d: %v %s nearest %v rival %v lead %.1f heard %d\n", i, s.Kind, s.Reason, s.Nearest, s.Rival, s.Lead, len(times))
							}
							continue
						}
						// The mean delay of sending belongs to the interval where the clock waits for it.
						lo, hi := p, p+delay/2
						if s.Interval.Low <= hi && lo <= s.Interval.High {
							held++
						}
						if math.Abs(s.Interval.Best/p-1) < 0.01+delay/2/p {
							near++
						}
						if os.Getenv("GRID_WRONG") != "" && (math.Abs(s.Interval.Best/p-1) >= 0.01+delay/2/p || s.Interval.Low > hi || lo > s.Interval.High) {
							fmt.Printf("   %d: %g claimed %.3f (%.3f to %.3f) lead %.1f rival %v heard %d received %.2f\n", i, p, s.Interval.Best, s.Interval.Low, s.Interval.High, s.Lead, s.Rival, len(times), s.Received.Best)
						}
						width += (s.Interval.High - s.Interval.Low) / p
						m := Missed(times, s, motion.Timeline{})
						distinct := slices.Compact(slices.Clone(times))
						sent := int(math.Round(distinct[len(distinct)-1].Sub(distinct[0]).Seconds() / (p + delay/4)))
						got := float64(len(m.Due) + len(distinct) - 1)
						if math.Abs(got-float64(sent)) <= 1+math.Max(m.Fewer, m.More) {
							missed++
						}
					}
					slices.Sort(spent)
					fixed := kinds[Fixed]
					fmt.Printf("res %2g period %3g loss %.1f n %3d: fixed %3d undecided %3d irregular %3d other %d | near %d held %d counts %d width %.4f  %v max %v %v\n", resolution, period, loss, n,
						fixed, kinds[Undecided], kinds[Irregular], kinds[Decaying]+kinds[Adaptive], near, held, missed, width/float64(max(1, fixed)), spent[len(spent)/2].Round(time.Microsecond*100), spent[len(spent)-1].Round(time.Microsecond*100), reasons)
				}
			}
		}
	}
}

// A period shows between coarse stamps although no gap does, and one as short as the steps of the stamps does not.
func TestPeriodsBetweenCoarseStamps(t *testing.T) {
	for _, c := range []struct {
		resolution, period float64
		decided            bool
	}{{60, 75, true}, {60, 90, true}, {60, 100, true}, {60, 120, true}, {60, 150, true}, {10, 20, true}, {10, 30, true}, {1, 5, true}, {60, 60, false}, {60, 47, false}, {60, 30, false}, {10, 10, false}} {
		for seed, loss := range []float64{0, 0.3, 0.5} {
			times := stamped(rand.New(rand.NewPCG(uint64(seed), 8)), c.period, 200, loss, 0, c.resolution)
			s := Fit(times, clock.Seconds(c.resolution), motion.Timeline{})
			switch {
			case !c.decided && (s.Kind != Undecided || s.Reason != Coarse):
				t.Errorf("%g s in stamps of %g s, %g lost: %v %+v, want undecided", c.period, c.resolution, loss, s.Kind, s.Interval)
			case c.decided && (s.Kind != Fixed || s.Interval.Low > c.period || c.period > s.Interval.High):
				t.Errorf("%g s in stamps of %g s, %g lost: %v %+v (%s)", c.period, c.resolution, loss, s.Kind, s.Interval, s.Reason)
			case c.decided && !close(s.Interval.Best, c.period, 0.015):
				t.Errorf("%g s in stamps of %g s, %g lost: %+v", c.period, c.resolution, loss, s.Interval)
			}
			if c.decided {
				sent := int(math.Round(times[len(times)-1].Sub(times[0]).Seconds()/c.period)) + 1
				m := Missed(times, s, motion.Timeline{})
				if got := len(m.Due) + len(slices.Compact(slices.Clone(times))); math.Abs(float64(got-sent)) > 1+math.Max(m.Fewer, m.More) {
					t.Errorf("%g s in stamps of %g s, %g lost: %d sent, want %d", c.period, c.resolution, loss, got, sent)
				}
			}
		}
	}
}

// Beacons of a short interval that go out up to two seconds late keep to it all the same, whether the clock waits for them or not.
func TestShortPeriodsWithSlack(t *testing.T) {
	for _, seed := range []uint64{0, 9, 31, 42, 44, 50, 51} {
		rng := rand.New(rand.NewPCG(seed, 6))
		period := 5 * (0.995 + 0.01*rng.Float64())
		if s := Fit(stamped(rng, period, 200, 0, 2, 1), time.Second, motion.Timeline{}); s.Kind != Fixed || s.Interval.Low > period+1 || s.Interval.High < period {
			t.Errorf("seed %d: %v %v, want fixed every %.2f s, or a second more where the clock waits", seed, s.Kind, s.Interval, period)
		}
	}
}
