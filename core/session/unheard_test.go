package session

import (
	"encoding/json"
	"strings"
	"testing"

	"lastbeacon/core/report"
)

// Units that share a station with others' packets, or none at all, may have due times that nobody heard; the analysis ends.
func TestUnitsOfAnotherTrialsBench(t *testing.T) {
	_, inputs := exampleInputs(t)
	text := answerTo(t, []byte(`{"schema":"lastbeacon.bench/1","units":[{"name":"Dunlin","match":[{"station":"QX1ABC-7"}]},{"name":"Plover","match":[{"station":"QL2KD"}]},`+
		`{"name":"Knot","match":[{"station":"QX1ABC-8"}]}]}`), inputs)
	holdsTogether(t, text)
}

// Of a unit of which nothing was heard the report says that, and no end.
func TestUnitNeverHeard(t *testing.T) {
	_, inputs := exampleInputs(t)
	text := answerTo(t, []byte(`{"schema":"lastbeacon.bench/1","units":[{"name":"Knot","match":[{"station":"QX9ZZZ"}],"runs":[{"power_on":{"at":"2031-05-02T06:00:00Z"}}]}]}`), inputs)
	var r report.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	run := &r.Units[0].Runs[0]
	if run.End.State != "not_heard" || run.Runtime != nil || strings.Contains(run.End.Text, "on the air") || !strings.Contains(run.Schedule.Text, "too few beacons") {
		t.Errorf("%s, %q, %q", run.End.State, run.End.Text, run.Schedule.Text)
	}
}
