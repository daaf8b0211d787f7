package intake_test

import (
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/intake"
)

// A recorder that starts without the time writes 1970 until somebody sets its clock.
func TestClockNotSet(t *testing.T) {
	const early, late = "1970-01-01T00:00:12Z QX1ABC>APZ001:>a\n", "2031-05-02T05:00:00Z QX1ABC>APZ001:>b\n2031-05-02T05:01:00Z QX1ABC>APZ001:>c\n"
	s := read(t, early+late, intake.Settings{})
	n := noteOf(s, "time.not-set")
	if n == nil || n.Line.No != 1 || n.Count != 1 || n.Unused {
		t.Fatalf("notes %+v, want one on line 1", s.Notes)
	}
	if s.Receptions[0].At != clock.None || s.File.First != s.Receptions[1].At || s.File.Packets != 3 {
		t.Errorf("first packet at %v, file from %v with %d packets", s.Receptions[0].At, s.File.First, s.File.Packets)
	}
	if len(s.Presence) != 1 || s.Presence[0].Spans[0].Start != s.File.First {
		t.Errorf("presence %+v, want none in 1970", s.Presence)
	}
	if first := s.Survey.Stations()[0].First; first != s.File.First {
		t.Errorf("station first heard %v", first)
	}
	s = read(t, early, intake.Settings{})
	if noteOf(s, "time.not-set") != nil || !s.Receptions[0].At.Known() {
		t.Errorf("a file of such stamps alone must keep them: %+v", s.Notes)
	}
}
