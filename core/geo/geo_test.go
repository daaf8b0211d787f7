package geo

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

type pair struct {
	Name                   string
	Lat1, Lon1, Lat2, Lon2 float64
	AzimuthDeg             float64 `json:"azimuth_deg"`
	DistanceM              float64 `json:"distance_m"`
	ChordM                 float64 `json:"chord_m"`
}

func pairs(t *testing.T) []pair {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/geo/geodesics.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Pairs []pair }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Pairs) < 25 {
		t.Fatalf("%d pairs, want at least 25", len(file.Pairs))
	}
	return file.Pairs
}

// Source of the answers: GeodSolve of GeographicLib 2.1.2, as named in the file.
func TestKnownGeodesics(t *testing.T) {
	for _, c := range pairs(t) {
		t.Run(c.Name, func(t *testing.T) {
			p, q := Place{c.Lat1, c.Lon1}, Place{c.Lat2, c.Lon2}
			allowed := max(0.0006, 1e-9*c.DistanceM)
			if d := Distance(p, q); math.Abs(d-c.DistanceM) > allowed {
				t.Errorf("distance = %.4f, want %.4f", d, c.DistanceM)
			}
			if d := Distance(q, p); math.Abs(d-c.DistanceM) > allowed {
				t.Errorf("distance back = %.4f, want %.4f", d, c.DistanceM)
			}
			if d := Chord(p, q); math.Abs(d-c.ChordM) > 0.0006 {
				t.Errorf("chord = %.4f, want %.3f", d, c.ChordM)
			}
			course, defined := Course(p, q)
			if defined != (c.DistanceM > 0) {
				t.Fatalf("course defined = %v at %v m", defined, c.DistanceM)
			}
			if off := math.Abs(math.Remainder(course-c.AzimuthDeg, 360)); defined && off > 1e-4 {
				t.Errorf("course = %.6f, want %.6f", course, c.AzimuthDeg)
			}
		})
	}
}

// The long and the short way of computing must agree where both hold.
func TestShortAndLongWayAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		p := Place{r.Float64()*178 - 89, r.Float64()*360 - 180}
		q := Place{min(max(p.Lat+(r.Float64()-0.5)*0.2, -90), 90), math.Remainder(p.Lon+(r.Float64()-0.5)*0.2, 360)}
		chord := Chord(p, q)
		if chord > nearby || chord < 10 {
			continue
		}
		long, azimuth := geodesic(p, q)
		if math.Abs(long-Distance(p, q)) > 1e-3 {
			t.Errorf("%v to %v: %.5f by the chord, %.5f by the geodesic", p, q, Distance(p, q), long)
		}
		course, _ := Course(p, q)
		if off := math.Abs(math.Remainder(course-turn(azimuth), 360)); off > 1e-3 {
			t.Errorf("%v to %v: course %v by the chord, %v by the geodesic", p, q, course, turn(azimuth))
		}
	}
}

// Antipodal pairs have a known longest distance: half a meridian, 2 x 10001965.7293 m (GeographicLib, meridian quarter).
func TestAntipodalPairs(t *testing.T) {
	const half = 2 * 10001965.7293
	for _, p := range []Place{{0, 0}, {30, 20}, {-89.999, 5}, {90, 0}, {0.3, -179.9}, {45, 180}} {
		opposite := Place{-p.Lat, math.Remainder(p.Lon+180, 360)}
		if d := Distance(p, opposite); math.Abs(d-half) > 0.01 {
			t.Errorf("%v to its antipode: %.3f, want %.3f", p, d, half)
		}
		near := Place{-p.Lat * 0.999, math.Remainder(p.Lon+179.6, 360)}
		if d := Distance(p, near); !(d > half*0.99 && d <= half+0.01) {
			t.Errorf("%v to nearly its antipode: %.3f, want just below %.3f", p, d, half)
		}
	}
}

func TestCourseUndefined(t *testing.T) {
	for _, c := range []struct {
		name string
		p, q Place
	}{
		{"same point", Place{1, 2}, Place{1, 2}},
		{"same meridian written twice", Place{10, 180}, Place{10, -180}},
		{"the pole under two longitudes", Place{90, 10}, Place{90, -70}},
		{"not a place", Place{91, 0}, Place{1, 2}},
		{"not a number", Place{math.NaN(), 0}, Place{1, 2}},
	} {
		if _, defined := Course(c.p, c.q); defined {
			t.Errorf("%s: course is defined", c.name)
		}
	}
	if !math.IsNaN(Distance(Place{91, 0}, Place{})) {
		t.Error("distance from latitude 91 is a number")
	}
}

func TestVectorAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 1000 {
		p := Place{r.Float64()*180 - 90, r.Float64()*360 - 180}
		for _, depth := range []float64{1, 1 - 1e-4} {
			if d := Distance(p, p.Vector().Scale(depth).Place()); d > 2.2 || (depth == 1 && d > 1e-3) {
				t.Fatalf("%v comes back %v m off at scale %v", p, d, depth)
			}
		}
	}
}

// Sizes of 0.01 minute from the same GeodSolve table: 18.522 m north and 13.141 m east at 45 N, 9.300 m east at 60 N,
// 18.429 m north and 18.553 m east at the equator.
func TestCellMetres(t *testing.T) {
	hundredth := Cell{0.01 / 60, 0.01 / 60}
	for _, c := range []struct{ lat, north, east float64 }{
		{45, 18.522, 13.141}, {60, math.NaN(), 9.300}, {0, 18.429, 18.553}, {-45, 18.522, 13.141}, {90, math.NaN(), 0},
	} {
		north, east := hundredth.Metres(c.lat)
		if math.Abs(north-c.north) > 0.001 || math.Abs(east-c.east) > 0.001 {
			t.Errorf("at %v: %.4f by %.4f m, want %.3f by %.3f", c.lat, north, east, c.north, c.east)
		}
	}
}

func TestDistanceAllocatesNothing(t *testing.T) {
	p, q := Place{45, 7}, Place{45.001, 7.001}
	if n := testing.AllocsPerRun(100, func() { Distance(p, q) }); n != 0 {
		t.Errorf("allocs = %v, want 0", n)
	}
}

func FuzzDistance(f *testing.F) {
	f.Add(0.0, 0.0, 0.5, 179.5)
	f.Add(90.0, 0.0, -90.0, 180.0)
	f.Fuzz(func(t *testing.T, lat1, lon1, lat2, lon2 float64) {
		p, q := Place{lat1, lon1}, Place{lat2, lon2}
		d := Distance(p, q)
		course, defined := Course(p, q)
		if !p.Valid() || !q.Valid() {
			if !math.IsNaN(d) || defined {
				t.Fatalf("%v to %v: %v, %v", p, q, d, course)
			}
			return
		}
		if !(d >= 0 && d < 20003932) || d < Chord(p, q)*(1-1e-9) || course < 0 || course >= 360 {
			t.Fatalf("%v to %v: distance %v, chord %v, course %v", p, q, d, Chord(p, q), course)
		}
	})
}
