package draw

import (
	"math"

	"lastbeacon/core/estimate"
)

// What is taken where nobody measured it (common practice): the tolerance of a stated transmit current and of a wattmeter,
// half-widths in percent, and the share of the battery's power that a handheld of the 5 W class turns into RF.
const (
	currentPct              = 10
	wattmeterPct            = 10
	efficiency, uEfficiency = 0.40, 0.08
)

// single splits the draw by what one transmission costs: with d the share of time on the air, the mean current is
// idle (1-d) + transmit current d.
func single(points []Point, tx Transmit, repeat float64) Split {
	p := points[len(points)-1]
	s := Split{Runs: 1, Basis: "tx_current", Common: estimate.ExactLaw(0)}
	s.Low, s.High = p.Load.PerHour().Best, p.Load.PerHour().Best
	air := p.Load.AirtimeS
	current, u, basis := tx.current(p.Draw.Volts)
	s.Basis = basis
	switch {
	case !air.Known || air.Open() || !(air.Best > 0):
		s.Reason = "no_airtime"
		return s
	case !(current > 0):
		s.Reason = "no_tx_current"
		return s
	}
	rate, mean := s.Low, p.Draw.MeanMA.Best
	share := rate * air.Best / 3600
	if share >= 0.5 {
		s.Reason = "negative"
		return s
	}
	s.Idle = (mean - current*share) / (1 - share)
	hours := air.Best / 3600
	s.Beacon = (current - s.Idle) * hours
	s.spread([]input{
		answer(mean*p.relative(repeat, false), 1/(1-share), 0, hours),
		answer(u, -share/(1-share), 1, hours),
		answer(standard(air)/3600, (mean-current)/square(1-share)*rate, (current-s.Idle)/hours, hours),
	})
	s.settle()
	return s
}

// An input of a split: its standard uncertainty and how idle current and beacon charge answer to it.
type input struct{ u, idle, beacon float64 }

// answer gives the input of standard uncertainty u to which the idle current answers by idle, and the beacon's charge by
// direct directly and through the idle current, which flows for the given hours of a beacon anyway.
func answer(u, idle, direct, hours float64) input {
	return input{u: u, idle: idle, beacon: (direct - idle) * hours}
}

func (s *Split) spread(inputs []input) {
	for _, in := range inputs {
		v := in.u * in.u
		s.Cov[0][0] += in.idle * in.idle * v
		s.Cov[1][1] += in.beacon * in.beacon * v
		s.Cov[0][1] += in.idle * in.beacon * v
	}
	s.Cov[1][0] = s.Cov[0][1]
}

// current gives the transmit current in mA and its standard uncertainty: as stated, else from RF power, efficiency and
// voltage. A power that is only a setting's name or a printed figure is not taken for a measurement of 10 %.
func (tx Transmit) current(volts float64) (ma, u float64, basis string) {
	if tx.CurrentMA > 0 {
		return tx.CurrentMA, tx.CurrentMA * estimate.Rect(currentPct/100.0), "tx_current"
	}
	if !(tx.PowerW > 0 && volts > 0) {
		return 0, 0, "rf_power"
	}
	meter := tx.MeterPct
	if meter == 0 {
		meter = wattmeterPct
	}
	if tx.PowerBasis != "measured" {
		meter = 2 * wattmeterPct
	}
	ma = tx.PowerW / (efficiency * volts) * 1000
	return ma, ma * math.Hypot(uEfficiency/efficiency, estimate.Rect(meter/100)), "rf_power"
}
