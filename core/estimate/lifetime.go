package estimate

import "math"

// LogNormal fits a log-normal law to values known only within limits, by maximum likelihood: each value lies between low
// and high, and a high of +Inf is one still running. It gives the mean and the standard deviation of the logarithm. ok is
// false when fewer than two values are closed, or when all of them could be equal, so that no spread is told.
func LogNormal(low, high []float64) (mu, sigma float64, ok bool) {
	closed := 0
	least, most := math.Inf(-1), math.Inf(1) // what all intervals share
	lo, hi := make([]float64, len(low)), make([]float64, len(low))
	for i := range low {
		lo[i], hi[i] = math.Log(low[i]), math.Log(high[i])
		least, most = max(least, lo[i]), min(most, hi[i])
		if !math.IsInf(hi[i], 1) {
			closed++
			mu += (lo[i] + hi[i]) / 2
		}
	}
	if closed < 2 || least <= most {
		return 0, 0, false
	}
	mu, sigma = mu/float64(closed), least-most
	for range 20000 {
		m, s := better(lo, hi, mu, sigma)
		done := math.Abs(m-mu)+math.Abs(s-sigma) < 1e-12*(1+math.Abs(m))
		if mu, sigma = m, s; done {
			break
		}
	}
	return mu, sigma, true
}

// better takes one step of the EM method (A. P. Dempster, N. M. Laird, D. B. Rubin, 1977): each value is replaced by its
// mean and variance inside its limits.
func better(lo, hi []float64, mu, sigma float64) (m, s float64) {
	n := float64(len(lo))
	means, vars := make([]float64, len(lo)), 0.0
	for i := range lo {
		mean, v := truncated((lo[i]-mu)/sigma, (hi[i]-mu)/sigma)
		means[i] = mu + sigma*mean
		m += means[i] / n
		vars += sigma * sigma * v
	}
	for _, x := range means {
		vars += (x - m) * (x - m)
	}
	return m, math.Sqrt(vars / n)
}

// truncated gives mean and variance of a standard normal value that lies between a and b.
func truncated(a, b float64) (mean, variance float64) {
	if b-a < 1e-3 { // the density is all but flat
		return (a + b) / 2, (b - a) * (b - a) / 12
	}
	if a+b < 0 { // in the right half the tails keep their digits
		mean, variance = truncated(-b, -a)
		return -mean, variance
	}
	z := normalBelow(-a) - normalBelow(-b)
	if z < 1e-300 {
		return a, 0
	}
	fa, fb := density(a), density(b)
	mean = (fa - fb) / z
	tail := 0.0
	if fb > 0 {
		tail = b * fb
	}
	return mean, max(0, 1+(a*fa-tail)/z-mean*mean)
}

func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
