//go:build measure

package endurance

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
	"lastbeacon/core/traffic"
)

// Measures how often an end is claimed of a unit that is still alive: walks of six hours in and out of radio shadows, cut
// off at a random moment while others go on being heard.

// A hike is a walk: legs of walking and of rest, in seconds from its begin.
type hike struct {
	rests []evidence.Span
	dark  []evidence.Span // heard from nowhere
}

// plan draws legs of the mean lengths, in seconds; rest 0 means that nobody rests.
func plan(r *rand.Rand, rest, covered, shadow float64) hike {
	var h hike
	for at := 0.0; rest > 0 && at < 21600; {
		at += 600 + 5400*r.Float64()
		until := at + rest*(0.2+1.6*r.Float64())
		h.rests = append(h.rests, evidence.Span{Start: second(at), End: second(until)})
		at = until
	}
	for at := 0.0; at < 21600; {
		at += covered * r.ExpFloat64()
		until := at + shadow*r.ExpFloat64()
		h.dark = append(h.dark, evidence.Span{Start: second(at), End: second(until)})
		at = until
	}
	return h
}

func in(all []evidence.Span, t clock.Instant) bool {
	return slices.ContainsFunc(all, func(s evidence.Span) bool { return t >= s.Start && t < s.End })
}

// walked gives the unit as heard until cut, with places along a bent way.
func (h hike) walked(r *rand.Rand, period, cut float64) *traffic.Unit {
	u := &traffic.Unit{Name: "Heron"}
	north, east, course := 0.0, 0.0, 6*r.Float64()
	line := int32(0)
	for at := 0.0; at < cut; at++ {
		if !in(h.rests, second(at)) {
			course += 0.01 * r.NormFloat64()
			north, east = north+1.2*math.Cos(course), east+1.2*math.Sin(course)
		}
		if math.Mod(at, period) >= 1 || in(h.dark, second(at)) || r.Float64() < 0.05 {
			continue
		}
		line++
		t := heardAt(second(at), line)
		cell := geo.Cell{Lat: 1.0 / 6000, Lon: 1.0 / 6000}
		t.Fix.Cell = cell
		t.Fix.Place = geo.Place{
			Lat: 60 + math.Round((north+5*r.NormFloat64())/111320/cell.Lat)*cell.Lat,
			Lon: 10 + math.Round((east+5*r.NormFloat64())/55660/cell.Lon)*cell.Lon,
		}
		u.Transmissions = append(u.Transmissions, t)
	}
	return u
}

func beaconTimeline(u *traffic.Unit) motion.Timeline {
	fixes := make([]evidence.Fix, 0, len(u.Transmissions))
	for i := range u.Transmissions {
		fixes = append(fixes, *u.Transmissions[i].Fix)
	}
	return motion.OfBeacons(fixes)
}

func TestCoverageOfWalks(t *testing.T) {
	fmt.Println("| walk | false ends % | lost % | asleep % | on the air % |")
	fmt.Println("|---|---|---|---|---|")
	for _, w := range []struct {
		name                  string
		rest, covered, shadow float64
		placed                bool
	}{
		{"without rest, 40 min heard, 15 min shadows", 0, 2400, 900, true},
		{"with rests of 10 min", 600, 2400, 900, true},
		{"with rests of an hour", 3600, 2400, 900, true},
		{"with rests of an hour, 90 min heard, 40 min shadows", 3600, 5400, 2400, true},
		{"without rest, no positions sent", 0, 2400, 900, false},
		{"with rests of an hour, no positions sent", 3600, 2400, 900, false},
	} {
		states := map[State]float64{}
		n := 0.0
		for i := range runsPerCell() {
			r := rand.New(rand.NewPCG(uint64(i), 11))
			period := []float64{60, 120, 180}[r.IntN(3)]
			h := plan(r, w.rest, w.covered, w.shadow)
			cut := 3600 + 18000*r.Float64()
			u := h.walked(r, period, cut)
			if len(u.Transmissions) < 3 {
				continue
			}
			for j := range u.Transmissions {
				if !w.placed {
					u.Transmissions[j].Fix = nil
				}
			}
			tr := trial{listened: cut, step: 1}
			s := tr.subject(u)
			s.Timeline = motion.Timeline{}
			if w.placed {
				s.Timeline = beaconTimeline(u)
			}
			n++
			states[one(s, tr.watch()).State]++
		}
		share := func(s State) float64 { return 100 * states[s] / n }
		fmt.Printf("| %s | %.2f | %.1f | %.1f | %.1f |\n", w.name, share(Ended), share(Lost), share(Asleep), share(OnAirAtLogEnd))
		if share(Ended) > 1 {
			t.Errorf("%s: %.2f %% false ends, want at most 1", w.name, share(Ended))
		}
	}
}
