package estimate

import "math"

// A Part is one line of an uncertainty budget. Source is a code ("time", "capacity", "repeat" ...), Type is 'A' where the
// data themselves show the spread and 'B' where it is known or assumed otherwise (JCGM 100:2008, 4.2 and 4.3). Relative
// is the standard uncertainty divided by the value. Assumed marks figures that nobody measured or stated.
type Part struct {
	Source   string
	Type     byte
	Relative float64
	Assumed  bool
}

// Combined gives the standard uncertainty of a result with sensitivities c to inputs of standard uncertainties u and
// correlations r (JCGM 100:2008, 5.2.2). A nil r means independent inputs.
func Combined(c, u []float64, r func(i, j int) float64) float64 {
	v := 0.0
	for i := range c {
		v += c[i] * c[i] * u[i] * u[i]
		for j := range i {
			if r != nil {
				v += 2 * c[i] * c[j] * u[i] * u[j] * r(i, j)
			}
		}
	}
	return math.Sqrt(max(0, v))
}

// Rect gives the standard uncertainty of a value that lies anywhere within half (JCGM 100:2008, 4.3.7).
func Rect(half float64) float64 { return half / math.Sqrt(3) }
