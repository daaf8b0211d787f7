package schedule

import (
	"math"
	"testing"
	"time"
)

// The pass over fine stamps and the one that can be traced are one law, written twice for speed.
func TestPassIsThePassThatIsTraced(t *testing.T) {
	alike := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(b)) }
	for seed := range uint64(40) {
		u := makeUnit(seed)
		s := newSeries(u.times, time.Second)
		f := newFilter(s)
		f.cell = 0
		w := newWay(s, u.timeline)
		w.laid()
		rules := []rule{fixedRule{60}, fixedRule{97.3}, newDecay(60, 2, 600, w), newDecay(45, 1, 1800, w), newDecay(30, 6, 1920, w)}
		if w.known {
			rules = append(rules, plainAdapt(w, 600, 30, 800, 15), plainAdapt(w, 1200, 75, 3300, 0))
		}
		for i, r := range rules {
			for _, n := range []noise{{0.8, 0.02, 2}, {0.3, 0.1, 0.7}, {0.998, 0.002, 8}} {
				f.tracing = true
				want := f.over(r, n)
				f.tracing = false
				got := f.over(r, n)
				if !alike(got.logL, want.logL) || !alike(got.on, want.on) || !alike(got.slots, want.slots) || !alike(got.span, want.span) ||
					!alike(got.squares, want.squares) || !alike(got.lean, want.lean) || !alike(got.leanBase, want.leanBase) {
					t.Fatalf("unit %d, rule %d, %v: got %v, want %v", seed, i, n, got, want)
				}
				f.bar = want.logL + 1
				if short := f.over(r, n); !math.IsInf(short.logL, -1) {
					t.Fatalf("unit %d, rule %d, %v: got %v below the bar, want it abandoned", seed, i, n, short)
				}
				f.bar = math.Inf(-1)
			}
		}
	}
}

func TestBell(t *testing.T) {
	for z := -window; z <= window; z += 1e-3 {
		if got, want := bell(z), math.Exp(-z*z/2); math.Abs(got/want-1) > 1e-14 {
			t.Fatalf("bell(%v) = %v, want %v", z, got, want)
		}
	}
}
