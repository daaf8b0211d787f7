package sim

import (
	"math"
	"slices"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
)

// hill is where the tests' units live: longitudes of 9 degrees and some minutes put control bytes into Mic-E.
var hill = geo.Place{Lat: 62.0317, Lon: 9.6184}

var begin = clock.Instant(1935466800000) // 2031-05-02T05:40:00Z

// parked is a way that never moves.
var parked = Travel(stream(1, "test", 0), hill, nil)

func TestAdaptiveInterval(t *testing.T) {
	const kmh = 1 / 3.6
	rule := Adaptive{Slow: 1200, Fast: 60, SlowSpeed: 5 * kmh, FastSpeed: 100 * kmh}
	// The published rule: fast rate times fast speed over speed between the limits.
	for speed, want := range map[float64]float64{50: 120, 80: 75, 120: 60, 10: 600, 4: 1200} {
		if got := rule.Interval(speed * kmh); math.Abs(got-want) > 1e-9 {
			t.Errorf("at %v km/h: every %v s, want %v", speed, got, want)
		}
	}
}

func TestAdaptiveMetres(t *testing.T) {
	// The distances that a public description of the rule prints for a fast interval in s and a speed in km/h.
	for _, c := range []struct{ fast, speed, metres float64 }{{60, 120, 2000}, {120, 60, 2000}, {60, 60, 1000}, {18, 60, 300}} {
		rule := Adaptive{Slow: 1800, Fast: c.fast, SlowSpeed: 1, FastSpeed: c.speed / 3.6}
		for _, share := range []float64{1, 0.8, 0.5} {
			speed := share * c.speed / 3.6
			if got := rule.Interval(speed) * speed; math.Abs(got-c.metres) > 1e-9 {
				t.Errorf("%v s at %v km/h: %v m between beacons at %v m/s, want %v", c.fast, c.speed, got, speed, c.metres)
			}
		}
	}
}

func TestAdaptiveRoute(t *testing.T) {
	const kmh = 1 / 3.6
	rule := Adaptive{Slow: 1200, Fast: 60, SlowSpeed: 5 * kmh, FastSpeed: 100 * kmh}
	way := steady(span{0, 7200}, 50*kmh)
	way.add(steady(span{7200, 10800}, 100*kmh).stretches[0])
	way.add(stretch{span: span{10800, never}})
	// 2 h at 50 km/h, 1 h at 100 km/h, 5 h parked: closed form 60 + 60 + 15 beacons.
	if got := count(rule, way, 8*secondsPerHour); got < 134 || got > 136 {
		t.Errorf("%d beacons, want 135 give or take the ends", got)
	}
}

// steady is a way straight on at one speed.
func steady(s span, speed float64) *Way {
	steps := make([]step, int(s.until-s.from)+1)
	for i := range steps {
		steps[i].speed = speed
	}
	return &Way{[]stretch{{span: s, mode: Car, steps: steps}}}
}

func count(rule Rule, way *Way, until float64) (n int) {
	p := rule.pace(stream(1, "test", 0))
	for t := p.next(0, way); t <= until; t = p.next(t, way) {
		n++
	}
	return n
}

func TestAdaptiveCorner(t *testing.T) {
	rule := Adaptive{Slow: 1200, Fast: 300, SlowSpeed: 2, FastSpeed: 20, TurnMin: 30, TurnSlope: 100, TurnTime: 15}
	for name, c := range map[string]struct{ turn, at, want float64 }{
		"sharp":                     {60, 50, 50},
		"less than the angle":       {34, 50, 300},
		"before the turn time":      {60, 10, 16},
		"over north":                {-60, 50, 50},
		"twice, back to the course": {360, 50, 300},
	} {
		way := steady(span{0, 1000}, 20)
		for i := int(c.at); i <= 1000; i++ {
			way.stretches[0].steps[i].course = math.Mod(c.turn+360, 360)
		}
		if got := rule.next(0, way); got != c.want {
			t.Errorf("%s: next beacon at %v s, want %v", name, got, c.want)
		}
	}
}

func TestDecayingParked(t *testing.T) {
	// 1-2-4-8-16-32 min, as in public discussions of the protocol in 2006; the count over 8 h follows from it.
	p := Decaying{Base: 60, Hold: 1, Growth: 2, Longest: 32 * 60}.pace(nil)
	due := []float64{0}
	for {
		t := p.next(due[len(due)-1], parked)
		if t > 480*60 {
			break
		}
		due = append(due, t)
	}
	for i := range due {
		due[i] /= 60
	}
	if want := []float64{0, 1, 3, 7, 15, 31, 63, 95}; !slices.Equal(due[:8], want) || len(due) != 20 {
		t.Errorf("%d beacons at %v min, want 20 at %v ...", len(due), due[:8], want)
	}
}

func TestDecayingMoves(t *testing.T) {
	way := steady(span{1000, 1100}, 10)
	way.stretches = append([]stretch{{span: span{0, 1000}}}, way.stretches...)
	way.add(stretch{span: span{1100, never}})
	p := Decaying{Base: 60, Hold: 2, Growth: 2, Longest: 1920}.pace(nil)
	want := []float64{60, 120, 240, 480, 960, 1020, 1080, 1140, 1200, 1260, 1380}
	at := 0.0
	for i, w := range want {
		if at = p.next(at, way); at != w {
			t.Fatalf("beacon %d at %v s, want %v", i+1, at, w)
		}
	}
}
