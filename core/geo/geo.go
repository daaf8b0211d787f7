// Package geo holds places on the WGS-84 ellipsoid, the distances and courses between them, and the cell that a place
// was rounded to before it was sent.
package geo

// A Place is a point on the WGS-84 ellipsoid in degrees: Lat -90 to 90, Lon -180 to 180, north and east positive.
type Place struct{ Lat, Lon float64 }

// A Cell is the size in degrees of the box that a sent position stands for (quantisation or position ambiguity).
// The zero Cell means that the place was not rounded in a way that matters.
type Cell struct{ Lat, Lon float64 }
