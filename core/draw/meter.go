package draw

import (
	"math"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// A Meter is what a meter in the lead counted over a run. Covered is the share of the run between readings that stand
// close enough to be joined; MAh and MWh are of that share. MWh is NaN when the log has no voltage. The zero Meter is none.
type Meter struct{ MAh, MWh, Covered float64 }

// widest is the longest step, in seconds, that is joined between two readings, unless the log is as slow throughout.
const widest = 60.0

// Integrate adds up the readings between from and to by the trapezoidal rule. Readings must stand in order of time.
func Integrate(readings []evidence.Reading, from, to clock.Instant) Meter {
	var m Meter
	longest := max(widest, 3*medianStep(readings))
	joined := 0.0
	for i := 1; i < len(readings); i++ {
		a, b := readings[i-1], readings[i]
		step := b.At.Sub(a.At).Seconds()
		if a.At < from || b.At > to || step > longest || math.IsNaN(a.Amps) || math.IsNaN(b.Amps) {
			continue
		}
		joined += step
		m.MAh += (a.Amps + b.Amps) / 2 * step / 3.6
		m.MWh += (a.Amps*a.Volts + b.Amps*b.Volts) / 2 * step / 3.6
	}
	if whole := to.Sub(from).Seconds(); whole > 0 {
		m.Covered = joined / whole
	}
	return m
}

// medianStep gives the middle step in seconds between readings.
func medianStep(readings []evidence.Reading) float64 {
	if len(readings) < 2 {
		return 0
	}
	steps := make([]float64, 0, len(readings)-1)
	for i := 1; i < len(readings); i++ {
		steps = append(steps, readings[i].At.Sub(readings[i-1].At).Seconds())
	}
	return median(steps)
}
