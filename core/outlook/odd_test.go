package outlook

import (
	"math"
	"testing"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

func TestOddNumbersAreRefusedOrUnknown(t *testing.T) {
	odd := []float64{0, -1, 1e-9, 36000, 1e300, math.Inf(1), math.NaN()}
	for _, a := range odd {
		for _, b := range odd {
			e := estimate.Of(a, b, a)
			u := tested(10, 2000)
			u.Runs = append(u.Runs, Run{Time: e, Rate: e, Draw: draw.Of(draw.Load{Time: e}, draw.Settings{Battery: u.Battery})})
			u.Split = closedForm().Split
			shift := Kind([]Unit{u}, Use{PerHour: b, Overs: 1, OverS: 6, TransmitMA: []float64{a}}, Shift{Seconds: b, Units: 3})
			for name, got := range map[string]estimate.Estimate{
				"pack": Pack(u, draw.Battery{CapacityMAh: max(a, 0)}).Runtime, "schedule": Schedule(u, b).Runtime,
				"route": Route(u, Plan{Beacons: e, Seconds: b}).Runtime, "shift": shift.Runtime,
				"share": Share(Duty{TX: 1, TXmA: e}, u.Battery).Runtime,
			} {
				if got.Known && !got.Sound() {
					t.Errorf("%s of %v and %v: %v", name, a, b, got)
				}
			}
		}
	}
}
