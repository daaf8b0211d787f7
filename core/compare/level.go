package compare

import (
	"math"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// A level is what two units' draws are brought to before they are compared: one transmit rate, one time on the air, or both.
type level struct{ rate, air bool }

// levelOf reads off the conditions what has to be corrected.
func levelOf(c *Comparison) level {
	air := find(c.Conditions, Airtime)
	return level{rate: stateOf(c.Conditions, TransmitRate) == Corrected, air: air.State == Corrected && air.Reason == ""}
}

// A move is the law of the logarithm of what each unit's draw is multiplied by. Charge per beacon over mean current is free
// of the capacity's error, so a ratio that is moved stays so.
type move struct{ a, b estimate.Law }

// law gives what the move adds to the logarithm of a ratio.
func (m move) law() estimate.Law { return estimate.Sum(m.a, m.b.Times(-1)) }

// moves works out what bringing both units to the level does to their draws; ok is false where a split is missing.
func (l level) moves(g group, ra, rb estimate.Estimate) (m move, ok bool) {
	if l == (level{}) {
		return move{estimate.ExactLaw(0), estimate.ExactLaw(0)}, true
	}
	if !g.splits() || !ra.Known || !rb.Known {
		return move{}, false
	}
	toA, toB, airA, airB := ra.Best, rb.Best, 1.0, 1.0
	if l.rate {
		toA = (ra.Best + rb.Best) / 2
		toB = toA
	}
	if l.air {
		x, y := meanAir(g.a), meanAir(g.b)
		airA, airB = (x+y)/2/x, (x+y)/2/y
	}
	var okA, okB bool
	m.a, okA = moved(g.splitA, ra, toA, airA)
	m.b, okB = moved(g.splitB, rb, toB, airB)
	return m, okA && okB
}

// values gives the two draws at the level.
func (l level) values(g group, ra, rb, a, b estimate.Estimate) (estimate.Estimate, estimate.Estimate) {
	m, ok := l.moves(g, ra, rb)
	if !ok {
		return a, b
	}
	return a.Scale(math.Exp(m.a.Quantile(0.5))), b.Scale(math.Exp(m.b.Quantile(0.5)))
}

// meanAir gives the mean time on the air of one transmission over the runs.
func meanAir(runs []Run) float64 {
	sum := 0.0
	for _, r := range runs {
		sum += r.Facts.AirtimeS.Best / float64(len(runs))
	}
	return sum
}

// moved gives the law of the logarithm of what a unit's draw is multiplied by when its rate goes to another and its beacons
// take so many times as long.
func moved(s draw.Split, from estimate.Estimate, to, air float64) (estimate.Law, bool) {
	now, _ := s.MA(from.Best)
	then := s.Idle + s.Beacon*to*air
	if !(now > 0 && then > 0) {
		return estimate.Law{}, false
	}
	u := math.Hypot(math.Sqrt(s.Cov[1][1])*(to*air-from.Best), s.Beacon*half(from)/estimate.Z) / then
	return estimate.NormalLaw(math.Log(then/now), u), true
}

// atOneRate brings a ratio of draws to the mean of the two transmit rates; nil where a split is missing.
func atOneRate(r ratio, g group, ra, rb estimate.Estimate) *EqualRate {
	lev := level{rate: true}
	m, ok := lev.moves(g, ra, rb)
	if !ok || r.bound != 0 {
		return nil
	}
	eq := &EqualRate{PerHour: (ra.Best + rb.Best) / 2, Ratio: r.plus(m.law()).estimate()}
	eq.A, eq.B = lev.values(g, ra, rb, meanDraw(g.a, g.energy()), meanDraw(g.b, g.energy()))
	return eq
}

// splitRatios compares idle currents and charges per beacon, or powers and energies as the draw, a over b, by Fieller's limits: a charge per beacon may be known
// to a third only. The error of a capacity that both share cancels.
func splitRatios(g group) (idle, beacon estimate.Estimate) {
	if !g.splits() {
		return estimate.Unknown, estimate.Unknown
	}
	a, b := g.splitA, g.splitB
	va, vb := a.Cov, b.Cov
	if !cancels(shares(g)) { // then each carries its own
		va[0][0], vb[0][0] = variance(a.IdleMA), variance(b.IdleMA)
		va[1][1], vb[1][1] = variance(a.MAhPerBeacon), variance(b.MAhPerBeacon)
	}
	voltsA, voltsB := g.volts()
	return estimate.Fieller(a.Idle, b.Idle, va[0][0], vb[0][0], estimate.Z).Scale(voltsA / voltsB),
		estimate.Fieller(a.Beacon, b.Beacon, va[1][1], vb[1][1], estimate.Z).Scale(voltsA / voltsB)
}

func variance(e estimate.Estimate) float64 { return half(e) * half(e) / (estimate.Z * estimate.Z) }
