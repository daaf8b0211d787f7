package sentence

import (
	"math"
	"strings"

	"lastbeacon/core/estimate"
)

// An Alike is what is known of whether two units beacon alike, for AlikeOf: the verdict's code and what it waits for, the
// moment at which a difference became certain as it is to be read, the intervals in seconds where they keep one, and whether
// they lengthen it at rest. Running: both runs still go on.
type Alike struct {
	A, B                 string
	Verdict, Waiting     string
	When                 string
	IntervalA, IntervalB estimate.Estimate
	SlowsA, SlowsB       bool
	Running              bool
}

// AlikeOf says whether two units beacon alike, and what to do about it while both runs go on.
func AlikeOf(a Alike) string {
	switch {
	case a.Verdict == "different":
		text := "Their beacon schedules differ, certain since " + a.When + a.what() + "."
		if a.Running {
			text += " Set them alike now and begin the test anew, rather than after the packs are spent."
		}
		return text
	case a.Verdict == "alike_so_far":
		return "Their beacon schedules are alike so far, longer than a unit at rest waits before it lengthens its interval."
	case a.Waiting == "decay":
		return "No difference between their beacon schedules so far, but one that lengthens its interval at rest, or follows its speed, may not have shown it yet."
	case a.Waiting == "no_rule":
		return "Both beacon without a schedule, so there is none to compare."
	}
	return "Too few beacons were heard of both to say whether their schedules are alike."
}

// what says in what two schedules differ, where that takes few words: one slows down, or both intervals read differently.
func (a Alike) what() string {
	switch {
	case a.SlowsA && !a.SlowsB:
		return ": " + a.A + " lengthens its interval at rest, " + a.B + " was not heard to"
	case a.SlowsB && !a.SlowsA:
		return ": " + a.B + " lengthens its interval at rest, " + a.A + " was not heard to"
	case a.SlowsA:
		return ""
	}
	if !a.IntervalA.Known || !a.IntervalB.Known || Span(a.IntervalA.Best) == Span(a.IntervalB.Best) {
		return ""
	}
	return ": " + a.A + " beacons every " + Span(a.IntervalA.Best) + ", " + a.B + " every " + Span(a.IntervalB.Best)
}

// A Now is how a run stands that may still be going on, for NowOf: seconds from the last packet to the end of the listening,
// due beacons missed since (-1 not known), the chance of that by loss alone (NaN not known). Moments stand as they are to be
// read, empty where not known. Runs is how many earlier runs foretell the end.
type Now struct {
	ListenedUntil          string
	Since                  float64
	Missed                 int
	Chance                 float64
	SlowingSince           string
	Earliest, Best, Latest string
	Runs                   int
	Outlasted              bool
	Ended                  bool // its silence is longer than loss explains
}

// NowOf says how a run stands at the end of the listening, and that this is no safety alarm.
func NowOf(n Now) string {
	text := "It was heard up to the end of the listening, " + n.ListenedUntil + "."
	if n.Since >= 1 {
		text = "At " + n.ListenedUntil + ", the end of the listening, it was last heard " + Span(n.Since) + " before: " + n.missed() + "."
	}
	if n.SlowingSince != "" {
		text += " It has sent at longer intervals than its shortest since " + n.SlowingSince + "."
	}
	if n.Ended {
		text += " That is called its end."
	}
	text += n.foretold()
	return text + " This is a test reading, no safety alarm: silence does not show that somebody is in trouble, nor do beacons show that all is well."
}

func (n Now) missed() string {
	switch {
	case n.Missed < 0:
		return "what was due since is not known, for no schedule is decided"
	case n.Missed == 0:
		return "no beacon that was due since was missed"
	case math.IsNaN(n.Chance):
		return Count(n.Missed, "due beacon was", "due beacons were") + " not heard, as is usual for this unit or this source at rest"
	}
	return Count(n.Missed, "due beacon was", "due beacons were") + " not heard, which loss alone does to a unit that still sends in " + chance(n.Chance) + " of cases"
}

// chance gives a small share without calling it none.
func chance(p float64) string {
	switch {
	case p < 0.001:
		return "less than 0.1" + nbsp + "%"
	case p < 0.0995:
		return round(100*p, 1) + nbsp + "%"
	}
	return Percent(p)
}

func theRuns(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

// OutlookOf says when a run should end by the unit's earlier ones, or what that waits for.
func OutlookOf(n Now) string {
	if s := n.foretold(); s != "" {
		return strings.TrimSpace(s)
	}
	if n.Runs > 0 {
		return "When it should end is not foretold: that waits for when it was switched on, which nobody noted."
	}
	return "When it should end is not foretold: that waits for a run of it that ended, on a pack of the same charge and at about the same rate of beacons."
}

func (n Now) foretold() string {
	by := " By its earlier run like this one "
	if n.Runs > 1 {
		by = " By its " + Count(n.Runs, "", "earlier runs") + " like this one "
	}
	switch {
	case n.Outlasted:
		return by + "it should have ended before; it has outlasted " + theRuns(n.Runs) + "."
	case n.Best == "":
		return ""
	case n.Earliest == "":
		return by + "it should end about " + n.Best + ", by " + n.Latest + " at the latest; when it was switched on is not known well."
	}
	return by + "it should end between " + n.Earliest + " and " + n.Latest + ", about " + n.Best + "."
}
