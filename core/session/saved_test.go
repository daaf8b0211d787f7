package session

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"lastbeacon/core/bench"
	"lastbeacon/core/draw"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
)

var savedExample []byte // worked out once for all tests here

// saved gives the example's report as it is saved, and the bench that holds no more than what was stated before the test.
func saved(t *testing.T) (text []byte, bare []byte) {
	t.Helper()
	if savedExample == nil {
		b, inputs := exampleInputs(t)
		savedExample = exportedJSON(t, b, inputs...)
	}
	return savedExample, []byte(`{"schema":"lastbeacon.bench/1","compare":{"margin_pct":5,"assumed_cv_pct":3,"stated":"2031-05-01"}}`)
}

func decoded(t *testing.T, text []byte) (r struct {
	report.Report
	Bench bench.Bench
}) {
	t.Helper()
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

func exportedJSON(t *testing.T, b []byte, inputs ...input) []byte {
	t.Helper()
	s, _ := analysed(t, b, inputs)
	text, err := s.Export("json")
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func page(text []byte) []byte {
	return []byte("<!doctype html>\n<html><head>" + `<meta name="generator" content="Lastbeacon report">` + "</head><body>\n" +
		`<template id="lastbeacon-report">` + string(text) + "</template></body></html>\n")
}

func TestSavedReportJoinsAsFinishedRuns(t *testing.T) {
	text, bare := saved(t)
	before := decoded(t, text)
	after := decoded(t, exportedJSON(t, bare, input{"earlier.json", text}))
	if len(after.Units) != 2 || len(after.Units[0].Runs) != len(before.Units[0].Runs) {
		t.Fatalf("%d units", len(after.Units))
	}
	for i := range before.Units {
		for k := range before.Units[i].Runs {
			was, is := before.Units[i].Runs[k], after.Units[i].Runs[k]
			if is.Saved == nil || is.Saved.File != "earlier.json" || is.Saved.Version != "test" || len(is.Saved.SHA256) != 64 || is.Saved.Run != k+1 {
				t.Errorf("%s run %d is marked %+v", before.Units[i].Name, k+1, is.Saved)
			}
			if a, b := asJSON(was.Runtime), asJSON(is.Runtime); a != b {
				t.Errorf("%s run %d: run time %s, was %s", before.Units[i].Name, k+1, b, a)
			}
			if a, b := asJSON(was.Rate), asJSON(is.Rate); a != b {
				t.Errorf("%s run %d: rate %s, was %s", before.Units[i].Name, k+1, b, a)
			}
			if a, b := asJSON(was.Charge), asJSON(is.Charge); a != b {
				t.Errorf("%s run %d: charge %s, was %s", before.Units[i].Name, k+1, b, a)
			}
			if a, b := asJSON([]any{was.Missed, was.ShareHeard, was.LastHeard, was.Path, was.BusyPct}), asJSON([]any{is.Missed, is.ShareHeard, is.LastHeard, is.Path, is.BusyPct}); a != b || was.Path == nil || was.Missed == nil {
				t.Errorf("%s run %d: missed, share heard, last heard, path and channel load %s, were %s", before.Units[i].Name, k+1, b, a)
			}
		}
	}
	if a, b := before.Comparisons[0].Runtime, after.Comparisons[0].Runtime; a.Text != b.Text || a.Verdict != b.Verdict {
		t.Errorf("%s %s, was %s %s", b.Verdict, b.Text, a.Verdict, a.Text)
	}
	for i, c := range before.Comparisons[0].Conditions {
		if is := after.Comparisons[0].Conditions[i]; c.State != "not_noted" && is.State == "not_noted" {
			t.Errorf("%s was %s, %q, and is not noted", c.Check, c.State, c.Text)
		}
	}
}

func asJSON(v any) string {
	text, _ := json.Marshal(v)
	return string(text)
}

func TestUnitsOfASavedReportAreNotSaidToBeUnheard(t *testing.T) {
	text, bare := saved(t)
	s, _ := analysed(t, bare, []input{{"earlier.json", text}})
	md, err := s.Export("md")
	if err != nil || !strings.Contains(string(md), "transmissions heard, from a saved report.") || strings.Contains(string(md), "\n0 packets heard") {
		t.Errorf("%v: %.600s", err, md)
	}
}

func TestSavedRunsAreKeptInTheBench(t *testing.T) {
	text, bare := saved(t)
	first := decoded(t, exportedJSON(t, bare, input{"earlier.json", text}))
	kept := []byte(asJSON(first.Bench))
	again := decoded(t, exportedJSON(t, kept)) // the bench alone, no file at all
	if asJSON(first.Units) != asJSON(again.Units) || asJSON(first.Comparisons) != asJSON(again.Comparisons) {
		t.Error("the bench alone says something else")
	}
	both := decoded(t, exportedJSON(t, kept, input{"earlier.json", text}, input{"earlier.html", page(text)}))
	if asJSON(both.Units) != asJSON(again.Units) {
		t.Error("the same report dropped again, and as a page, counts twice")
	}
	next := decoded(t, exportedJSON(t, bare, input{"later.json", exportedJSON(t, bare, input{"earlier.json", text})}))
	if got := next.Units[0].Runs[0].Saved; got == nil || got.File != "earlier.json" {
		t.Errorf("a report of a report lost where its runs come from: %+v", got)
	}
}

func TestTheLogCountsBeforeTheReport(t *testing.T) {
	text, _ := saved(t)
	b, inputs := exampleInputs(t)
	alone := decoded(t, text)
	with := decoded(t, exportedJSON(t, b, append(slices.Clone(inputs), input{"earlier.json", text})...))
	if asJSON(alone.Units) != asJSON(with.Units) || asJSON(alone.Comparisons) != asJSON(with.Comparisons) {
		t.Error("a report beside its own logs changes the answer")
	}
	n := slices.IndexFunc(with.Notes, func(n report.Note) bool { return n.Code == "report.same-run" })
	if n < 0 || with.Notes[n].File != "earlier.json" {
		t.Error("nothing says why the saved runs are left out")
	}
}

// A saved run beside a log takes part in the comparison and widens what is known.
func TestSavedRunsStandBesideLoggedOnes(t *testing.T) {
	text, _ := saved(t)
	other := bytes.ReplaceAll(text, []byte("2031-0"), []byte("2032-0")) // another year: runs of their own
	b, inputs := exampleInputs(t)
	alone := decoded(t, text)
	with := decoded(t, exportedJSON(t, b, append(slices.Clone(inputs), input{"earlier.json", other})...))
	if got, want := len(with.Units[0].Runs), 2*len(alone.Units[0].Runs); got != want {
		t.Fatalf("%d runs, want %d", got, want)
	}
	if !strings.Contains(with.Comparisons[0].Runtime.Text, "2\u00a0runs of Heron") {
		t.Error(with.Comparisons[0].Runtime.Text)
	}
}

func TestHostileReports(t *testing.T) {
	text, bare := saved(t)
	edit := func(from, to string) []byte {
		t.Helper()
		if !bytes.Contains(text, []byte(from)) {
			t.Fatalf("the report has no %s", from)
		}
		return bytes.Replace(text, []byte(from), []byte(to), 1)
	}
	runtime := `"runtime_s":` + asJSON(decoded(t, text).Units[0].Runs[0].Runtime)
	for _, c := range []struct {
		name, note string
		data       []byte
		units      int
	}{
		{"another schema", "report.schema", edit(`"lastbeacon.report/1"`, `"lastbeacon.report/9"`), 0},
		{"cut off", "report.damaged", text[:len(text)/2], 0},
		{"limits out of order", "report.run", edit(runtime, `"runtime_s":{"low":9e4,"best":6e4,"high":5e4}`), 2},
		{"a run time below 0", "report.run", edit(runtime, `"runtime_s":{"low":-5,"best":6e4,"high":7e4}`), 2},
		{"a run of ten thousand years", "report.run", edit(runtime, `"runtime_s":{"low":1,"best":3e11,"high":3e11}`), 2},
		{"a number beyond all numbers", "report.damaged", edit(runtime, `"runtime_s":{"low":1,"best":1e999,"high":1e999}`), 0},
		{"words for numbers", "report.damaged", edit(runtime, `"runtime_s":{"low":"one","best":2,"high":3}`), 0},
		{"a state nobody knows", "report.run", edit(`"state":"ended"`, `"state":"<script>alert(1)</script>"`), 2},
		{"a start that is no time", "report.run", edit(`"best":"2031-05-02T05:40:00Z"`, `"best":"yesterday"`), 2},
		{"no bench", "report.bench", edit(`"bench":{"schema":"lastbeacon.bench/1"`, `"bench":{"schema":"x"`), 2},
		{"a bench with a capacity below 0", "report.bench", edit(`"capacity_mah":2000`, `"capacity_mah":-2000`), 2},
		{"units that are no list", "report.damaged", []byte(`{"schema":"lastbeacon.report/1","units":7}`), 0},
		{"a charge of nothing", "report.bench", []byte(`{"schema":"lastbeacon.report/1","units":[{"name":"X","runs":[{"charge":{"mah":null,"basis":"meter"},"runtime_s":{"low":1,"best":2,"high":3},"end":{"state":"ended"}}]}]}`), 1},
		{"nested beyond all measure", "report.damaged", []byte(`{"schema":"lastbeacon.report/1","units":` + strings.Repeat("[", 200_000)), 0},
		{"a page without figures", "report.empty", []byte(strings.Replace(string(page(nil)), "template", "div", 1)), 0},
		{"a page with scripts for figures", "report.damaged", page([]byte("<script>alert(1)</script>")), 0},
	} {
		for _, name := range []string{"earlier.json", "unknown"} {
			r := decoded(t, exportedJSON(t, bare, input{name, c.data}))
			if len(r.Units) != c.units {
				t.Errorf("%s: %d units, want %d", c.name, len(r.Units), c.units)
			}
			if !slices.ContainsFunc(r.Notes, func(n report.Note) bool { return n.Code == c.note && n.File == name }) {
				t.Errorf("%s: no note %s: %s", c.name, c.note, asJSON(r.Notes))
			}
			for _, n := range r.Notes {
				if strings.Contains(n.Text, "Go ") || strings.Contains(n.Text, "json:") {
					t.Errorf("%s: %s", c.name, n.Text)
				}
			}
		}
	}
}

func TestHostileSavedRunsInABench(t *testing.T) {
	run := `{"from":{"file":"a","sha256":"","version":"1","unit":"X","run":1},"state":"ended","runtime_s":{"low":1,"best":2,"high":3}%s}`
	for _, c := range []struct{ more, want string }{
		{`,"rate_per_h":{"low":3,"best":2,"high":1}`, "units[0].saved[0].rate_per_h"},
		{`,"charge_used_mah":-1`, "units[0].saved[0].charge_used_mah"},
		{`,"transmissions":-4`, "units[0].saved[0].transmissions"},
		{`,"moving_pct":150`, "units[0].saved[0].moving_pct"},
		{`,"battery":{"supply":"sun"}`, "units[0].saved[0].battery.supply"},
	} {
		text := `{"schema":"lastbeacon.bench/1","units":[{"name":"X","saved":[` + fmt.Sprintf(run, c.more) + `]}]}`
		if err := New("test").Prepare([]byte(text)); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %v", c.more, err)
		}
	}
}

// Whatever a saved report says, what is taken over has passed the checks of the bench.
func FuzzSavedReport(f *testing.F) {
	f.Add([]byte(`{"schema":"lastbeacon.report/1","version":"1","units":[{"name":"X","relayed":3,"current_fix_pct":98,"runs":[{"label":"a","noted":0,` +
		`"start":{"best":"2031-05-02T05:40:00Z"},"end":{"best":"2031-05-02T15:40:00Z","state":"stopped"},"runtime_s":{"low":1,"best":2,"high":null},` +
		`"charge":{"mah":{"low":1,"best":2,"high":3},"basis":"meter"},"periods":[{"state":"moving","start":"2031-05-02T05:40:00Z","end":"2031-05-02T06:40:00Z"}]}]}],` +
		`"bench":{"schema":"lastbeacon.bench/1","units":[{"name":"X","battery":{"capacity_mah":2000},"runs":[{"charge_used_mah":900,"battery":{"pack":"B"}}]}]}}`))
	f.Add([]byte(`{"schema":"lastbeacon.report/1","units":[{"name":"","runs":[{"saved":{}},{}]}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		units, notes := savedIn(&evidence.File{Name: "f"}, text)
		for i := range notes {
			if notes[i].Code == "" || notes[i].Text == "" {
				t.Errorf("a note without words: %+v", notes[i])
			}
		}
		b := bench.Bench{Schema: bench.Schema}
		for _, u := range units {
			join(&b, u)
		}
		kept, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := bench.Parse(kept); err != nil {
			t.Fatalf("what was joined is no bench: %v", err)
		}
		for i := range b.Units {
			for k := range b.Units[i].Saved {
				load, set := b.Units[i].Saved[k].Draw()
				if d := draw.Of(load, set); d.MeanMA.Known && !d.MeanMA.Sound() {
					t.Errorf("a mean current of %v", d.MeanMA)
				}
			}
		}
	})
}
