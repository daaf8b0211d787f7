package sentence

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/estimate"
)

func pair(change func(*Verdict)) Verdict {
	v := Verdict{A: "Heron", B: "Lapwing", ValueA: estimate.Of(45600, 45780, 45960), ValueB: estimate.Of(37500, 37800, 38100),
		Ratio: estimate.Of(1.108, 1.2112, 1.324), Code: "a_lasts_longer", RunsA: 1, RunsB: 1, Tests: 1, Spread: 0.03, Assumed: true,
		Smallest: 0.087, Repeats: 7, RepeatsFor: 0.05}
	change(&v)
	return v
}

func TestRuntimeVerdicts(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Verdict)
		want   string
	}{
		{"longer", func(*Verdict) {}, "Heron lasted longer: 12 h 43 min against 10 h 30 min on one charge."},
		{"the other one", func(v *Verdict) { v.Code, v.ValueA, v.ValueB = "b_lasts_longer", v.ValueB, v.ValueA },
			"Lapwing lasted longer: 12 h 43 min against 10 h 30 min on one charge."},
		{"still running and ahead", func(v *Verdict) { v.ValueA = estimate.AtLeast(45790) },
			"Heron lasted longer: at least 12 h 43 min against 10 h 30 min on one charge."},
		{"several runs", func(v *Verdict) { v.RunsA, v.RunsB = 3, 4 },
			"Heron lasted longer: 12 h 43 min against 10 h 30 min on one charge, on average over 3 runs of Heron and 4 runs of Lapwing."},
		{"not decided", func(v *Verdict) { v.Code = "no_difference_shown" },
			"Not decided which lasts longer: Heron ran 12 h 43 min, Lapwing 10 h 30 min, and these runs could not show less than 8.7 %; 7 runs of each would show 5 %."},
		{"not decided among many", func(v *Verdict) { v.Code, v.Holm = "no_difference_shown", true },
			"Not decided which lasts longer: Heron ran 12 h 43 min, Lapwing 10 h 30 min, a difference that does not stand when all pairs of units are judged together."},
		{"runs that show less than what is planned for", func(v *Verdict) { v.Code, v.Smallest = "no_difference_shown", 0.004 },
			"Not decided which lasts longer: Heron ran 12 h 43 min, Lapwing 10 h 30 min, and these runs could not show less than 0.4 %."},
		{"the same within the margin", func(v *Verdict) { v.Code, v.Margin = "no_difference_shown", 0.05 },
			"Heron and Lapwing last the same within the margin of 5 % stated beforehand: 12 h 43 min against 10 h 30 min."},
		{"kinds", func(v *Verdict) { v.RunsA, v.RunsB, v.SpecimensA, v.SpecimensB = 6, 5, 3, 2 },
			"Heron lasted longer: 12 h 43 min against 10 h 30 min on one charge, on average over 3 specimens of Heron and 2 specimens of Lapwing."},
		{"kinds not decided", func(v *Verdict) {
			v.Code, v.RunsA, v.RunsB, v.SpecimensA, v.SpecimensB, v.Repeats = "no_difference_shown", 6, 5, 3, 2, 64
		}, "Not decided which lasts longer: Heron ran 12 h 43 min, Lapwing 10 h 30 min, on average over 3 specimens of Heron and 2 specimens of Lapwing, and these specimens could not show less than 8.7 %; 64 specimens of each would show 5 %."},
		{"not decided yet", func(v *Verdict) {
			v.Code, v.Reason, v.ValueA = "no_difference_shown", "still_running", estimate.AtLeast(22259)
		}, "Not decided yet: Heron ran at least 6 h 10 min, Lapwing 10 h 30 min."},
		{"both running", func(v *Verdict) {
			v.Code, v.Reason, v.ValueA, v.ValueB = "cannot_rank", "both_running", estimate.AtLeast(22259), estimate.AtLeast(30000)
		}, "Run time cannot be ranked yet: both are known as least values only. Heron ran at least 6 h 10 min, Lapwing at least 8 h 20 min."},
		{"no run", func(v *Verdict) { v.Code, v.Reason, v.RunsB = "cannot_rank", "no_run", 0 },
			"Run time cannot be ranked: Lapwing has no run that can be used."},
	} {
		same(t, c.name, pair(c.change).Runtime(), c.want)
	}
}

func TestRuntimeBasis(t *testing.T) {
	same(t, "one run each", pair(func(*Verdict) {}).RuntimeBasis(),
		"Heron lasted 1.21 times (1.10 to 1.33) as long as Lapwing. The run times are known to 3 min (Heron) and 5 min (Lapwing). From run to run a spread of 3 % is assumed, for there was one run each. This holds for these two specimens, not yet for their kinds.")
	same(t, "turned round", pair(func(v *Verdict) { v.Code, v.Ratio = "b_lasts_longer", estimate.Of(0.7553, 0.8256, 0.9025) }).RuntimeBasis(),
		"Lapwing lasted 1.21 times (1.10 to 1.33) as long as Heron. The run times are known to 3 min (Heron) and 5 min (Lapwing). From run to run a spread of 3 % is assumed, for there was one run each. This holds for these two specimens, not yet for their kinds.")
	same(t, "own scatter", pair(func(v *Verdict) { v.RunsA, v.RunsB, v.Assumed, v.Spread = 5, 5, false, 0.021 }).RuntimeBasis(),
		"Heron lasted 1.21 times (1.10 to 1.33) as long as Lapwing. From run to run the units scattered by 2.1 %. This holds for these two specimens, not yet for their kinds.")
	same(t, "stands up to a scatter", pair(func(v *Verdict) { v.Stands = 0.0739 }).RuntimeBasis(),
		"Heron lasted 1.21 times (1.10 to 1.33) as long as Lapwing. The run times are known to 3 min (Heron) and 5 min (Lapwing). From run to run a spread of 3 % is assumed, for there was one run each; the verdict stands as long as it is no more than 7.3 %. This holds for these two specimens, not yet for their kinds.")
	same(t, "one after the other", pair(func(v *Verdict) { v.RunsA, v.RunsB, v.Assumed, v.Spread, v.InOrder = 5, 5, false, 0.021, true }).RuntimeBasis(),
		"Heron lasted 1.21 times (1.10 to 1.33) as long as Lapwing. From run to run the units scattered by 2.1 %. All runs of one came before all of the other, so the ageing of cells and the season are in the ratio too; runs by turns would part them. This holds for these two specimens, not yet for their kinds.")
	same(t, "kinds", pair(func(v *Verdict) {
		v.RunsA, v.RunsB, v.SpecimensA, v.SpecimensB, v.Assumed, v.Spread = 6, 5, 3, 3, false, 0.11
	}).RuntimeBasis(), "Heron lasted 1.21 times (1.10 to 1.33) as long as Lapwing. Specimens of one kind differed by 11 %. This holds for the kinds as far as 3 specimens of Heron and 3 specimens of Lapwing stand for them.")
	same(t, "exchanged", Exchanged(Exchange{"Heron", "Lapwing", "1", "2", estimate.Of(1.07, 1.14, 1.20), estimate.Of(1.00, 1.06, 1.12)}),
		"The packs were exchanged, which sets units and packs apart: on one pack Heron lasts 1.14 times (1.07 to 1.20) as long as Lapwing, and in one unit pack 1 lasts 1.06 times (1.00 to 1.12) as long as pack 2.")
	same(t, "open", pair(func(v *Verdict) { v.ValueA, v.Ratio = estimate.AtLeast(45790), estimate.AtLeast(1.13) }).RuntimeBasis(),
		"Heron lasted at least 1.13 times as long as Lapwing. From run to run a spread of 3 % is assumed, for there was one run each. This holds for these two specimens, not yet for their kinds.")
}

func draw(change func(*Verdict)) Verdict {
	return pair(func(v *Verdict) {
		v.ValueA, v.ValueB = estimate.Of(144, 154, 164), estimate.Of(191, 204, 217)
		v.Ratio, v.Code, v.Unit = estimate.Of(0.688, 0.757, 0.832), "b_draws_more", "mA"
		v.Judged, v.JudgedA, v.JudgedB = v.Ratio, v.ValueA, v.ValueB
		change(v)
	})
}

func TestDrawVerdicts(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Verdict)
		want   string
	}{
		{"more", func(*Verdict) {}, "Lapwing draws more: 204 mA against 154 mA."},
		{"from a label", func(v *Verdict) { v.Inferred = true }, "Lapwing draws more: 204 mA against 154 mA, inferred from capacity that was not measured."},
		{"at one rate", func(v *Verdict) { v.EqualRate, v.PerHour = true, 30 },
			"Lapwing draws more: 204 mA against 154 mA at one rate of 30 beacons an hour."},
		{"same pack of unknown charge", func(v *Verdict) { v.JudgedA, v.JudgedB = estimate.Unknown, estimate.Unknown },
			"Lapwing draws more: 1.32 times as much on the same pack."},
		{"same within margin", func(v *Verdict) { v.Code, v.Margin = "same_within_margin", 0.05 },
			"Heron and Lapwing draw the same within the margin of 5 % stated beforehand."},
		{"on one pack of unmeasured capacity", func(v *Verdict) { v.SamePack, v.AsStated = true, true },
			"Lapwing draws more: 204 mA against 154 mA, if capacity is as stated."},
		{"not decided", func(v *Verdict) { v.Code = "no_difference_shown" },
			"Not decided which draws more: Heron draws 154 mA, Lapwing 204 mA, and these runs could not show less than 8.7 %; 7 runs of each would show 5 %."},
		{"rates differ", func(v *Verdict) {
			v.Code, v.Reason = "cannot_rank", "conditions"
			v.Mismatches = []Condition{{Check: "transmit_rate", State: "mismatch", A: Value{Number: 15.3, Unit: "/h"}, B: Value{Number: 28.6, Unit: "/h"}}}
		}, "Draw cannot be ranked: 15.3 beacons an hour against 28.6."},
		{"two unknown", func(v *Verdict) {
			v.Code, v.Reason, v.Unknowns = "cannot_rank", "conditions", []string{"rf_power", "second_receiver"}
		}, "Draw cannot be ranked: neither measured RF power nor second receiver is noted."},
		{"no charge", func(v *Verdict) {
			v.Code, v.Reason, v.WhyA, v.WhyB = "cannot_rank", "no_charge", "no_capacity", "no_capacity"
		},
			"Draw cannot be ranked: what charge the pack holds is not known of Heron and Lapwing; one pack moved between the units would do without."},
		{"no charge of one", func(v *Verdict) { v.Code, v.Reason, v.WhyB = "cannot_rank", "no_charge", "primary" },
			"Draw cannot be ranked: Lapwing ran on primary cells, which do not give their printed capacity at transmit pulses; a meter in the lead would tell."},
		{"two reasons", func(v *Verdict) {
			v.Code, v.Reason, v.WhyA, v.WhyB = "cannot_rank", "no_charge", "external", "still_running"
		},
			"Draw cannot be ranked: Heron ran on an external supply, and no meter in the lead counted the charge; the run time of Lapwing is known as a least value only, and no charge was measured for that run."},
	} {
		same(t, c.name, draw(c.change).Draw(), c.want)
	}
}

func TestDrawBasis(t *testing.T) {
	same(t, "ranked", draw(func(*Verdict) {}).DrawBasis(),
		"Lapwing takes 1.32 times (1.20 to 1.46) what Heron takes; the charge of each was measured. From run to run a spread of 3 % is assumed, for there was one run each. This holds for these two specimens, not yet for their kinds.")
	same(t, "not ranked", draw(func(v *Verdict) { v.Code, v.Inferred = "cannot_rank", true }).DrawBasis(),
		"Each unit's own figure stands: Heron 154 mA (144 to 164), Lapwing 204 mA (191 to 217), inferred from capacity that was not measured.")
	same(t, "nothing known", Verdict{Code: "cannot_rank"}.DrawBasis(), "")
}

func TestPrintedCapacityIsNeverCalledMeasured(t *testing.T) {
	for _, v := range []Verdict{draw(func(v *Verdict) { v.Inferred = true }), draw(func(v *Verdict) { v.Inferred, v.Code = true, "cannot_rank" })} {
		for _, s := range []string{v.DrawBasis(), RunDraw(Draw{MeanMA: v.ValueA, Charge: estimate.Exact(2000), Basis: "printed", Inferred: true})} {
			if !strings.Contains(s, "inferred") || strings.Contains(strings.ReplaceAll(s, "not measured", ""), "measured") {
				t.Errorf("%q", s)
			}
		}
	}
}

func TestRateExplains(t *testing.T) {
	v := Verdict{A: "Heron", B: "Lapwing", Unit: "mA", ValueA: estimate.Of(146, 149, 152), ValueB: estimate.Of(194, 198, 202)}
	same(t, "part", v.RateExplains(estimate.Of(-5, -4, -3)), "Of the 49 mA between them the transmit rates explain 4.0 mA (3.0 to 5.0).")
	same(t, "more than all", v.RateExplains(estimate.Of(-70, -60, -50)), "By their transmit rates alone Lapwing would draw 60 mA (50 to 70) more than Heron.")
	same(t, "the other way", v.RateExplains(estimate.Of(3, 4, 5)), "By their transmit rates alone Heron would draw 4.0 mA (3.0 to 5.0) more than Lapwing.")
	same(t, "next to nothing", v.RateExplains(estimate.Of(-0.06, -0.04, -0.02)), "")
	same(t, "rates that may be equal", v.RateExplains(estimate.Of(-3, -1, 1)), "")
	same(t, "unknown", v.RateExplains(estimate.Unknown), "")
	v = Verdict{A: "Heron", B: "Lapwing", Unit: "mW"}
	same(t, "draws not known", v.RateExplains(estimate.Of(30, 40, 50)), "By their transmit rates alone Heron would draw 40 mW (30 to 50) more than Lapwing.")
}

func TestSplitRatios(t *testing.T) {
	v := Verdict{A: "Heron", B: "Lapwing", Code: "b_draws_more"}
	same(t, "both", v.SplitRatios(estimate.Of(0.70, 0.75, 0.80), estimate.Of(0.7, 1.1, 1.6)),
		"Without beacons Heron takes 0.75 times (0.70 to 0.80) what Lapwing takes, and for each beacon 1.1 times (0.7 to 1.6).")
	same(t, "none", v.SplitRatios(estimate.Unknown, estimate.Unknown), "")
	v.Code = "cannot_rank"
	same(t, "not to be ranked", v.SplitRatios(estimate.Of(0.70, 0.75, 0.80), estimate.Of(0.7, 1.1, 1.6)), "")
}

func TestInverse(t *testing.T) {
	if e := inverse(estimate.AtLeast(2)); !math.IsInf(e.Low, -1) || e.High != 0.5 {
		t.Errorf("at least 2 turned round is %v", e)
	}
	if e := inverse(estimate.Of(math.Inf(-1), 0.5, 0.5)); e.Low != 2 || !math.IsInf(e.High, 1) {
		t.Errorf("at most 0.5 turned round is %v", e)
	}
}

// Of what is not noted one may stay open: the pack's capacity is named only where nothing else would do.
func TestOnlyWhatIsNeededIsCalledNotNoted(t *testing.T) {
	for _, c := range []struct {
		checks []string
		want   string
	}{
		{[]string{"rf_power", "second_receiver", "pack"}, "measured RF power and second receiver are not noted"},
		{[]string{"second_receiver", "pack"}, "second receiver is not noted"},
		{[]string{"rf_power", "second_receiver"}, "neither measured RF power nor second receiver is noted"},
		{[]string{"transmit_rate", "rf_power", "second_receiver"}, "more than one of transmit rate, measured RF power and second receiver is not known"},
	} {
		same(t, c.want, notNoted(c.checks), c.want)
	}
}

func TestWhatARunTimeRestsOn(t *testing.T) {
	long := func(change func(*Verdict)) Verdict {
		v := Verdict{A: "Heron", B: "Lapwing", ValueA: estimate.Exact(43200), ValueB: estimate.Exact(36000), Ratio: estimate.Of(1.11, 1.2, 1.32),
			Code: "a_lasts_longer", RunsA: 1, RunsB: 1, Spread: 0.03, Assumed: true}
		change(&v)
		return v
	}
	same(t, "set up unlike", long(func(v *Verdict) { v.SetUp = true }).Runtime(), "Heron lasted longer: 12 h against 10 h on one charge, as they were set up.")
	same(t, "bank", long(func(v *Verdict) { v.Banks = []string{"Heron"} }).RuntimeBasis(),
		"Heron lasted 1.20 times (1.11 to 1.32) as long as Lapwing. From run to run a spread of 3 % is assumed, for there was one run each. Heron ran on a USB bank, which may switch itself off at low load: the end may be the bank's own. This holds for these two specimens, not yet for their kinds.")
	same(t, "next to no scatter", long(func(v *Verdict) { v.RunsA, v.RunsB, v.Spread = 3, 3, 0.01 }).RuntimeBasis(),
		"Heron lasted 1.20 times (1.11 to 1.32) as long as Lapwing. From run to run a spread of 1 % is assumed, for they differed by less than packs do from one charge to the next. This holds for these two specimens, not yet for their kinds.")
	same(t, "external supply", Verdict{A: "Heron", B: "Lapwing", Code: "cannot_rank", Reason: "no_run", RunsB: 1, WhyA: "external"}.Runtime(),
		"Run time cannot be ranked: Heron ran on an external supply, which does not run out.")
	same(t, "hopeless", long(func(v *Verdict) {
		v.Code, v.Smallest, v.Repeats, v.RepeatsFor = "no_difference_shown", 0.4, 6281, 0.05
	}).Runtime(), "Not decided which lasts longer: Heron ran 12 h, Lapwing 10 h, and these runs could not show less than 40 %; more than 100 runs of each would be needed to show 5 %.")
}

func TestWhatPacketsWouldTellIsNotKnown(t *testing.T) {
	for _, c := range []struct {
		c    Condition
		want string
	}{
		{Condition{Check: "transmit_rate", State: "not_noted"}, "Transmit rate is not known."},
		{Condition{Check: "schedule", State: "not_noted", A: Value{Text: "fixed"}}, "Schedule is known for one only: fixed and not known."},
		{Condition{Check: "temperature", State: "not_noted", A: Value{Number: 21, Unit: "°C"}}, "Temperature is noted for one only: 21 °C and not noted."},
		{Condition{Check: "pack", State: "not_noted", A: Value{Number: 2000, Unit: "mAh", Text: "H1"}, B: Value{Text: "external"}},
			"Pack: H1, 2,000 mAh against external supply; how far that counts is not known."},
		{Condition{Check: "path", State: "corrected", A: Value{Text: "WIDE1-1"}, B: Value{Text: "WIDE1-1,WIDE2-1"}},
			"Path differs, WIDE1-1 against WIDE1-1,WIDE2-1, which counts by the time on the air that it takes."},
		{Condition{Check: "pack", State: "not_noted", Reason: "one_label", A: Value{Number: 2000, Unit: "mAh", Text: "H1"}, B: Value{Number: 6500, Unit: "mAh", Text: "usb_bank"}},
			"The packs differ, H1, 2,000 mAh against USB bank, 6,500 mAh, and the capacity of one was not measured."},
	} {
		same(t, c.want, c.c.Text(), c.want)
	}
}
