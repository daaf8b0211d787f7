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
	fit, packs, ok := crossed(g)
	if !ok {
		return nil
	}
	e := &Exchange{First: packs[0], Second: packs[1], Spread: g.set.CV, Assumed: true}
	seen := math.Sqrt(fit.Residual())
	k := estimate.Z * e.Spread
	switch {
	case fit.DF >= enough:
		e.Spread, e.Assumed, k = seen, false, estimate.StudentQuantile(0.975, float64(fit.DF))*seen
	case seen > e.Spread:
		e.Spread, e.Assumed, k = seen, false, estimate.Z*doubtful*seen
	}
	ratio := func(i int) estimate.Estimate {
		m, u := fit.Coef[i], fit.U(i)
		return estimate.Of(math.Exp(m-k*u), math.Exp(m), math.Exp(m+k*u))
	}
	e.Unit, e.Pack = ratio(1), ratio(2)
	return e
}

// crossed fits level, unit (a over b) and pack (first over second) to the logarithms of the run times that ended.
func crossed(g group) (fit estimate.Fit, packs []string, ok bool) {
	packs = packsOf(g.a)
	if len(packs) != 2 || !slices.Equal(packs, packsOf(g.b)) {
		return fit, nil, false
	}
	var level, unit, pack, y []float64
	add := func(runs []Run, side float64) {
		for _, r := range runs {
			law := r.seconds().Log()
			if !law.Known() || r.Pack == "" {
				continue
			}
			mean, _ := law.Moments()
			level, unit, pack, y = append(level, 1), append(unit, side), append(pack, which(r, packs)), append(y, mean)
		}
	}
	add(g.a, 0.5)
	add(g.b, -0.5)
	fit, err := estimate.LeastSquares([][]float64{level, unit, pack}, y, nil)
	return fit, packs, err == nil
}

// which gives half of the step between two packs: up for the first, down for the second, none for any other.
func which(r Run, packs []string) float64 {
	switch r.Pack {
	case packs[0]:
		return 0.5
	case packs[1]:
		return -0.5
	}
	return 0
}

// withoutPacks takes the packs' own effect out of the run times where packs were exchanged, so that it is not taken for
// scatter of the units.
func (g group) withoutPacks() group {
	fit, packs, ok := crossed(g)
	if !ok {
		return g
	}
	level := func(runs []Run) []Run {
		out := slices.Clone(runs)
		for i := range out {
			f := math.Exp(-fit.Coef[2] * which(out[i], packs))
			out[i].Time = out[i].Time.Scale(f)
			out[i].Draw.TimeLaw = out[i].Draw.TimeLaw.Times(f)
		}
		return out
	}
	g.a, g.b = level(g.a), level(g.b)
	return g
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
