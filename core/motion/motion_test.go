package motion

import (
	"math"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

const noon clock.Instant = 1_900_000_000_000

// A walk of 15 minutes at 1.4 m/s after 15 minutes at rest, without error.
func TestStandThenGo(t *testing.T) {
	var fixes []evidence.Fix
	nan := float32(math.NaN())
	for s := range clock.Instant(1800) {
		lat := 45 + max(0, float64(s)-900)*1.4/111132
		fixes = append(fixes, evidence.Fix{At: noon + s*1000, Place: geo.Place{Lat: lat, Lon: 7}, Speed: nan, Course: nan})
	}
	line := OfTrack(fixes)
	if len(line.Periods) != 2 {
		t.Fatalf("periods = %+v", line.Periods)
	}
	for _, c := range []struct {
		name  string
		at    clock.Instant
		state State
		speed float64
	}{
		{"at rest", noon + 600_000, Stationary, 0}, {"walking", noon + 1_200_000, Moving, 1.4},
		{"before", noon - 1, Unknown, math.NaN()}, {"after", noon + 1_800_000, Unknown, math.NaN()},
	} {
		speed, known := line.SpeedAt(c.at)
		if got := line.StateAt(c.at); got != c.state || known == math.IsNaN(c.speed) || known && math.Abs(speed-c.speed) > 0.05 {
			t.Errorf("%s: %v at %v (%v), want %v at %v", c.name, got, speed, known, c.state, c.speed)
		}
	}
	if course, known := line.CourseAt(noon + 1_200_000); !known || math.Abs(math.Remainder(course, 360)) > 0.01 {
		t.Errorf("course = %v, %v, want north", course, known)
	}
	if d := line.Periods[1].Distance; math.Abs(d.Best-900*1.4) > 15 {
		t.Errorf("distance = %v, want about 1260 m", d)
	}
}
