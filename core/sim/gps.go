package sim

import (
	"math"
	"math/rand/v2"

	"lastbeacon/core/geo"
)

// A GPS is how wrong a receiver's places are: Sigma metres on either axis, forgotten over Tau seconds (an
// Ornstein-Uhlenbeck process). The zero GPS is never wrong.
type GPS struct{ Sigma, Tau float64 }

// A fix is what the receiver says at a moment. Course is NaN below 0.5 m/s.
type fix struct {
	place         geo.Place
	speed, course float64
	altitude      float64 // metres
}

// errorStep is the time in seconds over which an error is drawn straight.
const errorStep = 10

// A sight is a way as a GPS sees it.
type sight struct {
	way         *Way
	east, north []float64 // metres of error every errorStep seconds
}

func (g GPS) follow(r *rand.Rand, way *Way, until float64) *sight {
	n := int(until/errorStep) + 3
	return &sight{way: way, east: g.wander(r, n), north: g.wander(r, n)}
}

func (g GPS) wander(r *rand.Rand, n int) []float64 {
	err := make([]float64, n)
	if g.Sigma == 0 {
		return err
	}
	keep := math.Exp(-errorStep / g.Tau)
	err[0] = g.Sigma * r.NormFloat64()
	for i := 1; i < n; i++ {
		err[i] = keep*err[i-1] + g.Sigma*math.Sqrt(1-keep*keep)*r.NormFloat64()
	}
	return err
}

// at gives the fix at t. Places are rounded to 1e-7 degree, so that no machine's last digit reaches a file.
func (s *sight) at(t float64) fix {
	here := s.way.step(t)
	i := min(int(t/errorStep), len(s.east)-2)
	f := t/errorStep - float64(i)
	de, dn := s.east[i+1]-s.east[i], s.north[i+1]-s.north[i]
	var m scale
	seen := fix{place: m.shift(here.place, s.east[i]+f*de, s.north[i]+f*dn), course: math.NaN(), altitude: math.Round(height(here.place))}
	seen.place.Lat, seen.place.Lon = round7(seen.place.Lat), round7(seen.place.Lon)
	const share = 0.3 / errorStep // a receiver's own speed suffers less than its places do
	sin, cos := math.Sincos(here.course * math.Pi / 180)
	ve, vn := here.speed*sin+share*de, here.speed*cos+share*dn
	seen.speed = math.Sqrt(ve*ve + vn*vn)
	if seen.speed >= 0.5 {
		seen.course = math.Mod(math.Atan2(ve, vn)*180/math.Pi+360, 360)
	}
	return seen
}

func round7(deg float64) float64 { return math.Round(deg*1e7) / 1e7 }

// height is the made-up hill country that the ways lead over, in metres.
func height(p geo.Place) float64 {
	return 940 + 110*math.Sin(p.Lat*220) + 80*math.Sin(p.Lon*130+1)
}
