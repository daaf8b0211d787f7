package schedule

import "math"

// This file is the filter's law of where a heard beacon stands. With fine stamps it stands at its stamp, beside its due time by
// a normal error. With coarse ones (series.cell) it stands anywhere in the cell that its stamp names, and what is not known of
// it shrinks from beacon to beacon as the cells cut away what does not fit: the phase of a schedule is known far better than
// any one stamp tells.

// An arrival is the chance that a beacon due at some time was the one heard: its density, how far the heard time is from the due
// one, and where the beacon then stood.
type arrival struct {
	density      float64 // 1/s; of a cell, its chance over its length
	off          float64 // s, heard less due
	far          bool    // too far for a chance
	anchor, half float64
}

// chance gives the arrival at a heard time of a beacon due at a time that is known up to half either way and a normal error.
func (f *filter) chance(at, due, half, sd float64) arrival {
	if f.cell == 0 {
		off := at - due
		z := off / sd
		if math.Abs(z) > window {
			return arrival{off: off, far: true}
		}
		return arrival{density: math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi)), off: off, anchor: at}
	}
	middle := at + f.cell/2
	a := arrival{off: middle - due}
	if a.far = math.Abs(a.off) > f.cell/2+half+window*sd; a.far {
		return a
	}
	a.density = (below(at+f.cell-due, half, sd) - below(at-due, half, sd)) / f.cell
	a.anchor, a.half = inside(at-due, at+f.cell-due, half, sd)
	a.anchor += due
	return a
}

// below gives the chance that a rectangular error of half either way and a normal one together are below x.
func below(x, half, sd float64) float64 {
	if half < 1e-6*sd {
		return phi(x / sd)
	}
	area := func(z float64) float64 { return z*phi(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) }
	return clamp(sd/(2*half)*(area((x+half)/sd)-area((x-half)/sd)), 0, 1)
}

// gauss holds the nodes and weights of Gauss and Legendre's rule of six points on -1 to 1 (Abramowitz and Stegun, Handbook of
// Mathematical Functions, table 25.4).
var gauss = [...][2]float64{
	{-0.932469514203152, 0.171324492379170}, {-0.661209386466265, 0.360761573048139}, {-0.238619186083197, 0.467913934572691},
	{0.238619186083197, 0.467913934572691}, {0.661209386466265, 0.360761573048139}, {0.932469514203152, 0.171324492379170},
}

// inside gives the middle and half the length of the rectangular error that has the mean and the variance of a rectangular and a
// normal one together, cut to low and high.
func inside(low, high, half, sd float64) (middle, reach float64) {
	low, high = max(low, -half-window*sd), min(high, half+window*sd)
	if sd < 0.02*half {
		low, high = max(low, -half), min(high, half)
		return (low + high) / 2, max(0, high-low) / 2
	}
	var mass, sum, squares float64
	for _, part := range [...][2]float64{{low, (low + high) / 2}, {(low + high) / 2, high}} {
		for _, g := range gauss {
			x := (part[0]+part[1])/2 + g[0]*(part[1]-part[0])/2
			w := g[1] * (phis.at((x+half)/sd) - phis.at((x-half)/sd))
			mass, sum, squares = mass+w, sum+w*x, squares+w*x*x
		}
	}
	if mass <= 0 {
		return (low + high) / 2, (high - low) / 2
	}
	middle = sum / mass
	return middle, math.Sqrt(3 * max(0, squares/mass-middle*middle))
}

// A normalTable holds the normal distribution from -8 to 8 in steps of 1/64; linear between them it errs by less than 1e-5.
type normalTable [16*64 + 2]float64

var phis = func() *normalTable {
	var t normalTable
	for i := range t {
		t[i] = phi(float64(i)/64 - 8)
	}
	return &t
}()

func (t *normalTable) at(z float64) float64 {
	x := (z + 8) * 64
	switch {
	case x <= 0:
		return 0
	case x >= 16*64:
		return 1
	}
	i := int(x)
	return t[i] + (x-float64(i))*(t[i+1]-t[i])
}

// phi is the normal distribution.
func phi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// heardAt gives a guess that stands anywhere in the cell of a stamp.
func (f *filter) heardAt(at float64) guess { return guess{anchor: at + f.cell/2, half: f.cell / 2} }

// alikePlace is the share of a cell by which two guesses may differ to be taken as one.
const alikePlace = 0.1

// apart tells whether two guesses stand at different places in the cell.
func (f *filter) apart(a, b *guess) bool {
	return math.Abs(a.anchor-b.anchor)+math.Abs(a.half-b.half) > alikePlace*f.cell
}

// blend puts a guess where the two of them together stand.
func (f *filter) blend(g, with *guess) {
	if f.cell > 0 {
		p := with.weight / (g.weight + with.weight)
		g.anchor += p * (with.anchor - g.anchor)
		g.half += p * (with.half - g.half)
	}
}

// densest gives the highest density that a heard beacon can have.
func (f *filter) densest(n noise) float64 {
	if f.cell > 0 {
		return 1 / f.cell
	}
	return normal(0, n.sd)
}

// gapError gives the standard deviation of a heard gap, stamps included.
func (f *filter) gapError(n noise) float64 {
	if f.cell > 0 {
		return math.Hypot(n.sd, f.s.floor)
	}
	return n.sd
}
