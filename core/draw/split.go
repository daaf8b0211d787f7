package draw

import (
	"math"
	"slices"

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
	noCurrent    bool    // the transmit current is neither stated nor to be worked out, and would count
}

// WantsCurrent tells whether a transmit current, or RF power and voltage that give one, is what a split lacks.
func (s Split) WantsCurrent() bool { return !s.Resolved && s.noCurrent }

// leastSpread is the ratio of rates below which two runs do not tell idle current and beacons apart.
const leastSpread = 1.5

// sure is the relative uncertainty of the charge per beacon below which the runs alone are taken.
const sure = 0.25

// SplitOf parts the draw of a unit by its runs. repeat is the relative standard uncertainty from run to run. Where the rates
// tell little, what is known of one transmission is added: the transmit current, and failing that the RF power.
func SplitOf(points []Point, tx Transmit, repeat float64) Split {
	points = usable(points)
	if len(points) == 0 {
		return Split{Reason: "no_draw"}
	}
	alone := fromRuns(points, repeat)
	if alone.Resolved && math.Sqrt(alone.Cov[1][1]) < sure*alone.Beacon {
		return alone
	}
	helped := withTransmission(points, tx, repeat)
	if helped.Resolved || alone.Reason == "one_rate" {
		return helped
	}
	alone.noCurrent = helped.noCurrent
	return alone
}

// usable keeps the runs with a closed draw and a known rate.
func usable(points []Point) []Point {
	var out []Point
	for _, p := range points {
		rate := p.Load.PerHour()
		if p.Draw.MeanMA.Positive() && !p.Draw.MeanMA.Open() && rate.Sound() && rate.Low >= 0 && !rate.Open() {
			out = append(out, p)
		}
	}
	return out
}

// fromRuns draws the line of current over rate through the runs.
func fromRuns(points []Point, repeat float64) Split {
	s := Split{Basis: "runs", Runs: len(points)}
	s.Low, s.High = rates(points)
	switch {
	case s.High <= 1.02*s.Low:
		s.Reason = "one_rate"
		return s
	case s.High < leastSpread*s.Low:
		s.Reason = "rates_too_close"
		return s
	}
	common, shared := commonLaw(points)
	s.Common = common
	s.fit(points, repeat, shared, nil)
	return s
}

// A row is one equation of the fit: idle x Idle + beacon x Beacon = value, with its standard uncertainty.
type row struct{ idle, beacon, value, u float64 }

// fit solves the rows of all runs, and further ones, by weighted least squares; an uncertain rate counts through the slope
// (effective variance, two rounds).
func (s *Split) fit(points []Point, repeat float64, shared bool, more []row) {
	for range 3 {
		rows := slices.Clone(more)
		for _, p := range points {
			rate, mean := p.Load.PerHour(), p.Draw.MeanMA.Best
			u := math.Hypot(mean*p.relative(repeat, shared), s.Beacon*standard(rate))
			rows = append(rows, row{idle: 1, beacon: rate.Best, value: mean, u: u})
		}
		fit, err := solve(rows)
		if err != nil {
			s.Reason = "rates_too_close"
			return
		}
		s.Idle, s.Beacon = fit.Coef[0], fit.Coef[1]
		s.Cov = [2][2]float64{{fit.Cov[0][0], fit.Cov[0][1]}, {fit.Cov[1][0], fit.Cov[1][1]}}
	}
	s.settle()
}

func solve(rows []row) (estimate.Fit, error) {
	n := len(rows)
	idle, beacon, value, w := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, r := range rows {
		idle[i], beacon[i], value[i], w[i] = r.idle, r.beacon, r.value, 1/square(max(r.u, 1e-9*r.value))
	}
	fit, err := estimate.LeastSquares([][]float64{idle, beacon}, value, w)
	if err == nil && fit.Scatters() {
		fit = fit.Scaled(fit.Residual()) // the rows scatter more than was assumed
	}
	return fit, err
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

// commonLaw gives the law of the error that all runs share: of the capacity when one pack of noted name fed them all, of the
// instrument when one of noted name measured all their charges.
func commonLaw(points []Point) (law estimate.Law, shared bool) {
	first := points[0].errsWith()
	for _, p := range points {
		if first == "" || p.errsWith() != first {
			return estimate.ExactLaw(0), false
		}
	}
	return relativeLaw(points[0].Draw.Charge.Law), true
}

// errsWith names what the error of a run's charge comes from; "" when nobody noted it.
func (p Point) errsWith() string { return p.Draw.Charge.ErrsWith(p.Pack) }

// ErrsWith names what the error of a charge comes from, so that it cancels between runs of one name and does not shrink in
// their mean: the instrument that measured it, else the pack. It is "" when that was not noted.
func (c Charge) ErrsWith(pack string) string {
	switch {
	case c.Own && c.Instrument != "":
		return string(c.Basis) + " by " + c.Instrument
	case c.Own || pack == "":
		return ""
	}
	return "pack " + pack
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
