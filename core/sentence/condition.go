package sentence

import (
	"math"
	"slices"
	"strings"
)

// A Value is one unit's side of a condition: a number with its unit, or words. The zero Value is not known.
type Value struct {
	Number float64
	Unit   string
	Text   string
}

// A Condition is one line of the like-for-like list; the codes are those of the report.
type Condition struct {
	Check, State, Reason string
	A, B                 Value
	Gap                  float64
	GapUnit              string
}

var checkNames = map[string]string{
	"transmit_rate": "transmit rate", "rf_power": "RF power", "airtime": "time on the air", "path": "path",
	"schedule": "schedule", "fix": "GPS fix", "motion": "motion", "overlap": "time of the runs",
	"channel_load": "channel load", "repeating": "repeating for others", "second_receiver": "second receiver",
	"audio": "audio", "power_saver": "power saver", "pack": "pack", "temperature": "temperature",
	"voltage": "pack voltage", "auto_power_off": "automatic power-off", "antenna": "antenna",
}

// seenInPackets are the checks that the evidence answers, not a person.
var seenInPackets = map[string]bool{"transmit_rate": true, "airtime": true, "path": true, "schedule": true, "motion": true,
	"overlap": true, "channel_load": true}

// supplyNames are supplies that are no pack.
var supplyNames = map[string]string{"external": "external supply", "primary": "primary cells", "usb_bank": "USB bank"}

// Sides gives both values as they stand in the list; one that is missing is not noted, or not known where packets would tell.
func (c Condition) Sides() (a, b string) { return c.side(c.A), c.side(c.B) }

func (c Condition) side(v Value) string {
	if v == (Value{}) && seenInPackets[c.Check] {
		return "not known"
	}
	if name := supplyNames[v.Text]; name != "" && c.Check == "pack" {
		v.Text = name
	}
	return v.String()
}

// Name gives the condition's name as the head of a line.
func (c Condition) Name() string {
	n := checkNames[c.Check]
	if n == "" {
		return c.Check
	}
	return strings.ToUpper(n[:1]) + n[1:]
}

// String gives a value as it stands in the list: "4.8 W", "not noted".
func (v Value) String() string {
	switch {
	case v.Unit == "/h":
		return plain(v.Number, "an hour")
	case v.Unit == "h":
		return Span(v.Number * 3600)
	case v.Unit == "%" || v.Unit == "packets" || v.Unit == "°C" || v.Number != 0:
		s := plain(v.Number, v.Unit)
		if v.Text != "" {
			s = v.Text + ", " + s
		}
		return s
	case v.Text != "":
		return v.Text
	}
	return "not noted"
}

// Apart says, for a list of reasons, how a condition differs: "15.3 beacons an hour against 28.6".
func (c Condition) Apart() string {
	switch c.Check {
	case "transmit_rate":
		return plain(c.A.Number, "beacons an hour") + " against " + plain(c.B.Number, "")
	case "rf_power":
		return "RF power differs by " + round(c.Gap, 1) + nbsp + "dB"
	case "temperature":
		return "temperature differs by " + round(c.Gap, 0) + nbsp + "K"
	case "schedule":
		return "the schedules differ"
	}
	a, b := c.Sides()
	return checkNames[c.Check] + ": " + a + " against " + b
}

// Text says in one sentence how the condition stands.
func (c Condition) Text() string {
	name := c.Name()
	switch c.State {
	case "match":
		return c.matches(name)
	case "corrected":
		return c.corrected(name)
	case "mismatch":
		if c.Check == "schedule" && c.A == c.B {
			return "Both schedules are " + c.A.String() + " but not of one rate."
		}
		return name + " differs: " + c.sides() + "."
	}
	return c.unknown(name)
}

// sides gives both values and how far they are apart; a match is "both" or "and", anything else "against".
func (c Condition) sides() string {
	a, b := c.Sides()
	s := a + " against " + b
	switch {
	case a == b:
		s = a + " both"
	case c.State == "match":
		s = a + " and " + b
	}
	switch {
	case c.GapUnit == "dB":
		s += ", " + round(c.Gap, 2) + nbsp + "dB apart"
	case c.GapUnit == "K" && c.Gap >= 0.05:
		s += ", " + round(c.Gap, 1) + nbsp + "K apart"
	case c.GapUnit == "points" && c.Gap >= 0.5:
		s += ", " + Count(int(math.Round(c.Gap)), "point", "points") + " apart"
	}
	return s
}

func (c Condition) matches(name string) string {
	switch c.Reason {
	case "same_pack":
		return "One pack fed both, so its capacity cancels."
	case "exchanged":
		return "The packs were exchanged between the units, so their capacity cancels."
	case "same_hours":
		return "The runs fell into the same hours of different days."
	case "changes_little":
		return name + " differs, " + c.sides() + ", which changes the draw by less than 2" + nbsp + "%."
	}
	switch c.Check {
	case "overlap":
		return "The runs overlapped for " + round(c.Gap, 0) + nbsp + "% of the shorter one."
	case "rf_power":
		return name + " matches: " + c.sides() + "; 0.5" + nbsp + "dB is allowed, for two wattmeters differ by as much."
	}
	return name + " matches: " + c.sides() + "."
}

func (c Condition) corrected(name string) string {
	switch c.Reason {
	case "changes_little":
		return name + " differs, " + c.sides() + ", which changes the draw by less than 2" + nbsp + "%."
	case "energy":
		return "The packs differ in voltage, " + c.sides() + ", so power is compared, not current."
	case "fixed_schedule":
		return name + " differs, " + c.sides() + ", but both kept a fixed schedule, so it did not change the transmissions."
	}
	switch c.Check {
	case "transmit_rate":
		return name + " differs, " + c.sides() + "; the draw is compared at one rate."
	case "airtime":
		return name + " differs, " + c.sides() + "; the draw is compared at one time on the air."
	case "path":
		return name + " differs, " + c.sides() + ", which counts by the time on the air that it takes."
	case "pack":
		return "Different packs, " + c.sides() + "; the charge of each was measured."
	case "schedule":
		if c.A == c.B {
			return "Both schedules are " + c.A.Text + " but not of one rate; they count by the transmit rate they make."
		}
		return "The schedules differ, " + c.sides() + ", which counts by the transmit rate they make."
	case "repeating":
		return name + " differs, " + c.sides() + "; what was repeated counts as transmissions."
	}
	return name + " differs, " + c.sides() + ", and is taken into account."
}

func (c Condition) unknown(name string) string {
	switch c.Reason {
	case "label_only":
		if c.Check == "pack" {
			differ := "differ"
			if c.A == c.B {
				differ = "may differ"
			}
			return "The packs " + differ + ", " + c.sides() + ", and their capacity was not measured."
		}
		return name + " was not measured with a wattmeter; a setting's name or a printed figure is not a power."
	case "one_label":
		return "The packs differ, " + c.sides() + ", and the capacity of one was not measured."
	case "other_words":
		return name + " is noted in other words: " + c.sides() + "; whether both load a transmitter alike is not known."
	case "apart":
		return "The runs overlapped for " + round(c.Gap, 0) + nbsp + "% of the shorter one only; whether the channel was as busy is not known."
	}
	if c.Check == "transmit_rate" && c.A.Unit != "" {
		return name + " is known too coarsely to tell: " + c.sides() + "."
	}
	noted := "noted"
	if seenInPackets[c.Check] {
		noted = "known"
	}
	if a, b := c.Sides(); a != b {
		if c.A != (Value{}) && c.B != (Value{}) {
			return name + ": " + a + " against " + b + "; how far that counts is not known."
		}
		return name + " is " + noted + " for one only: " + a + " and " + b + "."
	}
	return name + " is not " + noted + "."
}

// A Likeness is what a like-for-like list comes to, for Fair.
type Likeness struct {
	Conditions []Condition
	SetUp      []string // the checks in which the units were not set up alike, as far as is known
	Ranked     bool     // the draws are compared, what differs corrected
}

// Fair says what is like for like. Conditions that are corrected make the draws so, never the run times, which stand as the units
// were set up.
func (l Likeness) Fair() string {
	has := func(state string) bool {
		return slices.ContainsFunc(l.Conditions, func(c Condition) bool { return c.State == state })
	}
	known, also := "", ""
	if has("not_noted") {
		known, also = " as far as noted", " and as far as noted"
	}
	switch {
	case has("mismatch"):
		return "Not like for like"
	case len(l.SetUp) > 0 && l.Ranked:
		return "Like for like in draw, as corrected" + also + "; not in run time, which stands as set up (" + l.apart() + ")"
	case len(l.SetUp) > 0:
		return "Not like for like in run time, which stands as set up (" + l.apart() + ")"
	}
	return "Like for like" + known
}

// apart names in what the units were set up unlike; schedules go with the rate that they make.
func (l Likeness) apart() string {
	var names []string
	for _, check := range l.SetUp {
		if check != "schedule" || !slices.Contains(l.SetUp, "transmit_rate") {
			names = append(names, checkNames[check])
		}
	}
	return List(names)
}

// Fairness sums up a list: "9 conditions match, 1 is corrected, 2 are not noted."
func Fairness(list []Condition) string {
	n := map[string]int{}
	for _, c := range list {
		n[c.State]++
	}
	parts := []string{Count(n["match"], "condition matches", "conditions match")}
	for _, p := range []struct{ state, one, many string }{
		{"corrected", "is corrected", "are corrected"}, {"mismatch", "differs", "differ"}, {"not_noted", "is not noted", "are not noted"},
	} {
		if n[p.state] > 0 {
			parts = append(parts, Count(n[p.state], p.one, p.many))
		}
	}
	return List(parts) + "."
}
