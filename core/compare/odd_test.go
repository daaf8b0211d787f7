package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// odd gives numbers as no good bench would hold them.
func odd(r *rand.Rand) float64 {
	return []float64{0, -1, 1e-300, 1e300, 1, 30, 36000, math.Inf(1), math.Inf(-1), math.NaN()}[r.IntN(10)]
}

func oddEstimate(r *rand.Rand) estimate.Estimate {
	switch r.IntN(4) {
	case 0:
		return estimate.Unknown
	case 1:
		return estimate.Exact(odd(r))
	case 2:
		return estimate.AtLeast(odd(r))
	}
	return estimate.Of(odd(r), odd(r), odd(r))
}

func oddSubject(r *rand.Rand) Subject {
	s := Subject{Name: "odd"}
	var points []draw.Point
	for range r.IntN(4) {
		load := draw.Load{Time: oddEstimate(r), Over: oddEstimate(r), Sent: oddEstimate(r), Rate: oddEstimate(r),
			AirtimeS: oddEstimate(r), Relayed: r.IntN(3), Mixed: r.IntN(9) == 0}
		b := draw.Battery{CapacityMAh: odd(r), NominalV: odd(r), TolerancePct: odd(r), EnergyWh: odd(r), Basis: draw.Printed,
			Supply: []draw.Supply{draw.Pack, draw.Bank, draw.Primary, draw.External}[r.IntN(4)]}
		if b.Check() != nil {
			b = draw.Battery{CapacityMAh: 2000}
		}
		d := draw.Of(load, draw.Settings{Battery: b, ChargeUsedMAh: max(0, r.Float64()*2000-1500)})
		points = append(points, draw.Point{Load: load, Draw: d, Pack: "A"})
		s.Runs = append(s.Runs, Run{Rankable: r.IntN(5) > 0, Time: load.Time, Rate: load.Rate, Draw: d, Pack: "A",
			Facts: Facts{AirtimeS: load.AirtimeS, TemperatureC: oddEstimate(r), FixPct: oddEstimate(r), PowerW: odd(r), PowerMeasured: true}})
	}
	s.Split = draw.SplitOf(points, draw.Transmit{CurrentMA: odd(r), PowerW: odd(r)}, DefaultCV)
	return s
}

func TestOddNumbersEndInNoVerdictNotInAPanic(t *testing.T) {
	r := rand.New(rand.NewPCG(71, 72))
	for range 800 {
		c := Pair(oddSubject(r), oddSubject(r), Settings{})
		for name, e := range map[string]estimate.Estimate{"run time": c.Runtime.Ratio, "draw": c.Draw.Ratio, "rate": c.RateRatio, "explains": c.Explains} {
			if e.Known && (math.IsNaN(e.Low) || math.IsNaN(e.Best) || math.IsNaN(e.High)) {
				t.Fatalf("%s: %v", name, e)
			}
		}
	}
}
