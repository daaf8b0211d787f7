package motion

import (
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// journeysOf gives n fixes a step of seconds apart, one simulated journey after the other.
func journeysOf(n int, step clock.Instant) []evidence.Fix {
	var out []evidence.Fix
	for seed := uint64(1); len(out) < n; seed++ {
		out = append(out, build(int(seed)%3, seed).track(int(step), false)...)
	}
	for i := range out {
		out[i].At = noon + clock.Instant(i)*step*1000
	}
	return out[:n]
}

func BenchmarkDay(b *testing.B) {
	fixes := journeysOf(28_800, 1)
	for b.Loop() {
		OfTrack(fixes)
	}
}

func BenchmarkLongTrack(b *testing.B) {
	fixes := journeysOf(200_000, 1)
	for b.Loop() {
		OfTrack(fixes)
	}
}

func BenchmarkBeacons(b *testing.B) {
	fixes := journeysOf(2_000, 60)
	for b.Loop() {
		OfBeacons(fixes)
	}
}

func BenchmarkWeekOfRareBeacons(b *testing.B) {
	fixes := journeysOf(500, 1200)
	for b.Loop() {
		OfBeacons(fixes)
	}
}
