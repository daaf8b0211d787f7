//go:build measure

package outlook

import (
	"math"
	"math/rand/v2"
	"testing"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// The proof by simulation: what is promised of runs yet to come, held against such runs. Run it with
//
//	go test -tags 'noasm measure' -run Benches -v ./core/outlook

const benches = 2000

// run gives hours on a charge at a mean current, with a run-to-run spread of 3 %, seen to within three minutes.
func run(r *rand.Rand, mah, ma float64) (float64, estimate.Estimate) {
	h := mah / ma * math.Exp(0.03*r.NormFloat64())
	seen := h + 0.05*(2*r.Float64()-1)
	return h, estimate.Of((seen-0.0475)*3600, seen*3600, (seen+0.0475)*3600)
}

func held(t *testing.T, name string, n, of int, low, high float64) {
	t.Helper()
	pct := 100 * float64(n) / float64(of)
	t.Logf("%-32s held %.1f %% of %d", name, pct, of)
	if pct < low || pct > high {
		t.Errorf("%s: held %.1f %%, want %g to %g", name, pct, low, high)
	}
}

func TestBenchesProjections(t *testing.T) {
	r := rand.New(rand.NewPCG(81, 82))
	pack, schedule, resolved := 0, 0, 0
	for range benches {
		idle, beacon := 60+90*r.Float64(), 0.2+0.4*r.Float64()
		b := draw.Battery{Pack: "A", CapacityMAh: 2000, Basis: draw.Printed, NominalV: 7.4}
		holds := 2000 * (1 + 0.05*(2*r.Float64()-1))
		u := Unit{Name: "u", Battery: b, CV: 0.03}
		var points []draw.Point
		for _, rate := range []float64{60, 30, 6} {
			_, seen := run(r, holds, idle+beacon*rate)
			load := draw.Load{Time: seen, Rate: estimate.Exact(rate)}
			d := draw.Of(load, draw.Settings{Battery: b})
			points = append(points, draw.Point{Load: load, Draw: d, Pack: "A"})
			u.Runs = []Run{{Time: seen, Rate: load.Rate, Draw: d}}
		}
		u.Split = draw.SplitOf(points, draw.Transmit{}, 0.03)
		other := draw.Battery{CapacityMAh: 3200, Basis: draw.PrintedUsed, NominalV: 7.4}
		next, _ := run(r, 3200*(1+0.1*(2*r.Float64()-1)), idle+beacon*6)
		if p := Pack(u, other).Runtime; p.Low <= next*3600 && next*3600 <= p.High {
			pack++
		}
		if p := Schedule(u, 15); p.Runtime.Known {
			resolved++
			next, _ := run(r, holds, idle+beacon*15)
			if p.Runtime.Low <= next*3600 && next*3600 <= p.Runtime.High {
				schedule++
			}
		}
	}
	held(t, "next run on another pack", pack, benches, 93, 97.5)
	held(t, "next run at another rate", schedule, resolved, 93, 97.5)
}

func TestBenchesShift(t *testing.T) {
	r := rand.New(rand.NewPCG(91, 92))
	for _, specimens := range []int{1, 2, 3, 5} {
		reached := 0
		life := func() float64 { return 12 * math.Exp(draw.SpecimenSpread*r.NormFloat64()) }
		for range benches {
			var lives []Life
			for i := range specimens {
				lives = append(lives, hours(string(rune('a'+i)), life()))
			}
			if life()*3600 >= Lasts(lives, Shift{}).Reach {
				reached++
			}
		}
		held(t, "one further unit, from "+string(rune('0'+specimens)), reached, benches, 93.5, 96.5)
	}
}
