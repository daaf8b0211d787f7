package schedule

import (
	"testing"
	"time"

	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

// Taken for a fixed interval, what a unit sent that slows down at rest lacks beacons that were never sent: their number is doubted
// by at least those. A unit that keeps its interval at rest, with one in four lost there and elsewhere, is believed.
func TestFixedIntervalNotShownAtRest(t *testing.T) {
	var legs motion.Timeline
	at := origin
	for range 3 { // an hour on the way, an hour at rest
		legs.Periods = append(legs.Periods, underWay(at, at.Add(time.Hour)).Periods...)
		at = at.Add(2 * time.Hour)
	}
	minute := Schedule{Kind: Fixed, Interval: estimate.Exact(60), Received: estimate.Exact(0.75)}
	slowing := Schedule{Kind: Decaying, Interval: estimate.Exact(60), BeaconsBeforeDecay: 2, Growth: 2, Longest: 960}
	sent := slowing.Walk(origin, at, legs)
	if m := Missed(sent, minute, legs); m.Fewer < float64(len(m.Due)-3) || len(m.Due) < 100 {
		t.Errorf("slowing at rest: %d missed, %.0f of them in doubt, want all in doubt", len(m.Due), m.Fewer)
	}
	lost, kept := losing(3, 0.25), minute.Walk(origin, at, legs)[:1]
	for i, due := range minute.Walk(origin, at, legs)[1:] {
		if !lost(i) {
			kept = append(kept, due)
		}
	}
	if m := Missed(kept, minute, legs); m.Fewer > 3 || len(m.Due) < 50 {
		t.Errorf("steady at rest: %d missed, %.0f of them in doubt, want none", len(m.Due), m.Fewer)
	}
}
