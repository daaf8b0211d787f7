package sim

import (
	"math/rand/v2"

	"lastbeacon/core/geo"
)

// Draw gives a unit and a channel at random for measurements over many runs: kind is that of a Rule, death what ends the run.
// A run holds some 30 to 300 beacons, moves a third of the time at most (adaptive: at least some of it), and ends parked.
// Losses are 0 to 40 %, a third of them in bursts. Whether what is heard still tells the kind is another matter: a ramp that
// was lost leaves a decaying rule fixed.
func Draw(seed uint64, kind string, death Death) (Unit, Channel) {
	r := stream(seed, "draw "+kind, int(death))
	u := Unit{
		Home:   geo.Place{Lat: between(r, -60, 65), Lon: between(r, -179, 179)},
		Timing: Timing{Jitter: pick(r, 0.0, 0.3, 1, 2), Delay: pick(r, 0.0, 0, 1), Access: r.Float64() < 0.5, FromSent: r.Float64() < 0.5},
		First:  pick(r, AtOnce, AfterInterval),
	}
	u.Rule = drawRule(r, kind)
	u.Journey = drawJourney(r, kind)
	b := Battery{Printed: 2000, Idle: between(r, 60, 140), Beacon: between(r, 0.2, 0.5), Death: death}
	hours := between(r, 5, 12)
	b.True = hours * (b.Idle + b.Beacon*hourly(u.Rule))
	if death != AtRandom { // half the pack is out of reach, so that it dies at a beacon whatever the interval
		b.Sag = b.True
		b.True *= 2
	}
	u.Charges = []Charge{{Battery: b}}
	c := Channel{Loss: between(r, 0, 0.4)}
	if r.Float64() < 1.0/3 {
		c.Burst = between(r, 1.5, 4)
	}
	return u, c
}

func pick[T any](r *rand.Rand, from ...T) T { return from[r.IntN(len(from))] }

func drawRule(r *rand.Rand, kind string) Rule {
	switch kind {
	case "fixed":
		return Fixed{pick(r, 60.0, 90, 120, 180, 300, 600)}
	case "decaying":
		base := pick(r, 30.0, 60, 120)
		return Decaying{Base: base, Hold: 1 + r.IntN(4), Growth: 2, Longest: base * pick(r, 4.0, 8, 16)}
	case "adaptive":
		return Adaptive{
			Slow: pick(r, 180.0, 300, 600, 900), Fast: pick(r, 30.0, 60, 90), SlowSpeed: pick(r, 1.0, 1.4, 2), FastSpeed: between(r, 14, 28),
			TurnMin: between(r, 15, 35), TurnSlope: between(r, 60, 150), TurnTime: between(r, 10, 30), Capped: true,
		}
	}
	return ByHand{between(r, 120, 600), between(r, 0.6, 1)}
}

// hourly is the rate that a parked run keeps to, roughly.
func hourly(rule Rule) float64 {
	switch rule := rule.(type) {
	case Fixed:
		return secondsPerHour / rule.Every
	case Decaying:
		return secondsPerHour / rule.Longest
	case Adaptive:
		return secondsPerHour / rule.Slow
	case ByHand:
		return secondsPerHour / rule.Median
	}
	return 0
}

func drawJourney(r *rand.Rand, kind string) Journey {
	if kind != "adaptive" && r.Float64() < 0.5 {
		return nil
	}
	var j Journey
	for range 1 + r.IntN(3) {
		j = append(j, Leg{Mode: Parked, For: between(r, 600, 5400)}, Leg{Mode: pick(r, Foot, Bike, Car), For: between(r, 900, 2700)})
	}
	return j
}
