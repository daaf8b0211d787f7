package session

import (
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/endurance"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
	"lastbeacon/core/traffic"
)

// One degree of latitude at the equator is 110574 m on WGS 84 (meridian degree, common tables), so 1/1000 of it is 110.6 m.
func TestThinnedTrackKeepsShapeAndGaps(t *testing.T) {
	var fixes []evidence.Fix
	at := clock.Instant(0)
	walk := func(n int, from float64, every time.Duration) {
		for i := range n {
			fixes = append(fixes, evidence.Fix{At: at, Place: geo.Place{Lat: from + float64(i)*0.00001}})
			at = at.Add(every)
		}
	}
	walk(100, 0, time.Second)
	at = at.Add(20 * time.Minute)
	walk(1, 0.01, time.Second)
	laid := thinned(fixes[0].Place, fixes)
	if n := len(laid); n < 30 || n > 60 {
		t.Errorf("%d spots of 101 fixes 1.1 m apart, want about one in three", n)
	}
	last, before := laid[len(laid)-1], laid[len(laid)-2]
	if !last.Gap || before.Gap || before.At != 99_000 {
		t.Errorf("the gap's ends are %+v and %+v, want the fix of second 99 and a gap after it", before, last)
	}
	if last.North < 1105 || last.North > 1106.5 || last.East != 0 {
		t.Errorf("the last spot lies %v m north and %v m east, want 1105.7 and 0", last.North, last.East)
	}
}

// A drive at 20 m/s, north for 195 s, then east. The rule sends every 30 s at such a speed, and 1 s after the turn.
func TestCornerBeaconIsTheOneThatTheTurnSent(t *testing.T) {
	var track []evidence.Fix
	for s := range 301 {
		north, east := 20*float64(min(s, 195)), 20*float64(max(0, s-195))
		course := float32(0)
		if s > 195 {
			course = 90
		}
		track = append(track, evidence.Fix{At: clock.Instant(1000 * s), Place: geo.Place{Lat: north / 110574, Lon: east / 111320}, Speed: 20, Course: course})
	}
	var unit traffic.Unit
	run := endurance.Run{Schedule: schedule.Schedule{Kind: schedule.Adaptive, Slow: 600, Fast: 30, SlowSpeed: 1, FastSpeed: 15,
		Corners: true, TurnMin: 28, TurnSlope: 240 / 3.6, TurnTime: 10, Jitter: 0.5}}
	for n, s := range []int{0, 30, 60, 90, 120, 150, 180, 196, 226, 256} {
		unit.Transmissions = append(unit.Transmissions, traffic.Transmission{At: clock.Instant(1000 * s)})
		run.Transmissions = append(run.Transmissions, n)
	}
	a := analysis{gathered: &gathered{units: []traffic.Unit{unit}}, runs: [][]endurance.Run{{run}}, timelines: []motion.Timeline{motion.OfTrack(track)}}
	for n := 1; n < len(run.Transmissions); n++ {
		if got, want := a.atCorner(0, 0, n-1, n), n == 7; got != want {
			t.Errorf("beacon at second %d: at a corner %v, want %v", unit.Transmissions[n].At/1000, got, want)
		}
	}
	a.runs[0][0].Schedule.Corners = false
	if a.atCorner(0, 0, 6, 7) {
		t.Error("a schedule without corner beacons has one")
	}
}
