package session

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lastbeacon/core/bench"
	"lastbeacon/core/report"
)

// fuzzBenches decide differently about the same bytes; the units are those that the bytes themselves suggest.
var fuzzBenches = []bench.Bench{
	{},
	{DisplayZone: "Europe/Oslo", Options: &bench.Options{DefaultZone: "+02:00"}},
	{Files: []bench.File{{Name: "a.log", Zone: "America/New_York", DayOrder: "dmy", Date: "2031-05-02"}}},
	{Units: []bench.Unit{{Name: "Heron", Match: []bench.Match{{Station: "QX1ABC-7"}}, Battery: &bench.Battery{CapacityMAh: new(2000.0), Basis: "measured"},
		Runs: []bench.Run{{PowerOn: &bench.Moment{At: "2031-05-02T05:40:00Z", PrecisionS: 60}}}}}},
}

// Whatever the bytes and whatever is decided about them, the pipeline ends, counts add up, limits are in order, every way out
// of the report can be written, and a second session says the same bytes.
func FuzzPipeline(f *testing.F) {
	for _, log := range fuzzLogs(f) {
		for k := range fuzzBenches {
			f.Add(log, uint8(k))
		}
	}
	f.Fuzz(func(t *testing.T, log []byte, which uint8) {
		if len(log) > 1<<15 {
			return
		}
		inputs := []input{{"a.log", log}}
		bare := fuzzBenches[int(which)%len(fuzzBenches)]
		bare.Schema = bench.Schema
		given := withProposed(t, bare, answerTo(t, []byte(asJSON(bare)), inputs))
		s, text := analysed(t, given, inputs)
		holdsTogether(t, text)
		writesOut(t, s)
		if again := answerTo(t, given, inputs); !bytes.Equal(again, text) {
			t.Errorf("a second session gives other bytes")
		}
	})
}

// withProposed adds up to two of the units that a first analysis proposes.
func withProposed(t *testing.T, b bench.Bench, text []byte) []byte {
	t.Helper()
	var r report.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	var more struct {
		Units []bench.Unit `json:"units"`
	}
	if err := json.Unmarshal([]byte(asJSON(map[string]any{"units": r.Proposals[:min(2, len(r.Proposals))]})), &more); err != nil {
		t.Fatal(err)
	}
	units := append([]bench.Unit{}, b.Units...)
	for i, u := range more.Units {
		units = append(units, bench.Unit{Name: fmt.Sprintf("Unit %d", i+1), Match: u.Match})
	}
	b.Units = units
	return []byte(asJSON(b))
}

func holdsTogether(t *testing.T, text []byte) {
	t.Helper()
	var r report.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Evidence {
		if e.NotUsed+e.Empty > e.Lines || e.Again > e.Packets {
			t.Errorf("%d lines, of which %d not used and %d empty; %d packets, %d of them again", e.Lines, e.NotUsed, e.Empty, e.Packets, e.Again)
		}
	}
	for _, u := range r.Units {
		if u.Transmissions+u.Duplicates+u.Internet > u.Heard {
			t.Errorf("%s: heard %d, yet %d transmissions, %d copies and %d from the internet", u.Name, u.Heard, u.Transmissions, u.Duplicates, u.Internet)
		}
		sent := 0
		for _, run := range u.Runs {
			if run.Saved == nil {
				sent += run.Transmissions
			}
		}
		if sent > u.Transmissions {
			t.Errorf("%s: %d transmissions, yet %d in its runs", u.Name, u.Transmissions, sent)
		}
	}
	inOrder(t, reflect.ValueOf(r), "report")
}

var estimateType = reflect.TypeFor[report.Estimate]()

// inOrder checks every estimate in v: its limits stand in order, and what counts or lasts is not below 0.
func inOrder(t *testing.T, v reflect.Value, at string) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			inOrder(t, v.Elem(), at)
		}
	case reflect.Slice:
		for i := range v.Len() {
			inOrder(t, v.Index(i), at)
		}
	case reflect.Struct:
		if v.Type() == estimateType {
			soundLimits(t, v.Interface().(report.Estimate), at)
			return
		}
		for i := range v.NumField() {
			inOrder(t, v.Field(i), at+"."+v.Type().Field(i).Name)
		}
	}
}

func soundLimits(t *testing.T, e report.Estimate, at string) {
	t.Helper()
	low, high := limit(e.Low, math.Inf(-1)), limit(e.High, math.Inf(1))
	best := limit(e.Best, low)
	if low > best || best > high {
		t.Errorf("%s: limits %v and %v around %v", at, low, high, best)
	}
	for _, field := range []string{".Runtime", ".Missed", ".Sent", ".Rate", ".ShareHeard", ".Airtime", ".Distance"} {
		if strings.HasSuffix(at, field) && best < 0 {
			t.Errorf("%s is %v", at, best)
		}
	}
}

func limit(v *float64, open float64) float64 {
	if v == nil {
		return open
	}
	return *v
}

func writesOut(t *testing.T, s *Session) {
	t.Helper()
	for _, kind := range []string{"json", "csv", "md", "summary", "transmissions"} {
		if _, err := s.Export(kind); err != nil {
			t.Errorf("%s: %v", kind, err)
		}
	}
	if lanes, err := s.Lanes(); err != nil || !json.Valid(lanes) {
		t.Errorf("lanes: %v", err)
	}
}

// fuzzLogs are the first lines of every log of the golden files and of the samples of each form, and a short day of two units.
func fuzzLogs(f *testing.F) [][]byte {
	f.Helper()
	var logs [][]byte
	for _, pattern := range []string{"../../testdata/golden/*/*", "../../testdata/intake/*/*", "../../testdata/example/*.log", "../../testdata/example/*.gpx"} {
		paths, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, path := range paths {
			content, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			logs = append(logs, content[:min(len(content), 3000)])
		}
	}
	var day strings.Builder
	for k := range 60 {
		fmt.Fprintf(&day, "2031-05-02 %02d:%02d:00 QX1ABC-7>APZ001:!62%02d.90N/00938.10E>7.%dV\n", 6+k/12, k%12*5, 3+k/40, 9-k/10)
		fmt.Fprintf(&day, "2031-05-02 %02d:%02d:30 QX1ABC-8>APZ001,QD1RDG*:!6203.90N/00938.10E>n%d\n", 6+k/12, k%12*5, k)
	}
	return append(logs, []byte(day.String()))
}
