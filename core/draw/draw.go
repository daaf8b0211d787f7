package draw

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"lastbeacon/core/estimate"
)

// A Load is one run as this package needs it.
type Load struct {
	Time     estimate.Estimate // s from power-on to the end; High is open when the run did not end
	Over     estimate.Estimate // s over which a noted charge flowed, where the run was stopped on purpose; else unknown
	Sent     estimate.Estimate // beacons sent, heard or not
	Rate     estimate.Estimate // beacons sent per hour
	AirtimeS estimate.Estimate // s on the air of one transmission
	Relayed  int               // packets of others that it was heard to repeat
	Mixed    bool              // perhaps more, or less, than one full charge
	Noted    bool              // a person noted its end; no packets told it
}

// Settings of one run.
type Settings struct {
	Battery       Battery
	ChargeUsedMAh float64 // charge put back or metered after this very run; 0 when not noted
	ChargeBasis   Basis   // Recharged or Metered
	Instrument    string  // which charger or meter measured this run's charge: the same name is the same one; "" not noted
	Meter         Meter   // a meter log over this run
}

// A Charge is what a run took from its battery. Law is its spread without the charge-to-charge part, so that it cancels
// between runs on one pack; Repeat is that part, as a relative standard uncertainty, 0 when this very run was measured.
type Charge struct {
	MAh      estimate.Estimate
	Law      estimate.Law
	Repeat   float64
	Basis    Basis
	Own      bool // measured for this very run; otherwise it is the pack's capacity
	Inferred bool // from a printed or unproven capacity
	Parts    []estimate.Part
	// The charger or meter behind an Own charge. Runs measured by one instrument share its error.
	Instrument string
}

// A Draw is what one run took. Currents in mA, charge in mAh, power in mW, energy in mWh, CRate in 1/h. A run that did
// not end has MeanMA open below: it took at most that much. Refused says why MeanMA is unknown: "no_capacity", "primary",
// "external", "still_running", "no_time", "not_one_charge". TimeLaw is the law of the seconds that count for the draw.
type Draw struct {
	Charge             Charge
	MeanMA             estimate.Estimate
	MAhPerMin          estimate.Estimate
	MeanMW             estimate.Estimate
	EnergyMWh          estimate.Estimate
	CRate              estimate.Estimate
	MAhPerTransmission estimate.Estimate
	Volts              float64
	Supply             Supply
	Budget             []estimate.Part
	TimeLaw            estimate.Law
	Refused            string
}

// Of works out the draw of one run.
func Of(load Load, set Settings) Draw {
	var d Draw
	d.Volts, d.Supply = set.Battery.Volts(), set.Battery.Supply
	d.Charge, d.Refused = charge(set)
	span, law := load.span(d.Charge.Own)
	d.TimeLaw = law
	switch {
	case !span.Positive():
		d.Refused = cmp.Or(d.Refused, "no_time")
		return d
	case load.Mixed && !d.Charge.Own:
		d.Refused, d.TimeLaw = "not_one_charge", estimate.Law{}
		return d
	case !law.Known(): // still running: a limit on one side
		d.atMost(span)
		return d
	}
	d.CRate = cRate(d.Charge, law, set.Battery)
	if d.Refused != "" {
		return d
	}
	d.figures(load)
	return d
}

// span gives the seconds that the charge flowed. The charge of a stopped run counts only when it was measured itself.
func (l Load) span(own bool) (estimate.Estimate, estimate.Law) {
	if own && l.Over.Positive() && !l.Over.Open() {
		return l.Over, estimate.LawOf(l.Over)
	}
	if !l.Time.Sound() || math.IsInf(l.Time.High, 1) {
		return l.Time, estimate.Law{}
	}
	return l.Time, estimate.LawOf(l.Time)
}

// charge finds what the run took from its battery: what was measured for this run goes before the pack's capacity.
func charge(set Settings) (Charge, string) {
	c := Charge{Own: true, Instrument: set.Instrument}
	switch {
	case set.ChargeUsedMAh > 0:
		c.Basis = set.ChargeBasis
		c.measured(set.ChargeUsedMAh, measuredPct)
	case set.Meter.Covered >= 0.9:
		c.Basis = Metered
		c.measured(set.Meter.MAh/set.Meter.Covered, meterPct+(1-set.Meter.Covered)*50)
	default:
		return CapacityOf(set.Battery)
	}
	return c, ""
}

func (c *Charge) measured(mah, pct float64) {
	c.Law = estimate.Rectangular(mah, mah*pct/100)
	c.MAh = c.Law.Estimate()
	c.Parts = []estimate.Part{{Source: "charge", Type: 'B', Relative: estimate.Rect(pct / 100), Assumed: true}}
}

// CapacityOf gives the charge that a full battery holds for a unit, or the code why it is not known: "no_capacity",
// "primary", "external".
func CapacityOf(b Battery) (c Charge, refused string) {
	law, parts, refused := b.capacity()
	if refused != "" {
		return Charge{}, refused
	}
	c = Charge{Law: law, Repeat: Repeatability, Basis: b.Basis, Parts: parts}
	if c.Basis == "" {
		c.Basis = Unstated
	}
	c.Inferred = c.Basis != Measured && c.Basis != Recharged
	c.Parts = append(c.Parts, estimate.Part{Source: "charge_to_charge", Type: 'B', Relative: Repeatability, Assumed: true})
	c.MAh = c.whole().ExpEstimate()
	return c, ""
}

// whole gives the law of the logarithm of the charge, repeatability included.
func (c Charge) whole() estimate.Law {
	return estimate.Sum(c.Law.Log(), estimate.NormalLaw(0, c.Repeat))
}

// atMost handles a run that still goes: it has taken no more than its whole charge so far, so its mean lies below.
func (d *Draw) atMost(span estimate.Estimate) {
	if d.Refused != "" {
		return
	}
	d.Refused = "still_running"
	if most := d.Charge.MAh.High / span.Low * 3600; most > 0 {
		d.MeanMA = atMost(most)
		d.MAhPerMin = atMost(most / 60)
		if d.Volts > 0 {
			d.MeanMW = atMost(most * d.Volts)
		}
	}
}

func atMost(v float64) estimate.Estimate { return estimate.Of(math.Inf(-1), v, v) }

// figures fills in what follows from a known charge and a closed time.
func (d *Draw) figures(load Load) {
	ln := d.Charge.whole()
	mean := estimate.Sum(ln, d.TimeLaw.Times(1/3600.0).Log().Times(-1))
	d.MeanMA = mean.ExpEstimate()
	d.MAhPerMin = d.MeanMA.Scale(1 / 60.0)
	if d.Volts > 0 {
		volts := VoltageEffect().Plus(math.Log(d.Volts))
		d.MeanMW = estimate.Sum(mean, volts).ExpEstimate()
		d.EnergyMWh = estimate.Sum(ln, volts).ExpEstimate()
	}
	if n := load.transmissions(); n.Positive() && !n.Open() {
		d.MAhPerTransmission = estimate.Sum(ln, estimate.LawOf(n).Log().Times(-1)).ExpEstimate()
	}
	d.Budget = d.budget(load)
}

// transmissions gives what the unit sent in all, for itself and for others.
func (l Load) transmissions() estimate.Estimate {
	if !l.Sent.Known {
		return estimate.Unknown
	}
	n := float64(l.Relayed)
	return estimate.Of(l.Sent.Low+n, l.Sent.Best+n, l.Sent.High+n)
}

// PerHour gives the rate of all transmissions, for itself and for others.
func (l Load) PerHour() estimate.Estimate {
	if l.Relayed == 0 || !l.Rate.Sound() || !l.Time.Positive() {
		return l.Rate
	}
	more := float64(l.Relayed) / l.Time.Best * 3600
	return estimate.Of(l.Rate.Low+more, l.Rate.Best+more, l.Rate.High+more)
}

// budget lists the parts of the mean current, largest first.
func (d *Draw) budget(load Load) []estimate.Part {
	mean, sd := d.TimeLaw.Moments()
	time := estimate.Part{Source: "time", Type: 'A', Relative: sd / mean}
	if load.Noted {
		time.Type = 'B'
	}
	parts := append([]estimate.Part{time}, d.Charge.Parts...)
	sort.SliceStable(parts, func(i, j int) bool { return parts[j].Relative < parts[i].Relative })
	return parts
}

// cRate gives the mean current over the capacity. Where the charge is the capacity itself, it cancels: 1/T is left.
func cRate(c Charge, seconds estimate.Law, b Battery) estimate.Estimate {
	hours := seconds.Times(1 / 3600.0).Log()
	if !hours.Known() || b.Supply != Pack && b.Supply != "" {
		return estimate.Unknown
	}
	perHour := estimate.Sum(hours.Times(-1), estimate.NormalLaw(0, Repeatability))
	if !c.Own {
		return perHour.ExpEstimate()
	}
	capacity, _, refused := b.capacity()
	if refused != "" {
		return estimate.Unknown
	}
	return estimate.Sum(c.Law.Log(), capacity.Log().Times(-1), hours.Times(-1)).ExpEstimate()
}

// median gives the middle of xs, which it sorts.
func median(xs []float64) float64 {
	slices.Sort(xs)
	n := len(xs)
	return (xs[(n-1)/2] + xs[n/2]) / 2
}
