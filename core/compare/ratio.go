package compare

import (
	"math"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// A ratio is the law of the logarithm of a over b from one or more tests, with what it rests on. Where the spread
// from run to run is assumed, law is that of rest, which holds all else, and a normal part of spread times per. Bound is +1
// when only the lower limit holds (a may be more), -1 when only the upper one does, else 0.
type ratio struct {
	law, rest estimate.Law
	per       float64
	bound     int
	spread    float64
	assumed   bool
}

// enough is the number of runs of each unit from which their own scatter is believed; below it the assumed spread stays,
// unless the runs scatter more.
const enough = 3

// leastScatter is the spread below which no run-to-run scatter is believed: a pack differs by as much from one charge to the
// next. Runs noted to the minute may be equal by rounding, and would show none at all.
const leastScatter = draw.Repeatability

// A side is one unit's logarithms: those of runs that ended first, then least values, which tell no scatter.
type side struct {
	laws   []estimate.Law
	closed int
}

// between gives the ratio of two units from the laws of their runs' logarithms. extra is added once (a capacity's error).
func between(a, b side, cv float64, extra estimate.Law) ratio {
	if a.closed >= enough && b.closed >= enough {
		return seen(a, b, min(cv, leastScatter), extra)
	}
	na, nb := float64(len(a.laws)), float64(len(b.laws))
	laws := []estimate.Law{extra}
	for _, l := range a.laws {
		laws = append(laws, l.Times(1/na))
	}
	for _, l := range b.laws {
		laws = append(laws, l.Times(-1/nb))
	}
	r := ratio{rest: estimate.Sum(laws...), per: math.Sqrt(1/na + 1/nb)}
	sa, _ := sample(a.laws[:a.closed])
	sb, _ := sample(b.laws[:b.closed])
	if s := pooled(sa, sb); s > cv {
		return r.scattered(s)
	}
	return r.assume(cv)
}

// assume completes a ratio by the spread that was stated, or is guessed.
func (r ratio) assume(spread float64) ratio {
	r.spread, r.assumed = spread, true
	r.law = estimate.Sum(r.rest, estimate.NormalLaw(0, spread*r.per))
	return r
}

// doubtful is by how many times the scatter that fewer than enough runs show may be too small: the 97.5 % point of Student's t
// lies at 4.3 for two degrees of freedom, and at 3.2 for three.
const doubtful = 2

// scattered completes a ratio by the scatter of fewer runs than show it well.
func (r ratio) scattered(s float64) ratio {
	r.spread = s
	r.law = estimate.Sum(r.rest, estimate.NormalLaw(0, doubtful*s*r.per))
	return r
}

// seen is Welch's comparison; the scatter of the runs holds the uncertainty of their ends. An interval that came out narrower than
// those ends and the least scatter make it rests on these.
func seen(a, b side, least float64, extra estimate.Law) ratio {
	sa, within := sample(a.laws)
	sb, withinB := sample(b.laws)
	d := estimate.Welch(sa, sb)
	per := math.Sqrt(1/float64(sa.N) + 1/float64(sb.N))
	if floor := math.Sqrt(within + withinB + least*least*per*per); d.U == 0 || d.U*estimate.StudentQuantile(0.975, d.DF) < estimate.Z*floor {
		if !(pooled(sa, sb) > least) {
			ends := estimate.NormalLaw(d.Diff, math.Sqrt(within+withinB))
			return ratio{rest: estimate.Sum(ends, extra), per: per}.assume(least)
		}
		d.U, d.DF = floor, math.Inf(1)
	}
	law := estimate.Sum(estimate.StudentLaw(d.Diff, d.U, d.DF), extra)
	return ratio{law: law, rest: law, spread: pooled(sa, sb)}
}

// plus adds a further quantity to the logarithm.
func (r ratio) plus(more estimate.Law) ratio {
	r.law, r.rest = estimate.Sum(r.law, more), estimate.Sum(r.rest, more)
	return r
}

// sample sums up the means of laws, and gives the variance that their widths alone make of the mean.
func sample(laws []estimate.Law) (estimate.Sample, float64) {
	means := make([]float64, len(laws))
	within := 0.0
	for i, l := range laws {
		mean, sd := l.Moments()
		means[i] = mean
		within += sd * sd
	}
	return estimate.SampleOf(means), within / float64(len(laws)*len(laws))
}

// pooled gives the standard deviation that two samples share, 0 when none has two values.
func pooled(a, b estimate.Sample) float64 {
	df := a.N + b.N - 2
	if df < 1 {
		return 0
	}
	return math.Sqrt((a.Var*float64(a.N-1) + b.Var*float64(b.N-1)) / float64(df))
}

// pool averages the ratios of several tests, each weighted by 1/u². One-sided tests make the whole one-sided; opposite
// sides leave nothing, nor do numbers beyond all measure.
func pool(rs []ratio) (ratio, bool) {
	switch len(rs) {
	case 0:
		return ratio{}, false
	case 1:
		return rs[0], rs[0].estimate().Sound()
	}
	out := ratio{spread: rs[0].spread}
	weights, sum := make([]float64, len(rs)), 0.0
	for i, r := range rs {
		if r.bound != 0 && out.bound != 0 && r.bound != out.bound {
			return ratio{}, false
		}
		if r.bound != 0 {
			out.bound = r.bound
		}
		_, sd := r.law.Moments()
		weights[i] = 1 / max(sd*sd, 1e-12)
		sum += weights[i]
		out.assumed = out.assumed || r.assumed
		out.spread = max(out.spread, r.spread)
	}
	laws, rest := make([]estimate.Law, len(rs)), make([]estimate.Law, len(rs))
	for i, r := range rs {
		w := weights[i] / sum
		laws[i], rest[i] = r.law.Times(w), r.rest.Times(w)
		out.per = math.Hypot(out.per, w*r.per)
	}
	out.law, out.rest = estimate.Sum(laws...), estimate.Sum(rest...)
	return out, out.estimate().Sound()
}

// estimate gives the ratio itself with its limits, open on the side that nothing bounds.
func (r ratio) estimate() estimate.Estimate {
	e := r.law.ExpEstimate()
	switch r.bound {
	case 1:
		return estimate.Of(e.Low, e.Low, math.Inf(1))
	case -1:
		return estimate.Of(math.Inf(-1), e.High, e.High)
	}
	return e
}

// chance gives the two-sided chance of such a ratio were there no difference.
func (r ratio) chance() float64 {
	below := r.law.Below(0)
	switch r.bound {
	case 1:
		return min(1, 2*below)
	case -1:
		return min(1, 2*(1-below))
	}
	return min(1, 2*min(below, 1-below))
}

// smallest gives the relative difference that the ratio's width could just have shown.
func (r ratio) smallest() float64 {
	return math.Expm1((r.law.Quantile(0.975) - r.law.Quantile(0.025)) / 2)
}

// within tells whether the 90 % interval lies inside a relative margin: two one-sided tests of 5 % each.
func (r ratio) within(margin float64) bool {
	return r.bound == 0 && margin > 0 &&
		r.law.Quantile(0.05) > math.Log1p(-margin) && r.law.Quantile(0.95) < -math.Log1p(-margin)
}

// A footing is what an assumed spread leaves of a ratio: the middle of its logarithm, how far the near 95 % limit of all else lies
// from that, and how many times the spread counts.
type footing struct{ middle, near, per float64 }

func (r ratio) footing() footing {
	f := footing{middle: r.rest.Quantile(0.5), per: r.per}
	f.near = f.middle - r.rest.Quantile(0.025)
	if f.middle < 0 {
		f.near = r.rest.Quantile(0.975) - f.middle
	}
	return f
}

// stands gives the spread from run to run below which the ratio leaves out 1, at a two-sided chance of alpha. All else that is not
// known and the spread are added as squares; at a smaller chance it reaches out as a normal law does, which is on the wide side.
func (f footing) stands(alpha float64) float64 {
	z := estimate.NormalQuantile(1 - alpha/2)
	near := f.near * z / estimate.Z
	return math.Sqrt(max(0, f.middle*f.middle-near*near)) / (z * f.per)
}

// leans tells on which side of 1 the ratio lies with 95 %: 1 above, -1 below, 0 on both.
func (r ratio) leans() int {
	switch {
	case r.bound >= 0 && r.law.Quantile(0.025) > 0:
		return 1
	case r.bound <= 0 && r.law.Quantile(0.975) < 0:
		return -1
	}
	return 0
}

// alone is the two-sided chance of a wrong verdict that one comparison by itself may have.
const alone = 0.05

// verdict states what the ratio decides.
func (r ratio) verdict(a, b Code) Verdict {
	v := Verdict{Ratio: r.estimate(), Spread: r.spread, Assumed: r.assumed, P: r.chance(), Smallest: r.smallest()}
	v.Code = NoDifferenceShown
	switch leans := r.leans(); {
	case leans > 0:
		v.Code = a
	case leans < 0:
		v.Code = b
	}
	if v.Code != NoDifferenceShown && r.assumed {
		v.footing = r.footing()
		v.Stands = v.footing.stands(alone)
	}
	return v
}
