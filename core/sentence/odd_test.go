package sentence

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/estimate"
)

func TestOddNumbersAreNeverWritten(t *testing.T) {
	odd := []float64{0, -1, 1e-12, 1e18, 3.7, math.Inf(1), math.Inf(-1), math.NaN()}
	for _, low := range odd {
		for _, best := range odd {
			for _, high := range odd {
				e := estimate.Of(low, best, high)
				for _, s := range []string{Bounded(e, "mA"), LastingBounded(e), Percent(best), Span(best), plain(best, "W"),
					pair(func(v *Verdict) { v.ValueA, v.Ratio = e, e }).RuntimeBasis(), draw(func(v *Verdict) { v.Judged, v.JudgedA = e, e }).DrawBasis()} {
					if strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
						t.Fatalf("%q from %v", s, e)
					}
				}
			}
		}
	}
}
