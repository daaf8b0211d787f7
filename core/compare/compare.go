// Package compare sets two units beside each other: which lasted longer as they were set up, which draws more, under which
// conditions, and whether those were alike enough for the draw to be ranked. A verdict is claimed only where the 95 %
// interval of the ratio excludes 1; one run each takes an assumed spread from run to run, which is said.
//
// Ratios are a over b and worked out on logarithms. The specimens tested are compared, not their kinds.
package compare

import (
	"cmp"
	"slices"
	"sync"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// A Subject is one unit with its runs and, where they gave it, its idle current and charge per beacon.
type Subject struct {
	Name  string
	Kind  string // what it is a specimen of; "" not stated
	Runs  []Run
	Split draw.Split
}

// A Run is one charge of one unit. Runs of one label belong to one test. Time is the run time in seconds, Rate is what
// was sent per hour. A run that is not rankable is left out of every ratio; one without an end may be, as a least value.
type Run struct {
	Label    string
	Rankable bool
	Coarse   bool // its time is known too vaguely to rank, and nothing else speaks against it
	Time     estimate.Estimate
	Rate     estimate.Estimate
	Draw     draw.Draw
	Pack     string
	Facts    Facts
}

// Settings are what was stated before the test. CV is the spread from run to run to assume (relative; 0 means DefaultCV). Margin is the relative difference that does not matter; it counts only if Stated lies before the runs.
type Settings struct {
	CV     float64
	Margin float64
	Stated clock.Instant // clock.None: never
	// The spread between specimens of one kind to assume (relative); 0 means draw.SpecimenSpread.
	SpecimenCV float64
}

// DefaultCV is the run-to-run spread assumed where nothing was stated and too few runs show it (common practice).
const DefaultCV = 0.03

// A Code is a verdict.
type Code string

const (
	ALastsLonger      Code = "a_lasts_longer"
	BLastsLonger      Code = "b_lasts_longer"
	ADrawsMore        Code = "a_draws_more"
	BDrawsMore        Code = "b_draws_more"
	NoDifferenceShown Code = "no_difference_shown"
	SameWithinMargin  Code = "same_within_margin"
	CannotRank        Code = "cannot_rank"
)

// A Verdict is one answer. A and B are the two values behind the ratio (seconds, or mA; mW where the packs' voltages
// differ; unknown where the pack cancels and was never measured). Reason says why nothing can be ranked: "no_run",
// "both_running", "still_running", "no_charge", "conditions".
type Verdict struct {
	Code         Code
	Ratio        estimate.Estimate
	A, B         estimate.Estimate
	Judged       estimate.Estimate // draw: the ratio that the verdict rests on, at one rate or time on the air where these differ
	JudgedA      estimate.Estimate // and the two draws behind it
	JudgedB      estimate.Estimate
	RunsA, RunsB int
	SpecimensA   int // of a comparison of kinds: how many stand for each; else 0
	SpecimensB   int
	Spread       float64  // relative standard deviation from run to run that was used
	Assumed      bool     // Spread is assumed, not seen
	Stands       float64  // of a verdict that rests on an assumed spread: it stands as long as the units scatter by less; else 0
	P            float64  // two-sided chance of such a ratio were there no difference; 1 when unknown
	Smallest     float64  // relative difference that these runs could just have shown
	Inferred     bool     // rests on a printed or unproven capacity
	SamePack     bool     // the capacity cancels
	AsStated     bool     // and it was not measured, so that the draws themselves, not their ratio, rest on what was stated
	Exchanged    bool     // and it does because packs were exchanged between the units
	OneMeter     bool     // one instrument measured all charges, so its error cancels
	InOrder      bool     // all runs of one came before all of the other, two or more each: age and order are in the ratio too
	Energy       bool     // powers are compared, not currents
	EqualRate    bool     // judged at one transmit rate
	EqualAir     bool     // judged at one time on the air of a transmission
	Banks        []string // of run times: units fed by a USB bank, whose end may be the bank's own
	Holm         bool     // several pairs were judged together and this one did not stand
	Tests        int      // tests (labels) pooled
	Reason       string
	WhyA, WhyB   string   // why a unit has no draw, or no run time, by the codes of the draw; "" where it has
	Mismatches   []string // checks that forbid a ranking
	Unknowns     []string // of the four that count most, those not noted
	Splits       []string // draw: the units whose draw must still be split so that a difference in transmissions can be corrected
	Margin       float64  // of an equivalence; of run times too, whose Code stays NoDifferenceShown

	footing footing // what Stands follows from
}

// EqualRate is the draw ratio if both sent at one rate.
type EqualRate struct {
	PerHour float64
	Ratio   estimate.Estimate
	A, B    estimate.Estimate // mA
}

// A Comparison sets a beside b. Groups holds the same pair test by test where several labels are shared; the comparison
// itself then pools the tests whose conditions were most alike.
type Comparison struct {
	A, B        string
	Label       string
	Runtime     Verdict
	Draw        Verdict
	RateRatio   estimate.Estimate
	RateA       estimate.Estimate
	RateB       estimate.Estimate
	Explains    estimate.Estimate // what the difference in transmit rate makes of a's draw minus b's: mA, or mW as the draw
	IdleRatio   estimate.Estimate // idle current, or power as the draw, a over b, where both are resolved
	BeaconRatio estimate.Estimate // charge, or energy, per beacon, a over b
	AtOneRate   *EqualRate
	Conditions  []Condition
	Groups      []Comparison
	Exchanged   *Exchange
	splits      [2]draw.Split
}

// Repeats are planned for this difference at this power.
const (
	PlannedDifference = 0.05
	PlannedPower      = 0.8
)

// Repeats gives how many runs of each unit, or specimens of each kind, would show the planned difference, scattering as the verdict
// takes it; none where it knows no scatter.
func (v *Verdict) Repeats() int {
	if v.Spread == 0 {
		return 0
	}
	return estimate.RunsToDiffer(PlannedDifference, max(v.Spread, 0.005), PlannedPower).Runs
}

// Pair compares two units.
func Pair(a, b Subject, set Settings) Comparison {
	return PairKnowing(a, b, set, func(_ []string, find func() Verdict) Verdict { return find() })
}

// Lasted gives the verdict on run times in tests of some labels, which a caller may know from before or else find: what packs hold
// has no part in it, only the units' names, and the labels, times, packs, kinds of supply, begins, ends and ranks of their runs.
type Lasted func(labels []string, find func() Verdict) Verdict

// PairKnowing is Pair for a caller that remembers verdicts on run times.
func PairKnowing(a, b Subject, set Settings, lasted Lasted) Comparison {
	if set.CV == 0 {
		set.CV = DefaultCV
	}
	labels := common(a.Runs, b.Runs)
	if len(labels) < 2 {
		return whole([]group{newGroup(a, b, onlyLabel(labels), set)}, lasted)
	}
	groups := make([]group, len(labels))
	for i, label := range labels {
		groups[i] = newGroup(a, b, label, set)
	}
	c := whole(mostAlike(groups), lasted)
	for _, g := range groups {
		c.Groups = append(c.Groups, whole([]group{g}, lasted))
	}
	return c
}

// common gives the labels that both have rankable runs of, in a's order.
func common(a, b []Run) []string {
	var labels []string
	for _, r := range a {
		shared := slices.ContainsFunc(b, func(o Run) bool { return o.Label == r.Label && o.Rankable })
		if r.Rankable && shared && !slices.Contains(labels, r.Label) {
			labels = append(labels, r.Label)
		}
	}
	return labels
}

// onlyLabel gives the label to select by, or "*" for every run where no test has runs of both.
func onlyLabel(labels []string) string {
	if len(labels) == 1 {
		return labels[0]
	}
	return "*"
}

// A group is one test: the rankable runs of both units under one label.
type group struct {
	nameA, nameB   string
	whyA, whyB     string // why a unit has no run here, as of a verdict
	label          string
	a, b           []Run
	splitA, splitB draw.Split
	set            Settings
	conditions     []Condition
	mismatches     []string
	unknowns       []string
	// The two ratios of the test, worked out once: it stands by itself and in what pools several.
	lasted func() (ratio, string)
	drew   func() (ratio, bool)
}

func newGroup(a, b Subject, label string, set Settings) group {
	g := group{nameA: a.Name, nameB: b.Name, splitA: a.Split, splitB: b.Split, set: set}
	g.a, g.b = labelled(a.Runs, label), labelled(b.Runs, label)
	g.whyA, g.whyB = unranked(a.Runs, g.a), unranked(b.Runs, g.b)
	if label != "*" {
		g.label = label
	}
	g.judge()
	g.lasted, g.drew = sync.OnceValues(g.runtime), sync.OnceValues(g.drawn().drawRatio)
	return g
}

// unranked tells why none of a unit's runs can be compared, "coarse", where that is known.
func unranked(all, ranked []Run) string {
	if len(ranked) == 0 && slices.ContainsFunc(all, func(r Run) bool { return r.Coarse }) {
		return "coarse"
	}
	return ""
}

func labelled(runs []Run, label string) []Run {
	return kept(runs, func(r *Run) bool { return r.Rankable && (label == "*" || r.Label == label) })
}

// mostAlike keeps the tests whose conditions were most alike: the fewest mismatches, then the fewest unknown of those that
// count most, then the fewest corrections. What was set up differently is not averaged.
func mostAlike(groups []group) []group {
	best := slices.MinFunc(groups, compareFairness)
	return slices.DeleteFunc(slices.Clone(groups), func(g group) bool { return compareFairness(g, best) > 0 })
}

func compareFairness(g, o group) int {
	return cmp.Or(cmp.Compare(len(g.mismatches), len(o.mismatches)), cmp.Compare(len(g.unknowns), len(o.unknowns)),
		cmp.Compare(count(g.conditions, Corrected), count(o.conditions, Corrected)))
}

func count(list []Condition, s State) int {
	n := 0
	for _, c := range list {
		if c.State == s {
			n++
		}
	}
	return n
}

// SplitsWanted names the units that lack nothing but a transmit current for their draw to be split, where the two were unlike
// in what they sent: the draw is then ranked at one rate.
func (c *Comparison) SplitsWanted() (names []string) {
	if stateOf(c.Conditions, TransmitRate) != Mismatch && stateOf(c.Conditions, Airtime) != Mismatch {
		return nil
	}
	for i, s := range c.splits {
		if s.WantsCurrent() {
			names = append(names, [2]string{c.A, c.B}[i])
		}
	}
	return names
}

// whole makes the comparison of one test, or of several pooled ones.
func whole(groups []group, lasted Lasted) Comparison {
	g := groups[0]
	c := Comparison{A: g.nameA, B: g.nameB, Conditions: g.conditions, splits: [2]draw.Split{g.splitA, g.splitB}}
	if len(groups) == 1 {
		c.Label = g.label
	}
	for _, more := range groups[1:] {
		c.Conditions = worst(c.Conditions, more.conditions)
		g.a, g.b = append(slices.Clip(g.a), more.a...), append(slices.Clip(g.b), more.b...)
		g.mismatches = union(g.mismatches, more.mismatches)
		g.unknowns = union(g.unknowns, more.unknowns)
	}
	c.Runtime = lasted(labelsOf(groups), func() Verdict { return runtime(groups) })
	c.RateA, c.RateB = meanRate(g.a), meanRate(g.b)
	c.RateRatio = over(c.RateA, c.RateB)
	c.IdleRatio, c.BeaconRatio = splitRatios(g)
	c.Explains = g.explained(c.RateA, c.RateB)
	c.Draw = drawVerdict(groups, g, &c)
	c.Exchanged = exchange(g)
	return c
}

func labelsOf(groups []group) (labels []string) {
	for _, g := range groups {
		labels = append(labels, g.label)
	}
	return labels
}

func union(a, b []string) []string {
	out := slices.Clip(a)
	for _, s := range b {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}
