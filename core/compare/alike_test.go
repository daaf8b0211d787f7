package compare

import (
	"math/rand/v2"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
)

// heardOf simulates beacons with jitter of 1 s of which a share is heard, stamped to the second; interval gives the next one.
func heardOf(r *rand.Rand, n int, share float64, interval func(i int) float64) Beacons {
	b := Beacons{Resolution: time.Second}
	at := 0.0
	for i := range n {
		if r.Float64() < share {
			b.Times = append(b.Times, day+clock.Instant(at+r.NormFloat64())*1000)
		}
		at += interval(i)
	}
	return b
}

func every(s float64) func(int) float64 { return func(int) float64 { return s } }

// slowing doubles its interval after three at the base, up to 32 minutes (common practice, no source).
func slowing(i int) float64 { return 60 * float64(int(1)<<min(5, max(0, i-2))) }

func fitParked(times []clock.Instant, resolution time.Duration, m motion.Timeline) schedule.Schedule {
	return schedule.Fit(times, resolution, m)
}

func TestAlike(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 9))
	for _, c := range []struct {
		name string
		a, b Beacons
		want string
		by   float64 // minutes by which a difference must be certain
	}{
		{"two to one, nothing lost", heardOf(r, 200, 1, every(60)), heardOf(r, 100, 1, every(120)), Different, 18},
		{"two to one, a fifth not heard", heardOf(r, 200, 0.8, every(60)), heardOf(r, 100, 0.8, every(120)), Different, 30},
		{"equal", heardOf(r, 200, 0.9, every(120)), heardOf(r, 200, 0.9, every(120)), AlikeSoFar, 0},
		{"too few", heardOf(r, 4, 1, every(60)), heardOf(r, 60, 1, every(60)), TooEarly, 0},
		{"none", Beacons{}, heardOf(r, 60, 1, every(60)), TooEarly, 0},
		{"one slows down while parked", heardOf(r, 200, 1, every(60)), heardOf(r, 14, 1, slowing), Different, 200},
	} {
		got := AlikeOf(c.a, c.b, fitParked)
		if got.Verdict != c.want {
			t.Errorf("%s: %s, want %s", c.name, got.Verdict, c.want)
			continue
		}
		if minutes := got.CertainAt.Sub(day).Minutes(); c.want == Different && minutes > c.by {
			t.Errorf("%s: certain after %.0f min, want by %.0f", c.name, minutes, c.by)
		}
		if c.want != Different && got.CertainAt != clock.None {
			t.Errorf("%s: certain at %v", c.name, got.CertainAt)
		}
	}
}

func TestAlikeDoesNotDependOnOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	a, b := heardOf(r, 100, 0.9, every(60)), heardOf(r, 80, 0.9, every(72))
	if x, y := AlikeOf(a, b, fitParked), AlikeOf(b, a, fitParked); x != y {
		t.Errorf("%v and %v", x, y)
	}
}
