package motion

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// tiles fails unless the periods tile the time seen, with bounds in order.
func tiles(t *testing.T, line Timeline) {
	t.Helper()
	for i, p := range line.Periods {
		for _, b := range []clock.Between{p.Start, p.End} {
			if b.Earliest > b.Best || b.Best > b.Latest {
				t.Fatalf("period %d: bounds out of order: %v", i, b)
			}
		}
		if p.End.Best <= p.Start.Best {
			t.Fatalf("period %d is empty: %v to %v", i, p.Start.Best, p.End.Best)
		}
		if i > 0 && line.Periods[i-1].End != p.Start {
			t.Fatalf("period %d begins at %v, the one before ends at %v", i, p.Start, line.Periods[i-1].End)
		}
		if d := p.Distance; d.Known && !(0 <= d.Low && d.Low <= d.Best && d.Best <= d.High) {
			t.Fatalf("period %d: distance %v", i, d)
		}
		if p.MaxSpeed < p.MeanSpeed {
			t.Fatalf("period %d: mean %v m/s above highest %v", i, p.MeanSpeed, p.MaxSpeed)
		}
	}
}

// summary gives states and boundaries to the second, with times counted from start.
func summary(line Timeline, start clock.Instant) (out []clock.Instant) {
	for _, p := range line.Periods {
		out = append(out, clock.Instant(p.State), p.Start.Earliest-start, p.Start.Best-start, p.Start.Latest-start, p.End.Best-start)
	}
	return out
}

// ways are the inputs that the properties are tried on.
func ways(w *world, r *rand.Rand) map[string]Timeline {
	return map[string]Timeline{
		"track":   OfTrack(w.track(5, false)),
		"beacons": OfBeacons(w.beacons(r, w.every(r, 60), hundredths, 0.1)),
	}
}

func TestPeriodsTile(t *testing.T) {
	for kind := range journeys {
		w := build(kind, 7)
		r := rand.New(rand.NewPCG(7, 7))
		track, beacons := OfTrack(w.track(10, true)), OfBeacons(w.beacons(r, w.adaptive(r), base91, 0.2))
		for _, line := range []Timeline{track, beacons, Join(track, beacons), Join(beacons, track)} {
			tiles(t, line)
			first, last, ok := line.Span()
			if !ok {
				t.Fatalf("%s: no span", w.name)
			}
			clipped := Timeline{Periods: line.Clip(first-60_000, last-120_000)}
			tiles(t, clipped)
			if a, b, _ := clipped.Span(); a != first-60_000 || b != last-120_000 || clipped.Periods[0].State != Unknown {
				t.Errorf("%s: clipped to %v to %v beginning %v", w.name, a, b, clipped.Periods[0].State)
			}
		}
		first, last, _ := track.Span()
		if fixes := clean(w.track(10, true)); first != fixes[0].At || last != fixes[len(fixes)-1].At {
			t.Errorf("%s: seen from %v to %v, fixes from %v to %v", w.name, first, last, fixes[0].At, fixes[len(fixes)-1].At)
		}
	}
}

func TestOrderOfFixesDoesNotMatter(t *testing.T) {
	w := build(0, 3)
	fixes := w.track(5, true)
	mixed := slices.Clone(fixes)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	if a, b := OfTrack(fixes), OfTrack(mixed); !reflect.DeepEqual(a.Periods, b.Periods) {
		t.Errorf("in order %v, mixed %v", summary(a, w.start), summary(b, w.start))
	}
	if a, b := OfTrack(fixes), OfTrack(slices.Concat(fixes, fixes)); !reflect.DeepEqual(a.Periods, b.Periods) {
		t.Error("the same fixes twice change the periods")
	}
}

func TestTimeShift(t *testing.T) {
	w := build(1, 4)
	before := ways(w, rand.New(rand.NewPCG(1, 2)))
	const shift = 123_456_789
	for i := range w.fixes {
		w.fixes[i].At += shift
	}
	for name, line := range ways(w, rand.New(rand.NewPCG(1, 2))) {
		if a, b := summary(before[name], w.start), summary(line, w.start+shift); !slices.Equal(a, b) {
			t.Errorf("%s: %v, shifted %v", name, a, b)
		}
	}
}

// The same journey 40 degrees further along a parallel, across the dateline, is the same journey.
func TestDatelineIsNoPlace(t *testing.T) {
	w := build(5, 9) // its place is at the dateline
	at := ways(w, rand.New(rand.NewPCG(3, 3)))
	for i := range w.fixes {
		w.fixes[i].Place.Lon = math.Remainder(w.fixes[i].Place.Lon-40, 360)
	}
	for name, line := range ways(w, rand.New(rand.NewPCG(3, 3))) {
		a, b := summary(at[name], w.start), summary(line, w.start)
		if len(a) != len(b) {
			t.Fatalf("%s: at the dateline %v, elsewhere %v", name, a, b)
		}
		for i := range a {
			if off := a[i] - b[i]; off > 1000 || off < -1000 {
				t.Errorf("%s: at the dateline %v, elsewhere %v", name, a, b)
			}
		}
	}
}

func TestJoinTakesTheTrackFirst(t *testing.T) {
	w := build(7, 2) // a track with pauses
	r := rand.New(rand.NewPCG(5, 5))
	fixes := w.track(1, true)
	half := len(fixes) / 2
	for i := range w.missing {
		w.missing[i] = false // the beacons have no pauses
	}
	track, beacons := OfTrack(fixes[:half]), OfBeacons(w.beacons(r, w.every(r, 60), hundredths, 0))
	joined := Join(track, beacons)
	tiles(t, joined)
	first, last, _ := joined.Span()
	if from, to, _ := beacons.Span(); last != to || first > from {
		t.Errorf("joined from %v to %v", first, last)
	}
	var alone, together tally
	alone.add(w, beacons)
	together.add(w, joined)
	if together.right/together.seconds < alone.right/alone.seconds {
		t.Errorf("joined %.2f %% right, beacons alone %.2f %%", 100*together.right/together.seconds, 100*alone.right/alone.seconds)
	}
	for s := clock.Instant(60); s < 500; s += 7 {
		if at := w.start + s*1000; joined.StateAt(at) != track.StateAt(at) {
			t.Errorf("at %d s: joined %v, track %v", s, joined.StateAt(at), track.StateAt(at))
		}
	}
}

// Places: the claimed radius holds the true place in most cases.
func TestPlaceAtHoldsTheTruth(t *testing.T) {
	held, all := 0, 0
	for seed := range uint64(12) {
		w := build(int(seed)%3, seed+40)
		r := rand.New(rand.NewPCG(seed, 5))
		line := OfBeacons(w.beacons(r, w.every(r, 120), hundredths, 0))
		for s := 0; s < len(w.truth); s += 13 {
			place, radius, known := line.PlaceAt(w.start + clock.Instant(s)*1000)
			if !known {
				continue
			}
			all++
			if place.Vector().Sub(w.place[s]).Length() <= radius {
				held++
			}
		}
	}
	if share := float64(held) / float64(all); share < 0.9 {
		t.Errorf("the radius holds the place in %.1f %% of %d cases, want at least 90", 100*share, all)
	}
}

// A small run of what `make measure` prints in full: it fails when a class falls clearly below what it used to reach.
func TestScoresDoNotFall(t *testing.T) {
	for _, c := range []struct {
		name            string
		agree, spurious float64
		line            func(*world, *rand.Rand) Timeline
	}{
		{"track", 99, 0.3, func(w *world, _ *rand.Rand) Timeline { return OfTrack(w.track(10, false)) }},
		{"60 s", 98, 0.5, func(w *world, r *rand.Rand) Timeline { return OfBeacons(w.beacons(r, w.every(r, 60), hundredths, 0)) }},
		{"300 s", 94, 0.5, func(w *world, r *rand.Rand) Timeline { return OfBeacons(w.beacons(r, w.every(r, 300), hundredths, 0)) }},
	} {
		var sum tally
		for kind := range journeys {
			w := build(kind, 11)
			sum.add(w, c.line(w, rand.New(rand.NewPCG(11, 11))))
		}
		agree, spurious := 100*sum.right/sum.labelled, float64(sum.spurious)/float64(sum.tracks)
		if agree < c.agree || spurious > c.spurious || 100*sum.held < 90*sum.claimed {
			t.Errorf("%s: %.2f %% right, %.2f spurious, %d of %d bounds hold", c.name, agree, spurious, sum.held, sum.claimed)
		}
	}
}

func FuzzTimeline(f *testing.F) {
	f.Add([]byte("not a journey at all, but sixty bytes of something to begin with."))
	f.Add(make([]byte, 200))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var fixes []evidence.Fix
		for ; len(raw) >= 12 && len(fixes) < 300; raw = raw[12:] {
			u := binary.LittleEndian.Uint32
			fixes = append(fixes, evidence.Fix{
				At:    noon + clock.Instant(int32(u(raw))>>8),
				Place: geo.Place{Lat: float64(int32(u(raw[4:]))) / 2e7, Lon: float64(int32(u(raw[8:]))) / 1e7},
				Cell:  geo.Cell{Lat: float64(raw[0]) / 5000}, Speed: math.Float32frombits(u(raw[2:])), Course: math.Float32frombits(u(raw[6:])),
			})
		}
		half := len(fixes) / 2
		track, beacons := OfTrack(fixes[:half]), OfBeacons(fixes[half:])
		for _, line := range []Timeline{track, beacons, Join(track, beacons), OfTrack(fixes)} {
			tiles(t, line)
			for at := noon - 40_000; at < noon+40_000; at += 7_919 {
				if v, known := line.SpeedAt(at); known && !(v >= 0) {
					t.Fatalf("speed %v", v)
				}
				if c, known := line.CourseAt(at); known && !(c >= 0 && c < 360) {
					t.Fatalf("course %v", c)
				}
				line.PlaceAt(at)
			}
		}
	})
}
