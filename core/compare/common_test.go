package compare

import (
	"math"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// metered is a run whose charge was measured for itself, by an instrument of that name ("" not noted) good to 2.5 %.
func metered(hours float64, instrument string) Run {
	r := fair(hours, "")
	r.Draw = draw.Of(draw.Load{Time: r.Time, Rate: r.Rate}, draw.Settings{ChargeUsedMAh: 1900, ChargeBasis: draw.Recharged, Instrument: instrument})
	return r
}

func several(n int, run Run) (all []Run) {
	for range n {
		all = append(all, run)
	}
	return all
}

func uDraw(c Comparison) float64 {
	return math.Log(c.Draw.Ratio.High/c.Draw.Ratio.Low) / (2 * estimate.Z)
}

// One charger in both units: its error cancels. Two that nobody named: each errs by 1.44 % (2.5 % rectangular, JCGM 100:2008,
// 4.3.7), in every run of its unit alike, so that repeating does not make it smaller.
func TestErrorOfOneInstrumentIsCommon(t *testing.T) {
	const own = 0.025 / 1.7320508
	for _, c := range []struct {
		name string
		a, b []Run
		want float64 // standard uncertainty of the logarithm beside the spread from run to run and 60 s of each run's time
		one  bool
	}{
		{"one charger, a run each", several(1, metered(10, "C1")), several(1, metered(12, "C1")), 0, true},
		{"two chargers, a run each", several(1, metered(10, "C1")), several(1, metered(12, "C2")), own * math.Sqrt2, false},
		{"chargers not noted, two runs each", several(2, metered(10, "")), several(2, metered(12, "")), own * math.Sqrt2, false},
		{"one charger, two runs each", several(2, metered(10, "C1")), several(2, metered(12, "C1")), 0, true},
		{"each by turns on both chargers", []Run{metered(10, "C1"), metered(10, "C2")}, []Run{metered(12, "C1"), metered(12, "C2")}, 0, true},
	} {
		got := Pair(unit("a", c.a...), unit("b", c.b...), Settings{CV: 0.01})
		n := float64(len(c.a))
		rest := math.Sqrt(0.01*0.01*2/n + (math.Pow(60/36000.0, 2)+math.Pow(60/43200.0, 2))/n)
		near(t, c.name, uDraw(got), math.Hypot(rest, c.want), 0.0015)
		if got.Draw.OneMeter != c.one || got.Draw.SamePack {
			t.Errorf("%s: one meter %v, same pack %v", c.name, got.Draw.OneMeter, got.Draw.SamePack)
		}
	}
}

// What exchanged packs differ by is no scatter of the units, in draw as in run time, whether or not their capacity is known.
func TestExchangedPacksLeaveNoScatterInTheDraw(t *testing.T) {
	c := Pair(unit("A", fair(12.0, "1"), fair(11.4, "2")), unit("B", fair(10.0, "2"), fair(10.6, "1")), Settings{CV: 0.03})
	near(t, "spread", c.Draw.Spread, 0.03, 1e-9)
	near(t, "ratio", c.Draw.Ratio.Best, 1/1.136031, 1e-3) // swap-01
	if !c.Draw.Exchanged || c.Draw.Code != BDrawsMore {
		t.Errorf("exchanged %v, %s", c.Draw.Exchanged, c.Draw.Code)
	}
}

func TestVerdictFromAnAssumedSpread(t *testing.T) {
	for _, c := range []struct {
		name   string
		hours  float64 // of a; b ran 10
		set    Settings
		code   Code
		stands float64
	}{
		{"far apart, nothing stated", 13, Settings{}, ALastsLonger, math.Log(1.3) / (estimate.Z * math.Sqrt2)},
		{"stands at the 3 % assumed, not at 6 %", 11.2, Settings{}, ALastsLonger, math.Log(1.12) / (estimate.Z * math.Sqrt2)},
		{"the same, 6 % stated", 11.2, Settings{CV: 0.06}, NoDifferenceShown, 0},
	} {
		v := Pair(unit("a", fair(c.hours, "A")), unit("b", fair(10, "A")), c.set).Runtime
		if v.Code != c.code {
			t.Errorf("%s: %s", c.name, v.Code)
		}
		near(t, c.name+", stands up to", v.Stands, c.stands, 0.001)
	}
}

func TestRunsOneAfterTheOtherAreSaidToBe(t *testing.T) {
	later := func(h, days float64) Run {
		r := fair(h, "A")
		shift := clock.Instant(days * 86_400_000)
		r.Facts.Start, r.Facts.End = r.Facts.Start+shift, r.Facts.End+shift
		return r
	}
	before, after := unit("before", later(12, 0), later(12, 1)), unit("after", later(12, 5), later(12.1, 6))
	if !Pair(before, after, Settings{}).Runtime.InOrder || !Pair(after, before, Settings{}).Runtime.InOrder {
		t.Error("all before all is not seen")
	}
	turns := unit("after", later(12, 0.6), later(12.1, 6))
	if Pair(before, turns, Settings{}).Runtime.InOrder {
		t.Error("runs by turns are taken for one after the other")
	}
	same := Pair(before, after, Settings{CV: 0.005, Margin: 0.05, Stated: day - 1}).Runtime
	if same.Margin != 0.05 || same.Code != NoDifferenceShown {
		t.Errorf("within the margin stated before: %v, %s", same.Margin, same.Code)
	}
}
