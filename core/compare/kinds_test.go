package compare

import (
	"fmt"
	"math"
	"testing"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// kind makes one specimen of a kind for each run time in hours, each on a pack of its own that was measured.
func kind(name string, hours ...float64) (all []Subject) {
	for i, h := range hours {
		s := unit(fmt.Sprint(name, i), fair(h, fmt.Sprint(name, "-", i)))
		s.Kind = name
		all = append(all, s)
	}
	return all
}

func TestKindsAreComparedBySpecimens(t *testing.T) {
	for _, c := range []struct {
		name     string
		units    []Subject
		life     Code
		draw     Code
		assumed  bool
		specimen int
	}{
		{"three of each, far apart", append(kind("a", 10, 10.4, 9.7), kind("b", 14, 14.9, 14.4)...), BLastsLonger, ADrawsMore, false, 3},
		{"three of each that differ as much among themselves", append(kind("a", 10, 13, 16), kind("b", 11, 14, 17)...), NoDifferenceShown, NoDifferenceShown, false, 3},
		{"two of each carry an assumed spread", append(kind("a", 10, 10.2), kind("b", 12, 12.3)...), NoDifferenceShown, NoDifferenceShown, true, 2},
	} {
		list := Kinds(c.units, Settings{})
		if len(list) != 1 {
			t.Fatalf("%s: %d comparisons", c.name, len(list))
		}
		v := list[0].Runtime
		if v.Code != c.life || list[0].Draw.Code != c.draw || v.Assumed != c.assumed || v.SpecimensA != c.specimen {
			t.Errorf("%s: %s, %s %q, assumed %v, %d specimens", c.name, v.Code, list[0].Draw.Code, list[0].Draw.Reason, v.Assumed, v.SpecimensA)
		}
	}
}

// Welch's t of the specimens' logarithms (B. L. Welch, 1947), which the known answers of estimate hold against R.
func TestKindsKnownAnswer(t *testing.T) {
	units := append(kind("a", 10, 12, 14), kind("b", 15, 18, 21)...)
	v := Kinds(units, Settings{CV: 0.001})[0].Runtime
	logs := func(hours ...float64) estimate.Sample {
		for i := range hours {
			hours[i] = math.Log(hours[i])
		}
		return estimate.SampleOf(hours)
	}
	d := estimate.Welch(logs(10, 12, 14), logs(15, 18, 21))
	k := estimate.StudentQuantile(0.975, d.DF) * d.U
	near(t, "ratio", math.Log(v.Ratio.Best), d.Diff, 1e-3)
	near(t, "low", math.Log(v.Ratio.Low), d.Diff-k, 3e-3)
	near(t, "high", math.Log(v.Ratio.High), d.Diff+k, 3e-3)
}

// Ten runs of one specimen tell no more of its kind than one.
func TestRepeatingASpecimenTellsNoMoreOfItsKind(t *testing.T) {
	once := append(kind("a", 10, 12, 14), kind("b", 15, 18, 21)...)
	often := append(kind("a", 10, 12, 14), kind("b", 15, 18, 21)...)
	for range 9 {
		often[0].Runs = append(often[0].Runs, often[0].Runs[0])
	}
	width := func(units []Subject) float64 {
		r := Kinds(units, Settings{})[0].Runtime.Ratio
		return math.Log(r.High / r.Low)
	}
	near(t, "width", width(often), width(once), 0.01)
}

func TestKindsThatNobodyCanCompare(t *testing.T) {
	if n := len(Kinds(append(kind("a", 10), kind("b", 12)...), Settings{})); n != 0 {
		t.Errorf("%d comparisons of kinds with one specimen each", n)
	}
	if n := len(Kinds([]Subject{unit("x", fair(10, "A")), unit("y", fair(11, "B")), unit("z", fair(12, "C"))}, Settings{})); n != 0 {
		t.Errorf("%d comparisons without a kind", n)
	}
	apart := kind("b", 12, 12.5)
	apart[0].Runs[0].Facts.SecondReceiver = "on"
	if c := Kinds(append(kind("a", 10, 10.5), apart...), Settings{})[0]; c.Draw.Code != CannotRank || c.Draw.Reason != "conditions" {
		t.Errorf("one specimen's second receiver was on: %s %q", c.Draw.Code, c.Draw.Reason)
	}
}

// Alike but for their rates: 100 mA idle and 0.4 mAh a beacon make 108 mA at 20 an hour and 124 mA at 60, so that 2000 mAh last
// 18.52 h and 16.13 h. At one rate nothing is left of the difference; where one specimen has no split, none is brought there.
func TestKindsAtUnlikeRatesAreBroughtToOne(t *testing.T) {
	units := append(kind("a", 18.4, 18.52, 18.6), kind("b", 16.0, 16.13, 16.2)...)
	for i := range units {
		units[i].Split = split(100, 0.4)
		units[i].Runs[0].Rate = estimate.Exact([]float64{20, 60}[i/3])
	}
	c := Kinds(units, Settings{})[0]
	if c.Draw.Code != NoDifferenceShown || !c.Draw.EqualRate || c.AtOneRate == nil {
		t.Fatalf("%s %q, at an equal rate %v", c.Draw.Code, c.Draw.Reason, c.AtOneRate)
	}
	near(t, "draw as set up", c.Draw.Ratio.Best, 108.0/124, 0.01)
	near(t, "draw at one rate", c.AtOneRate.Ratio.Best, 1, 0.01)
	units[4].Split = draw.Split{}
	if c := Kinds(units, Settings{})[0]; c.Draw.Code != CannotRank || c.AtOneRate != nil {
		t.Errorf("without a specimen's split: %s, at an equal rate %v", c.Draw.Code, c.AtOneRate)
	}
}

// Specimens on packs that nobody named must not share their error with those of the other kind.
func TestUnnamedPacksOfKindsDoNotCancel(t *testing.T) {
	bare := func(name string, hours ...float64) []Subject {
		all := kind(name, hours...)
		for i := range all {
			r := &all[i].Runs[0]
			r.Pack = ""
			r.Draw = draw.Of(draw.Load{Time: r.Time}, draw.Settings{Battery: draw.Battery{CapacityMAh: 2000, Basis: draw.PrintedUsed, TolerancePct: 40, NominalV: 7.4}})
		}
		return all
	}
	c := Kinds(append(bare("a", 10, 10.1, 10.2), bare("b", 12, 12.1, 12.2)...), Settings{})[0]
	if c.Draw.SamePack || c.Draw.Ratio.High/c.Draw.Ratio.Low < 1.5 {
		t.Errorf("same pack %v, %v", c.Draw.SamePack, c.Draw.Ratio)
	}
}
