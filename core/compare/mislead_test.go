package compare

import (
	"math"
	"testing"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// Runs noted to the minute may all be equal. Three that do so show no scatter, which proves nothing: packs differ by 1 % from one
// charge to the next (common practice, no source), so the ratio of means of three is known to 1.96 x 1 % x sqrt(2/3) at best.
func TestRunsThatDoNotScatter(t *testing.T) {
	exactly := func(hours float64) Run {
		r := fair(hours, "A")
		r.Time = estimate.Exact(hours * 3600)
		r.Draw = draw.Of(draw.Load{Time: r.Time}, draw.Settings{Battery: draw.Battery{CapacityMAh: 2000, Basis: draw.Measured}})
		return r
	}
	for _, b := range []float64{10, 10 + 1.0/60} {
		c := Pair(unit("a", several(3, exactly(10))...), unit("b", several(3, exactly(b))...), Settings{})
		for what, v := range map[string]Verdict{"run time": c.Runtime, "draw": c.Draw} {
			if v.Code != NoDifferenceShown || !v.Assumed || v.Spread != 0.01 {
				t.Errorf("%s, %g h: %s, spread %v, assumed %v", what, b, v.Code, v.Spread, v.Assumed)
			}
			near(t, what+" half-width", math.Log(v.Ratio.High/v.Ratio.Low)/2, estimate.Z*0.01*math.Sqrt(2.0/3), 2e-4)
		}
	}
	known := Pair(unit("a", several(3, exactly(10))...), unit("b", several(3, exactly(10.1))...), Settings{CV: 0.001}).Runtime
	if known.Code != BLastsLonger || known.Spread != 0.001 {
		t.Errorf("a scatter of 0.1 %% was stated: %s, spread %v", known.Code, known.Spread)
	}
}

// An external supply does not run out, so the time that a unit spent on it is no life. A meter in the lead still gives its draw.
func TestExternalSupplyHasNoLife(t *testing.T) {
	mains := fair(14, "")
	mains.Draw = draw.Of(draw.Load{Time: mains.Time}, draw.Settings{Battery: draw.Battery{Supply: draw.External, NominalV: 7.4}})
	c := Pair(unit("a", mains), unit("b", fair(10, "B")), Settings{})
	if v := c.Runtime; v.Code != CannotRank || v.Reason != "no_run" || v.WhyA != "external" || v.WhyB != "" || v.A.Known || v.Ratio.Known {
		t.Errorf("run time: %s %q, %q and %q, %v", v.Code, v.Reason, v.WhyA, v.WhyB, v.Ratio)
	}
	if v := c.Draw; v.Code != CannotRank || v.WhyA != "external" || v.WhyB != "" || v.A.Known || !v.B.Known {
		t.Errorf("draw: %s, %q and %q", v.Code, v.WhyA, v.WhyB)
	}
	if c := Pair(unit("a", mains, fair(12, "A")), unit("b", fair(10, "B")), Settings{}); c.Runtime.Code != ALastsLonger || c.Runtime.RunsA != 1 || c.Draw.Code != BDrawsMore {
		t.Errorf("beside a run on a pack: %s of %d runs, %s", c.Runtime.Code, c.Runtime.RunsA, c.Draw.Code)
	}
	metered := mains
	metered.Draw = draw.Of(draw.Load{Time: mains.Time, Over: mains.Time}, draw.Settings{Battery: draw.Battery{Supply: draw.External, NominalV: 7.4},
		ChargeUsedMAh: 2800, ChargeBasis: draw.Metered})
	if c := Pair(unit("a", metered), unit("b", fair(14, "B")), Settings{}); c.Runtime.Code != CannotRank || c.Draw.Code != ADrawsMore {
		t.Errorf("with a meter: %s, %s", c.Runtime.Code, c.Draw.Code)
	}
	kinds := kind("k", 10, 10.4, 9.7)
	onMains := kind("m", 14, 14.2, 14.4)
	for i := range onMains {
		onMains[i].Runs[0].Draw = mains.Draw
	}
	if v := Kinds(append(kinds, onMains...), Settings{})[0].Runtime; v.Code != CannotRank || v.WhyB != "external" {
		t.Errorf("kinds: %s, %q", v.Code, v.WhyB)
	}
}

// Where packs differ in voltage all is power: 200 mA at 7.4 V and 125 mA at 11.1 V are 1480 and 1387.5 mW. Nominal voltages are
// good to 3 % (common practice, no source), each for itself.
func TestPowersAreComparedThroughout(t *testing.T) {
	at := func(volts, hours, rate float64, pack string) Run {
		r := fair(hours, pack)
		r.Rate = estimate.Exact(rate)
		r.Draw = draw.Of(draw.Load{Time: r.Time, Rate: r.Rate},
			draw.Settings{Battery: draw.Battery{Pack: pack, CapacityMAh: 2000, Basis: draw.Measured, NominalV: volts}})
		return r
	}
	a, b := unit("a", at(7.4, 10, 60, "A")), unit("b", at(11.1, 16, 30, "B"))
	a.Split, b.Split = split(176, 0.4), split(113, 0.4)
	c := Pair(a, b, Settings{})
	if !c.Draw.Energy {
		t.Fatal("currents are compared")
	}
	near(t, "draw", c.Draw.Ratio.Best, 200*7.4/(125*11.1), 2e-3)
	near(t, "idle", c.IdleRatio.Best, 176*7.4/(113*11.1), 1e-9)
	near(t, "beacon", c.BeaconRatio.Best, 7.4/11.1, 1e-9)
	near(t, "rates explain, mW", c.Explains.Best, 30*0.4*(7.4+11.1)/2, 1e-9)
	same := Pair(unit("a", at(7.4, 10, 60, "A")), unit("b", at(7.4, 10*200*7.4/(125*11.1), 60, "B")), Settings{})
	near(t, "variance of the voltages", math.Pow(uDraw(c), 2)-math.Pow(uDraw(same), 2), 2*0.03*0.03/3, 1e-4)
}

// Holm's method asks more of each pair than it would alone, and a verdict stands only up to the scatter that leaves that.
func TestVerdictsStandTogetherUpToLess(t *testing.T) {
	units := []Subject{unit("a", fair(10, "P")), unit("b", fair(11, "P")), unit("c", fair(12, "P"))}
	pair := func(i, j int) Comparison { return Pair(units[i], units[j], Settings{}) }
	list := All(3, pair)
	first := list[1].Runtime // a and c, the surest of three
	near(t, "stands up to", first.Stands, math.Log(1.2)/(estimate.NormalQuantile(1-0.05/6)*math.Sqrt2), 1e-3)
	if taken := list[2].Runtime; !taken.Holm || taken.Stands != 0 {
		t.Errorf("b and c: taken back %v, yet stands up to %v", taken.Holm, taken.Stands)
	}
	if second := list[0].Runtime; second.Stands > first.Stands || second.Code == BLastsLonger && second.Stands < DefaultCV {
		t.Errorf("a and b: %s, stands up to %v", second.Code, second.Stands)
	}
}

// No beacon at all is a rate like any other, and unlike that of a unit that beacons.
func TestNothingSentIsARate(t *testing.T) {
	quiet := fair(11, "A")
	quiet.Rate = estimate.Exact(0)
	if c := Pair(unit("a", quiet), unit("b", fair(10, "A")), Settings{}); stateOf(c.Conditions, TransmitRate) != Mismatch || c.Draw.Code != CannotRank {
		t.Errorf("rate %s, draw %s", stateOf(c.Conditions, TransmitRate), c.Draw.Code)
	}
	if c := Pair(unit("a", quiet), unit("b", quiet), Settings{}); stateOf(c.Conditions, TransmitRate) != Match {
		t.Errorf("both silent: %s", stateOf(c.Conditions, TransmitRate))
	}
	a, b := unit("a", quiet), unit("b", fair(10, "A"))
	a.Split, b.Split = split(180, 0.4), split(188, 0.4)
	if c := Pair(a, b, Settings{}); stateOf(c.Conditions, TransmitRate) != Corrected || c.AtOneRate == nil || c.AtOneRate.PerHour != 15 {
		t.Errorf("split: %s, %v", stateOf(c.Conditions, TransmitRate), c.AtOneRate)
	}
}

func TestUnitsWithoutARunAreCountedInTheDrawToo(t *testing.T) {
	v := Pair(unit("a"), unit("b", fair(10, "A")), Settings{}).Draw
	if v.Reason != "no_run" || v.RunsA != 0 || v.RunsB != 1 {
		t.Errorf("%q, %d and %d runs", v.Reason, v.RunsA, v.RunsB)
	}
}

// On one pack of printed capacity the ratio is free of it, but the currents are not.
func TestDrawsOnOnePackRestOnWhatWasStated(t *testing.T) {
	on := func(hours float64, basis draw.Basis) Run {
		r := fair(hours, "A")
		r.Draw = draw.Of(draw.Load{Time: r.Time}, draw.Settings{Battery: draw.Battery{Pack: "A", CapacityMAh: 2000, Basis: basis}})
		return r
	}
	for basis, stated := range map[draw.Basis]bool{draw.Printed: true, draw.Unstated: true, draw.Measured: false} {
		v := Pair(unit("a", on(10, basis)), unit("b", on(12, basis)), Settings{}).Draw
		if !v.SamePack || v.Inferred || v.AsStated != stated {
			t.Errorf("%s: same pack %v, inferred %v, as stated %v", basis, v.SamePack, v.Inferred, v.AsStated)
		}
	}
}

// What the runs of one specimen scatter by does not hide that specimens differ: theirs is the spread that is told.
func TestSpecimensThatDifferLittleAreNotSaidToDifferLess(t *testing.T) {
	v := Kinds(append(kind("a", 10.2, 10.4, 10.6), kind("b", 12.2, 12.4, 12.6)...), Settings{})[0].Runtime
	if v.Assumed || v.Spread < 0.015 || v.Spread > 0.02 {
		t.Errorf("assumed %v, spread %v", v.Assumed, v.Spread)
	}
}

// A longer path is forgiven only with the time on the air that it takes: where that is corrected, the path is not said to change
// little.
func TestPathGoesWithItsTimeOnTheAir(t *testing.T) {
	longer := fair(12, "A")
	longer.Facts.Path, longer.Facts.AirtimeS = "WIDE1-1,WIDE2-1", estimate.Exact(1.09)
	a, b := unit("a", fair(10, "A")), unit("b", longer)
	a.Split, b.Split = split(180, 0.4), split(140, 0.5)
	if c := find(Pair(a, b, Settings{}).Conditions, Path); c.State != Corrected || c.Reason != "" {
		t.Errorf("%s %q", c.State, c.Reason)
	}
}
