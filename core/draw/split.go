package draw

import (
	"math"

	"lastbeacon/core/estimate"
)

// A Point is one run in a split: what it carried, what it drew, and which pack fed it.
type Point struct {
	Load Load
	Draw Draw
	Pack string
}

// A Split parts a unit's draw into the current that flows without beacons and the charge that one more beacon costs.
// The two err together: Cov holds the variances (mA², mAh²) and covariance of Idle and Beacon without the capacity's
// error, which Common (the law of a logarithm) carries for both at once. Basis: "runs", "tx_current" or "rf_power".
// Reason says why nothing is resolved: "no_draw", "one_rate", "rates_too_close", "too_vague", "negative", "no_airtime",
// "no_tx_current".
type Split struct {
	IdleMA       estimate.Estimate
	MAhPerBeacon estimate.Estimate
	Idle, Beacon float64
	Cov          [2][2]float64
	Common       estimate.Law
	Basis        string
	Runs         int
	Resolved     bool
	Reason       string
	Low, High    float64 // the rates per hour that were tested
}

// leastSpread is the ratio of rates below which two runs do not tell idle current and beacons apart.
const leastSpread = 1.5

// SplitOf parts the draw of a unit by its runs. repeat is the relative standard uncertainty from run to run. With one rate
// only, the transmit current stands in, and failing that the RF power.
func SplitOf(points []Point, tx Transmit, repeat float64) Split {
	points = usable(points)
	if len(points) == 0 {
		return Split{Reason: "no_draw"}
	}
	s := fitted(points, repeat)
	if s.Resolved {
		return s
	}
	if one := single(points, tx, repeat); one.Resolved || s.Reason == "one_rate" {
		return one
	}
	return s
}

// usable keeps the runs with a closed draw and a known rate.
func usable(points []Point) []Point {
	var out []Point
	for _, p := range points {
		rate := p.Load.PerHour()
		if p.Draw.MeanMA.Known && !p.Draw.MeanMA.Open() && rate.Known && !rate.Open() && rate.Best > 0 {
			out = append(out, p)
		}
	}
	return out
}

// fitted draws the line of current over rate through the runs, weighted by their uncertainty; an uncertain rate counts
// through the slope (effective variance, two rounds).
func fitted(points []Point, repeat float64) Split {
	s := Split{Basis: "runs", Runs: len(points)}
	s.Low, s.High = rates(points)
	if s.High/s.Low < leastSpread {
		s.Reason = "rates_too_close"
		if s.High/s.Low < 1.02 {
			s.Reason = "one_rate"
		}
		return s
	}
	common, shared := commonLaw(points)
	s.Common = common
	fit, err := line(points, repeat, shared)
	if err != nil {
		s.Reason = "rates_too_close"
		return s
	}
	s.Idle, s.Beacon = fit.Coef[0], fit.Coef[1]
	for i := range 2 {
		for j := range 2 {
			s.Cov[i][j] = fit.Cov[i][j]
		}
	}
	s.settle()
	return s
}

func line(points []Point, repeat float64, shared bool) (estimate.Fit, error) {
	n := len(points)
	ones, rate, mean, w := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	var fit estimate.Fit
	slope := 0.0
	for range 3 {
		for i, p := range points {
			ones[i], rate[i], mean[i] = 1, p.Load.PerHour().Best, p.Draw.MeanMA.Best
			w[i] = 1 / (square(mean[i]*p.relative(repeat, shared)) + square(slope*standard(p.Load.PerHour())))
		}
		var err error
		if fit, err = estimate.LeastSquares([][]float64{ones, rate}, mean, w); err != nil {
			return fit, err
		}
		slope = fit.Coef[1]
	}
	if fit.Scatters() {
		fit = fit.Scaled(fit.Residual()) // the runs scatter more than was assumed
	}
	return fit, nil
}

// relative gives the relative standard uncertainty of one run's mean current; the capacity counts only where it is not
// shared by all runs.
func (p Point) relative(repeat float64, shared bool) float64 {
	mean, sd := p.Draw.TimeLaw.Moments()
	v := square(sd/mean) + square(max(repeat, p.Draw.Charge.Repeat))
	if !shared {
		m, sd := p.Draw.Charge.Law.Moments()
		v += square(sd / m)
	}
	return math.Sqrt(v)
}

// commonLaw gives the law of the capacity's error when all runs were fed by one pack of noted name.
func commonLaw(points []Point) (law estimate.Law, shared bool) {
	first := points[0]
	for _, p := range points {
		if p.Pack == "" || p.Pack != first.Pack || p.Draw.Charge.Own {
			return estimate.ExactLaw(0), false
		}
	}
	return relativeLaw(first.Draw.Charge.Law), true
}

// relativeLaw gives the law of the logarithm of a charge over its best value.
func relativeLaw(l estimate.Law) estimate.Law {
	return l.Times(1 / l.Quantile(0.5)).Log()
}

// settle decides whether the split is resolved and states its estimates.
func (s *Split) settle() {
	ub, ui := math.Sqrt(s.Cov[1][1]), math.Sqrt(s.Cov[0][0])
	switch {
	case s.Beacon <= 0 || s.Idle <= 0:
		s.Reason = "negative"
		return
	case ub/s.Beacon > 0.5:
		s.Reason = "too_vague"
		return
	}
	s.Resolved = true
	s.IdleMA, s.MAhPerBeacon = s.scaled(s.Idle, ui), s.scaled(s.Beacon, ub)
}

// scaled gives value with standard uncertainty u, times the error common to all.
func (s Split) scaled(value, u float64) estimate.Estimate {
	own := estimate.NormalLaw(value, u)
	if len(s.Common.X) < 2 {
		return estimate.About(value, u)
	}
	return estimate.Sum(own, s.Common.Map(func(x float64) float64 { return value * math.Expm1(x) })).Estimate()
}

// MA gives the mean current in mA at a rate of beacons per hour and its standard uncertainty without the common error.
func (s Split) MA(perHour float64) (ma, u float64) {
	ui, ub := math.Sqrt(s.Cov[0][0]), math.Sqrt(s.Cov[1][1])
	together := func(_, _ int) float64 { return s.Cov[0][1] / max(ui*ub, math.SmallestNonzeroFloat64) }
	return s.Idle + s.Beacon*perHour, estimate.Combined([]float64{1, perHour}, []float64{ui, ub}, together)
}

// At gives the mean current at a rate of beacons per hour, all errors included.
func (s Split) At(perHour float64) estimate.Estimate { return s.scaled(s.MA(perHour)) }

// rates gives the lowest and the highest rate tested.
func rates(points []Point) (low, high float64) {
	low = math.Inf(1)
	for _, p := range points {
		r := p.Load.PerHour().Best
		low, high = min(low, r), max(high, r)
	}
	return low, high
}

// standard reads a standard uncertainty off the limits of an estimate, as of a normal law.
func standard(e estimate.Estimate) float64 { return (e.High - e.Low) / (2 * estimate.Z) }

func square(x float64) float64 { return x * x }
