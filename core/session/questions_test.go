package session

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/report"
)

// parked writes a log of a unit that beacons every five minutes from a moment on, by a clock that is ahead.
func parked(from time.Time, beacons int, ahead time.Duration) []byte {
	var b strings.Builder
	for k := range beacons {
		at := from.Add(time.Duration(k)*5*time.Minute + ahead)
		fmt.Fprintf(&b, "%s QX1ABC-7>APZ001,WIDE1-1:!6203.90N/00938.10E[hill %d\n", at.Format(time.RFC3339), k)
	}
	return []byte(b.String())
}

func reportOn(t *testing.T, bench string, inputs ...input) *report.Report {
	t.Helper()
	var r report.Report
	if err := json.Unmarshal(answerTo(t, []byte(bench), inputs), &r); err != nil {
		t.Fatal(err)
	}
	return &r
}

// A power-on that cannot be is refused and asked again; one that may stand in another zone is asked.
func TestPowerOnIsRefusedOrAsked(t *testing.T) {
	for _, c := range []struct{ name, on, basis, flag, question string }{
		{"just before the first packet", "05:59:40Z", "power_on", "", ""},
		{"an hour after the first packet", "07:00:10Z", "first_heard", "start.power_on_late", "power_on_zone"},
		{"two hours before, to the minute", "03:59:40Z", "power_on", "start.power_on_quarter", "power_on_zone"},
		{"three quarters of an hour before", "05:15:20Z", "power_on", "start.power_on_quarter", "power_on_zone"},
		{"22 min before", "05:38:00Z", "power_on", "start.power_on_early", "power_on_zone"},
	} {
		bench := `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}],"first_beacon":"at_once",
			"runs":[{"power_on":{"at":"2031-05-02T` + c.on + `","precision_s":30}}]}]}`
		log := parked(time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC), 60, 0)
		r := reportOn(t, bench, input{"a.log", log})
		run := r.Units[0].Runs[0]
		if run.Start.Basis != c.basis {
			t.Errorf("%s: the start rests on %s, want %s", c.name, run.Start.Basis, c.basis)
		}
		for _, f := range run.Flags {
			if strings.HasPrefix(f.Code, "start.power_on") && (f.Code != c.flag || f.Text == "") {
				t.Errorf("%s: flag %q %q, want %q", c.name, f.Code, f.Text, c.flag)
			}
		}
		asked := slices.ContainsFunc(r.Questions, func(q report.Question) bool { return q.Code == "power_on_zone" && q.Ask != "" })
		flagged := slices.ContainsFunc(run.Flags, func(f report.Flag) bool { return f.Code == c.flag })
		if asked != (c.question != "") || flagged != (c.flag != "") {
			t.Errorf("%s: asked %v, flags %v", c.name, asked, run.Flags)
		}
	}
}

// An offset is suggested and asked until it is taken over, and then the transmissions of both files are the same.
func TestClockOffsetIsAskedAndTaken(t *testing.T) {
	from := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC)
	files := []input{{"hill.log", parked(from, 40, 0)}, {"ridge.log", parked(from, 40, 95*time.Second)}}
	unit := `"units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`
	asked := func(r *report.Report) bool {
		return slices.ContainsFunc(r.Questions, func(q report.Question) bool { return q.Code == "clock_offset" && q.File == "ridge.log" })
	}
	r := reportOn(t, `{"schema":"lastbeacon.bench/1",`+unit, files...)
	o := r.Evidence[1].SuggestedOffset
	if !asked(r) || o == nil || *o.Low > 95 || *o.High < 95 || r.Evidence[1].OffsetBasis != "two_logs" || r.Evidence[0].SuggestedOffset != nil {
		t.Fatalf("asked %v, suggested %v by %q", asked(r), o, r.Evidence[1].OffsetBasis)
	}
	r = reportOn(t, `{"schema":"lastbeacon.bench/1","files":[{"name":"ridge.log","clock_offset_s":95}],`+unit, files...)
	if asked(r) || r.Evidence[1].SuggestedOffset != nil || r.Units[0].Transmissions != 40 {
		t.Errorf("taken over: asked %v, %v, %d transmissions, want 40", asked(r), r.Evidence[1].SuggestedOffset, r.Units[0].Transmissions)
	}
}
