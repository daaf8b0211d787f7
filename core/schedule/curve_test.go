package schedule

import "testing"

// Worked by hand from the rule's definition: 10 min below 1 m/s, 90 s from 10 m/s, and 900 m between beacons in between.
func TestIntervalAtSteadySpeed(t *testing.T) {
	s := Schedule{Kind: Adaptive, Slow: 600, Fast: 90, SlowSpeed: 1, FastSpeed: 10}
	for _, c := range []struct {
		name        string
		speed, want float64
	}{
		{"standing", 0, 600},
		{"just too slow for the curve", 0.99, 600},
		{"capped by the slow interval", 1.2, 600},
		{"walking", 3, 300},
		{"at the fast speed", 10, 90},
		{"beyond it", 30, 90},
	} {
		if got, known := s.IntervalAt(c.speed); !known || got != c.want {
			t.Errorf("%s: %v s, known %v, want %v", c.name, got, known, c.want)
		}
	}
	if _, known := (Schedule{Kind: Fixed}).IntervalAt(3); known {
		t.Error("a fixed schedule has no interval by speed")
	}
}
