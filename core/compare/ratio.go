package compare

import (
	"math"

	"lastbeacon/core/estimate"
)

// A ratio is the law of the logarithm of a over b from one or more tests, with what it rests on. Bound is +1 when only the
// lower limit holds (a may be more), -1 when only the upper one does, else 0.
type ratio struct {
	law     estimate.Law
	bound   int
	spread  float64
	assumed bool
}

// enough is the number of runs of each unit from which their own scatter is believed; below it the assumed spread stays,
// unless the runs scatter more.
const enough = 3

// between gives the ratio of two units from the laws of their runs' logarithms. extra is added once (a capacity's error).
func between(a, b []estimate.Law, cv float64, extra estimate.Law) ratio {
	sa, within := sample(a)
	sb, withinB := sample(b)
	if sa.N >= enough && sb.N >= enough {
		return seen(sa, sb, within+withinB, extra)
	}
	spread, assumed := cv, true
	if s := pooled(sa, sb); s > cv {
		spread, assumed = s, false
	}
	na, nb := float64(sa.N), float64(sb.N)
	laws := []estimate.Law{estimate.NormalLaw(0, spread*math.Sqrt(1/na+1/nb)), extra}
	for _, l := range a {
		laws = append(laws, l.Times(1/na))
	}
	for _, l := range b {
		laws = append(laws, l.Times(-1/nb))
	}
	return ratio{law: estimate.Sum(laws...), spread: spread, assumed: assumed}
}

// seen is Welch's comparison; the scatter of the runs holds the uncertainty of their ends, and is never less than that.
func seen(a, b estimate.Sample, within float64, extra estimate.Law) ratio {
	d := estimate.Welch(a, b)
	if least := math.Sqrt(within); !(d.U > least) {
		d.U, d.DF = max(least, 1e-9), math.Inf(1)
	}
	return ratio{law: estimate.Sum(estimate.StudentLaw(d.Diff, d.U, d.DF), extra), spread: pooled(a, b)}
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
	laws := make([]estimate.Law, len(rs))
	for i, r := range rs {
		laws[i] = r.law.Times(weights[i] / sum)
	}
	out.law = estimate.Sum(laws...)
	return out, out.estimate().Sound()
}

// estimate gives the ratio itself with its limits, open on the side that nothing bounds.
func (r ratio) estimate() estimate.Estimate {
	e := r.law.Exp().Estimate()
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

// verdict states what the ratio decides.
func (r ratio) verdict(a, b Code) Verdict {
	v := Verdict{Ratio: r.estimate(), Spread: r.spread, Assumed: r.assumed, P: r.chance(), Smallest: r.smallest()}
	v.Code = NoDifferenceShown
	switch {
	case v.Ratio.Low > 1:
		v.Code = a
	case v.Ratio.High < 1:
		v.Code = b
	}
	return v
}
