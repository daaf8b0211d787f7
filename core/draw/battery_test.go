package draw

import (
	"math"
	"testing"
)

// Peukert's factor is never claimed as charge, only as what is not known: it must lie inside the law for every exponent that
// lithium cells show, and at a factor of two the standard uncertainty is the usual 2 % (common practice, no source).
func TestLoadEffectKnownAnswers(t *testing.T) {
	for _, id := range []string{"energy-10", "energy-11", "energy-12"} {
		var in struct{ I, Ir float64 }
		var want struct{ Factor float64 }
		known(t, id, &in, &want)
		l := LoadEffect(in.I / in.Ir)
		low, high := l.X[0], l.X[len(l.X)-1]
		if f := math.Log(want.Factor); !(low-1e-12 <= f && f <= high+1e-12) {
			t.Errorf("%s: a factor of %.4f lies outside %.4f to %.4f", id, want.Factor, math.Exp(low), math.Exp(high))
		}
		near(t, id+" middle", l.Quantile(0.5), 0, 1e-12)
	}
	_, sd := LoadEffect(2).Moments()
	near(t, "u at twice the current", sd, 0.02, 1e-4)
	if l := LoadEffect(1); len(l.X) != 1 {
		t.Error("equal currents give unequal charges")
	}
}
