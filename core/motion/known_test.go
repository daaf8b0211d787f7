package motion

import (
	"math"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// metresNorth moves a place of mid latitudes north by metres: 111.132 km a degree at 45 degrees (WGS-84).
func metresNorth(m float64) geo.Place { return geo.Place{Lat: 45 + m/111132, Lon: 7} }

// still gives a fix without speed.
func still(at int, metres float64) evidence.Fix {
	nan := float32(math.NaN())
	return evidence.Fix{At: noon + clock.Instant(at)*1000, Place: metresNorth(metres), Speed: nan, Course: nan}
}

// drive gives fixes every step seconds of a unit that drives at speed (m/s), rests from stop to resume, and drives on to end.
func drive(first, step, stop, resume, end int, speed float64) []evidence.Fix {
	var out []evidence.Fix
	for t := first; t <= end; t += step {
		gone := min(t, stop) + max(t-resume, 0)
		out = append(out, still(t, speed*float64(gone)))
	}
	return out
}

// Of beacons every I seconds at a random phase, two fall into a stop of length S: never if S < I, with probability S/I - 1 up
// to 2 I, always from there on (elementary; two arrivals of a lattice within a window). A stop that two fixes saw must be
// found; one that no fix saw may only be claimed as inferred.
func TestVisibilityOfAStop(t *testing.T) {
	const interval, start, speed = 120, 1800, 15
	for _, c := range []struct {
		name   string
		length int
		share  float64
	}{
		{"shorter than the interval", 100, 0}, {"half as long again", 180, 0.5}, {"nearly two intervals", 210, 0.75},
		{"two intervals", 240, 1}, {"five intervals", 600, 1},
	} {
		seen := 0
		for phase := range interval {
			line := OfBeacons(drive(phase, interval, start, start+c.length, 2*start+c.length, speed))
			inside := (start+c.length-phase)/interval - (start-1-phase)/interval
			i := line.PeriodAt(noon + clock.Instant(start+c.length/2)*1000)
			found := line.Periods[i].State == Stationary
			if inside >= 2 {
				seen++
				if !found {
					t.Errorf("%s, phase %d: a stop seen by %d fixes is missed: %v", c.name, phase, inside, states(line))
				}
			}
			if inside == 0 && found && !line.Periods[i].Inferred {
				t.Errorf("%s, phase %d: a stop that no fix saw is claimed as seen", c.name, phase)
			}
		}
		if share := float64(seen) / interval; math.Abs(share-c.share) > 1.5/interval {
			t.Errorf("%s: two fixes inside at %.3f of phases, want %.3f", c.name, share, c.share)
		}
	}
}

func states(t Timeline) (out []string) {
	for _, p := range t.Periods {
		out = append(out, p.State.String())
	}
	return out
}

// Faults of rules that judge step by step, each a known trap of published libraries; the expected answers follow from the
// definition that the states tile the time seen.
func TestTraps(t *testing.T) {
	frozen := drive(0, 1, 0, 1e9, 3600, 0)
	parkedNight := append(drive(0, 10, 0, 1e9, 1200, 0), shifted(drive(0, 10, 0, 1e9, 1200, 0), 28_800, 20)...)
	away := append(drive(0, 10, 0, 1e9, 1200, 0), shifted(drive(0, 10, 0, 1e9, 1200, 0), 7200, 5000)...)
	tunnel := drive(0, 5, 1e9, 1e9, 1800, 20)
	tunnel = append(tunnel[:120:120], tunnel[180:]...)
	stray := drive(0, 30, 0, 1e9, 3600, 0)
	stray[50].Place = metresNorth(9000)
	null := drive(0, 30, 0, 1e9, 3600, 0)
	null[20].Place = geo.Place{}
	stale := drive(0, 60, 1e9, 1e9, 3600, 15)
	stale[30].Place = stale[29].Place
	for _, c := range []struct {
		name  string
		line  Timeline
		state []State
	}{
		{"a frozen position is a stop, not nothing", OfTrack(frozen), []State{Stationary}},
		{"a night switched off at one place", OfTrack(parkedNight), []State{Stationary}},
		{"switched off here, on again elsewhere", OfTrack(away), []State{Stationary, Unknown, Stationary}},
		{"a tunnel on the way", OfTrack(tunnel), []State{Moving}},
		{"one fix far off while parked", OfBeacons(stray), []State{Stationary}},
		{"a null fix while parked", OfBeacons(null), []State{Stationary}},
		{"one stale copy on the way", OfBeacons(stale), []State{Moving}},
	} {
		t.Run(c.name, func(t *testing.T) {
			tiles(t, c.line)
			if len(c.line.Periods) != len(c.state) {
				t.Fatalf("states = %v, want %v", states(c.line), c.state)
			}
			for i, p := range c.line.Periods {
				if p.State != c.state[i] {
					t.Errorf("states = %v, want %v", states(c.line), c.state)
				}
			}
		})
	}
	if p := OfTrack(parkedNight).Periods[0]; !p.Inferred {
		t.Error("a night without fixes is not marked as inferred")
	}
}

func shifted(fixes []evidence.Fix, seconds int, metres float64) []evidence.Fix {
	for i := range fixes {
		fixes[i].At += clock.Instant(seconds) * 1000
		fixes[i].Place.Lat += metres / 111132
	}
	return fixes
}

// Parked on a cell edge a place sent in hundredths of a minute flips by 18.5 m north and 13.1 m east (GeographicLib figures for
// 45 N): a displacement of nothing.
func TestFlickerAtACellEdge(t *testing.T) {
	cell := geo.Cell{Lat: 1.0 / 6000, Lon: 1.0 / 6000}
	var fixes []evidence.Fix
	for i := range 240 {
		f := still(i*30, 0)
		f.Cell = cell
		f.Place.Lat += float64(i*7%2) * cell.Lat
		f.Place.Lon += float64(i*11%3%2) * cell.Lon
		fixes = append(fixes, f)
	}
	if line := OfBeacons(fixes); len(line.Periods) != 1 || line.Periods[0].State != Stationary {
		t.Errorf("states = %v, want one stop", states(line))
	}
}

// A car leaves at 30 km/h between two beacons; the truth lies within the bounds, which are no wider than four intervals.
func TestBoundsHoldTheTruth(t *testing.T) {
	for phase := range 60 {
		fixes := drive(phase, 60, 1200, 2400, 3600, 8.33)
		line := OfBeacons(fixes)
		if len(line.Periods) != 3 {
			t.Fatalf("phase %d: %v", phase, states(line))
		}
		for i, at := range []clock.Instant{1200, 2400} {
			b := line.Periods[i].End
			truth := noon + at*1000
			width, _ := b.Width()
			if b.Earliest > truth || b.Latest < truth || width.Seconds() > 240 {
				t.Errorf("phase %d: %v to %v does not hold %v, or is wide", phase, b.Earliest, b.Latest, truth)
			}
		}
	}
}

// The limits of an Ornstein-Uhlenbeck way: straight for short times, and the root of 2 turn / span for long ones (Uhlenbeck and
// Ornstein, Physical Review 36 (1930) 823, mean square displacement).
func TestStraightness(t *testing.T) {
	for _, c := range []struct{ span, turn, want, within float64 }{
		{0, 100, 1, 1e-12}, {1, 100, 1 - 1.0/600, 1e-5}, {100, 100, math.Sqrt(2 * math.Exp(-1)), 1e-12}, {1e6, 100, math.Sqrt(2e-4), 1e-5},
	} {
		if got := straightness(c.span, c.turn); math.Abs(got-c.want) > c.within {
			t.Errorf("straightness(%v, %v) = %v, want %v", c.span, c.turn, got, c.want)
		}
	}
}

func TestNothingToSee(t *testing.T) {
	for _, fixes := range [][]evidence.Fix{nil, {still(0, 0)}, {still(5, 0), still(5, 100)}, {{At: clock.None}, {At: noon, Place: geo.Place{Lat: 91}}}} {
		line := OfBeacons(fixes)
		if _, _, ok := line.Span(); ok || line.StateAt(noon) != Unknown {
			t.Errorf("%d fixes: %+v", len(fixes), line.Periods)
		}
		if _, known := line.SpeedAt(noon); known {
			t.Error("a speed is known")
		}
		if _, _, known := line.PlaceAt(noon); known {
			t.Error("a place is known")
		}
		if got := line.Clip(noon, noon+1000); len(got) != 1 || got[0].State != Unknown {
			t.Errorf("Clip = %+v, want one unknown period", got)
		}
	}
}
