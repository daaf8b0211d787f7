package geo

import "math"

// A Vector is a point or a displacement in metres in earth-centred, earth-fixed axes: X towards latitude 0 longitude 0,
// Z towards the north pole. Sums, means and medians of places are taken in it, because it has neither dateline nor pole.
type Vector struct{ X, Y, Z float64 }

// Add gives v + w.
func (v Vector) Add(w Vector) Vector { return Vector{v.X + w.X, v.Y + w.Y, v.Z + w.Z} }

// Sub gives v - w.
func (v Vector) Sub(w Vector) Vector { return Vector{v.X - w.X, v.Y - w.Y, v.Z - w.Z} }

// Scale gives v times f.
func (v Vector) Scale(f float64) Vector { return Vector{v.X * f, v.Y * f, v.Z * f} }

// Dot gives the scalar product of v and w.
func (v Vector) Dot(w Vector) float64 { return v.X*w.X + v.Y*w.Y + v.Z*w.Z }

// Length gives the length of v.
func (v Vector) Length() float64 { return math.Sqrt(v.Dot(v)) }

// Vector gives the earth-centred coordinates of p, at height 0.
func (p Place) Vector() Vector {
	sinLat, cosLat := math.Sincos(p.Lat * math.Pi / 180)
	sinLon, cosLon := math.Sincos(p.Lon * math.Pi / 180)
	prime := equatorialRadius / math.Sqrt(1-eccentricity2*sinLat*sinLat)
	return Vector{prime * cosLat * cosLon, prime * cosLat * sinLon, prime * (1 - eccentricity2) * sinLat}
}

// Place gives the place whose normal to the ellipsoid passes through v, which must lie within a few kilometres of the
// surface, as means of neighbouring places do: the error is below 1 mm there.
func (v Vector) Place() Place {
	axis := math.Hypot(v.X, v.Y)
	lat := math.Atan2(v.Z, axis*(1-eccentricity2))
	for range 3 {
		sin := math.Sin(lat)
		prime := equatorialRadius / math.Sqrt(1-eccentricity2*sin*sin)
		lat = math.Atan2(v.Z+eccentricity2*prime*sin, axis)
	}
	return Place{lat * 180 / math.Pi, math.Atan2(v.Y, v.X) * 180 / math.Pi}
}

// Chord gives the straight line in metres between two places, through the ellipsoid. It is shorter than the distance by
// the cube of itself over 24 times the square of the earth's radius: 1 mm at 10 km.
func Chord(p, q Place) float64 { return q.Vector().Sub(p.Vector()).Length() }

// Offset gives how far q lies east and north of p, in metres on the plane that touches the ellipsoid at p. It falls short of
// the distance by its cube over six times the square of the earth's radius: 4 m at 100 km.
func (p Place) Offset(q Place) (east, north float64) {
	e, n := p.axes()
	way := q.Vector().Sub(p.Vector())
	return way.Dot(e), way.Dot(n)
}

// axes gives the unit vectors towards east and north at p.
func (p Place) axes() (east, north Vector) {
	sinLat, cosLat := math.Sincos(p.Lat * math.Pi / 180)
	sinLon, cosLon := math.Sincos(p.Lon * math.Pi / 180)
	return Vector{-sinLon, cosLon, 0}, Vector{-sinLat * cosLon, -sinLat * sinLon, cosLat}
}
