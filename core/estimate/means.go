package estimate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Z is the 97.5 % point of the normal distribution.
const Z = 1.959963984540054

// NormalQuantile gives the p quantile of the standard normal distribution.
func NormalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

func normalBelow(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// StudentQuantile gives the p quantile of Student's t; infinite df means the normal distribution.
func StudentQuantile(p, df float64) float64 {
	if math.IsInf(df, 1) {
		return NormalQuantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

func studentBelow(t, df float64) float64 { return distuv.StudentsT{Sigma: 1, Nu: df}.CDF(t) }

// About gives the normal estimate with standard uncertainty u.
func About(best, u float64) Estimate { return Of(best-Z*u, best, best+Z*u) }

// A Sample sums up repeated values: their number, mean and variance (0 for a single one).
type Sample struct {
	N         int
	Mean, Var float64
}

// SampleOf sums up xs.
func SampleOf(xs []float64) Sample {
	s := Sample{N: len(xs)}
	for _, x := range xs {
		s.Mean += x / float64(s.N)
	}
	if s.N < 2 {
		return s
	}
	for _, x := range xs {
		s.Var += (x - s.Mean) * (x - s.Mean) / float64(s.N-1)
	}
	return s
}

// ofMean gives the variance of the mean.
func (s Sample) ofMean() float64 { return s.Var / float64(s.N) }

// A Difference is a mean minus another, its standard uncertainty, and the degrees of freedom of that.
type Difference struct{ Diff, U, DF float64 }

// Welch compares the means of two samples of at least two values each, with unequal variances (B. L. Welch, Biometrika
// 1947; degrees of freedom after Satterthwaite).
func Welch(a, b Sample) Difference {
	va, vb := a.ofMean(), b.ofMean()
	d := Difference{Diff: a.Mean - b.Mean, U: math.Sqrt(va + vb)}
	d.DF = (va + vb) * (va + vb) / (va*va/float64(a.N-1) + vb*vb/float64(b.N-1))
	return d
}

// Fieller gives a/b of two independent means with variances va and vb and limits at k standard uncertainties (E. C.
// Fieller, JRSS B 1954). It is unknown when b is not told from 0, for then the limits do not enclose an interval.
func Fieller(a, b, va, vb, k float64) Estimate {
	g := k * k * vb / (b * b)
	if b == 0 || g >= 1 {
		return Unknown
	}
	r := a / b
	mid, half := r/(1-g), math.Abs(k/b)*math.Sqrt(va*(1-g)+r*r*vb)/(1-g)
	return Of(mid-half, r, mid+half)
}

// Holm tells which of several two-sided chances stay below alpha when all are judged together (S. Holm, Scand. J. Stat.
// 1979). Order is kept.
func Holm(p []float64, alpha float64) []bool {
	stands := make([]bool, len(p))
	for done := range p {
		best := -1
		for i := range p {
			if !stands[i] && (best < 0 || p[i] < p[best]) {
				best = i
			}
		}
		if !(p[best] <= alpha/float64(len(p)-done)) {
			break
		}
		stands[best] = true
	}
	return stands
}
