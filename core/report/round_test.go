package report

import (
	"math"
	"strings"
	"testing"
)

func TestRound(t *testing.T) {
	for _, c := range []struct {
		name     string
		in, want float64
	}{
		{"zero", 0, 0},
		{"six digits of a large number", 12345678, 12345700},
		{"six digits of a small number", 0.000123456789, 0.000123457},
		{"negative", -1.23456749, -1.23457},
		{"already short", 0.1, 0.1},
		{"smallest double", math.SmallestNonzeroFloat64, 0},
		{"largest double", math.MaxFloat64, 1.79769e308},
	} {
		if got := Round(c.in, Digits); got != c.want {
			t.Errorf("%s: Round(%v) = %v, want %v", c.name, c.in, got, c.want)
		}
	}
}

func TestJSON(t *testing.T) {
	open, best := math.Inf(1), 1.23456789
	r := Report{Units: []Unit{{Counts: Counts{Name: "Heron"}, Runs: []Run{{Runtime: &Estimate{Low: &best, Best: &best, High: &open}}}}}}
	text, err := JSON(&r)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"runtime_s":{"low":1.23457,"best":1.23457,"high":null}`, `"notes":[]`, `"periods":[]`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("%s is not in %s", want, text)
		}
	}
}

func TestJSONRefusesWhatIsNoNumber(t *testing.T) {
	r := Report{Evidence: []File{{TimeResolution: math.NaN()}}}
	_, err := JSON(&r)
	if err == nil || !strings.Contains(err.Error(), "report.Evidence[0].TimeResolution") {
		t.Errorf("got %v, want an error that names the field", err)
	}
}
