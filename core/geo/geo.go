// Package geo holds places on the WGS-84 ellipsoid, the distances and courses between them, and the cell that a place
// was rounded to before it was sent. Heights are not kept: a place lies on the ellipsoid.
//
// Defining constants: National Imagery and Mapping Agency, Technical Report 8350.2 (a, 1/f).
package geo

import "math"

const (
	equatorialRadius = 6378137.0
	flattening       = 1 / 298.257223563
	polarRadius      = equatorialRadius * (1 - flattening)
	eccentricity2    = flattening * (2 - flattening)
)

// A Place is a point on the WGS-84 ellipsoid in degrees: Lat -90 to 90, Lon -180 to 180, north and east positive.
type Place struct{ Lat, Lon float64 }

// Valid tells whether p lies within the range of degrees. Longitudes 180 and -180 are both valid and the same meridian.
func (p Place) Valid() bool {
	return p.Lat >= -90 && p.Lat <= 90 && p.Lon >= -180 && p.Lon <= 180
}

// A Cell is the size in degrees of the box that a sent position stands for (quantisation or position ambiguity).
// The zero Cell means that the place was not rounded in a way that matters.
type Cell struct{ Lat, Lon float64 }

// Metres gives the size of c in metres, north to south and east to west, where its middle lies at latitude lat (degrees).
func (c Cell) Metres(lat float64) (north, east float64) {
	sin, cos := math.Sincos(lat * math.Pi / 180)
	w2 := 1 - eccentricity2*sin*sin
	prime := equatorialRadius / math.Sqrt(w2)
	meridian := prime * (1 - eccentricity2) / w2
	return c.Lat * math.Pi / 180 * meridian, c.Lon * math.Pi / 180 * prime * math.Abs(cos)
}

// nearby is the chord (m) up to which a geodesic is taken from its chord: beyond it, the neglected terms pass 0.1 mm.
const nearby = 20_000

// Distance gives the length in metres of the shortest path on the ellipsoid from p to q: within 1 mm up to 20 km, within
// 1 part in a million beyond, antipodal pairs included. It is NaN unless both places are valid.
func Distance(p, q Place) float64 {
	if !p.Valid() || !q.Valid() {
		return math.NaN()
	}
	if d := Chord(p, q); d <= nearby {
		return fromChord(d)
	}
	distance, _ := geodesic(p, q)
	return distance
}

// fromChord lengthens a short chord to its arc on a sphere of the mean radius.
func fromChord(d float64) float64 {
	const r = 6371008.8
	return d * (1 + d*d/(24*r*r))
}

// Course gives the direction at p of the shortest path to q, in degrees from north over east, 0 <= course < 360. It is not
// defined where the two places coincide to 0.1 mm or one is not valid.
func Course(p, q Place) (degrees float64, defined bool) {
	if !p.Valid() || !q.Valid() {
		return 0, false
	}
	chord := q.Vector().Sub(p.Vector())
	d := chord.Length()
	if d < 1e-4 {
		return 0, false
	}
	if d <= nearby {
		east, north := p.axes()
		return turn(math.Atan2(chord.Dot(east), chord.Dot(north))), true
	}
	_, azimuth := geodesic(p, q)
	return turn(azimuth), true
}

// turn gives an angle in radians as degrees from 0 to below 360.
func turn(radians float64) float64 {
	d := math.Mod(radians*180/math.Pi, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 { // a tiny negative angle rounds up to a full turn
		return 0
	}
	return d
}
