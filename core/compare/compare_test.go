package compare

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

// knownAnswer decodes one line of testdata/compare/known.jsonl; each names its source.
func knownAnswer(t *testing.T, id string, in, want any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/compare/known.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(data) {
		var a struct {
			ID               string
			Inputs, Expected json.RawMessage
		}
		if err := json.Unmarshal(line, &a); err != nil {
			t.Fatal(err)
		}
		if a.ID == id && (json.Unmarshal(a.Inputs, in) != nil || json.Unmarshal(a.Expected, want) != nil) {
			t.Fatalf("%s: inputs or expected values of another shape", id)
		}
		if a.ID == id {
			return
		}
	}
	t.Fatalf("no known answer %q", id)
}

const day = clock.Instant(1_900_000_000_000)

// fair is a run of so many hours, known to a minute, with everything noted alike.
func fair(hours float64, pack string) Run {
	b := draw.Battery{Pack: pack, CapacityMAh: 2000, Basis: draw.Measured, NominalV: 7.4}
	load := draw.Load{Time: estimate.About(hours*3600, 60), Rate: estimate.Exact(30)}
	return Run{Rankable: true, Time: load.Time, Rate: load.Rate, Pack: pack, Draw: draw.Of(load, draw.Settings{Battery: b}),
		Facts: Facts{Start: day, End: day + clock.Instant(hours*3.6e6), PowerW: 4.8, PowerMeasured: true, SecondReceiver: "off",
			Audio: "off", PowerSaver: "off", AutoPowerOff: "off", Repeating: "off", Schedule: "fixed", PathKnown: true, Path: "WIDE1-1",
			AirtimeS: estimate.Exact(0.74), FixPct: estimate.Exact(99), MovingPct: estimate.Exact(0), BusyPct: estimate.Exact(4),
			TemperatureC: estimate.Exact(21)}}
}

func unit(name string, runs ...Run) Subject { return Subject{Name: name, Runs: runs} }

func running(hours float64) Run {
	r := fair(hours, "A")
	r.Time = estimate.AtLeast(hours * 3600)
	r.Draw = draw.Of(draw.Load{Time: r.Time}, draw.Settings{Battery: draw.Battery{CapacityMAh: 2000}})
	return r
}

func TestRuntimeVerdict(t *testing.T) {
	for _, c := range []struct {
		name          string
		a, b          Subject
		code          Code
		reason        string
		opens, opens0 bool
	}{
		{"clearly longer", unit("a", fair(12.7, "A")), unit("b", fair(10.5, "B")), ALastsLonger, "", false, false},
		{"clearly shorter", unit("a", fair(10.5, "A")), unit("b", fair(12.7, "B")), BLastsLonger, "", false, false},
		{"within what one run each can tell", unit("a", fair(12, "A")), unit("b", fair(11.5, "B")), NoDifferenceShown, "", false, false},
		{"a still runs and is ahead", unit("a", running(14)), unit("b", fair(10, "B")), ALastsLonger, "", true, false},
		{"a still runs and is behind", unit("a", running(8)), unit("b", fair(10, "B")), NoDifferenceShown, "still_running", true, false},
		{"b still runs and is ahead", unit("a", fair(10, "A")), unit("b", running(14)), BLastsLonger, "", false, true},
		{"both still run", unit("a", running(14)), unit("b", running(9)), CannotRank, "both_running", false, false},
		{"b has no run", unit("a", fair(12, "A")), unit("b"), CannotRank, "no_run", false, false},
	} {
		v := Pair(c.a, c.b, Settings{}).Runtime
		if v.Code != c.code || v.Reason != c.reason {
			t.Errorf("%s: %s %q, want %s %q", c.name, v.Code, v.Reason, c.code, c.reason)
		}
		if c.opens != math.IsInf(v.Ratio.High, 1) || c.opens0 != math.IsInf(v.Ratio.Low, -1) {
			t.Errorf("%s: ratio %v open on the wrong side", c.name, v.Ratio)
		}
	}
}

// Of two tests pooled, either may have run on a bank.
func TestBanksOfAnyPooledTest(t *testing.T) {
	test := func(label string, hours float64, supply draw.Supply) Run {
		r := fair(hours, "")
		r.Label, r.Draw.Supply = label, supply
		return r
	}
	for _, on := range []string{"first", "second"} {
		var a, b []Run
		for _, label := range []string{"first", "second"} {
			supply := draw.Pack
			if label == on {
				supply = draw.Bank
			}
			a, b = append(a, test(label, 10, supply)), append(b, test(label, 12, draw.Pack))
		}
		if got := Pair(unit("a", a...), unit("b", b...), Settings{}).Runtime.Banks; len(got) != 1 || got[0] != "a" {
			t.Errorf("the bank of the %s test: %q", on, got)
		}
	}
}

func TestUnrankableRunsAreLeftOut(t *testing.T) {
	swapped := fair(30, "A")
	swapped.Rankable = false
	v := Pair(unit("a", swapped, fair(10, "A")), unit("b", fair(12.5, "B")), Settings{}).Runtime
	if v.Code != BLastsLonger || v.RunsA != 1 {
		t.Errorf("%s with %d runs", v.Code, v.RunsA)
	}
}

// Five and five run times: Welch's t on logarithms, checked against the same statistic worked out here from the textbook
// formula on the printed values.
func TestSeveralRunsUseTheirOwnScatter(t *testing.T) {
	var a, b []Run
	for _, h := range []float64{10.2, 10.5, 9.9, 10.4, 10.1} {
		a = append(a, fair(h, "A"))
	}
	for _, h := range []float64{11.0, 11.3, 10.8, 11.1, 11.2} {
		b = append(b, fair(h, "B"))
	}
	v := Pair(unit("a", a...), unit("b", b...), Settings{}).Runtime
	if v.Assumed || v.Code != BLastsLonger {
		t.Errorf("assumed %v, %s", v.Assumed, v.Code)
	}
	near(t, "ratio", v.Ratio.Best, 0.9224, 0.0005)
	near(t, "low", v.Ratio.Low, 0.8948, 0.002) // Fieller's limits of the ratio of means, R 4.2.2, differ little from these
	near(t, "high", v.Ratio.High, 0.9506, 0.002)
	near(t, "p", v.P, 0.0002883, 0.0002)
}

func TestDrawVerdict(t *testing.T) {
	c := Pair(unit("a", fair(12.7, "A")), unit("b", fair(10.0, "B")), Settings{})
	if c.Draw.Code != BDrawsMore || c.Draw.Inferred || c.Draw.SamePack {
		t.Errorf("%s, inferred %v, same pack %v", c.Draw.Code, c.Draw.Inferred, c.Draw.SamePack)
	}
	near(t, "ratio", c.Draw.Ratio.Best, 10.0/12.7, 0.002)
	near(t, "a", c.Draw.A.Best, 2000/12.7, 0.1)
}

func TestSamePackNeedsNoCapacity(t *testing.T) {
	bare := func(h float64) Run {
		r := fair(h, "A")
		r.Draw = draw.Of(draw.Load{Time: r.Time}, draw.Settings{})
		return r
	}
	v := Pair(unit("a", bare(12.7)), unit("b", bare(10)), Settings{}).Draw
	if v.Code != BDrawsMore || !v.SamePack || v.A.Known {
		t.Errorf("%s, same pack %v, mean current known %v", v.Code, v.SamePack, v.A.Known)
	}
	other := bare(10)
	other.Pack = "B"
	if v := Pair(unit("a", bare(12.7)), unit("b", other), Settings{}).Draw; v.Code != CannotRank || v.Reason != "no_charge" {
		t.Errorf("two packs of unknown charge: %s %q", v.Code, v.Reason)
	}
}

func TestOnePackIsSurerThanTwo(t *testing.T) {
	width := func(c Comparison) float64 { return c.Draw.Ratio.High / c.Draw.Ratio.Low }
	one := Pair(unit("a", fair(12, "A")), unit("b", fair(10, "A")), Settings{})
	two := Pair(unit("a", fair(12, "A")), unit("b", fair(10, "B")), Settings{})
	if !(width(one) < width(two)) {
		t.Errorf("one pack %.4f, two packs %.4f", width(one), width(two))
	}
}

func TestPacksOfOtherVoltageCompareByPower(t *testing.T) {
	b := fair(10, "B")
	b.Draw = draw.Of(draw.Load{Time: b.Time}, draw.Settings{Battery: draw.Battery{CapacityMAh: 1000, NominalV: 14.8, Basis: draw.Measured}})
	v := Pair(unit("a", fair(10, "A")), unit("b", b), Settings{}).Draw
	near(t, "ratio of powers", v.Ratio.Best, 1, 0.01)
	if !v.Energy {
		t.Error("currents at different voltages were compared")
	}
}

func TestConditionsForbidRankingDrawNotRunTime(t *testing.T) {
	for name, change := range map[string]func(*Run){
		"rate 2 to 1":         func(r *Run) { r.Rate = estimate.Exact(60) },
		"half the power":      func(r *Run) { r.Facts.PowerW = 2.4 },
		"second receiver":     func(r *Run) { r.Facts.SecondReceiver = "on" },
		"ten degrees":         func(r *Run) { r.Facts.TemperatureC = estimate.Exact(11) },
		"rate, power unknown": func(r *Run) { r.Rate, r.Facts.PowerW = estimate.Unknown, 0 },
	} {
		b := fair(10, "B")
		change(&b)
		c := Pair(unit("a", fair(12.7, "A")), unit("b", b), Settings{})
		if c.Draw.Code != CannotRank || c.Draw.Reason != "conditions" {
			t.Errorf("%s: draw %s %q", name, c.Draw.Code, c.Draw.Reason)
		}
		if c.Runtime.Code != ALastsLonger {
			t.Errorf("%s: run time %s", name, c.Runtime.Code)
		}
	}
	b := fair(10, "B")
	b.Facts.SecondReceiver = ""
	if c := Pair(unit("a", fair(12.7, "A")), unit("b", b), Settings{}); c.Draw.Code != BDrawsMore {
		t.Errorf("one unknown: %s", c.Draw.Code)
	}
}

func TestConditionStates(t *testing.T) {
	for _, c := range []struct {
		name   string
		check  string
		change func(*Run)
		want   State
	}{
		{"3.36 W against 3.39 W, 0.04 dB", RFPower, func(r *Run) { r.Facts.PowerW = 4.8 * 3.36 / 3.39 }, Match}, // common practice, no source
		{"just inside 0.5 dB", RFPower, func(r *Run) { r.Facts.PowerW = 4.8 * 1.12 }, Match},
		{"just outside 0.5 dB", RFPower, func(r *Run) { r.Facts.PowerW = 4.8 * 1.13 }, Mismatch},
		{"a setting's name", RFPower, func(r *Run) { r.Facts.PowerMeasured = false }, NotNoted},
		{"two beacons to one", TransmitRate, func(r *Run) { r.Rate = estimate.Exact(15) }, Mismatch}, // common practice, no source
		{"rate 1 % apart", TransmitRate, func(r *Run) { r.Rate = estimate.Exact(30.3) }, Match},
		{"rate known too coarsely", TransmitRate, func(r *Run) { r.Rate = estimate.Of(20, 34, 50) }, NotNoted},
		{"4 K apart in the warm", Temperature, func(r *Run) { r.Facts.TemperatureC = estimate.Exact(25) }, Match},
		{"3 K apart in the cold", Temperature, func(r *Run) { r.Facts.TemperatureC = estimate.Exact(18) }, Mismatch},
		{"one more path entry, air unknown", Path, func(r *Run) { r.Facts.Path, r.Facts.AirtimeS = "WIDE1-1,WIDE2-1", estimate.Unknown }, Mismatch},
		{"one more path entry, same air", Path, func(r *Run) { r.Facts.Path = "WIDE1-1,WIDE2-1" }, Corrected},
		{"airtime 10 % apart", Airtime, func(r *Run) { r.Facts.AirtimeS = estimate.Exact(0.82) }, Mismatch},
		{"moving, fixed schedules", Motion, func(r *Run) { r.Facts.MovingPct = estimate.Exact(40) }, Corrected},
		{"moving, adaptive", Motion, func(r *Run) { r.Facts.MovingPct, r.Facts.Schedule = estimate.Exact(40), "adaptive" }, Mismatch},
		{"next day, same hour", Overlap, func(r *Run) { r.Facts.Start += 86_400_000; r.Facts.End += 86_400_000 }, Match},
		{"bounds not known, packets at once", Overlap, func(r *Run) { r.Facts.From, r.Facts.To, r.Facts.Start, r.Facts.End = r.Facts.Start, r.Facts.End, 0, 0 }, Match},
		{"next night", Overlap, func(r *Run) { r.Facts.Start += 120_000_000; r.Facts.End += 120_000_000 }, NotNoted},
		{"audio up", Audio, func(r *Run) { r.Facts.Audio = "on" }, Mismatch},
		{"saver not noted", PowerSaver, func(r *Run) { r.Facts.PowerSaver = "unknown" }, NotNoted},
		{"one repeats", Repeating, func(r *Run) { r.Facts.Repeating = "on" }, Mismatch},
		{"another pack that holds as much, measured", PackCheck, func(r *Run) { r.Pack = "B" }, Match},
		{"another pack, measured", PackCheck, func(r *Run) { r.Pack, r.Draw.Charge.MAh = "B", estimate.Exact(2100) }, Corrected},
		{"channel busier by 8 points", ChannelLoad, func(r *Run) { r.Facts.BusyPct = estimate.Exact(12) }, Mismatch},
	} {
		b := fair(12, "A")
		c.change(&b)
		list := Pair(unit("a", fair(12, "A")), unit("b", b), Settings{}).Conditions
		if got := stateOf(list, c.check); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

func TestFairRunHasNothingAgainstIt(t *testing.T) {
	for _, c := range Pair(unit("a", fair(12, "A")), unit("b", fair(11, "A")), Settings{}).Conditions {
		if c.State != Match {
			t.Errorf("%s: %s", c.Check, c.State)
		}
	}
}

func TestDecibelsKnownAnswers(t *testing.T) {
	for _, id := range []string{"db-01", "db-02", "db-03", "db-04", "db-05", "db-06", "db-07"} {
		var in struct{ P1, P2 float64 }
		var want struct{ DB float64 }
		knownAnswer(t, id, &in, &want)
		near(t, id, draw.Decibels(in.P1, in.P2), want.DB, 1e-6)
	}
}

// split is a resolved split of known idle current and charge per beacon.
func split(idle, beacon float64) draw.Split {
	return draw.Split{Idle: idle, Beacon: beacon, Resolved: true, Low: 15, High: 60, Common: estimate.ExactLaw(0),
		Cov: [2][2]float64{{4, -0.02}, {-0.02, 0.0002}}, IdleMA: estimate.About(idle, 2), MAhPerBeacon: estimate.About(beacon, 0.014)}
}

func TestRateIsCorrectedWhereBeaconsAreKnown(t *testing.T) {
	a, b := fair(2000/(100+0.4*60), "A"), fair(2000/(100+0.4*15.0), "A")
	a.Rate, b.Rate = estimate.Exact(60), estimate.Exact(15)
	sa, sb := unit("a", a), unit("b", b)
	sa.Split, sb.Split = split(100, 0.4), split(100, 0.4)
	c := Pair(sa, sb, Settings{})
	if stateOf(c.Conditions, TransmitRate) != Corrected || c.AtOneRate == nil {
		t.Fatalf("rate is %s", stateOf(c.Conditions, TransmitRate))
	}
	near(t, "at the rates used", c.Draw.Ratio.Best, 124.0/106, 0.002)
	near(t, "at one rate", c.AtOneRate.Ratio.Best, 1, 0.003)
	near(t, "the rate", c.AtOneRate.PerHour, 37.5, 1e-9)
	near(t, "beacons explain", c.Explains.Best, 0.4*45, 1e-9)
	if c.Draw.Code != NoDifferenceShown || !c.Draw.EqualRate {
		t.Errorf("%s; like units at unlike rates must not be ranked by the rates used", c.Draw.Code)
	}
	near(t, "rate ratio", c.RateRatio.Best, 4, 1e-9)
	near(t, "idle ratio", c.IdleRatio.Best, 1, 1e-12)
	near(t, "idle ratio, low", c.IdleRatio.Low, 0.946, 0.001) // 1.96 x 2 mA x sqrt(2) on 100 mA
	near(t, "beacon ratio", c.BeaconRatio.Best, 1, 1e-12)
}

func TestSameWithinMarginNeedsAStatedMargin(t *testing.T) {
	many := func(pack string) []Run {
		var runs []Run
		for _, h := range []float64{12.0, 12.1, 11.95, 12.05, 12.02, 11.98} {
			runs = append(runs, fair(h, pack))
		}
		return runs
	}
	for _, c := range []struct {
		name string
		set  Settings
		want Code
	}{
		{"stated before", Settings{Margin: 0.05, Stated: day - 1}, SameWithinMargin},
		{"stated after", Settings{Margin: 0.05, Stated: day + 1}, NoDifferenceShown},
		{"never stated", Settings{Margin: 0.05, Stated: clock.None}, NoDifferenceShown},
		{"margin narrower than the runs tell", Settings{Margin: 0.001, Stated: day - 1}, NoDifferenceShown},
	} {
		if got := Pair(unit("a", many("A")...), unit("b", many("A")...), c.set).Draw.Code; got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

func TestExchangedPacksKnownAnswer(t *testing.T) {
	var want struct {
		Unit float64 `json:"unit_ratio_a_over_b"`
		Pack float64 `json:"pack_ratio_1_over_2"`
	}
	knownAnswer(t, "swap-01", &struct{}{}, &want)
	c := Pair(unit("A", fair(12.0, "1"), fair(11.4, "2")), unit("B", fair(10.0, "2"), fair(10.6, "1")), Settings{})
	if c.Exchanged == nil {
		t.Fatal("no exchange seen")
	}
	near(t, "unit ratio", c.Exchanged.Unit.Best, want.Unit, 1e-5*want.Unit)
	near(t, "pack ratio", c.Exchanged.Pack.Best, want.Pack, 1e-5*want.Pack)
	near(t, "the packs are not taken for scatter", c.Runtime.Spread, DefaultCV, 1e-9)
	near(t, "run-time ratio", c.Runtime.Ratio.Best, want.Unit, 1e-4)
	if !c.Draw.SamePack || stateOf(c.Conditions, PackCheck) != Match {
		t.Error("exchanged packs cancel from the draw")
	}
}

func TestTestsAreGroupedByLabel(t *testing.T) {
	label := func(r Run, name string, rate float64) Run {
		r.Label, r.Rate = name, estimate.Exact(rate)
		return r
	}
	a := unit("a", label(fair(13, "A"), "as lent", 15.3), label(fair(12.7, "A"), "fair", 30))
	b := unit("b", label(fair(11, "A"), "as lent", 28.6), label(fair(10.5, "A"), "fair", 30))
	c := Pair(a, b, Settings{})
	if len(c.Groups) != 2 || c.Groups[0].Label != "as lent" || c.Groups[1].Label != "fair" {
		t.Fatalf("groups %v", c.Groups)
	}
	if c.Groups[0].Draw.Code != CannotRank || c.Groups[1].Draw.Code != BDrawsMore {
		t.Errorf("as lent: %s; fair: %s", c.Groups[0].Draw.Code, c.Groups[1].Draw.Code)
	}
	if c.Draw.Code != BDrawsMore || !slices.Equal(c.Groups[0].Draw.Mismatches, []string{TransmitRate}) {
		t.Errorf("whole: %s; as lent: %v", c.Draw.Code, c.Groups[0].Draw.Mismatches)
	}
}

func TestRepeatsNeeded(t *testing.T) {
	if got := Pair(unit("a", fair(12, "A")), unit("b", fair(11.8, "A")), Settings{CV: 0.03}).Runtime; got.Repeats() != 7 {
		t.Errorf("%d runs would show 5 %%, want 7", got.Repeats()) // R 4.2.2 power.t.test
	}
}

func TestHolmTakesBackWhatDoesNotStandAlone(t *testing.T) {
	// The widest pair is clear by itself and not among ten.
	hours := []float64{12.0, 11.7, 11.5, 11.3, 11.0}
	var units []Subject
	for i, h := range hours {
		units = append(units, unit(string(rune('a'+i)), fair(h, "A")))
	}
	alone := Pair(units[0], units[4], Settings{})
	if alone.Runtime.Code != ALastsLonger {
		t.Fatalf("alone: %s, p %.4f", alone.Runtime.Code, alone.Runtime.P)
	}
	for _, c := range All(len(units), func(i, j int) Comparison { return Pair(units[i], units[j], Settings{}) }) {
		if c.Runtime.Code != NoDifferenceShown {
			t.Errorf("%s and %s: %s", c.A, c.B, c.Runtime.Code)
		}
		if c.A == "a" && c.B == "e" && !c.Runtime.Holm {
			t.Error("the reason is not said")
		}
	}
}

func TestOrderOfUnitsDoesNotMatter(t *testing.T) {
	a, b := unit("a", fair(12.7, "A")), unit("b", fair(10.5, "B"))
	x, y := Pair(a, b, Settings{}), Pair(b, a, Settings{})
	near(t, "ratio", x.Runtime.Ratio.Best*y.Runtime.Ratio.Best, 1, 1e-6)
	near(t, "limits", x.Runtime.Ratio.Low*y.Runtime.Ratio.High, 1, 1e-4)
	near(t, "draw", x.Draw.Ratio.Best*y.Draw.Ratio.Best, 1, 1e-6)
	if x.Runtime.Code != ALastsLonger || y.Runtime.Code != BLastsLonger {
		t.Errorf("%s and %s", x.Runtime.Code, y.Runtime.Code)
	}
}

func TestRunStillGoingBesideFinishedOnes(t *testing.T) {
	short := Pair(unit("a", fair(12, "A"), running(3)), unit("b", fair(10, "A")), Settings{})
	if short.Runtime.Code != ALastsLonger || math.IsInf(short.Runtime.Ratio.High, 1) {
		t.Errorf("a run stopped early: %s, %v", short.Runtime.Code, short.Runtime.Ratio)
	}
	if short.Draw.Code != BDrawsMore {
		t.Errorf("it must not keep the finished run's draw from being ranked: %s %q", short.Draw.Code, short.Draw.Reason)
	}
	long := Pair(unit("a", fair(12, "A"), running(13)), unit("b", fair(10, "A")), Settings{})
	if long.Runtime.Code != ALastsLonger || !math.IsInf(long.Runtime.Ratio.High, 1) {
		t.Errorf("a run still going: %s, %v", long.Runtime.Code, long.Runtime.Ratio)
	}
}
