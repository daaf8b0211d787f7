package session

import (
	"encoding/json"
	"math"
	"testing"

	"lastbeacon/core/report"
)

// Figures of runs as people work them out by hand (common practice, no source), from the bench file to the report.
func TestFamiliarFiguresFromTheBenchToTheReport(t *testing.T) {
	const sheet = `{"schema":"lastbeacon.bench/1","units":[
	{"name":"Old","battery":{"capacity_mah":2200,"basis":"measured","nominal_v":7.4},"runs":[
	 {"label":"one","power_on":{"at":"2031-01-10T08:00:00Z"},"typed":{"off":{"at":"2031-01-10T20:00:00Z"}}},
	 {"label":"two","power_on":{"at":"2031-01-12T06:04:00Z"},"typed":{"off":{"at":"2031-01-12T13:51:00Z"}}}]},
	{"name":"New","battery":{"capacity_mah":1820,"basis":"measured","nominal_v":7.4},"runs":[
	 {"label":"one","power_on":{"at":"2031-01-10T08:00:00Z"},"typed":{"off":{"at":"2031-01-10T15:30:00Z"}}}]},
	{"name":"Third","battery":{"capacity_mah":1820,"basis":"measured","nominal_v":7.4},"runs":[
	 {"label":"two","power_on":{"at":"2031-01-12T11:26:00Z"},"typed":{"off":{"at":"2031-01-12T19:08:00Z"}}}]}],
	"outlook":{"packs":[{"capacity_mah":2200,"basis":"measured","nominal_v":7.4}]}}`
	var r report.Report
	if err := json.Unmarshal(answerTo(t, []byte(sheet), nil), &r); err != nil {
		t.Fatal(err)
	}
	at := func(what string, e *report.Estimate, want, within float64) {
		t.Helper()
		if e == nil || e.Best == nil || math.Abs(*e.Best-want) > within {
			t.Errorf("%s: %s, want %v", what, showEstimate(e), want)
		}
	}
	for _, c := range []struct {
		unit, run           int
		minutes, perMin, ma float64
	}{{0, 0, 720, 3.06, 183.3}, {1, 0, 450, 4.04, 242.7}, {0, 1, 467, 4.711, 282.7}, {2, 0, 462, 3.939, 236.4}} {
		run := r.Units[c.unit].Runs[c.run]
		at("run time", run.Runtime, c.minutes*60, 0.5)
		at("mAh/min", run.Draw.MAhPerMin, c.perMin, 0.005)
		at("mean current", run.Draw.MeanMA, c.ma, 0.1)
	}
	at("ratio of draws, Old over New", r.Comparisons[0].Draw.Ratio, 1/1.32, 0.005)
	for _, o := range r.Outlook {
		if o.Unit == "New" {
			at("a pack of 2200 mAh", o.Runtime, 544*60, 60)
		}
	}
}
