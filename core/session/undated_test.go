package session

import (
	"encoding/json"
	"testing"

	"lastbeacon/core/report"
)

// A file without a day must not be put years before the others; alone, its spans are right.
func TestFilesWithoutADay(t *testing.T) {
	_, inputs := exampleInputs(t)
	bench := []byte(`{"schema":"lastbeacon.bench/1","units":[{"name":"Lapwing","match":[{"station":"QX1ABC-8"}]}]}`)
	named := map[string]input{}
	for _, in := range inputs {
		named[in.name] = in
	}
	for _, c := range []struct {
		name  string
		files []string
		runs  int
		most  int // transmissions in the runs, at most
	}{
		{"beside a dated file", []string{"ridge-0505.log", "ridge-0508.log"}, 1, 200},
		{"alone", []string{"ridge-0508.log"}, 1, 1000},
	} {
		var r report.Report
		var files []input
		for _, f := range c.files {
			files = append(files, named[f])
		}
		if err := json.Unmarshal(answerTo(t, bench, files), &r); err != nil {
			t.Fatal(err)
		}
		if got := len(r.Units[0].Runs); got != c.runs {
			t.Fatalf("%s: %d runs, want %d", c.name, got, c.runs)
		}
		run := r.Units[0].Runs[0]
		if run.Transmissions < 50 || run.Transmissions > c.most {
			t.Errorf("%s: %d transmissions, want 50 to %d", c.name, run.Transmissions, c.most)
		}
	}
}
