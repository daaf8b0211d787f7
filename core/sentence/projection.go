package sentence

import (
	"math"

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
	PerHour            float64           // schedule
	IntervalS          float64           // schedule, shift
	HoursS, ReservePct float64           // shift
	NeedS              float64           // shift: hours with reserve
	ReachS             float64           // shift: what 95 % of further units reach
	SparePacks         int
	ShortestS          float64 // shift: shortest interval that lasts; 0 not known, NaN none does
	Runs               int
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
		s = "With a pack of " + plain(p.CapacityMAh, "mAh") + " " + p.Unit + " would run " + LastingBounded(p.Runtime) + "."
	case "schedule":
		s = "At one beacon every " + Span(p.IntervalS) + " " + p.Unit + " would draw " + Bounded(p.DrawMA, "mA")
		if p.Runtime.Known {
			s += " and run " + LastingBounded(p.Runtime)
		}
		s += "."
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

func route(p Projection) string {
	s := "On this route " + p.Unit + " would send " + Bounded(p.Transmissions, "beacons") + " and draw " + Bounded(p.DrawMA, "mA")
	if p.Share.Known {
		percent := p.Share.Scale(100)
		s += ", which is " + Bounded(percent, "%") + " of its charge"
		switch {
		case p.Share.Low > 1:
			s += "; it would not come home on one charge"
		case p.Share.High > 1:
			s += "; whether it comes home on one charge is not certain"
		}
	}
	return s + "."
}

// shift says how long further units of a kind last, against what is needed.
func shift(p Projection) string {
	s := "Of further units like " + p.Unit + ", 95" + nbsp + "% reach " + spanDown(p.ReachS)
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
			s += ", so they fall short by " + Span(p.NeedS-p.ReachS)
		}
	}
	s += "."
	switch {
	case math.IsNaN(p.ShortestS):
		s += " Not even without beacons would one charge do."
	case p.ShortestS > 0:
		s += " The shortest interval that lasts it is " + Span(math.Ceil(p.ShortestS)) + "."
	}
	if p.Assumed {
		s += " With " + Count(p.Runs, "run", "runs") + " a spread of " + Percent(p.Spread) + " between specimens is assumed."
	}
	if p.SparePacks > 0 {
		s += " " + upper(Count(p.SparePacks, "spare pack", "spare packs")) + " would carry them through."
	}
	return s
}

var refusals = map[string]string{
	"no_run":       "no run of it ended",
	"no_split":     "its idle current and charge per beacon are not resolved",
	"no_charge":    "the charge of its pack is not known",
	"too_far":      "the rate lies far outside what was tested",
	"no_currents":  "its standby, receive and transmit currents are not all known",
	"other_supply": "the supply is not a pack of cells",
	"load":         "the load on the other pack lies far outside what was tested",
}

// A Test is a plan for the next test, for NextTest.
type Test struct {
	Difference, Power, Spread float64
	Runs                      int
	Assumed                   bool
	IntervalS                 float64
	DurationS                 float64 // how long to listen, at least
}

// NextTest says what the next test should look like to show a stated difference.
func NextTest(t Test) string {
	if t.Runs == 0 {
		return "A difference of " + Percent(t.Difference) + " is too small to be shown by any sensible number of runs."
	}
	s := "To show a difference of " + Percent(t.Difference) + " with " + Percent(t.Power) + " certainty, with "
	if t.Assumed {
		s += "an assumed "
	} else {
		s += "a "
	}
	s += "spread of " + Percent(t.Spread) + " from run to run: " + Count(t.Runs, "run", "runs") + " of each unit"
	if t.IntervalS > 0 {
		s += ", one beacon every " + Span(t.IntervalS) + " or faster"
	}
	if t.DurationS > 0 {
		s += ", listening for " + Span(t.DurationS) + " or until well after the end"
	}
	return s + "."
}
