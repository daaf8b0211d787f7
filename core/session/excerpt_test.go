package session

import (
	"encoding/json"
	"strings"
	"testing"

	"lastbeacon/core/bench"
)

// An excerpt never counts as a file whose every packet is held, however small it is: what is counted over all packets stays unknown.
func TestExcerptHoldsTheUnitsPacketsOnly(t *testing.T) {
	s := New("test")
	s.bench = &bench.Bench{Schema: bench.Schema, Units: []bench.Unit{{Name: "Heron", Match: []bench.Match{{Station: "QX1ABC-7"}}}}}
	for mode, want := range map[string]struct {
		held  int
		whole bool
	}{"evidence": {4, true}, "excerpt": {2, false}} {
		request, _ := json.Marshal(order{Name: "feed.log", Mode: mode})
		job, err := s.Open(request)
		if err != nil {
			t.Fatal(err)
		}
		if err := job.Run(strings.NewReader(strings.Repeat("2031-05-02T06:00:00Z QX1ABC-7>APZ001:>on\n2031-05-02T06:00:01Z QX2ABC-7>APZ001:>on\n", 2))); err != nil {
			t.Fatal(err)
		}
		if got := job.file.source; len(got.Receptions) != want.held || got.Whole != want.whole || got.File.Packets != 4 {
			t.Errorf("%s: %d receptions of %d, whole %t", mode, len(got.Receptions), got.File.Packets, got.Whole)
		}
	}
}
