package sentence

import (
	"math"
	"strconv"

	"lastbeacon/core/estimate"
)

// Span gives seconds as people say them: "12 h 43 min", "47 min", "90 s".
func Span(seconds float64) string { return spanTo(seconds, 1) }

// gap gives the time between beacons as the page's tables do: to a tenth of a minute from four minutes on.
func gap(seconds float64) string {
	if seconds >= 240 && seconds < 600 {
		seconds = math.Round(seconds/6) * 6
	}
	return Span(seconds)
}

// spanTo rounds to a step of minutes once seconds no longer matter.
func spanTo(seconds float64, stepMin int) string {
	if math.IsInf(seconds, 0) || math.IsNaN(seconds) {
		return "not known"
	}
	if seconds < 0 {
		return "−" + spanTo(-seconds, stepMin)
	}
	if seconds < 600 && stepMin <= 1 {
		return brief(seconds)
	}
	step := float64(stepMin) * 60
	total := int(math.Round(seconds/step)) * stepMin
	h, m := total/60, total%60
	switch {
	case h == 0:
		return strconv.Itoa(m) + nbsp + "min"
	case m == 0:
		return strconv.Itoa(h) + nbsp + "h"
	}
	return strconv.Itoa(h) + nbsp + "h" + nbsp + strconv.Itoa(m) + nbsp + "min"
}

// brief gives a span of less than ten minutes.
func brief(seconds float64) string {
	switch whole := math.Round(seconds); {
	case seconds < 10 && seconds != whole:
		return round(seconds, 1) + nbsp + "s"
	case whole < 120 || math.Mod(whole, 60) != 0 && whole < 300:
		return round(whole, 0) + nbsp + "s"
	case math.Mod(whole, 60) == 0:
		return round(whole/60, 0) + nbsp + "min"
	default:
		return round(math.Floor(whole/60), 0) + nbsp + "min" + nbsp + round(math.Mod(whole, 60), 0) + nbsp + "s"
	}
}

// step gives the minutes to which a span of this half-width is rounded, as the page's tables do.
func step(half float64) int {
	if half >= 50*60 && !math.IsInf(half, 0) {
		return 10
	}
	return 1
}

// Lasting gives a run time: "12 h 43 min", "at least 6 h 10 min".
func Lasting(e estimate.Estimate) string {
	switch {
	case !e.Sound():
		return "not known"
	case math.IsInf(e.High, 1):
		return "at least " + spanDown(e.Low, 1)
	case math.IsInf(e.Low, -1):
		return "at most " + spanUp(e.High, 1)
	}
	return spanTo(e.Best, step(halfWidth(e)))
}

// spanDown never says more than a lower limit.
func spanDown(seconds float64, stepMin int) string { return spanBy(seconds, stepMin, down) }

// spanUp never says less than an upper limit.
func spanUp(seconds float64, stepMin int) string { return spanBy(seconds, stepMin, up) }

// spanBy rounds a limit to what spanTo shows of it.
func spanBy(seconds float64, stepMin int, to func(float64) float64) string {
	step := float64(stepMin) * 60
	if math.Abs(seconds) < 600 && stepMin <= 1 {
		step = 1
	}
	return spanTo(to(reported(seconds)/step)*step, stepMin)
}

// LastingBounded gives a run time with its limits, which are rounded outward: "12 h 43 min (12 h 38 min to 12 h 50 min)".
func LastingBounded(e estimate.Estimate) string {
	if !e.Sound() || e.Open() {
		return Lasting(e)
	}
	s := step(halfWidth(e))
	if spanTo(e.Low, s) == spanTo(e.High, s) {
		return Lasting(e)
	}
	return Lasting(e) + " (" + spanDown(e.Low, s) + " to " + spanUp(e.High, s) + ")"
}
