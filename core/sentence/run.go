package sentence

import (
	"cmp"
	"slices"
	"strings"

	"lastbeacon/core/estimate"
)

// A Draw is what one run took, for RunDraw; Basis and Refused are codes of the draw.
type Draw struct {
	MeanMA, Charge estimate.Estimate
	Basis          string
	Inferred       bool
	Refused        string
	Supply         string
}

// RunDraw says what one run drew on average and where that figure comes from.
func RunDraw(d Draw) string {
	switch d.Refused {
	case "":
		return Bounded(d.MeanMA, "mA") + " on average, " + chargeFrom(d) + "." + supplyNote(d.Supply)
	case "still_running":
		if d.MeanMA.Known {
			return "Its run time is a least value, so it drew " + Number(d.MeanMA, "mA") + " on average."
		}
		return "Its run time is a least value, so no mean current can be given."
	case "no_capacity":
		return "No mean current: the charge of the pack is not known."
	case "primary":
		return "No mean current: what primary cells give at transmit pulses is not their printed capacity; a meter in the lead would tell."
	case "not_one_charge":
		return "No mean current: the run is perhaps not one full charge."
	case "external":
		return "No mean current: an external supply has no charge to run out of; a meter in the lead would tell."
	}
	return "No mean current: the time of the run is not known."
}

// supplyNote says what a USB bank does to a run; a pack needs no note.
func supplyNote(supply string) string {
	if supply != "usb_bank" {
		return ""
	}
	return " A USB bank gives 85 to 92" + nbsp + "% of what its cells hold, which is assumed, and may switch itself off at low load: the end may be the bank's own."
}

func chargeFrom(d Draw) string {
	charge := Number(d.Charge, "mAh")
	switch {
	case d.Supply == "usb_bank" && d.Basis != "meter" && d.Basis != "recharged":
		return "inferred from " + charge + " at the output of the bank, worked out from what its label says of the cells"
	case d.Basis == "meter":
		return "from " + charge + " counted by a meter in the lead"
	case d.Basis == "recharged":
		return "from " + charge + " that the charger put back"
	case d.Basis == "measured":
		return "from a measured capacity of " + charge
	case d.Basis == "printed" || d.Basis == "printed_used":
		return "inferred from a printed capacity of " + charge + ", not measured"
	}
	return "inferred from a capacity of " + charge + " of which nobody said how it is known"
}

var sources = map[string]string{
	"time": "run time", "capacity": "capacity of the pack", "charge_to_charge": "from one charge of the pack to the next",
	"converter": "efficiency of the bank's converter", "charge": "charger or meter",
}

// Source names a part of an uncertainty budget by its code.
func Source(code string) string { return cmp.Or(sources[code], code) }

// A Split is a unit's idle current and charge per beacon, for IdleAndBeacon.
type Split struct {
	IdleMA, MAhPerBeacon estimate.Estimate
	Basis, Reason        string
	Runs                 int
	Resolved             bool
	Low, High            float64 // beacons an hour
}

// IdleAndBeacon says what flows without beacons and what one more beacon costs, or why that is not resolved.
func IdleAndBeacon(s Split) string {
	if !s.Resolved {
		return "Idle current and charge per beacon are not resolved: " + unresolved(s) + "."
	}
	text := Bounded(s.IdleMA, "mA") + " without beacons and " + Bounded(s.MAhPerBeacon, "mAh") + " for each beacon, "
	switch s.Basis {
	case "runs":
		return text + "from " + Count(s.Runs, "run", "runs") + " at " + plain(s.Low, "") + " to " + plain(s.High, "beacons an hour") + "."
	case "tx_current":
		return text + "from " + Count(s.Runs, "run", "runs") + " and the transmit current stated."
	}
	return text + "from " + Count(s.Runs, "run", "runs") + ", the RF power and an efficiency of 30 to 50" + nbsp + "%, which is assumed."
}

func unresolved(s Split) string {
	switch s.Reason {
	case "rates_too_close":
		return "the runs were sent at " + plain(s.Low, "") + " to " + plain(s.High, "beacons an hour") + "; rates that differ by 2 to 1 or more would tell"
	case "one_rate":
		return "all runs were sent at one rate; a run at another, or the transmit current, would tell"
	case "too_vague":
		return "the charge per beacon is uncertain by more than half; runs at rates further apart would tell"
	case "negative":
		return "the figures contradict each other, for one of the two came out below zero"
	case "no_airtime":
		return "the time on the air of a beacon is not known"
	case "no_tx_current":
		return "there is one rate only; a run at another, the transmit current, or measured RF power and pack voltage would tell"
	}
	return "no run has both a mean current and a transmit rate"
}

// An End is how a run ended, for EndOf. Times stand as they are to be read ("4 May 17:42").
type End struct {
	State            string
	LastHeard        string
	Earliest, Latest string
	NotedBy          string // words of the person who noted it, or ""
}

const leastValue = ", so its run time is a least value"

var endReasons = map[string]string{
	"ended":              "the silence after that is longer than loss explains",
	"on_air_at_log_end":  "it was still on the air when listening stopped" + leastValue,
	"lost":               "whether it ended or only went out of reach is not known" + leastValue,
	"stopped":            "it was switched off or charged on purpose" + leastValue,
	"noted":              "somebody saw it end",
	"recorder_suspected": "other units fell silent with it, so the recorder may have stopped, and its run time is a least value",
	"not_heard":          "nothing of it was heard, so nothing is known of its end",
	"asleep_when_parked": "it was silent at one place before and went on from there, so silence does not show an end",
}

// EndReason says what the end of a run rests on, without its times: for places that show those already.
func EndReason(state string) string {
	text := endReasons[state]
	if state == "lost" {
		text = "it was moving, fading or not long where it was; " + text
	}
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// EndOf says how a run ended, and what that rests on.
func EndOf(e End) string {
	last, reason := "Last heard "+e.LastHeard, endReasons[e.State]
	switch e.State {
	case "not_heard":
		return EndReason(e.State)
	case "ended":
		return last + "; it ended between " + e.Earliest + " and " + e.Latest + ", for " + reason + "."
	case "noted":
		return last + "; " + reason + " between " + e.Earliest + " and " + e.Latest + "."
	case "lost":
		return last + ", moving, fading or not long where it was; " + reason + "."
	}
	if reason == "" {
		return last + "."
	}
	return last + "; " + reason + "."
}

// A Schedule is the rule that spaced the beacons, for ScheduleOf; s and m/s, zero where a parameter does not belong.
type Schedule struct {
	Kind                  string
	Interval              estimate.Estimate
	BeaconsBeforeDecay    int
	Growth, Longest       float64
	SlowInterval, Fast    float64
	SlowSpeed, FastSpeed  float64
	Corners, AsFarAsHeard bool
	Resolved              []string
	Reason                string // why undecided: few, coarse, strays, faint, no-track, tie
	MetresBetween         float64
	Received              estimate.Estimate
}

// ScheduleOf describes a schedule by the parameters that the data resolve.
func ScheduleOf(s Schedule) string {
	text := ""
	switch s.Kind {
	case "fixed":
		text = "One beacon every " + interval(s.Interval)
	case "decaying":
		text = decaying(s)
	case "adaptive":
		text = adaptive(s)
	case "irregular":
		return "No schedule: the gaps follow no rule; the middle one is " + gap(s.Interval.Best) + "."
	default:
		return undecided(s)
	}
	if s.AsFarAsHeard {
		text += ", as far as heard"
	}
	return text + "."
}

// interval gives a period: seconds up to five minutes, where people set seconds.
func interval(e estimate.Estimate) string {
	if !e.Known {
		return "an interval that is not known"
	}
	return gap(e.Best)
}

func decaying(s Schedule) string {
	text := "Every " + interval(s.Interval) + " after a move"
	if s.BeaconsBeforeDecay > 0 && resolved(s, "beacons_before_decay") {
		text += ", " + Count(s.BeaconsBeforeDecay, "time", "times")
	}
	text += ", then ever more slowly while the position holds"
	if s.Longest > 0 && resolved(s, "longest_s") {
		text += ", up to " + gap(s.Longest)
	}
	return text
}

func adaptive(s Schedule) string {
	text := "The interval follows the speed"
	if s.SlowInterval > 0 && resolved(s, "slow_interval_s") {
		text += ": " + gap(s.SlowInterval) + " when slow or parked"
	}
	if s.MetresBetween > 0 && resolved(s, "metres_between_beacons") {
		text += ", one beacon every " + plain(s.MetresBetween, "m") + " under way"
	}
	if s.Fast > 0 && resolved(s, "fast_interval_s") {
		text += ", down to " + gap(s.Fast) + " at speed"
	}
	if s.Corners {
		text += ", and extra beacons at corners"
	}
	return text
}

func resolved(s Schedule, name string) bool { return slices.Contains(s.Resolved, name) }

func undecided(s Schedule) string {
	why := "no rule stands out"
	switch s.Reason {
	case "few":
		why = "too few beacons were heard"
	case "tie":
		why = "two rules fit equally well"
	case "coarse":
		why = "the stamps are too coarse for its interval"
	case "repeats_dropped":
		why = "the source leaves out packets that repeat, so the times heard at rest are the source's"
	case "strays":
		why = "too many beacons fit no rule"
	case "faint":
		why = "too few of the beacons that a rule expects were heard"
	case "no-track":
		why = "no rule fits without knowing how the unit moved between its beacons"
	}
	text := "The schedule is not decided: " + why
	if s.Interval.Known {
		text += "; the longest gap heard, " + Span(s.Interval.Best) + ", is taken for the interval, so bounds are wide"
	}
	return text + "."
}

// SavedFrom says where a run of a saved report comes from.
func SavedFrom(file, version, sha256 string) string {
	return "From a saved report: " + file + ", written by Lastbeacon " + version + ", SHA-256 " + sha256[:min(12, len(sha256))] +
		". Its figures are taken over as they stand; its packets are not here."
}
