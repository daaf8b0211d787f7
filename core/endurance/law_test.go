package endurance

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// An answer is one line of testdata/endurance/laws.jsonl; each line names its source.
type answer struct {
	ID        string
	Inputs    map[string]json.RawMessage
	Expected  map[string]json.RawMessage
	Tolerance string
}

func (a answer) number(t *testing.T, from map[string]json.RawMessage, name string) float64 {
	t.Helper()
	var v float64
	if err := json.Unmarshal(from[name], &v); err != nil {
		t.Fatalf("%s: %s: %v", a.ID, name, err)
	}
	return v
}

func answers(t *testing.T, ids ...string) []answer {
	t.Helper()
	f, err := os.Open("../../testdata/endurance/laws.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var found []answer
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var a answer
		if err := json.Unmarshal(lines.Bytes(), &a); err != nil {
			t.Fatal(err)
		}
		for _, id := range ids {
			if strings.HasPrefix(a.ID, id) {
				found = append(found, a)
			}
		}
	}
	if len(found) == 0 {
		t.Fatalf("no known answers %v", ids)
	}
	return found
}

func close(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

// fixedLaw is the law after the last beacon for intervals that repeat the last one, with a share heard that is known, down to
// the least weight.
func fixedLaw(p, least float64, intervals ...float64) law {
	var l law
	at, weight := 0.0, 1.0
	for k := 0; weight > least && k < mostGaps; k++ {
		length := intervals[min(k, len(intervals)-1)]
		l = append(l, gap{at, at + length, weight, 0})
		at += length
		weight *= 1 - p
	}
	return l
}

func learnedLaw(period float64, l loss) law {
	var out law
	weight := 1.0
	for k := 0.0; weight > leastWeight && len(out) < mostGaps; k++ {
		out = append(out, gap{k * period, (k + 1) * period, weight, 0})
		weight *= l.next(int(k))
	}
	return out
}

// moments gives mean and standard deviation.
func (l law) moments() (mean, sd float64) {
	var sum, first, second float64
	for _, g := range l {
		m := g.mass()
		sum += m
		first += m * (g.from + g.to) / 2
		second += m * (g.from*g.from + g.from*g.to + g.to*g.to) / 3
	}
	if sum == 0 {
		return 0, 0
	}
	mean = first / sum
	return mean, math.Sqrt(max(0, second/sum-mean*mean))
}

func checkLaw(t *testing.T, a answer, l law, tolerance float64) {
	t.Helper()
	mean, sd := l.moments()
	got := map[string]float64{
		"mean": mean, "sd": sd, "q025": l.quantile(0.025), "q50": l.quantile(0.5), "q95": l.quantile(0.95), "q975": l.quantile(0.975),
	}
	for name := range a.Expected {
		want := a.number(t, a.Expected, name)
		close(t, a.ID+" "+name, got[name], want, tolerance*max(1, math.Abs(want)))
	}
}

func TestLawOfFallingSilent(t *testing.T) {
	for _, a := range answers(t, "end-01", "end-02", "end-03", "end-04", "end-05", "end-06", "end-07", "end-08") {
		checkLaw(t, a, fixedLaw(a.number(t, a.Inputs, "p"), 1e-14, 1), 1e-9)
	}
	for _, a := range answers(t, "end-09", "end-10", "end-11") {
		l := loss{heard: int(a.number(t, a.Inputs, "h")), missed: int(a.number(t, a.Inputs, "s"))}
		lw := learnedLaw(a.number(t, a.Inputs, "P"), l)
		if string(a.Inputs["W"]) != "null" {
			lw = lw.until(a.number(t, a.Inputs, "W"))
		}
		checkLaw(t, a, lw, 1e-6)
	}
	for _, a := range answers(t, "end-12") {
		checkLaw(t, a, fixedLaw(a.number(t, a.Inputs, "p"), leastWeight, 240, 480, 960, 1800), 1e-6)
	}
}

// Adding two laws must give the limits of their sum, not the sum of their limits.
func TestLawsAdd(t *testing.T) {
	for _, a := range answers(t, "end-13") {
		one := smooth(fixedLaw(0.8, leastWeight, 600))
		sum := one.plus(one, false)
		close(t, a.ID+" low", 12+sum.quantile(0.025)/3600, a.number(t, a.Expected, "lo_h"), 0.012)
		close(t, a.ID+" high", 12+sum.quantile(0.975)/3600, a.number(t, a.Expected, "hi_h"), 0.012)
	}
}

// The atoms of a sum come in order and keep their chance, be those of its parts in order or not.
func TestSumsOfAtomsAreInOrder(t *testing.T) {
	few, mixed := spread{{0, 0.5}, {3, 0.25}, {7, 0.25}}, spread{{5, 0.25}, {1, 0.25}, {9, 0.25}, {2, 0.25}}
	for _, sum := range []spread{few.plus(mixed, false), mixed.plus(few, true), few.plus(few, false)} {
		total := 0.0
		for i, a := range sum {
			total += a.chance
			if i > 0 && sum[i-1].at > a.at {
				t.Errorf("%v is not in order", sum)
			}
		}
		close(t, "chance", total, 1, 1e-12)
	}
}

func TestNotedStartKnownAnswer(t *testing.T) {
	for _, a := range answers(t, "end-14") {
		end := fixedLaw(0.8, leastWeight, 600)
		close(t, a.ID+" low", 12+end.quantile(0.025)/3600, a.number(t, a.Expected, "lo_h"), 1e-6)
		close(t, a.ID+" high", 12+end.quantile(0.975)/3600, a.number(t, a.Expected, "hi_h"), 1e-6)
	}
}

// smooth gives a law as atoms of equal chance at the middles of as many quantiles.
func smooth(l law) spread {
	const parts = 200
	s := make(spread, parts)
	for i := range s {
		s[i] = atom{l.quantile((float64(i) + 0.5) / parts), 1.0 / parts}
	}
	return s
}

// How many due times must be missed before loss alone is below 1 %, at 20 heard and none missed, and so on. Calculated from
// the Beta law with Jeffreys' prior.
func TestSilenceThatLossExcludes(t *testing.T) {
	for _, c := range []struct{ heard, missed, least int }{{20, 0, 2}, {40, 2, 3}, {40, 10, 4}, {20, 10, 7}} {
		l := loss{heard: c.heard, missed: c.missed}
		for m := range 12 {
			if got, want := l.excluded(m), m >= c.least; got != want {
				t.Errorf("%d heard, %d missed: %d silent excluded = %v, want %v", c.heard, c.missed, m, got, want)
			}
		}
	}
}

func TestBurstsAreNoticed(t *testing.T) {
	var scattered, burst []bool
	for i := range 200 {
		scattered = append(scattered, i%10 != 3)
		burst = append(burst, i < 100 || i >= 120)
	}
	l, even := lossOf(burst), lossOf(scattered)
	if even.bursts {
		t.Error("evenly scattered losses taken for bursts")
	}
	if !l.bursts {
		t.Fatal("20 losses in a row not taken for a burst")
	}
	if l.excluded(10) || !even.excluded(10) {
		t.Error("a silence half as long as an earlier burst must not count as an end, one ten times the longest loss must")
	}
	if e := l.share(); e.High-e.Low < 2*(even.share().High-even.share().Low) {
		t.Errorf("bursts must widen the share heard: %v", e)
	}
}
