package compare

import (
	"math"
	"slices"

	"lastbeacon/core/estimate"
)

// An Exchange sets the units' and the packs' effects on run time apart, where packs were exchanged between units. Unit is
// a over b; Pack is the first pack over the second, in order of name.
type Exchange struct {
	Unit, Pack    estimate.Estimate
	First, Second string  // the packs
	Spread        float64 // relative standard deviation from run to run that was used
	Assumed       bool    // Spread is assumed, not seen
}

// exchange fits ln T = level + unit + pack where both units ran on the same two packs; nil where they did not.
func exchange(g group) *Exchange {
	packs := packsOf(g.a)
	if len(packs) != 2 || !slices.Equal(packs, packsOf(g.b)) {
		return nil
	}
	var level, unit, pack, y []float64
	add := func(runs []Run, side float64) {
		for _, r := range runs {
			law := r.seconds()
			if !law.Known() {
				continue
			}
			mean, _ := law.Log().Moments()
			which := 0.5
			if r.Pack == packs[1] {
				which = -0.5
			}
			level, unit, pack, y = append(level, 1), append(unit, side), append(pack, which), append(y, mean)
		}
	}
	add(g.a, 0.5)
	add(g.b, -0.5)
	fit, err := estimate.LeastSquares([][]float64{level, unit, pack}, y, nil)
	if err != nil {
		return nil
	}
	sd, df, assumed := g.set.CV, math.Inf(1), true
	if seen := math.Sqrt(fit.Residual()); fit.DF >= enough {
		sd, df, assumed = seen, float64(fit.DF), false
	} else if fit.DF > 0 && seen > sd {
		sd, assumed = seen, false
	}
	k := estimate.StudentQuantile(0.975, df) * sd
	ratio := func(i int) estimate.Estimate {
		m, u := fit.Coef[i], fit.U(i)
		return estimate.Of(math.Exp(m-k*u), math.Exp(m), math.Exp(m+k*u))
	}
	return &Exchange{Unit: ratio(1), Pack: ratio(2), First: packs[0], Second: packs[1], Spread: sd, Assumed: assumed}
}

// packsOf gives the names of the packs of the runs, in order of name.
func packsOf(runs []Run) []string {
	var out []string
	for _, r := range runs {
		if r.Pack != "" && !slices.Contains(out, r.Pack) {
			out = append(out, r.Pack)
		}
	}
	slices.Sort(out)
	return out
}
