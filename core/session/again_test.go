package session

import (
	"bytes"
	"encoding/json"
	"testing"

	"lastbeacon/core/report"
)

// exported gives the packets export of each file that holds packets, under its name; other files as they are.
func exported(t *testing.T, bench []byte, inputs []input) []input {
	t.Helper()
	s := New("test")
	if err := s.Prepare(bench); err != nil {
		t.Fatal(err)
	}
	for i, in := range inputs {
		pour(t, s, i, in.name, in.data)
	}
	if _, err := s.Analyse(bench); err != nil {
		t.Fatal(err)
	}
	var out []input
	for i, in := range inputs {
		if s.files[i].source.File.Packets == 0 {
			out = append(out, in)
			continue
		}
		request, _ := json.Marshal(order{ID: i, Name: in.name, Mode: "packets"})
		job, err := s.Open(request)
		if err != nil {
			t.Fatal(err)
		}
		if err := job.Run(bytes.NewReader(in.data)); err != nil {
			t.Fatal(err)
		}
		lines, err := job.Close("")
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, input{in.name, bytes.Clone(lines)})
	}
	return out
}

// Packets written out and read again as a log of their own give the same units, runs and verdicts.
func TestExportReadAgain(t *testing.T) {
	for name, folder := range goldenCases(t) {
		bench, inputs := inputsOf(t, folder)
		var first, again report.Report
		for r, in := range map[*report.Report][]input{&first: inputs, &again: exported(t, bench, inputs)} {
			if err := json.Unmarshal(answerTo(t, bench, in), r); err != nil {
				t.Fatal(err)
			}
		}
		for what, pair := range map[string][2]any{"stations": {first.Stations, again.Stations}, "units": {first.Units, again.Units},
			"comparisons": {first.Comparisons, again.Comparisons}, "outlook": {first.Outlook, again.Outlook}} {
			a, _ := json.Marshal(pair[0])
			b, _ := json.Marshal(pair[1])
			if at := differ(a, b); !bytes.Equal(a, b) {
				t.Errorf("%s: %s differ: %s\n%s", name, what, a[max(at-100, 0):min(at+100, len(a))], b[max(at-100, 0):min(at+100, len(b))])
			}
		}
	}
}

func TestRawIsKeptByteForByte(t *testing.T) {
	for _, c := range []struct{ raw, want string }{
		{"QX1ABC>APZ001:>plain", "QX1ABC>APZ001:>plain"},
		{"QX1ABC>APZ001:>h\xc3\xb8y\x1c", "QX1ABC>APZ001:>h\xc3\xb8y\x1c"},
		{"QX1ABC>APZ001:>h\xf8y", "QX1ABC>APZ001:>h<0xf8>y"},
	} {
		if got := rawOf([]byte(c.raw)); got != c.want {
			t.Errorf("%q is written %q, want %q", c.raw, got, c.want)
		}
	}
}
