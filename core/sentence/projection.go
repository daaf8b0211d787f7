package sentence

import (
	"math"
	"strconv"

	"lastbeacon/core/estimate"
)

// A Projection is what would happen, for Outlook; the codes are those of the report.
type Projection struct {
	Unit, Kind, Of     string
	Runtime            estimate.Estimate // s
	DrawMA             estimate.Estimate
	Transmissions      estimate.Estimate
	Share              estimate.Estimate // route: share of the charge used
	CapacityMAh        float64           // pack
	EnergyWh, Volts    float64           // pack; 0 not stated, or the voltage that was tested
	Supply             string            // pack
	EndsS, EndsM       estimate.Estimate // route: after how long and how far the charge ends; unknown where it lasts
	AgeMovingS         float64           // shift: how old the newest position is at most, 95 % of the time; 0 not known
	AgeParkedS         float64
	Heard              float64 // shift: the share of beacons heard behind these
	Units, Repeats     int     // shift: how many units share the channel, and how often each beacon is repeated
	Load, Lost         float64 // shift: share of the channel's time, and of packets lost to others'; 0 not known
	PerHour            float64 // schedule
	IntervalS          float64 // schedule, shift
	HoursS, ReservePct float64 // shift
	NeedS              float64 // shift: hours with reserve
	ReachS             float64 // shift: what 95 % of further units reach
	SparePacks         int
	ShortestS          float64 // shift: shortest interval that lasts; 0 not known, NaN none does
	Specimens          int     // shift: how many were tested
	Assumed            bool    // the spread between specimens is assumed
	Spread             float64 // relative
	TX, RX, Standby    float64 // share, percent
	Extrapolated       bool
	Refused            string
	Cold               bool
}

// Outlook puts a projection into a sentence.
func Outlook(p Projection) string {
	if p.Refused != "" {
		return "No projection for " + p.Unit + ": " + refusals[p.Refused] + "."
	}
	s := ""
	switch p.Kind {
	case "pack":
		s = "With " + packWords(p) + " " + p.Unit + " would run " + LastingBounded(p.Runtime) + "."
		if p.Supply == "usb_bank" {
			s += " The bank may switch itself off at low load before that."
		}
	case "schedule":
		s = "At one beacon every " + Span(p.IntervalS) + " " + p.Unit + " would draw " + Bounded(p.DrawMA, "mA")
		if p.Runtime.Known {
			s += " and run " + LastingBounded(p.Runtime)
		}
		s += "."
		s += fastBeacons(p.IntervalS)
	case "route":
		s = route(p)
	case "share":
		s = "At " + plain(p.TX, "") + "-" + plain(p.RX, "") + "-" + plain(p.Standby, "") + " of transmit, receive and standby, " + p.Unit + " would draw " + Bounded(p.DrawMA, "mA")
		if p.Runtime.Known {
			s += " and run " + LastingBounded(p.Runtime)
		}
		s += ". This is an estimate from its currents, not a measurement."
	case "shift":
		s = shift(p)
	}
	if p.Extrapolated {
		s += " This lies outside what was tested."
	}
	if p.Cold {
		s += " The cold is flagged, not corrected: cells give less in it."
	}
	return s
}

// quick is the interval below which a shared channel bears a beacon only where that is agreed (common practice, no source).
const quick = 60

// fastBeacons warns of an interval that is shorter than most channels bear.
func fastBeacons(seconds float64) string {
	if !(seconds > 0 && seconds < quick) {
		return ""
	}
	return " Beacon no faster than local practice allows."
}

// packWords names another battery: by its charge, else by its energy, and by its voltage where that is another.
func packWords(p Projection) string {
	s := "a pack"
	if p.Supply == "usb_bank" {
		s = "a USB bank"
	}
	if p.CapacityMAh > 0 {
		s += " of " + plain(p.CapacityMAh, "mAh")
	} else if p.EnergyWh > 0 {
		s += " of " + plain(p.EnergyWh, "Wh")
	}
	if p.Volts > 0 {
		s += " at " + plain(p.Volts, "V")
	}
	return s
}

func route(p Projection) string {
	s := "On this route " + p.Unit + " would send " + Bounded(p.Transmissions, "beacons") + " and draw " + Bounded(p.DrawMA, "mA")
	if p.Share.Known {
		percent := p.Share.Scale(100)
		s += ", which is " + Bounded(percent, "%") + " of its charge"
		switch {
		case p.Share.Low > 1:
			s += "; it would not come home on one charge" + ending(p)
		case p.Share.High > 1:
			s += "; whether it comes home on one charge is not certain" + ending(p)
		}
	}
	return s + "."
}

// ending says where the charge would be used up.
func ending(p Projection) string {
	switch {
	case p.EndsS.Known && !p.EndsS.Open():
		return ": it would end after " + LastingBounded(p.EndsS) + ", " + Bounded(p.EndsM.Scale(0.001), "km") + " along the way"
	case p.EndsS.Known:
		return ": it could end after " + spanDown(p.EndsS.Low, 1) + ", " + plainBy(p.EndsM.Low/1000, "km", down) + " along the way"
	}
	return ""
}

// watch says how stale positions get in a shift, and what so many units do to the channel.
func watch(p Projection) string {
	s := ""
	if p.AgeMovingS > 0 {
		s += " With " + Percent(p.Heard) + " of the beacons heard, the newest position is at most " + Span(math.Ceil(p.AgeMovingS)) + " old in 95" + nbsp + "% of the time"
		if p.AgeParkedS > p.AgeMovingS {
			s += " while a unit moves, and at most " + Span(math.Ceil(p.AgeParkedS)) + " while it stands"
		}
		s += "."
	}
	if p.Load > 0 {
		s += " " + upper(Count(p.Units, "unit", "units")) + " on the move"
		if p.Repeats > 0 {
			s += ", each beacon repeated " + times(p.Repeats) + ","
		}
		s += " would fill " + Percent(p.Load) + " of the channel's time; " + Percent(p.Lost) + " of their packets would be lost to one another if none listened first."
	}
	return s
}

// shift says how long further units of a kind last, against what is needed.
func shift(p Projection) string {
	s := "Of further units like " + p.Unit + ", 95" + nbsp + "% reach " + spanDown(p.ReachS, 1)
	if p.NeedS > 0 {
		s += "; a shift of " + Span(p.HoursS)
		if p.ReservePct > 0 {
			s += " with " + plain(p.ReservePct, "%") + " in reserve"
		}
		s += " needs " + Span(p.NeedS)
		switch {
		case p.ReachS >= p.NeedS:
			s += ", so they last it"
		default:
			s += ", so they fall short by " + wholeMinutes(p.NeedS-p.ReachS)
		}
	}
	s += "."
	switch {
	case math.IsNaN(p.ShortestS):
		s += " Not even without beacons would one charge do."
	case p.ShortestS > 0:
		s += " The shortest interval that lasts it is " + Span(math.Ceil(p.ShortestS)) + "." + fastBeacons(p.ShortestS)
	}
	if p.Assumed {
		s += " With " + Count(p.Specimens, "specimen", "specimens") + " tested a spread of " + Percent(p.Spread) + " between specimens is assumed."
	}
	if p.SparePacks > 0 {
		s += " " + upper(Count(p.SparePacks, "spare pack", "spare packs")) + " would carry them through."
	}
	return s + watch(p)
}

var refusals = map[string]string{
	"no_run":      "no run of it shows well enough how long a charge lasts",
	"running":     "its run had not ended when the listening did; its end, or an earlier run that ended, would show how long a charge lasts",
	"no_split":    "its idle current and charge per beacon are not resolved; runs at two rates, the current while transmitting, or RF power and nominal pack voltage would tell",
	"no_charge":   "the charge of its pack is not known",
	"no_track":    "the route holds no track",
	"no_schedule": "no schedule of it is known by which beacons would fall due",
	"too_far":     "the rate lies far outside what was tested",
	"no_currents": "its standby, receive and transmit currents are not all known",
	"primary":     "what primary cells give at transmit pulses is not their printed capacity",
	"external":    "an external supply has no charge to run out of",
}

// A Test is a plan for the next test, for NextTest.
type Test struct {
	Difference, Power, Spread float64
	Runs                      int
	RunsEqual                 int // that show units which are equal to be so within the difference; 0 where it is no margin
	Assumed                   bool
	IntervalS                 float64
	WatchS, DurationS         float64  // from when to be there, and how long to listen, at least
	Unlike                    []string // checks of what was set differently so far
}

// NextTest says what the next test should look like to show a stated difference.
func NextTest(t Test) string {
	if t.Runs == 0 {
		return "A difference of " + Percent(t.Difference) + " is too small to be shown by any sensible number of runs."
	}
	s := ""
	if len(t.Unlike) > 0 {
		names := make([]string, len(t.Unlike))
		for i, check := range t.Unlike {
			names[i] = checkNames[check]
		}
		s = "Set all units alike first, in " + List(names) + ". "
	}
	s += "To show a difference of " + Percent(t.Difference) + " with " + Percent(t.Power) + " certainty, with "
	if t.Assumed {
		s += "an assumed spread of " + Percent(t.Spread) + " from run to run: "
	} else {
		s += "the spread of " + Percent(t.Spread) + " from run to run that was seen: "
	}
	s += Count(t.Runs, "run", "runs") + " of each unit"
	if t.RunsEqual > 0 {
		s += " (" + strconv.Itoa(t.RunsEqual) + " to show that they are equal within " + Percent(t.Difference) + ", if they are)"
	}
	if t.IntervalS > 0 {
		s += ", one beacon every " + Span(t.IntervalS) + ", or more often where local practice allows"
	}
	if t.WatchS > 0 {
		s += ", somebody there from " + Span(t.WatchS) + " after power-on to see the ends"
	}
	if t.DurationS > 0 {
		s += ", listening for " + Span(t.DurationS) + " or until well after the end"
	}
	return s + "."
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return Count(n, "time", "times")
}
