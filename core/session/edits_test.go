package session

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"lastbeacon/core/report"
)

// What a session remembers never shows: after any sequence of edits (EDITS) it answers as one that never saw another bench. What it
// counts first is what its answer then says.
func TestEditsAnswerAsAFreshSession(t *testing.T) {
	first, inputs := exampleInputs(t)
	s, _ := analysed(t, first, inputs)
	var b map[string]any
	if err := json.Unmarshal(first, &b); err != nil {
		t.Fatal(err)
	}
	b["units"] = append(b["units"].([]any), typedUnit())
	random := rand.New(rand.NewPCG(1, 2))
	edits, err := strconv.Atoi(cmp.Or(os.Getenv("EDITS"), "8"))
	if err != nil {
		t.Fatal(err)
	}
	for n := range edits {
		what := edit(b, random)
		bench, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		counts, err := s.Counts(bench)
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.Analyse(bench)
		if err != nil {
			t.Fatal(err)
		}
		var a answer
		if err := json.Unmarshal(got, &a); err != nil {
			t.Fatal(err)
		}
		for _, id := range a.ReadAgain {
			pour(t, s, id, inputs[id].name, inputs[id].data)
		}
		if again := len(a.ReadAgain) > 0; again != (string(counts) == "null") {
			t.Fatalf("edit %d, %s: files to read again %v, counts %s", n, what, a.ReadAgain, counts)
		} else if again {
			continue
		}
		if told := countsIn(t, a.Report); !bytes.Equal(counts, told) {
			t.Fatalf("edit %d, %s: counts %s\nreport %s", n, what, counts, told)
		}
		if want := answerTo(t, bench, inputs); !bytes.Equal(a.Report, want) {
			at := differ(a.Report, want)
			t.Fatalf("edit %d, %s: %s\nfresh %s", n, what, a.Report[max(0, at-200):min(len(a.Report), at+100)], want[max(0, at-200):min(len(want), at+100)])
		}
	}
}

// countsIn gives what a report counts of its units.
func countsIn(t *testing.T, text []byte) []byte {
	t.Helper()
	var r report.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	counts := []report.Counts{}
	for i := range r.Units {
		counts = append(counts, r.Units[i].Counts)
	}
	told, err := json.Marshal(counts)
	if err != nil {
		t.Fatal(err)
	}
	return told
}

// typedUnit makes the third of three, so that verdicts are judged together.
func typedUnit() map[string]any {
	return map[string]any{"name": "Wagtail", "match": []any{map[string]any{"station": "QX3ABC-9"}}, "battery": map[string]any{"capacity_mah": 1800, "basis": "measured"},
		"runs": []any{map[string]any{"label": "fair", "power_on": map[string]any{"at": "2031-05-08T16:00:00Z", "precision_s": 30.0},
			"typed": map[string]any{"off": map[string]any{"at": "2031-05-09T02:00:00Z", "precision_s": 60.0}, "transmissions": 300}}}}
}

// edit changes one thing of a bench and says what.
func edit(b map[string]any, r *rand.Rand) string {
	units := b["units"].([]any)
	at := r.IntN(len(units))
	u := units[at].(map[string]any)
	runs := u["runs"].([]any)
	run := runs[r.IntN(len(runs))].(map[string]any)
	what := []string{"capacity", "capacity", "power-on", "power-on", "label", "rule", "order of units", "display zone", "kind", "noted settings", "event", "supply"}[r.IntN(12)]
	switch what {
	case "capacity":
		u["battery"].(map[string]any)["capacity_mah"] = 1800 + 10*r.IntN(40)
	case "supply":
		u["battery"].(map[string]any)["supply"] = []string{"pack", "usb_bank", "external"}[r.IntN(3)]
	case "power-on":
		run["power_on"].(map[string]any)["precision_s"] = float64(10 * (1 + r.IntN(12)))
	case "label":
		run["label"] = []string{"fair", "as lent", "another"}[r.IntN(3)]
	case "rule":
		u["match"].([]any)[0].(map[string]any)["from"] = fmt.Sprintf("2031-05-02T%02d:30:00Z", 4+r.IntN(6))
	case "order of units":
		r.Shuffle(len(units), func(i, j int) { units[i], units[j] = units[j], units[i] })
	case "display zone":
		b["display_zone"] = []string{"UTC", "Europe/Oslo"}[r.IntN(2)]
	case "kind":
		u["kind"] = []string{"", "borrowed handheld", "own"}[r.IntN(3)]
	case "noted settings":
		u["conditions"] = map[string]any{"power_saver": []string{"on", "off"}[r.IntN(2)]}
	case "event":
		run["events"] = []any{map[string]any{"at": fmt.Sprintf("2031-05-08T%02d:00:00Z", 17+r.IntN(6)), "precision_s": 60, "what": "seen_on"}}
	}
	return fmt.Sprintf("%s of %v", what, u["name"])
}
