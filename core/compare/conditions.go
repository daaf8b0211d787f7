package compare

import "slices"

// A State says how one condition of two runs stands.
type State string

const (
	Match     State = "match"
	Corrected State = "corrected" // it differed, and the draw ratio takes that into account
	Mismatch  State = "mismatch"
	NotNoted  State = "not_noted"
)

// The checks, in the order in which they are shown.
const (
	TransmitRate   = "transmit_rate"
	RFPower        = "rf_power"
	Airtime        = "airtime"
	Path           = "path"
	Schedule       = "schedule"
	Fix            = "fix"
	Motion         = "motion"
	Overlap        = "overlap"
	ChannelLoad    = "channel_load"
	Repeating      = "repeating"
	SecondReceiver = "second_receiver"
	Audio          = "audio"
	PowerSaver     = "power_saver"
	PackCheck      = "pack"
	Temperature    = "temperature"
	Voltage        = "voltage"
	AutoPowerOff   = "auto_power_off"
	Antenna        = "antenna"
)

// A Value is one unit's side of a condition: a number with its unit, or words. The zero Value is not known.
type Value struct {
	Number float64
	Unit   string
	Text   string
}

// A Condition is one line of the like-for-like list. Gap is how far the two are apart, in GapUnit ("dB", "K", "ratio",
// "points", "h"), where that says more than the values. Reason is a code that explains a state which the values alone
// do not: "changes_little", "exchanged", "same_pack", "label_only", "one_label", "apart", "same_hours", "energy", "fixed_schedule", "other_words".
type Condition struct {
	Check   string
	State   State
	A, B    Value
	Gap     float64
	GapUnit string
	Reason  string
}

// decisive are the checks of which no two may be unknown.
var decisive = []string{TransmitRate, RFPower, SecondReceiver, PackCheck}

// judge works out the conditions of a test and what forbids to rank its draw.
func (g *group) judge() {
	for i, a := range g.a {
		for j, b := range g.b {
			list := g.conditionsOf(a, b)
			if i+j == 0 {
				g.conditions = list
				continue
			}
			g.conditions = worst(g.conditions, list)
		}
	}
	for i, c := range g.conditions {
		if c.Check == PackCheck && samePacks(*g) && c.Reason != "same_pack" {
			g.conditions[i].State, g.conditions[i].Reason = Match, "exchanged"
		}
	}
	for _, c := range g.conditions {
		switch {
		case c.State == Mismatch && follows(c.Check, g.conditions):
		case c.State == Mismatch:
			g.mismatches = append(g.mismatches, c.Check)
		case c.State == NotNoted && slices.Contains(decisive, c.Check):
			g.unknowns = append(g.unknowns, c.Check)
		}
	}
}

// follows tells whether a mismatch is only that of another check, and goes with it: schedules differ by the rate they make,
// paths by their time on the air.
func follows(check string, all []Condition) bool {
	return check == Schedule || check == Path && stateOf(all, Airtime) == Mismatch
}

// worst keeps, check by check, the condition that stands worse; of two overlaps the better, for a run need not overlap every
// run of the other unit.
func worst(a, b []Condition) []Condition {
	rank := map[State]int{Match: 0, Corrected: 1, NotNoted: 2, Mismatch: 3}
	out := slices.Clone(a)
	for _, c := range b {
		i := slices.IndexFunc(out, func(o Condition) bool { return o.Check == c.Check })
		switch {
		case i < 0:
			out = append(out, c)
		case c.Check == Overlap && rank[c.State] < rank[out[i].State], c.Check != Overlap && rank[c.State] > rank[out[i].State]:
			out[i] = c
		}
	}
	return out
}

// SetUpUnlike gives the checks in which the units were set up in different ways, forgiven or not, as far as is known.
func (c *Comparison) SetUpUnlike() (checks []string) {
	for _, k := range c.Conditions {
		a, b := k.A.Number, k.B.Number
		switch {
		case k.Check == PackCheck && a > 0 && b > 0 && max(a, b) > (1+voltageClass)*min(a, b),
			k.Check != PackCheck && k.State == Mismatch,
			k.Check != PackCheck && k.State == Corrected && k.Reason != "changes_little" && k.Reason != "fixed_schedule":
			checks = append(checks, k.Check)
		}
	}
	return checks
}

// find gives a condition of the list; one that is not there is not noted.
func find(list []Condition, check string) Condition {
	for _, c := range list {
		if c.Check == check {
			return c
		}
	}
	return Condition{Check: check, State: NotNoted}
}

func stateOf(list []Condition, check string) State { return find(list, check).State }
