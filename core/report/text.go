package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Duration words seconds as people say them: "12 h 43 min", "4 min 30 s", "0.8 s". It keeps minutes from an hour on and
// seconds from a minute on.
func Duration(s float64) string { return duration(s, math.Round) }

func duration(s float64, to func(float64) float64) string {
	switch {
	case math.IsNaN(s):
		return "not known"
	case s < 0:
		return "-" + Duration(-s)
	case s < 59.95:
		return trimZero(strconv.FormatFloat(to(10*s)/10, 'f', 1, 64)) + "\u00a0s"
	case s < 3599.5:
		whole := int64(to(s))
		return joinUnits(whole/60, "min", whole%60, "s")
	}
	minutes := int64(to(s / 60))
	return joinUnits(minutes/60, "h", minutes%60, "min")
}

// down and up round outward, without making one more of what binary fractions leave over.
func down(v float64) float64 { return math.Floor(v + 1e-6) }
func up(v float64) float64   { return math.Ceil(v - 1e-6) }

func joinUnits(a int64, aUnit string, b int64, bUnit string) string {
	if b == 0 {
		return fmt.Sprintf("%d\u00a0%s", a, aUnit)
	}
	return fmt.Sprintf("%d\u00a0%s\u00a0%d\u00a0%s", a, aUnit, b, bUnit)
}

func trimZero(s string) string { return strings.TrimSuffix(s, ".0") }

// durations words an estimate of seconds with its bounds, open ones as "at least" and "at most".
func durations(e *Estimate) string { return bounded(e, duration) }

// numbers words an estimate in a unit, at the precision that its bounds carry.
func numbers(e *Estimate, unit string) string {
	if e == nil {
		return "not known"
	}
	decimals := decimalsOf(e)
	scale := math.Pow10(decimals)
	return bounded(e, func(v float64, to func(float64) float64) string {
		return strconv.FormatFloat(to(v*scale)/scale, 'f', decimals, 64) + unit
	})
}

// bounded words an estimate; its limits are rounded outward.
func bounded(e *Estimate, word func(v float64, to func(float64) float64) string) string {
	switch {
	case e == nil || e.Best == nil && e.Low == nil && e.High == nil:
		return "not known"
	case e.High == nil && e.Low != nil:
		return "at least " + word(*e.Low, down)
	case e.Low == nil && e.High != nil:
		return "at most " + word(*e.High, up)
	case e.Low == nil || *e.Low == *e.High:
		return word(*e.Best, math.Round)
	case e.Best == nil:
		return word(*e.Low, down) + " to " + word(*e.High, up)
	}
	return fmt.Sprintf("%s (%s to %s)", word(*e.Best, math.Round), word(*e.Low, down), word(*e.High, up))
}

// decimalsOf keeps two digits of the width between the bounds, at most six decimals.
func decimalsOf(e *Estimate) int {
	if whole(e.Low) && whole(e.Best) && whole(e.High) {
		return 0 // a count
	}
	if e.Low == nil || e.High == nil || *e.High <= *e.Low {
		return 1
	}
	return min(max(1-int(math.Floor(math.Log10(*e.High-*e.Low))), 0), 6)
}

// whole tells whether a limit is open or a whole number.
func whole(v *float64) bool { return v == nil || *v == math.Trunc(*v) }

// clean makes a text from outside fit for a terminal or a Markdown cell: control and direction characters (Unicode's
// Bidi_Control) and line separators are shown as \uXXXX.
func clean(s string) string {
	odd := func(r rune) bool {
		return r < ' ' || r >= 0x7f && r < 0xa0 || r == 0x61c || r >= 0x200e && r <= 0x200f || r >= 0x2028 && r <= 0x202e || r >= 0x2066 && r <= 0x2069
	}
	if strings.IndexFunc(s, odd) < 0 {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if odd(r) {
			fmt.Fprintf(&b, "\\u%04x", r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// columnsUsed words which columns of a table were taken for what; "" where there are none.
func columnsUsed(f *File) string {
	var used []string
	for _, c := range f.Columns {
		if c.Meaning == "none" && !c.Said {
			continue
		}
		text := fmt.Sprintf(`"%s" is %s`, clean(c.Header), c.Meaning)
		if c.Header == "" {
			text = fmt.Sprintf("column %d is %s", c.No, c.Meaning)
		}
		if c.Meaning == "none" {
			text = strings.TrimSuffix(text, "none") + "not used"
		}
		if c.Said {
			text += " (set by you)"
		}
		used = append(used, text)
	}
	return strings.Join(used, ", ")
}
