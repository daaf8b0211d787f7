package session

import (
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
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
