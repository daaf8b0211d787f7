package bench

import (
	"cmp"
	"fmt"
	"math"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/estimate"
)

// mostSeconds bounds a run time: thirty years.
const mostSeconds = 1e9

var savedStates = []string{string(endurance.Ended), string(endurance.OnAirAtLogEnd), string(endurance.Lost), string(endurance.Stopped),
	string(endurance.NotedEnd), string(endurance.RecorderSilent), string(endurance.Asleep), string(endurance.NotHeard)}

// Check tells what of a saved run cannot be; at names its place.
func (s *Saved) Check(at string) error {
	c := checker{}
	c.saved(at, s)
	return c.err
}

func (c *checker) saved(at string, s *Saved) {
	c.oneOf(at+".state", s.State, savedStates...)
	c.oneOf(at+".schedule", s.Schedule, "fixed", "decaying", "adaptive", "irregular", "undecided")
	c.bounds(at+".runtime_s", &s.RuntimeS, mostSeconds)
	if c.err == nil && s.RuntimeS.Low == nil {
		c.fail(at+".runtime_s", "a run time needs a lower limit")
	}
	c.above(at+".over_s", s.OverS, mostSeconds)
	c.bounds(at+".sent", s.Sent, 1e9)
	c.bounds(at+".rate_per_h", s.RatePerH, 1e6)
	c.bounds(at+".airtime_s", s.AirtimeS, 1e4)
	c.counts(at+".missed", s.Missed, 1e9)
	c.counts(at+".share_heard", s.ShareHeard, 1)
	c.within(at+".busy_pct", s.BusyPct, 0, 1e4)
	transmitted, relayed := float64(s.Transmitted), float64(s.Relayed)
	c.within(at+".transmissions", &transmitted, 0, 1e9)
	c.within(at+".relayed", &relayed, 0, 1e9)
	c.within(at+".fix_pct", s.FixPct, 0, 100)
	c.within(at+".moving_pct", s.MovingPct, 0, 100)
	c.battery(at+".battery", s.Battery)
	c.tx(at+".tx", s.TX)
	if s.Conditions != nil {
		c.within(at+".conditions.temperature_c", s.Conditions.TemperatureC, -80, 100)
	}
	c.above(at+".charge_used_mah", s.ChargeMAh, 1e7)
	c.oneOf(at+".charge_basis", s.ChargeBasis, "recharged", "meter")
	for _, t := range []*string{s.Start, s.End, s.EndEarliest, s.EndLatest, s.LastHeard} {
		if t != nil {
			c.time(at, *t)
		}
	}
}

// bounds asks for numbers above 0 in order.
func (c *checker) bounds(at string, b *Bounds, most float64) {
	if b == nil {
		return
	}
	c.inOrder(at, b, math.SmallestNonzeroFloat64, most, "not above 0 and at most")
	if b.Best == nil && b.Low == nil {
		c.fail(at, "neither a best value nor a lower limit")
	}
}

// counts asks for numbers in order that may be 0.
func (c *checker) counts(at string, b *Bounds, most float64) {
	if b != nil {
		c.inOrder(at, b, 0, most, "not from 0 to")
	}
}

// inOrder asks for numbers from least to most, none below the one before; limits says so in words.
func (c *checker) inOrder(at string, b *Bounds, least, most float64, limits string) {
	for _, v := range []*float64{b.Low, b.Best, b.High} {
		if v == nil {
			continue
		}
		if !(*v >= least && *v <= most) {
			c.fail(at, fmt.Sprintf("%g is out of order, or %s %g", *v, limits, most))
		}
		least = max(least, *v)
	}
}

// Estimate gives the figure as the stages know it; an absent upper limit is open. The nil Bounds is unknown.
func (b *Bounds) Estimate() estimate.Estimate {
	if b == nil || b.Low == nil {
		return estimate.Unknown
	}
	e := estimate.Of(*b.Low, *b.Low, math.Inf(1))
	if b.High != nil {
		e.High = *b.High
	}
	if b.Best != nil {
		e.Best = *b.Best
	}
	return e
}

// Span gives when the run began and ended, as far as that is known.
func (s *Saved) Span() (start, end clock.Instant) { return instant(s.Start), instant(s.End) }

// Draw gives what the draw of a saved run is worked out from.
func (s *Saved) Draw() (draw.Load, draw.Settings) {
	load := draw.Load{Time: s.RuntimeS.Estimate(), Sent: s.Sent.Estimate(), Rate: s.RatePerH.Estimate(),
		AirtimeS: s.AirtimeS.Estimate(), Relayed: s.Relayed, Mixed: !s.OneCharge,
		Noted: s.State == string(endurance.NotedEnd) || s.State == string(endurance.Stopped)}
	if s.OverS != nil {
		load.Over = estimate.Exact(*s.OverS)
	}
	u := Unit{Battery: s.Battery, Runs: []Run{{ChargeUsedMAh: s.ChargeMAh, ChargeBasis: s.ChargeBasis, Instrument: s.Instrument}}}
	return load, u.Draw(0)
}

// Take lays over a saved run what was noted of it: its own battery, and the charge measured for it.
func (s *Saved) Take(r *Run) {
	s.Battery = r.Battery.onto(s.Battery)
	if r.ChargeUsedMAh == nil {
		return
	}
	s.ChargeMAh, s.ChargeBasis, s.Instrument = r.ChargeUsedMAh, r.ChargeBasis, r.Instrument
	start, end := s.Span()
	if s.State == string(endurance.Stopped) && start.Known() && end > start {
		seconds := end.Sub(start).Seconds()
		s.OverS = &seconds
	}
}

// onto gives what is stated of b, and under it what is stated of another; nil when nothing is.
func (b *Battery) onto(under *Battery) *Battery {
	if b == nil || under == nil {
		return cmp.Or(b, under)
	}
	return &Battery{Pack: cmp.Or(b.Pack, under.Pack), Supply: cmp.Or(b.Supply, under.Supply), Basis: cmp.Or(b.Basis, under.Basis),
		CapacityMAh: cmp.Or(b.CapacityMAh, under.CapacityMAh), TolerancePct: cmp.Or(b.TolerancePct, under.TolerancePct),
		NominalV: cmp.Or(b.NominalV, under.NominalV), EnergyWh: cmp.Or(b.EnergyWh, under.EnergyWh)}
}

// Same tells whether two origins are one run of one report, whatever the file is called; without a digest its name decides.
func (o Origin) Same(other Origin) bool {
	if o.SHA256 == "" && o.File != other.File {
		return false
	}
	return o.SHA256 == other.SHA256 && o.Unit == other.Unit && o.Run == other.Run
}

// Overlaps tells whether two saved runs of one unit are the same: a unit runs one charge at a time.
func (s *Saved) Overlaps(o *Saved) bool {
	if s.From.Same(o.From) {
		return true
	}
	from, until := s.Span()
	from2, until2 := o.Span()
	return from.Known() && until.Known() && from2.Known() && until2.Known() && max(from, from2) < min(until, until2)
}
