package sentence

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/estimate"
)

func TestConditions(t *testing.T) {
	watts := func(v float64) Value { return Value{Number: v, Unit: "W"} }
	for _, c := range []struct {
		name string
		c    Condition
		want string
	}{
		{"power matches", Condition{Check: "rf_power", State: "match", A: watts(4.8), B: watts(4.65), Gap: 0.138, GapUnit: "dB"},
			"RF power matches: 4.80 W and 4.65 W, 0.14 dB apart; 0.5 dB is allowed, for two wattmeters differ by as much."},
		{"power by name", Condition{Check: "rf_power", State: "not_noted", Reason: "label_only"},
			"RF power was not measured with a wattmeter; a setting's name or a printed figure is not a power."},
		{"rate", Condition{Check: "transmit_rate", State: "mismatch", A: Value{Number: 15.3, Unit: "/h"}, B: Value{Number: 28.6, Unit: "/h"}, GapUnit: "ratio"},
			"Transmit rate differs: 15.3 an hour against 28.6 an hour."},
		{"rate corrected", Condition{Check: "transmit_rate", State: "corrected", A: Value{Number: 15.3, Unit: "/h"}, B: Value{Number: 28.6, Unit: "/h"}},
			"Transmit rate differs, 15.3 an hour against 28.6 an hour; the draw is compared at one rate."},
		{"one pack", Condition{Check: "pack", State: "match", Reason: "same_pack"}, "One pack fed both, so its capacity cancels."},
		{"same words", Condition{Check: "audio", State: "match", A: Value{Text: "off"}, B: Value{Text: "off"}}, "Audio matches: off both."},
		{"nothing noted", Condition{Check: "power_saver", State: "not_noted"}, "Power saver is not noted."},
		{"one noted", Condition{Check: "audio", State: "not_noted", A: Value{Text: "off"}}, "Audio is noted for one only: off and not noted."},
		{"cold", Condition{Check: "temperature", State: "mismatch", A: Value{Number: 21, Unit: "°C"}, B: Value{Unit: "°C"}, Gap: 21, GapUnit: "K"},
			"Temperature differs: 21 °C against 0 °C, 21.0 K apart."},
		{"apart", Condition{Check: "overlap", State: "not_noted", Reason: "apart", GapUnit: "%"},
			"The runs overlapped for 0 % of the shorter one only; whether the channel was as busy is not known."},
	} {
		same(t, c.name, c.c.Text(), c.want)
	}
}

func TestWhatIsLikeForLike(t *testing.T) {
	match, corrected, mismatch, open := Condition{State: "match"}, Condition{State: "corrected"}, Condition{State: "mismatch"}, Condition{State: "not_noted"}
	rate := []string{"transmit_rate", "schedule", "pack"}
	for _, c := range []struct {
		name string
		of   Likeness
		want string
	}{
		{"all alike", Likeness{Conditions: []Condition{match}, Ranked: true}, "Like for like"},
		{"something open", Likeness{Conditions: []Condition{match, open}, Ranked: true}, "Like for like as far as noted"},
		{"corrected by next to nothing", Likeness{Conditions: []Condition{match, corrected}, Ranked: true}, "Like for like"},
		{"draw corrected", Likeness{Conditions: []Condition{match, corrected}, SetUp: rate, Ranked: true},
			"Like for like in draw, as corrected; not in run time, which stands as set up (transmit rate and pack)"},
		{"draw corrected, something open", Likeness{Conditions: []Condition{corrected, open}, SetUp: rate[1:2], Ranked: true},
			"Like for like in draw, as corrected and as far as noted; not in run time, which stands as set up (schedule)"},
		{"no draw to correct", Likeness{Conditions: []Condition{corrected}, SetUp: rate[:1]}, "Not like for like in run time, which stands as set up (transmit rate)"},
		{"mismatch", Likeness{Conditions: []Condition{mismatch, corrected}, SetUp: rate}, "Not like for like"},
	} {
		same(t, c.name, c.of.Fair(), c.want)
	}
}

func TestFairness(t *testing.T) {
	same(t, "mixed", Fairness([]Condition{{State: "match"}, {State: "match"}, {State: "corrected"}, {State: "not_noted"}}),
		"2 conditions match, 1 is corrected and 1 is not noted.")
	same(t, "one", Fairness([]Condition{{State: "match"}}), "1 condition matches.")
}

func TestRunDraw(t *testing.T) {
	ma, charge := estimate.Of(191, 204, 217), estimate.Of(1905, 2000, 2095)
	for _, c := range []struct {
		name string
		d    Draw
		want string
	}{
		{"label", Draw{MeanMA: ma, Charge: charge, Basis: "printed", Inferred: true}, "204 mA (191 to 217) on average, inferred from a printed capacity of 2,000 mAh, not measured."},
		{"charger", Draw{MeanMA: ma, Charge: charge, Basis: "recharged"}, "204 mA (191 to 217) on average, from 2,000 mAh that the charger put back."},
		{"bank", Draw{MeanMA: ma, Charge: charge, Basis: "printed", Inferred: true, Supply: "usb_bank"}, "204 mA (191 to 217) on average, inferred from 2,000 mAh at the output of the bank, worked out from what its label says of the cells. A USB bank gives 85 to 92 % of what its cells hold, which is assumed, and may switch itself off at low load: the end may be the bank's own."},
		{"nothing", Draw{Refused: "no_capacity"}, "No mean current: the charge of the pack is not known."},
		{"going on", Draw{Refused: "still_running"}, "Its run time is a least value, so no mean current can be given."},
	} {
		same(t, c.name, RunDraw(c.d), c.want)
	}
}

func TestIdleAndBeacon(t *testing.T) {
	same(t, "from runs", IdleAndBeacon(Split{IdleMA: estimate.Of(180, 194, 208), MAhPerBeacon: estimate.Of(0.28, 0.31, 0.34), Basis: "runs", Runs: 3, Resolved: true, Low: 15, High: 60}),
		"194 mA (180 to 208) without beacons and 0.31 mAh (0.28 to 0.34) for each beacon, from 3 runs at 15 to 60 beacons an hour.")
	same(t, "not resolved", IdleAndBeacon(Split{Reason: "one_rate"}),
		"Idle current and charge per beacon are not resolved: all runs were sent at one rate; a run at another, or the transmit current, would tell.")
}

func TestSchedules(t *testing.T) {
	for _, c := range []struct {
		name string
		s    Schedule
		want string
	}{
		{"fixed", Schedule{Kind: "fixed", Interval: estimate.Of(119.9, 120, 120.1)}, "One beacon every 2 min."},
		{"as far as heard", Schedule{Kind: "fixed", Interval: estimate.Exact(60), AsFarAsHeard: true}, "One beacon every 60 s, as far as heard."},
		{"decaying", Schedule{Kind: "decaying", Interval: estimate.Exact(60), BeaconsBeforeDecay: 3, Longest: 1920, Resolved: []string{"beacons_before_decay", "longest_s"}},
			"Every 60 s after a move, 3 times, then ever more slowly while the position holds, up to 32 min."},
		{"adaptive", Schedule{Kind: "adaptive", SlowInterval: 1200, MetresBetween: 1670, Corners: true, Resolved: []string{"slow_interval_s", "metres_between_beacons"}},
			"The interval follows the speed: 20 min when slow or parked, one beacon every 1,670 m under way, and extra beacons at corners."},
		{"undecided", Schedule{Kind: "undecided", Reason: "few", Interval: estimate.Exact(600)},
			"The schedule is not decided: too few beacons were heard; the longest gap heard, 10 min, is taken for the interval, so bounds are wide."},
	} {
		same(t, c.name, ScheduleOf(c.s), c.want)
	}
}

func TestOutlook(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Projection
		want string
	}{
		{"pack", Projection{Unit: "Heron", Kind: "pack", CapacityMAh: 3200, Runtime: estimate.Of(64200, 70080, 76200)},
			"With a pack of 3,200 mAh Heron would run 19 h 30 min (17 h 50 min to 21 h 10 min)."},
		{"route", Projection{Unit: "Heron", Kind: "route", Transmissions: estimate.Of(205, 231, 270), DrawMA: estimate.Of(98, 106, 114), Share: estimate.Of(0.54, 0.59, 0.63)},
			"On this route Heron would send 230 beacons (200 to 270) and draw 106 mA (98 to 114), which is 59 % (54 to 63) of its charge."},
		{"route that the charge does not cover", Projection{Unit: "Heron", Kind: "route", Transmissions: estimate.Of(205, 231, 270), DrawMA: estimate.Of(98, 106, 114),
			Share: estimate.Of(1.07, 1.18, 1.31), EndsS: estimate.Of(17700, 19500, 21600), EndsM: estimate.Of(44000, 50000, 58000)},
			"On this route Heron would send 230 beacons (200 to 270) and draw 106 mA (98 to 114), which is 118 % (107 to 131) of its charge; it would not come home on one charge: it would end after 5 h 25 min (4 h 55 min to 6 h), 50 km (44 to 58) along the way."},
		{"route that it may not cover", Projection{Unit: "Heron", Kind: "route", Transmissions: estimate.Exact(194), DrawMA: estimate.Of(98, 106, 114),
			Share: estimate.Of(0.98, 1.07, 1.18), EndsS: estimate.Of(19680, 21600, math.Inf(1)), EndsM: estimate.Of(44000, 58000, math.Inf(1))},
			"On this route Heron would send 194 beacons and draw 106 mA (98 to 114), which is 107 % (98 to 118) of its charge; whether it comes home on one charge is not certain: it could end after 5 h 28 min, 44 km along the way."},
		{"shift that others hear", Projection{Unit: "Heron", Kind: "shift", ReachS: 43200, HoursS: 36000, NeedS: 36000, AgeMovingS: 190.3, AgeParkedS: 960, Heard: 0.9, Units: 8, Repeats: 1, Load: 0.1, Lost: 0.19},
			"Of further units like Heron, 95 % reach 12 h; a shift of 10 h needs 10 h, so they last it. With 90 % of the beacons heard, the newest position is at most 191 s old in 95 % of the time while a unit moves, and at most 16 min while it stands. 8 units on the move, each beacon repeated once, would fill 10 % of the channel's time; 19 % of their packets would be lost to one another if none listened first."},
		{"schedule faster than most channels bear", Projection{Unit: "Heron", Kind: "schedule", IntervalS: 30, DrawMA: estimate.Of(98, 106, 114)},
			"At one beacon every 30 s Heron would draw 106 mA (98 to 114). Beacon no faster than local practice allows."},
		{"bank", Projection{Unit: "Heron", Kind: "pack", EnergyWh: 37, Volts: 5, Supply: "usb_bank", Runtime: estimate.Of(64200, 70080, 76200)},
			"With a USB bank of 37 Wh at 5 V Heron would run 19 h 30 min (17 h 50 min to 21 h 10 min). The bank may switch itself off at low load before that."},
		{"shift", Projection{Unit: "Heron", Kind: "shift", ReachS: 38400, HoursS: 36000, ReservePct: 20, NeedS: 43200, Specimens: 1, Assumed: true, Spread: 0.1},
			"Of further units like Heron, 95 % reach 10 h 40 min; a shift of 10 h with 20 % in reserve needs 12 h, so they fall short by 1 h 20 min. With 1 specimen tested a spread of 10 % between specimens is assumed."},
		{"shift that another interval would save", Projection{Unit: "Heron", Kind: "shift", ReachS: 38400, HoursS: 36000, NeedS: 39600, ShortestS: 287.4, SparePacks: 6},
			"Of further units like Heron, 95 % reach 10 h 40 min; a shift of 10 h needs 11 h, so they fall short by 20 min. The shortest interval that lasts it is 288 s. 6 spare packs would carry them through."},
		{"refused", Projection{Unit: "Heron", Kind: "schedule", Refused: "no_split"},
			"No projection for Heron: its idle current and charge per beacon are not resolved; runs at two rates, the current while transmitting, or RF power and nominal pack voltage would tell."},
	} {
		same(t, c.name, Outlook(c.p), c.want)
	}
	same(t, "next test of units set unlike", NextTest(Test{Difference: 0.05, Power: 0.8, Spread: 0.03, Runs: 7, Unlike: []string{"transmit_rate", "rf_power"}}),
		"Set all units alike first, in transmit rate and RF power. To show a difference of 5 % with 80 % certainty, with the spread of 3 % from run to run that was seen: 7 runs of each unit.")
	same(t, "next test against a margin", NextTest(Test{Difference: 0.05, Power: 0.8, Spread: 0.05, Runs: 17, RunsEqual: 18}),
		"To show a difference of 5 % with 80 % certainty, with the spread of 5 % from run to run that was seen: 17 runs of each unit (18 to show that they are equal within 5 %, if they are).")
	same(t, "next test", NextTest(Test{Difference: 0.05, Power: 0.8, Spread: 0.03, Runs: 7, Assumed: true, IntervalS: 120, WatchS: 32400, DurationS: 50400}),
		"To show a difference of 5 % with 80 % certainty, with an assumed spread of 3 % from run to run: 7 runs of each unit, one beacon every 2 min, or more often where local practice allows, somebody there from 9 h after power-on to see the ends, listening for 14 h or until well after the end.")
}

func TestEveryQuestionSaysWhy(t *testing.T) {
	for code := range questions {
		q, ok := Ask(code, Asked{Unit: "Lapwing", File: "ridge.log", When: "4 May", Seconds: 180})
		if !ok || !strings.HasSuffix(q.Ask, "?") || q.Why == "" || strings.ContainsAny(q.Ask+q.Why, "{}%!") && !strings.Contains(q.Why, "%") {
			t.Errorf("%s: %q %q", code, q.Ask, q.Why)
		}
	}
	q, _ := Ask("power_on", Asked{Unit: "Lapwing", When: "4 May", Seconds: 180})
	same(t, "asked", q.Ask+" "+q.Why, "When was Lapwing switched on, 4 May? Its start is known only to 3 min.")
	if _, ok := Ask("no such question", Asked{}); ok {
		t.Error("an unknown code was put")
	}
}

// Sentences claim, they do not sound an alarm, and they say heard and sent, not lost.
func TestWordsThatAreNotUsed(t *testing.T) {
	var all []string
	for _, q := range questions {
		all = append(all, q.Ask, q.Why)
	}
	for _, c := range Cautions() {
		all = append(all, c.Text)
	}
	for _, s := range all {
		for _, word := range []string{"please", "oops", "!", "dropped", "failed"} {
			if strings.Contains(strings.ToLower(s), word) {
				t.Errorf("%q in %q", word, s)
			}
		}
	}
}
