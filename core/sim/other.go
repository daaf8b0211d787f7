package sim

import (
	"fmt"
	"math"
	"math/rand/v2"

	"lastbeacon/core/geo"
)

// An Other is a fixed station that is not under test: a repeater's own beacon, a weather station, messages, objects. It
// proves that a recorder was alive.
type Other struct {
	Call, To, Path string
	Every          float64 // seconds between its packets, give or take 5 %
	From           float64 // its first one, seconds after the scenario's begin
	Until          float64 // it is silent from then; 0: it is not
	Loss           float64 // share that an ear loses
	Says           func(r *rand.Rand, n int) []byte
}

func (o Other) transmissions(r *rand.Rand, sc Scenario) (air []packet) {
	h := header(o.Call, o.To, o.Path)
	until := sc.Lasting
	if o.Until > 0 {
		until = min(until, o.Until)
	}
	t := o.From + o.Every*r.Float64()
	for n := 0; t < until; n++ {
		air = append(air, packet{t: t, header: h, info: o.Says(r, n), station: -1, loss: o.Loss})
		t += o.Every * between(r, 0.95, 1.05)
	}
	return air
}

// Text says the same always: a status, a message, a bulletin.
func Text(s string) func(*rand.Rand, int) []byte {
	return func(*rand.Rand, int) []byte { return []byte(s) }
}

// Stands says a place, a symbol and a comment.
func Stands(p geo.Place, symbol [2]byte, comment string) func(*rand.Rand, int) []byte {
	return Text("!" + string(appendPlain(nil, p, symbol)) + comment)
}

// Object says where something else is: name of up to nine bytes, with the time of the day counted from midnight.
func Object(name string, p geo.Place, symbol [2]byte, comment string) func(*rand.Rand, int) []byte {
	return Text(fmt.Sprintf(";%-9.9s*020540z%s%s", name, appendPlain(nil, p, symbol), comment))
}

// Weather says wind, temperature, humidity and pressure that change over the day.
func Weather(p geo.Place) func(*rand.Rand, int) []byte {
	return func(r *rand.Rand, n int) []byte {
		f := 45 + 9*math.Sin(float64(n)/20) + r.Float64()
		b := appendPlain([]byte("!"), p, [2]byte{'/', '_'})
		return fmt.Appendf(b, "%03.0f/%03.0fg%03.0ft%03.0fr000p000h%02.0fb%05.0f",
			between(r, 170, 230), between(r, 0, 9), between(r, 9, 20), f, between(r, 60, 80), 10110+40*math.Sin(float64(n)/50))
	}
}

// Telemetry says a sequence number and five values.
func Telemetry() func(*rand.Rand, int) []byte {
	return func(r *rand.Rand, n int) []byte {
		return fmt.Appendf(nil, "T#%03d,%03.0f,%03.0f,000,000,000,00000000", n%1000, between(r, 120, 135), between(r, 40, 60))
	}
}
