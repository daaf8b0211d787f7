// Package sentence puts what the analysis found into plain English: verdicts, conditions, questions, cautions, schedules,
// ends and projections, from values and codes. It decides nothing. Numbers are rounded to their uncertainty; a no-break
// space stands between a number and its unit; brackets hold the 95 % limits.
package sentence

import (
	"math"
	"strconv"
	"strings"

	"lastbeacon/core/estimate"
)

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// Count gives a number of things: "1 run", "1,204 packets".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1" + nbsp + one
	}
	return commas(int64(n)) + nbsp + many
}

// Size gives a number of bytes in decimal units: "84 MB", "1.2 kB".
func Size(bytes int64) string {
	value, unit := float64(max(0, bytes)), "B"
	for _, next := range []string{"kB", "MB", "GB", "TB"} {
		if value < 999.5 {
			break
		}
		value, unit = value/1000, next
	}
	if value < 9.95 && unit != "B" {
		return strconv.FormatFloat(value, 'f', 1, 64) + nbsp + unit
	}
	return strconv.FormatFloat(value, 'f', 0, 64) + nbsp + unit
}

// List joins words: "a, b and c".
func List(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// commas sets thousands apart: "1,204".
func commas(n int64) string {
	s := strconv.FormatInt(n, 10)
	for at := len(s) - 3; at > 0 && s[at-1] != '-'; at -= 3 {
		s = s[:at] + "," + s[at:]
	}
	return s
}

// decimals gives how many decimals a value deserves whose uncertainty (half-width) is half: two digits of it where they
// begin with 1 or 2, else one; four digits of the value where there is no uncertainty.
func decimals(value, half float64) int {
	if !(half > 0) || math.IsInf(half, 0) {
		if value == math.Trunc(value) {
			return 0
		}
		return clampDecimals(3 - magnitude(value))
	}
	m := magnitude(half)
	if half < 3*math.Pow10(m) {
		m--
	}
	return clampDecimals(-m)
}

func magnitude(v float64) int {
	if v == 0 {
		return 0
	}
	return int(math.Floor(math.Log10(math.Abs(v)) + 1e-9))
}

func clampDecimals(d int) int { return min(max(d, -6), 9) }

// round writes v with d decimals; a negative d rounds to tens, hundreds ... Thousands get commas.
func round(v float64, d int) string {
	if d < 0 {
		p := math.Pow10(-d)
		v, d = math.Round(v/p)*p, 0
	}
	s := strconv.FormatFloat(v, 'f', d, 64)
	if isZero(s) {
		s = strings.TrimPrefix(s, "-")
	}
	whole, fraction, _ := strings.Cut(s, ".")
	if n, err := strconv.ParseInt(strings.TrimPrefix(whole, "-"), 10, 64); err == nil && n >= 1000 {
		sign := whole[:len(whole)-len(strings.TrimPrefix(whole, "-"))]
		whole = sign + commas(n)
	}
	if fraction != "" {
		whole += "." + fraction
	}
	return strings.Replace(whole, "-", "−", 1)
}

func isZero(s string) bool { return strings.Trim(s, "-0.") == "" }

func halfWidth(e estimate.Estimate) float64 {
	if e.Open() {
		return 0
	}
	return (e.High - e.Low) / 2
}

// Number gives the best value alone, rounded to its uncertainty: "204 mA". Unknown is "not known".
func Number(e estimate.Estimate, unit string) string {
	switch {
	case !e.Sound():
		return "not known"
	case math.IsInf(e.High, 1):
		return "at least " + plainBy(e.Low, unit, down)
	case math.IsInf(e.Low, -1):
		return "at most " + plainBy(e.High, unit, up)
	}
	return withUnit(round(e.Best, limitDecimals(e, unit)), unit)
}

// limitDecimals gives how many decimals an estimate deserves. A ratio gets more where one of its limits lies beside 1 and would be
// rounded to it, for then it would seem to hold what a verdict excludes.
func limitDecimals(e estimate.Estimate, unit string) int {
	d := decimals(e.Best, coarseness(e, unit))
	for unit == "times" && d < 4 && (e.Low > 1 && rounded(e.Low, d, down) == 1 || e.High < 1 && rounded(e.High, d, up) == 1) {
		d++
	}
	return d
}

// coarseness gives the half-width that a number is rounded to. A ratio is never rounded to nothing: where its lower limit is smaller
// than that, to the limit.
func coarseness(e estimate.Estimate, unit string) float64 {
	half := halfWidth(e)
	if unit == "times" && e.Low > 0 {
		return min(half, e.Low)
	}
	return half
}

// Bounded gives the value with its limits: "204 mA (190 to 218)".
func Bounded(e estimate.Estimate, unit string) string {
	return strings.TrimSuffix(Number(e, unit)+" "+limits(e, unit), " ")
}

// limits gives the limits alone, rounded outward: "(190 to 218)"; empty for an exact, open or unknown number.
func limits(e estimate.Estimate, unit string) string {
	if !e.Sound() || e.Open() || e.Low == e.High {
		return ""
	}
	d := limitDecimals(e, unit)
	return "(" + round(rounded(e.Low, d, down), d) + " to " + round(rounded(e.High, d, up), d) + ")"
}

// reported gives a number as the report holds it, to six digits: sentences and tables round the same number.
func reported(v float64) float64 {
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	return v
}

// down and up round outward, without making one more of what binary fractions leave over.
func down(v float64) float64 { return math.Floor(v + 1e-6) }
func up(v float64) float64   { return math.Ceil(v - 1e-6) }

// rounded gives a limit with so many decimals; negative ones are tens, hundreds ...
func rounded(v float64, decimals int, to func(float64) float64) float64 {
	p := math.Pow10(decimals)
	return to(reported(v)*p) / p
}

// plain writes a number without uncertainty: whole ones as they are, others with three digits.
func plain(v float64, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "not known"
	}
	return withUnit(round(v, plainDecimals(v)), unit)
}

func plainDecimals(v float64) int {
	if v == math.Trunc(v) {
		return 0
	}
	return max(0, clampDecimals(2-magnitude(v)))
}

// plainBy is plain of a limit, rounded to one side.
func plainBy(v float64, unit string, to func(float64) float64) string {
	if v != math.Trunc(v) {
		v = rounded(v, plainDecimals(v), to)
	}
	return plain(v, unit)
}

func withUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + nbsp + unit
}

// Percent gives a relative figure: 0.03 is "3 %".
func Percent(r float64) string {
	p := r * 100
	switch {
	case math.IsNaN(p) || math.IsInf(p, 0):
		return "not known"
	case p >= 9.95 || math.Abs(p-math.Round(p)) < 0.05:
		return round(p, 0) + nbsp + "%"
	}
	return round(p, 1) + nbsp + "%"
}
