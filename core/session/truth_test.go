package session

import (
	"encoding/json"
	"os"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/report"
)

// What was simulated behind the example: when each run really began and ended, what it really sent and drew.
type truth struct {
	Units []struct {
		Name string
		Runs []struct {
			Label             string
			Start, End, Cause string
			RuntimeS          float64   `json:"runtime_s"`
			MeanMA            float64   `json:"mean_ma"`
			RatePerH          float64   `json:"rate_per_h"`
			IdleMA            float64   `json:"idle_ma"`
			MAhPerBeacon      float64   `json:"mah_per_beacon"`
			SentS             []float64 `json:"sent_s"`
			Schedule          struct{ Kind string }
		}
	}
}

// The report on the example holds the truth that it was simulated from within its bounds. There are 7 runs with 5 intervals
// each; intervals of 95 % may miss now and then, but these are fixed and are known to hold.
func TestExampleHoldsTheTruth(t *testing.T) {
	bench, inputs := exampleInputs(t)
	var r report.Report
	if err := json.Unmarshal(answerTo(t, bench, inputs), &r); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile("../../testdata/example/truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var truth truth
	if err := json.Unmarshal(data, &truth); err != nil {
		t.Fatal(err)
	}
	for i, u := range truth.Units {
		if len(r.Units[i].Runs) != len(u.Runs) {
			t.Fatalf("%s: %d runs, want %d", u.Name, len(r.Units[i].Runs), len(u.Runs))
		}
		for k, want := range u.Runs {
			got := &r.Units[i].Runs[k]
			name := u.Name + ", " + want.Label
			holdsTime(t, name+", start", got.Start.Earliest, got.Start.Latest, want.Start)
			if want.Cause == "spent" {
				holdsTime(t, name+", end", got.End.Earliest, got.End.Latest, want.End)
				holds(t, name+", run time", got.Runtime, want.RuntimeS)
				holds(t, name+", mean current", got.Draw.MeanMA, want.MeanMA)
			}
			holds(t, name+", sent", got.Sent, float64(len(want.SentS)))
			holds(t, name+", rate", got.Rate, want.RatePerH)
		}
		if s := r.Units[i].IdleAndBeacon; s.Resolved {
			holds(t, u.Name+", idle current", s.IdleMA, u.Runs[0].IdleMA)
			holds(t, u.Name+", charge per beacon", s.MAhPerBeacon, u.Runs[0].MAhPerBeacon)
		}
	}
}

func holds(t *testing.T, what string, e *report.Estimate, want float64) {
	t.Helper()
	if e == nil {
		t.Errorf("%s is not known, want %g", what, want)
		return
	}
	if e.Low != nil && *e.Low > want || e.High != nil && *e.High < want {
		t.Errorf("%s: %s does not hold %g", what, showEstimate(e), want)
	}
}

func showEstimate(e *report.Estimate) string {
	text, _ := json.Marshal(e)
	return string(text)
}

func holdsTime(t *testing.T, what string, earliest, latest *string, want string) {
	t.Helper()
	at, err := clock.Parse(want)
	if err != nil {
		t.Fatal(err)
	}
	for _, side := range []struct {
		limit *string
		wrong func(limit clock.Instant) bool
	}{
		{earliest, func(l clock.Instant) bool { return l > at }}, {latest, func(l clock.Instant) bool { return l < at }},
	} {
		if side.limit == nil {
			continue
		}
		if l, err := clock.Parse(*side.limit); err != nil || side.wrong(l) {
			t.Errorf("%s: %s does not hold %s", what, *side.limit, want)
		}
	}
}
