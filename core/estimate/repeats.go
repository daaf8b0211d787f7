package estimate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Plan is a number of repeats per unit and the chance with which they show what they are to show.
type Plan struct {
	Runs  int
	Power float64
}

// mostRuns ends every search for a number of repeats.
const mostRuns = 10000

// RunsToDiffer gives how many runs of each unit show a relative difference with the given power, by a two-sided t test of
// 5 % where both units scatter by cv. Runs is 0 when more than 10,000 were needed.
func RunsToDiffer(diff, cv, power float64) Plan {
	effect := diff / cv
	guess := byNormal(effect, distuv.UnitNormal.Quantile(0.975)+distuv.UnitNormal.Quantile(power))
	return leastRuns(power, guess, func(n float64) float64 { return powerToDiffer(n, effect) })
}

// powerToDiffer gives the power of a two-sided two-sample t test of 5 % with n values each (any n above 1) and a true
// difference of effect standard deviations. The far tail is left out, as is usual.
func powerToDiffer(n, effect float64) float64 {
	df := 2 * (n - 1)
	return 1 - distuv.NoncentralT{Nu: df, Mu: effect * math.Sqrt(n/2)}.CDF(StudentQuantile(0.975, df))
}

// RunsToEqual gives how many runs of each unit show equivalence within a relative margin, by two one-sided tests of 5 %
// each, if there is no difference at all.
func RunsToEqual(margin, cv, power float64) Plan {
	effect := margin / cv
	guess := byNormal(effect, distuv.UnitNormal.Quantile(0.95)+distuv.UnitNormal.Quantile((1+power)/2))
	return leastRuns(power, guess, func(n float64) float64 { return powerToEqual(n, effect) })
}

// leastRuns looks about the number that the normal law needs, since the power at one number costs more than a guess.
func leastRuns(power, guess float64, at func(n float64) float64) Plan {
	n := int(max(2, min(guess, mostRuns)))
	p := at(float64(n))
	for p < power && n < mostRuns {
		n++
		p = at(float64(n))
	}
	for n > 2 {
		less := at(float64(n - 1))
		if less < power {
			break
		}
		n, p = n-1, less
	}
	if p < power {
		return Plan{}
	}
	return Plan{n, p}
}

// byNormal gives how many runs of each unit the normal law needs for a difference of effect standard deviations to reach a
// sum of two quantiles.
func byNormal(effect, quantiles float64) float64 { return 2 * math.Pow(quantiles/effect, 2) }

// powerToEqual averages, over the standard deviation s that n values each may show, the chance that the observed
// difference lies inside the margin by more than t s sqrt(2/n). Simpson's rule over the chi law of s.
func powerToEqual(n, margin float64) float64 {
	df := 2 * (n - 1)
	root := math.Sqrt(2 / n)
	t := StudentQuantile(0.95, df)
	most := margin / (t * root) // beyond this s the tests cannot pass
	lnC, _ := math.Lgamma(df / 2)
	f := func(s float64) float64 {
		if s <= 0 {
			return 0
		}
		lnDensity := math.Log(2) + df/2*math.Log(df/2) - lnC + (df-1)*math.Log(s) - df*s*s/2
		return math.Exp(lnDensity) * (2*normalBelow((margin-t*s*root)/root) - 1)
	}
	const steps = 2000
	h := min(most, 1+8/math.Sqrt(df)) / steps
	sum := f(0) + f(h*steps)
	for i := 1; i < steps; i++ {
		sum += f(float64(i)*h) * float64(2+2*(i%2))
	}
	return sum * h / 3
}

// ToleranceFactor gives k so that, with 95 % confidence, 95 % of all values exceed mean - k s of n values (the one-sided
// factor of ISO 16269-6).
func ToleranceFactor(n int) float64 {
	root := math.Sqrt(float64(n))
	t := distuv.NoncentralT{Nu: float64(n - 1), Mu: root * NormalQuantile(0.95)}
	return t.Quantile(0.95) / root
}
