package geo

import "math"

// The long way between two places: the inverse problem on the auxiliary sphere. The relations are those of C. F. F. Karney,
// "Algorithms for geodesics", Journal of Geodesy 87 (2013) 43-55, eqs. 5, 8, 10-12, 44 and 45; his two integrals are taken
// here by Gauss-Legendre quadrature and his starting azimuth is found by bracketing, so that no pair fails to converge.

// geodesic gives the distance in metres and the azimuth at p in radians. The pair is first turned into the one form that
// has a single root: the first place southern and at least as far from the equator as the second, going east.
func geodesic(p, q Place) (distance, azimuth float64) {
	east, north, reverse := 1.0, 1.0, 1.0
	lambda := math.Remainder(q.Lon-p.Lon, 360) * math.Pi / 180
	if lambda < 0 {
		east, lambda = -1, -lambda
	}
	lat1, lat2 := p.Lat, q.Lat
	if math.Abs(lat1) < math.Abs(lat2) {
		lat1, lat2, reverse, east = lat2, lat1, -1, -east
	}
	if lat1 > 0 {
		north, lat1, lat2 = -1, -lat1, -lat2
	}
	a := newArc(lat1, lat2)
	if lat1 == 0 && lambda <= (1-flattening)*math.Pi {
		return equatorialRadius * lambda, east * reverse * math.Pi / 2
	}
	a.aim(lambda)
	sin, cos := a.sinAlpha1, a.cosAlpha1
	if reverse < 0 {
		sin, cos = a.sinAlpha2, a.cosAlpha2
	}
	return a.length(), math.Atan2(sin*reverse*east, cos*reverse*north)
}

// An arc is a geodesic from reduced latitude beta1 to beta2 that leaves at azimuth alpha1.
type arc struct {
	sinBeta1, cosBeta1, sinBeta2, cosBeta2     float64
	sinAlpha1, cosAlpha1, sinAlpha2, cosAlpha2 float64
	sinAlpha0, k2                              float64 // azimuth at the equator; ellipticity of the arc
	sigma1, sigma2                             float64 // arc lengths from the equator crossing on the auxiliary sphere
}

// newArc sets the two ends; lat1 <= 0 and |lat1| >= |lat2|, in degrees.
func newArc(lat1, lat2 float64) arc {
	beta := func(lat float64) float64 {
		sin, cos := math.Sincos(lat * math.Pi / 180)
		return math.Atan2((1-flattening)*sin, cos)
	}
	const offEquator = 1e-13 // 1 um: keeps the sense of an arc between two points of the equator
	var a arc
	a.sinBeta1, a.cosBeta1 = math.Sincos(min(beta(lat1), -offEquator))
	a.sinBeta2, a.cosBeta2 = math.Sincos(beta(lat2))
	return a
}

// aim sets the azimuth at which the arc spans the difference of longitude lambda (0 to pi), which grows with the azimuth.
func (a *arc) aim(lambda float64) {
	low, high := 0.0, math.Pi
	if lambda <= 0 || lambda >= math.Pi {
		a.leave(min(max(lambda, 0), math.Pi))
		return
	}
	for range 60 {
		middle := (low + high) / 2
		a.leave(middle)
		if a.longitude() < lambda {
			low = middle
		} else {
			high = middle
		}
	}
}

// leave sets the azimuth at the first end and what follows from it.
func (a *arc) leave(alpha1 float64) {
	a.sinAlpha1, a.cosAlpha1 = math.Sincos(alpha1)
	a.sinAlpha0 = a.sinAlpha1 * a.cosBeta1
	a.sinAlpha2 = a.sinAlpha0 / a.cosBeta2
	north := a.cosAlpha1 * a.cosBeta1
	rest := (a.cosBeta2 - a.cosBeta1) * (a.cosBeta2 + a.cosBeta1)
	a.cosAlpha2 = math.Sqrt(max(north*north+rest, 0)) / a.cosBeta2
	a.sigma1 = math.Atan2(a.sinBeta1, a.cosAlpha1*a.cosBeta1)
	a.sigma2 = math.Atan2(a.sinBeta2, a.cosAlpha2*a.cosBeta2)
	cos2Alpha0 := 1 - a.sinAlpha0*a.sinAlpha0
	a.k2 = eccentricity2 / (1 - eccentricity2) * cos2Alpha0
}

// longitude gives the difference of longitude that the arc spans.
func (a *arc) longitude() float64 {
	omega1 := math.Atan2(a.sinAlpha0*a.sinBeta1, a.cosAlpha1*a.cosBeta1)
	omega2 := math.Atan2(a.sinAlpha0*a.sinBeta2, a.cosAlpha2*a.cosBeta2)
	shortfall := quadrature(a.sigma1, a.sigma2, func(sin float64) float64 {
		return (2 - flattening) / (1 + (1-flattening)*math.Sqrt(1+a.k2*sin*sin))
	})
	return omega2 - omega1 - flattening*a.sinAlpha0*shortfall
}

// length gives the length of the arc in metres.
func (a *arc) length() float64 {
	return polarRadius * quadrature(a.sigma1, a.sigma2, func(sin float64) float64 {
		return math.Sqrt(1 + a.k2*sin*sin)
	})
}

// Nodes and weights of the eight-point Gauss-Legendre rule on -1 to 1 (Abramowitz and Stegun, table 25.4).
var gauss = [4][2]float64{
	{0.183434642495650, 0.362683783378362}, {0.525532409916329, 0.313706645877887},
	{0.796666477413627, 0.222381034453374}, {0.960289856497536, 0.101228536290376},
}

// quadrature integrates f(sin x) from low to high in two halves, each by eight points: exact to about 1e-14 here, since f
// varies by one part in 150.
func quadrature(low, high float64, f func(sin float64) float64) float64 {
	half := (high - low) / 4
	sum := 0.0
	for _, middle := range [2]float64{low + half, high - half} {
		for _, g := range gauss {
			sum += g[1] * (f(math.Sin(middle+half*g[0])) + f(math.Sin(middle-half*g[0])))
		}
	}
	return sum * half
}
