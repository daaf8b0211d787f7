package sentence

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"lastbeacon/core/estimate"
)

// A Verdict is what one comparison of two units decided; the codes are those of the report. Values are seconds of run
// time, or the mean draw in Unit.
type Verdict struct {
	A, B                string // names
	ValueA, ValueB      estimate.Estimate
	Ratio               estimate.Estimate // a over b
	Code, Reason        string
	RunsA, RunsB, Tests int
	Spread              float64 // relative, from run to run
	Assumed             bool
	SpecimensA          int // of a comparison of kinds: how many stand for each; else 0
	SpecimensB          int
	Stands              float64 // the verdict stands while the units scatter by less; 0 where the spread is not assumed
	Smallest            float64 // relative difference that these runs could just show
	Repeats             int     // runs of each that would show RepeatsFor
	RepeatsFor          float64
	Holm                bool
	Unit                string // draw: "mA" or "mW"
	Inferred            bool   // draw: from a printed capacity
	SamePack            bool   // draw: the capacity cancels
	AsStated            bool   // draw: and was not measured, so that the values rest on what was stated
	Exchanged           bool   // draw: packs were exchanged between the units
	OneMeter            bool   // draw: one instrument measured all charges
	InOrder             bool   // all runs of one came before all of the other
	EqualRate           bool   // draw: judged at one transmit rate, PerHour
	PerHour             float64
	EqualAir            bool              // draw: judged at one time on the air
	Judged              estimate.Estimate // draw: the ratio that the verdict rests on
	JudgedA, JudgedB    estimate.Estimate // and the draws behind it
	Margin              float64
	Mismatches          []Condition
	Unknowns            []string // checks
	Splits              []string // draw: units that want a transmit current for rates to be made equal
	WhyA, WhyB          string   // codes of the draw: why a unit has no draw, or no run time to compare
	Banks               []string // run time: units fed by a USB bank
	SetUp               bool     // run time: the units were not set up alike
}

// Runtime says which unit lasted longer.
func (v Verdict) Runtime() string {
	switch v.Code {
	case "a_lasts_longer":
		return v.longer(v.A, v.ValueA, v.ValueB)
	case "b_lasts_longer":
		return v.longer(v.B, v.ValueB, v.ValueA)
	case "no_difference_shown":
		return v.undecidedRuntime()
	}
	switch v.Reason {
	case "both_running":
		return "Run time cannot be ranked yet: both are known as least values only. " + v.A + " ran " + Lasting(v.ValueA) + ", " + v.B + " " + Lasting(v.ValueB) + "."
	default:
		return "Run time cannot be ranked: " + v.missing() + "."
	}
}

// missing says which unit has no run.
func (v Verdict) missing() string {
	const none = " has no run that can be used"
	switch external := v.ran("external"); {
	case len(external) > 0:
		return List(external) + " ran on an external supply, which does not run out"
	case v.RunsA == 0 && v.RunsB == 0:
		s := "neither " + v.A + " nor " + v.B + " has a run that can be used"
		if v.WhyA == "coarse" && v.WhyB == "coarse" {
			s += ": their run times are known too coarsely"
		}
		return s
	case v.RunsA == 0:
		return v.A + none + coarse(v.WhyA)
	}
	return v.B + none + coarse(v.WhyB)
}

// coarse says why a unit's run cannot be used, where its width alone forbids it.
func coarse(why string) string {
	if why != "coarse" {
		return ""
	}
	return ": its run time is known too coarsely"
}

// ran names the units that a code stands for.
func (v Verdict) ran(why string) (names []string) {
	if v.WhyA == why {
		names = append(names, v.A)
	}
	if v.WhyB == why {
		names = append(names, v.B)
	}
	return names
}

func (v Verdict) longer(winner string, more, less estimate.Estimate) string {
	setUp := ""
	if v.SetUp {
		setUp = ", as they were set up"
	}
	return winner + " lasted longer: " + Lasting(more) + " against " + Lasting(less) + " on one charge" + v.over() + setUp + "."
}

// over says over how many runs the values are averaged.
func (v Verdict) over() string {
	if v.kinds() {
		return ", on average over " + v.tested()
	}
	if v.RunsA <= 1 && v.RunsB <= 1 {
		return ""
	}
	return ", on average over " + Count(v.RunsA, "run", "runs") + " of " + v.A + " and " + Count(v.RunsB, "run", "runs") + " of " + v.B
}

func (v Verdict) undecidedRuntime() string {
	if v.Reason == "still_running" {
		return "Not decided yet: " + v.A + " ran " + Lasting(v.ValueA) + ", " + v.B + " " + Lasting(v.ValueB) + "."
	}
	if v.Margin > 0 {
		return v.A + " and " + v.B + " last the same within the margin of " + Percent(v.Margin) + " stated beforehand: " + Lasting(v.ValueA) + " against " + Lasting(v.ValueB) + v.over() + "."
	}
	return "Not decided which lasts longer: " + v.A + " ran " + Lasting(v.ValueA) + ", " + v.B + " " + Lasting(v.ValueB) + v.over() + ", " + v.tooClose() + "."
}

// mostRepeats is up to how many repeats anybody would count them.
const mostRepeats = 100

// tooClose says why a difference is not shown, and what would show it.
func (v Verdict) tooClose() string {
	if v.Holm {
		return "a difference that does not stand when all pairs of units are judged together"
	}
	s := "and these " + v.those() + " could not show less than " + Percent(v.Smallest)
	if v.Inferred {
		return s + ", for capacity was not measured; one pack moved between the units would tell more"
	}
	switch {
	case v.Repeats > mostRepeats && v.Smallest > v.RepeatsFor:
		s += "; more than " + Count(mostRepeats, "", v.those()) + " of each would be needed to show " + Percent(v.RepeatsFor)
	case v.Repeats > 0 && v.Smallest > v.RepeatsFor:
		s += "; " + Count(v.Repeats, v.those()[:len(v.those())-1], v.those()) + " of each would show " + Percent(v.RepeatsFor)
	}
	return s
}

// Draw says which unit draws more.
func (v Verdict) Draw() string {
	switch v.Code {
	case "a_draws_more":
		return v.more(v.A, v.JudgedA, v.JudgedB, v.Judged)
	case "b_draws_more":
		return v.more(v.B, v.JudgedB, v.JudgedA, inverse(v.Judged))
	case "same_within_margin":
		return v.A + " and " + v.B + " draw the same within the margin of " + Percent(v.Margin) + " stated beforehand."
	case "no_difference_shown":
		return "Not decided which draws more: " + v.bothDraws() + ", " + v.tooClose() + "."
	}
	return "Draw cannot be ranked: " + v.whyNot() + "." + v.wouldHelp()
}

// levelled says at which rate, and whether at one time on the air, the draws are compared; empty when as they were set up.
func (v Verdict) levelled() string {
	rate := "one rate of " + plain(v.PerHour, "beacons an hour")
	switch {
	case v.EqualRate && v.EqualAir:
		return " at " + rate + " and one time on the air"
	case v.EqualRate:
		return " at " + rate
	case v.EqualAir:
		return " at one time on the air for each beacon"
	}
	return ""
}

func (v Verdict) more(winner string, more, less, ratio estimate.Estimate) string {
	if !more.Known || !less.Known {
		return winner + " draws more: " + Number(ratio, "times") + " as much on the same pack" + v.levelled() + "."
	}
	s := winner + " draws more: " + Number(more, v.Unit) + " against " + Number(less, v.Unit) + v.levelled()
	return s + v.origin() + "."
}

// origin says what the values of a draw rest on where no capacity was measured.
func (v Verdict) origin() string {
	switch {
	case v.Inferred:
		return inferred
	case v.AsStated:
		return ", if capacity is as stated"
	}
	return ""
}

// inferred is said of a draw that rests on what is printed on a pack, or on a capacity of unknown origin.
const inferred = ", inferred from capacity that was not measured"

func (v Verdict) bothDraws() string {
	if !v.ValueA.Known || !v.ValueB.Known {
		return v.A + " takes " + Bounded(v.Ratio, "times") + " what " + v.B + " takes from the same pack"
	}
	s := v.A + " draws " + Number(v.JudgedA, v.Unit) + ", " + v.B + " " + Number(v.JudgedB, v.Unit) + v.levelled()
	if v.AsStated {
		s += v.origin()
	}
	return s
}

// whyNot says what keeps the draw from being ranked.
func (v Verdict) whyNot() string {
	switch v.Reason {
	case "no_run":
		return v.missing()
	case "no_charge":
		return v.noCharge()
	}
	var why []string
	for _, c := range v.Mismatches {
		why = append(why, c.Apart())
	}
	if len(v.Unknowns) >= 2 {
		why = append(why, notNoted(v.Unknowns))
	}
	return join(why, 3)
}

// undrawn says why units have no draw, by the code of the draw; %s are their names.
var undrawn = map[string]string{
	"still_running":  "the run time of %s is known as a least value only, and no charge was measured for that run",
	"no_capacity":    "what charge the pack holds is not known of %s; one pack moved between the units would do without",
	"primary":        "%s ran on primary cells, which do not give their printed capacity at transmit pulses; a meter in the lead would tell",
	"external":       "%s ran on an external supply, and no meter in the lead counted the charge",
	"not_one_charge": "the run of %s is perhaps not one full charge",
	"no_time":        "the run time of %s is not known",
}

// noCharge says which unit's charge, or time, is missing.
func (v Verdict) noCharge() string {
	var why []string
	for _, code := range []string{v.WhyA, v.WhyB} {
		text := undrawn[code]
		if text == "" {
			continue
		}
		if s := strings.Replace(text, "%s", List(v.ran(code)), 1); !slices.Contains(why, s) {
			why = append(why, s)
		}
	}
	if len(why) == 0 {
		return "no charge is known of both"
	}
	return strings.Join(why, "; ")
}

// wouldHelp says what would let the draw be ranked where the units sent unlike.
func (v Verdict) wouldHelp() string {
	if len(v.Splits) == 0 {
		return ""
	}
	return " At one rate it could be: state RF power and nominal pack voltage of " + List(v.Splits) + ", or the current while transmitting."
}

// notNoted names what must be noted of the checks that are not; one of them may stay open, and it is the capacity of the pack,
// which is the hardest to come by, where that is among them.
func notNoted(checks []string) string {
	names, noted := []string{}, "noted"
	for _, check := range checks {
		if check != "pack" {
			names = append(names, cmp.Or(measuredNames[check], checkNames[check]))
		}
		if seenInPackets[check] {
			noted = "known"
		}
	}
	switch {
	case len(names) == 1:
		return names[0] + " is not " + noted
	case len(names) < len(checks):
		return List(names) + " are not " + noted
	}
	if len(names) == 2 {
		return "neither " + names[0] + " nor " + names[1] + " is " + noted
	}
	return "more than one of " + List(names) + " is not " + noted
}

// measuredNames are what is missing where a word or a label was noted, but nothing measured.
var measuredNames = map[string]string{"rf_power": "measured RF power"}

// join keeps the first few reasons and counts the rest.
func join(why []string, most int) string {
	if len(why) > most {
		why = append(why[:most:most], Count(len(why)-most, "more condition that differs", "more conditions that differ"))
	}
	return strings.Join(why, "; ")
}

// RuntimeBasis says what a run-time verdict rests on: ratio with limits, spread, specimens.
func (v Verdict) RuntimeBasis() string {
	if !v.Ratio.Sound() {
		return ""
	}
	first, second, r := v.A, v.B, v.Ratio
	if v.Code == "b_lasts_longer" {
		first, second, r = v.B, v.A, inverse(r)
	}
	return first + " lasted " + Bounded(r, "times") + " as long as " + second + ". " + v.ends() + v.spread() + v.order() + v.banks() + v.specimens()
}

// banks says what a USB bank may have done to a run time.
func (v Verdict) banks() string {
	if len(v.Banks) == 0 {
		return ""
	}
	return List(v.Banks) + " ran on a USB bank, which may switch itself off at low load: the end may be the bank's own. "
}

// order says what runs one after the other cannot tell apart.
func (v Verdict) order() string {
	if !v.InOrder {
		return ""
	}
	return "All runs of one came before all of the other, so the ageing of cells and the season are in the ratio too; runs by turns would part them. "
}

// ends says how well the run times are known, where they are single and closed.
func (v Verdict) ends() string {
	if v.RunsA != 1 || v.RunsB != 1 || v.ValueA.Open() || v.ValueB.Open() {
		return ""
	}
	a, b := halfWidth(v.ValueA), halfWidth(v.ValueB)
	if max(a, b) < 30 {
		return ""
	}
	if wholeMinutes(a) == wholeMinutes(b) {
		return "The run times are known to " + wholeMinutes(a) + " each. "
	}
	return "The run times are known to " + wholeMinutes(a) + " (" + v.A + ") and " + wholeMinutes(b) + " (" + v.B + "). "
}

// wholeMinutes rounds up, so that nothing looks better known than it is.
func wholeMinutes(seconds float64) string {
	return Span(60 * max(1, math.Ceil(seconds/60)))
}

// kinds tells whether kinds are compared, not units.
func (v Verdict) kinds() bool { return v.SpecimensA > 0 && v.SpecimensB > 0 }

// showing is from how many runs or specimens of each on their scatter is taken from themselves.
const showing = 3

// counted gives how many runs, or specimens, stand on each side.
func (v Verdict) counted() (a, b int) {
	if v.kinds() {
		return v.SpecimensA, v.SpecimensB
	}
	return v.RunsA, v.RunsB
}

// those are what is counted.
func (v Verdict) those() string {
	if v.kinds() {
		return "specimens"
	}
	return "runs"
}

func (v Verdict) tested() string {
	return Count(v.SpecimensA, "specimen", "specimens") + " of " + v.A + " and " + Count(v.SpecimensB, "specimen", "specimens") + " of " + v.B
}

// spread says what is taken for the scatter from run to run, or between specimens.
func (v Verdict) spread() string {
	from := "From run to run"
	if v.kinds() {
		from = "Between specimens of one kind"
	}
	switch {
	case v.Spread == 0:
		return ""
	case !v.Assumed && v.kinds():
		return "Specimens of one kind differed by " + Percent(v.Spread) + ". "
	case !v.Assumed:
		return "From run to run the units scattered by " + Percent(v.Spread) + ". "
	}
	s := from + " a spread of " + Percent(v.Spread) + " is assumed, for "
	switch a, b := v.counted(); {
	case a <= 1 && b <= 1:
		s += "there was one run each"
	case a >= showing && b >= showing:
		s += "they differed by less than packs do from one charge to the next"
	default:
		s += "there were too few " + v.those() + " to show it"
	}
	if v.Stands > 0 {
		s += "; the verdict stands as long as it is no more than " + atMost(v.Stands)
	}
	return s + ". "
}

// atMost rounds a relative figure down to what Percent shows.
func atMost(r float64) string {
	if r >= 0.1 {
		return Percent(math.Floor(100*r) / 100)
	}
	return Percent(math.Floor(1000*r) / 1000)
}

func (v Verdict) specimens() string {
	if v.kinds() {
		return "This holds for the kinds as far as " + v.tested() + " stand for them."
	}
	return "This holds for these two specimens, not yet for their kinds."
}

// DrawBasis says what a draw verdict rests on. Without a ranking each unit's own figure is left.
func (v Verdict) DrawBasis() string {
	if !v.Judged.Sound() {
		return ""
	}
	if v.Code == "cannot_rank" {
		return v.ownFigures()
	}
	first, second, r, raw := v.A, v.B, v.Judged, v.Ratio
	if v.Code == "b_draws_more" {
		first, second, r, raw = v.B, v.A, inverse(r), inverse(raw)
	}
	s := first + " takes " + Bounded(r, "times") + " what " + second + " takes" + v.levelled()
	if v.EqualRate || v.EqualAir {
		s += ", and " + Bounded(raw, "times") + " as they were set up"
	}
	switch {
	case v.Exchanged:
		s += "; the packs were exchanged between them, so their capacities cancel"
	case v.OneMeter:
		s += "; one instrument measured all charges, so its error cancels"
	case v.SamePack:
		s += "; both ran on the same pack, so its capacity cancels"
	case v.Inferred:
		s += "; inferred from capacity that was not measured"
	default:
		s += "; the charge of each was measured"
	}
	if v.Unit == "mW" {
		s += "; power is compared, for the packs differ in voltage"
	}
	return s + ". " + v.spread() + v.specimens()
}

func (v Verdict) ownFigures() string {
	if !v.ValueA.Known || !v.ValueB.Known {
		return ""
	}
	return "Each unit's own figure stands: " + v.A + " " + Bounded(v.ValueA, v.Unit) + ", " + v.B + " " + Bounded(v.ValueB, v.Unit) + v.origin() + "."
}

// RateExplains says how much of the difference in draw the transmit rates make, a less b in the verdict's unit; empty when next to
// nothing, or when they may be equal.
func (v Verdict) RateExplains(explains estimate.Estimate) string {
	if !explains.Sound() || explains.Low <= 0 && explains.High >= 0 {
		return ""
	}
	part := Bounded(absolute(explains), v.Unit)
	if a, b := v.ValueA, v.ValueB; a.Sound() && b.Sound() && !a.Open() && !b.Open() {
		h := math.Hypot(halfWidth(a), halfWidth(b))
		apart := absolute(estimate.Of(a.Best-b.Best-h, a.Best-b.Best, a.Best-b.Best+h))
		switch share := explains.Best / (a.Best - b.Best); {
		case share >= 0 && share < 0.02:
			return ""
		case share > 0 && share <= 1:
			return "Of the " + Number(apart, v.Unit) + " between them the transmit rates explain " + part + "."
		}
	}
	more, less := v.A, v.B
	if explains.Best < 0 {
		more, less = less, more
	}
	return "By their transmit rates alone " + more + " would draw " + part + " more than " + less + "."
}

// An Exchange is what exchanged packs tell: how the units' run times compare, and what the first pack gives over the second.
type Exchange struct {
	A, B, First, Second string
	Unit, Pack          estimate.Estimate
}

// Exchanged sets the units' and the packs' effects on run time apart.
func Exchanged(e Exchange) string {
	return "The packs were exchanged, which sets units and packs apart: on one pack " + e.A + " lasts " + Bounded(e.Unit, "times") +
		" as long as " + e.B + ", and in one unit pack " + e.First + " lasts " + Bounded(e.Pack, "times") + " as long as pack " + e.Second + "."
}

// SplitRatios compares what two units take without beacons and for each beacon, a over b; empty where neither is known, and where
// the draw is not ranked, for what forbids that forbids this.
func (v Verdict) SplitRatios(idle, beacon estimate.Estimate) string {
	if !idle.Known || v.Code == "cannot_rank" {
		return ""
	}
	s := "Without beacons " + v.A + " takes " + Bounded(idle, "times") + " what " + v.B + " takes"
	if beacon.Known {
		s += ", and for each beacon " + Bounded(beacon, "times")
	}
	return s + "."
}

func absolute(e estimate.Estimate) estimate.Estimate {
	if e.Best >= 0 {
		return e
	}
	return estimate.Of(-e.High, -e.Best, -e.Low)
}

// inverse turns a ratio round.
func inverse(r estimate.Estimate) estimate.Estimate {
	if !r.Sound() || !(r.Best > 0) {
		return estimate.Unknown
	}
	out := estimate.Of(1/r.High, 1/r.Best, 1/r.Low)
	if math.IsInf(r.Low, -1) || r.Low <= 0 {
		out.High = math.Inf(1)
		out.Low = out.Best
	}
	if math.IsInf(r.High, 1) {
		out.Low, out.High = math.Inf(-1), out.Best
	}
	return out
}

func upper(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
