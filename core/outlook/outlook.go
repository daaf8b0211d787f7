// Package outlook says what would happen: another pack, another schedule, a route, a duty cycle, a shift, the next test.
// Every projection is for a run yet to come, so it carries the spread from run to run and is never surer than the runs it
// stands on. What lies outside the tested range is flagged; what the runs cannot carry is refused.
package outlook

import (
	"cmp"
	"math"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// A Unit is what a projection stands on: the closed, rankable runs of one unit, its split, and what feeds it. CV is the
// relative spread from run to run.
type Unit struct {
	Name    string
	Runs    []Run
	Split   draw.Split
	Battery draw.Battery
	CV      float64
	Running bool // its latest run had not ended when the listening did
}

// A Run is one finished charge: seconds, beacons sent per hour, and its draw.
type Run struct {
	Time, Rate estimate.Estimate
	Draw       draw.Draw
}

// Whom a projection is about.
const (
	ThisUnit = "this_unit"
	ItsKind  = "another_of_its_kind"
)

// A Projection is what would happen. Kind: pack, schedule, route, share, shift. Share is the part of the charge used.
// Refused says why nothing is projected: "no_run", "running" (none has ended, and one goes on), "no_split", "no_charge", "no_currents", "too_far".
type Projection struct {
	Kind, Of      string
	Runtime       estimate.Estimate // s
	DrawMA        estimate.Estimate
	Transmissions estimate.Estimate
	Share         estimate.Estimate
	Extrapolated  bool
	Refused       string
	Spread        float64 // relative, assumed or seen
	Assumed       bool
}

func refuse(kind, why string) Projection {
	return Projection{Kind: kind, Of: ThisUnit, Refused: why}
}

// supplies are refusals that are about the other supply, by the code of the draw.
var supplies = map[string]string{"primary": "primary", "external": "external"}

// A pack of less than a third or more than three times the charge loads its cells outside what was tested.
const packReach = 3.0

// Pack projects the run time with another battery: T x C2/C1, or by energy where the voltages differ.
func Pack(u Unit, other draw.Battery) Projection {
	runs := u.charged()
	if len(runs) == 0 {
		return refuse("pack", u.noRun())
	}
	charge, why := draw.CapacityOf(other)
	if why != "" {
		return refuse("pack", cmp.Or(supplies[why], "no_charge"))
	}
	volts := 1.0
	if v := runs[0].Draw.Volts; v > 0 && other.Volts() > 0 {
		volts = other.Volts() / v
	}
	factor := charge.MAh.Best * volts / runs[0].Draw.Charge.MAh.Best
	laws := []estimate.Law{charge.Law.Log(), draw.LoadEffect(factor),
		estimate.NormalLaw(math.Log(volts), hypot(charge.Repeat, u.again(len(runs))))}
	for _, r := range runs {
		n := 1 / float64(len(runs))
		laws = append(laws, r.Draw.TimeLaw.Log().Times(n))
	}
	laws = append(laws, meanCharge(runs).Times(-1))
	p := Projection{Kind: "pack", Of: ThisUnit, Spread: u.CV, Assumed: true, Runtime: estimate.Sum(laws...).ExpEstimate()}
	p.Extrapolated = factor > packReach || factor < 1/packReach
	p.DrawMA = inverseTime(charge.MAh.Best, p.Runtime)
	return p
}

// meanCharge gives the law of the mean logarithm of the runs' charges. Capacities of one pack err together, so the error
// of the first stands for all.
func meanCharge(runs []Run) estimate.Law {
	mean := 0.0
	for _, r := range runs {
		mean += math.Log(r.Draw.Charge.Law.Quantile(0.5)) / float64(len(runs))
	}
	first := runs[0].Draw.Charge.Law
	return first.Times(math.Exp(mean) / first.Quantile(0.5)).Log()
}

// inverseTime gives the mean current in mA that empties a charge in the given time.
func inverseTime(mah float64, t estimate.Estimate) estimate.Estimate {
	return estimate.Of(mah/t.High*3600, mah/t.Best*3600, mah/t.Low*3600)
}

// charged keeps the runs whose charge and time are known.
func (u Unit) charged() []Run {
	var out []Run
	for _, r := range u.Runs {
		if r.Draw.Charge.MAh.Known && r.Draw.TimeLaw.Known() && r.Draw.TimeLaw.X[0] > 0 {
			out = append(out, r)
		}
	}
	return out
}

func (u Unit) noRun() string {
	switch {
	case len(u.Runs) > 0:
		return "no_charge"
	case u.Running:
		return "running"
	}
	return "no_run"
}

// again is the relative standard uncertainty of one further run about the mean of n.
func (u Unit) again(n int) float64 { return u.CV * math.Sqrt(1+1/float64(n)) }

// A Plan is what a unit would do over a stretch: beacons and seconds.
type Plan struct {
	Beacons estimate.Estimate
	Seconds float64
}

// mostPerHour is one beacon a second: beyond it there is nothing to project.
const mostPerHour = 3600

// Schedule projects draw and run time at another rate of beacons per hour.
func Schedule(u Unit, perHour float64) Projection {
	switch {
	case !u.Split.Resolved:
		return refuse("schedule", "no_split")
	case !(perHour >= 0 && perHour <= mostPerHour):
		return refuse("schedule", "too_far")
	}
	p := Projection{Kind: "schedule", Of: ThisUnit, Spread: u.CV, Assumed: true, DrawMA: u.Split.At(perHour)}
	p.Extrapolated = u.outside(perHour)
	used := u.used(perHour, 0)
	if !used.Known() {
		return p
	}
	p.Runtime = used.Times(-1).ExpEstimate().Scale(3600)
	p.Transmissions = p.Runtime.Scale(perHour / 3600)
	return p
}

// Route projects what a journey takes: transmissions, mean current, share of the charge, and how long the charge would
// last at that mix. The number of beacons is the caller's, by due times along the journey.
func Route(u Unit, plan Plan) Projection {
	hours := plan.Seconds / 3600
	switch {
	case !u.Split.Resolved:
		return refuse("route", "no_split")
	case !plan.Beacons.Sound() || !(hours > 0) || !(plan.Beacons.High/hours <= mostPerHour) || plan.Beacons.Low < 0:
		return refuse("route", "too_far")
	}
	low, best, high := plan.Beacons.Low/hours, plan.Beacons.Best/hours, plan.Beacons.High/hours
	p := Projection{Kind: "route", Of: ThisUnit, Spread: u.CV, Assumed: true, Transmissions: plan.Beacons}
	u95 := (high - low) / 2 * u.Split.Beacon
	now := u.Split.At(best)
	p.DrawMA = estimate.Of(now.Best-hypot(now.Best-now.Low, u95), now.Best, now.Best+hypot(now.High-now.Best, u95))
	p.Extrapolated = u.outside(best)
	used := u.used(best, (high-low)/2/estimate.Z)
	if !used.Known() {
		return p
	}
	p.Runtime = used.Times(-1).ExpEstimate().Scale(3600)
	p.Share = used.ExpEstimate().Scale(hours)
	return p
}

// outside tells whether a rate lies beyond half the lowest or twice the highest that was tested.
func (u Unit) outside(perHour float64) bool {
	return perHour < u.Split.Low/2 || perHour > 2*u.Split.High
}

// used gives the law of the logarithm of the share of the charge that one hour takes at a rate, which itself is uncertain by
// ur. Where one pack fed all runs the error of its capacity cancels, for it stands in charge and current alike.
func (u Unit) used(perHour, ur float64) estimate.Law {
	charge, why := draw.CapacityOf(u.Battery)
	ma, uma := u.Split.MA(perHour)
	if why != "" || !(ma > 0) {
		return estimate.Law{}
	}
	capacity := charge.Law.Log()
	if len(u.Split.Common.X) > 1 {
		capacity = estimate.ExactLaw(math.Log(charge.Law.Quantile(0.5)))
	}
	own := hypot(uma/ma, ur*u.Split.Beacon/ma, u.CV, charge.Repeat)
	tested, _ := u.Split.MA(min(max(perHour, u.Split.Low), u.Split.High))
	return estimate.Sum(estimate.NormalLaw(math.Log(ma), own), draw.LoadEffect(ma/tested), capacity.Times(-1))
}

func hypot(xs ...float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x * x
	}
	return math.Sqrt(s)
}
