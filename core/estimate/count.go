package estimate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// outside is the chance left out on each side of a 95 % interval.
const outside = 0.025

// Count gives the mean of a Poisson process of which n events were counted, with exact limits (Garwood, Biometrika 28,
// 1936, 437). Best is n itself. A negative n is unknown.
func Count(n int) Estimate {
	if n < 0 {
		return Unknown
	}
	e := Estimate{Best: float64(n), Known: true}
	if n > 0 {
		e.Low = distuv.Gamma{Alpha: float64(n), Beta: 1}.Quantile(outside)
	}
	e.High = distuv.Gamma{Alpha: float64(n) + 1, Beta: 1}.Quantile(1 - outside)
	return e
}

// Rate gives events per unit of exposure with the limits of Count; unknown when the exposure is not above 0.
func Rate(n int, exposure float64) Estimate {
	if !(exposure > 0) {
		return Unknown
	}
	return Count(n).Scale(1 / exposure)
}

// RateRatio gives the ratio of two Poisson rates, n1 events in exposure t1 over n2 in t2, and the two-sided p value of equal
// rates. Given n1 + n2, n1 is binomial: limits are Clopper and Pearson's carried over (Przyborowski and Wilenski,
// Biometrika 31, 1940, 313), p is twice the smaller tail, which never contradicts the limits. Nothing counted is unknown.
func RateRatio(n1 int, t1 float64, n2 int, t2 float64) (ratio Estimate, p float64) {
	if n1 < 0 || n2 < 0 || n1+n2 == 0 || !(t1 > 0) || !(t2 > 0) {
		return Unknown, 1
	}
	share := Proportion(n1, n1+n2)
	odds := func(s float64) float64 { return s / (1 - s) * t2 / t1 } // 1 gives +Inf: open above
	ratio = Estimate{Low: odds(share.Low), Best: odds(share.Best), High: odds(share.High), Known: true}
	equal := distuv.Binomial{N: float64(n1 + n2), P: t1 / (t1 + t2)}
	below := equal.CDF(float64(n1))
	above := 1 - equal.CDF(float64(n1)-1)
	return ratio, min(1, 2*min(below, above))
}

// Proportion gives x of n with exact limits (Clopper and Pearson, Biometrika 26, 1934, 404): the ones to claim by.
func Proportion(x, n int) Estimate {
	if x < 0 || n < x || n == 0 {
		return Unknown
	}
	e := Estimate{Low: 0, Best: float64(x) / float64(n), High: 1, Known: true}
	if x > 0 {
		e.Low = distuv.Beta{Alpha: float64(x), Beta: float64(n-x) + 1}.Quantile(outside)
	}
	if x < n {
		e.High = distuv.Beta{Alpha: float64(x) + 1, Beta: float64(n - x)}.Quantile(1 - outside)
	}
	return e
}

// Wilson gives x of n with score limits without continuity correction (Wilson, J. Am. Stat. Assoc. 22, 1927, 209): narrower
// than Proportion and right on average, for showing.
func Wilson(x, n int) Estimate {
	if x < 0 || n < x || n == 0 {
		return Unknown
	}
	z := distuv.UnitNormal.Quantile(1 - outside)
	size, share := float64(n), float64(x)/float64(n)
	middle := share + z*z/(2*size)
	half := z * math.Sqrt(share*(1-share)/size+z*z/(4*size*size))
	scale := 1 + z*z/size
	return Estimate{Low: max(0, (middle-half)/scale), Best: share, High: min(1, (middle+half)/scale), Known: true}
}

// Fisher gives the chance that a share as low as x1 of n1, beside x2 of n2, arises when both shares are equal: the lower
// tail of the hypergeometric law (Fisher's exact test, one-sided). It is 1 when either side is empty.
func Fisher(x1, n1, x2, n2 int) float64 {
	if n1 <= 0 || n2 <= 0 {
		return 1
	}
	hits := x1 + x2
	all := logChoose(n1+n2, hits)
	sum := 0.0
	for k := max(0, hits-n2); k <= x1; k++ {
		sum += math.Exp(logChoose(n1, k) + logChoose(n2, hits-k) - all)
	}
	return min(1, sum)
}

func logChoose(n, k int) float64 {
	if k < 0 || k > n {
		return math.Inf(-1)
	}
	a, _ := math.Lgamma(float64(n) + 1)
	b, _ := math.Lgamma(float64(k) + 1)
	c, _ := math.Lgamma(float64(n-k) + 1)
	return a - b - c
}
