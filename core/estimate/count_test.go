package estimate

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// A known is one line of testdata/estimate/counts.jsonl; each line names its source.
type known struct {
	ID       string
	Inputs   struct{ Count, X, N, X1, X2, T1, T2, Time float64 }
	Expected map[string]float64
}

func knownCounts(t *testing.T, family string) []known {
	t.Helper()
	f, err := os.Open("../../testdata/estimate/counts.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all []known
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var k known
		if err := json.Unmarshal(lines.Bytes(), &k); err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(k.ID, family) {
			all = append(all, k)
		}
	}
	if len(all) == 0 {
		t.Fatalf("no known answers %q", family)
	}
	return all
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, tolerance)
	}
}

func TestCountAndRate(t *testing.T) {
	for _, k := range knownCounts(t, "poisson") {
		n := int(k.Inputs.Count)
		got := Count(n)
		if k.Inputs.Time > 0 {
			got = Rate(n, k.Inputs.Time)
			near(t, k.ID+" rate", got.Best, k.Expected["rate"], 1e-8)
		}
		near(t, k.ID+" low", got.Low, k.Expected["lo"], 1e-8)
		near(t, k.ID+" high", got.High, k.Expected["hi"], 1e-8)
	}
}

func TestRateRatio(t *testing.T) {
	for _, k := range knownCounts(t, "ratio") {
		in := k.Inputs
		got, p := RateRatio(int(in.X1), in.T1, int(in.X2), in.T2)
		near(t, k.ID+" ratio", got.Best, k.Expected["ratio"], 1e-7)
		near(t, k.ID+" low", got.Low, k.Expected["lo"], 1e-7)
		near(t, k.ID+" high", got.High, k.Expected["hi"], 1e-7)
		near(t, k.ID+" p", p, k.Expected["p_twice_tail"], 5e-6)
	}
}

func TestProportion(t *testing.T) {
	for _, k := range knownCounts(t, "prop") {
		x, n := int(k.Inputs.X), int(k.Inputs.N)
		exact, score := Proportion(x, n), Wilson(x, n)
		near(t, k.ID+" exact low", exact.Low, k.Expected["cp_lo"], 1e-9)
		near(t, k.ID+" exact high", exact.High, k.Expected["cp_hi"], 1e-9)
		near(t, k.ID+" score low", score.Low, k.Expected["wilson_lo"], 1e-9)
		near(t, k.ID+" score high", score.High, k.Expected["wilson_hi"], 1e-9)
	}
}

// The p value and the interval must never contradict each other, and swapping the sides must turn the ratio over.
func TestRateRatioAgreesWithItself(t *testing.T) {
	for n1 := 0; n1 <= 12; n1++ {
		for n2 := 0; n2 <= 12; n2++ {
			if n1+n2 == 0 {
				continue
			}
			r, p := RateRatio(n1, 3, n2, 2)
			if excluded := r.Low > 1 || r.High < 1; excluded != (p < 0.05) {
				t.Errorf("%d in 3 against %d in 2: interval %v .. %v but p = %v", n1, n2, r.Low, r.High, p)
			}
			turned, q := RateRatio(n2, 2, n1, 3)
			near(t, "p turned over", q, p, 1e-9)
			if r.Low > 0 {
				near(t, "ratio turned over", turned.High*r.Low, 1, 1e-6)
			} else if !math.IsInf(turned.High, 1) {
				t.Errorf("%d against %d: low is 0, but turned over high is %v", n1, n2, turned.High)
			}
		}
	}
}

// The lady tasting tea: 3 of 4 cups right has one-sided chance 17/70 (Fisher, The Design of Experiments, 1935, chapter 2).
func TestFisher(t *testing.T) {
	near(t, "at most 1 of 4 beside 3 of 4", Fisher(1, 4, 3, 4), 17.0/70, 1e-12)
	near(t, "at most 0 of 4 beside 4 of 4", Fisher(0, 4, 4, 4), 1.0/70, 1e-12)
	near(t, "everything", Fisher(4, 4, 0, 4), 1, 1e-12)
	near(t, "empty side", Fisher(0, 0, 3, 4), 1, 0)
}

func TestNothingCountedIsUnknown(t *testing.T) {
	ratio, p := RateRatio(0, 1, 0, 1)
	for name, e := range map[string]Estimate{
		"ratio of nothing": ratio, "share of nothing": Proportion(0, 0), "score of nothing": Wilson(0, 0),
		"more than all": Proportion(3, 2), "rate over no time": Rate(3, 0), "negative count": Count(-1),
	} {
		if e.Known {
			t.Errorf("%s = %v, want unknown", name, e)
		}
	}
	if p != 1 {
		t.Errorf("p of nothing = %v, want 1", p)
	}
}
