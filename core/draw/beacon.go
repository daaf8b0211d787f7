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

// withTransmission adds one equation to those of the runs: a beacon costs what the transmit current is above the idle
// current, for the time on the air. One run is then enough.
func withTransmission(points []Point, tx Transmit, repeat float64) Split {
	s := Split{Runs: len(points), Common: estimate.ExactLaw(0)}
	s.Low, s.High = rates(points)
	latest := points[len(points)-1]
	air := latest.Load.AirtimeS
	current, u, basis := tx.current(latest.Draw.Volts)
	s.Basis = basis
	switch {
	case !air.Positive() || air.Open():
		s.Reason = "no_airtime"
		return s
	case !(current > 0):
		s.Reason, s.noCurrent = "no_tx_current", true
		return s
	}
	hours := air.Best / 3600
	s.fit(points, repeat, false, []row{{idle: hours, beacon: 1, value: current * hours,
		u: math.Hypot(u*hours, current*standard(air)/3600)}})
	return s
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
