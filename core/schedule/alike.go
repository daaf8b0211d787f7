package schedule

import (
	"math"
	"slices"
	"sort"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

// Observed is what was heard of one unit so far, and how it moved. Fitted is the schedule of all these times, and Read their
// periods as Periods gives them, from a caller that remembers them; nil otherwise.
type Observed struct {
	Times      []clock.Instant // of its transmissions
	Resolution time.Duration   // of the stamps
	Motion     motion.Timeline
	Fitted     *Schedule
	Read       func() []Reading
}

// schedule gives the schedule of all that was heard.
func (o Observed) schedule() Schedule {
	if o.Fitted != nil {
		return *o.Fitted
	}
	return Fit(o.Times, o.Resolution, o.Motion)
}

// until gives what was heard up to and with a moment.
func (o Observed) until(at clock.Instant) Observed {
	var early []clock.Instant
	for _, t := range o.Times {
		if t <= at {
			early = append(early, t)
		}
	}
	return Observed{Times: early, Resolution: o.Resolution, Motion: o.Motion}
}

// A Verdict says whether two units beacon alike.
type Verdict uint8

const (
	TooEarly   Verdict = iota // cannot be said yet
	AlikeSoFar                // the same rule as far as it was heard, and no slowing down is left to wait for
	Different                 // two rules
)

func (v Verdict) String() string { return [...]string{"too_early", "alike_so_far", "different"}[v] }

// What TooEarly waits for.
const (
	WaitGaps  = "gaps"    // more beacons: an interval is not clear yet
	WaitDecay = "decay"   // no difference so far, but a richer rule shows only when a unit rests for long, or moves
	WaitRule  = "no_rule" // nothing: one of them keeps no schedule that could be compared
)

// Likeness is the early warning about two units: the verdict, when Different became certain (None otherwise), the intervals
// it rests on (unknown where the unit keeps none), and what TooEarly waits for.
type Likeness struct {
	Verdict   Verdict
	CertainAt clock.Instant
	A, B      estimate.Estimate
	Waiting   string
}

const (
	clearLead  = 3.0   // log units by which a period must lead for its rival not to be plausible
	rivalShare = 0.05  // a rival differs by more than this share
	surePeriod = 2.2   // standard errors between two periods
	leastShare = 0.005 // and this share of a period
	jitterRoom = 2.0   // s; equal gaps stamped in seconds differ by that
	fewestRead = 3     // gaps before a period is read
	mostRead   = 60    // gaps read one by one while looking for the moment of certainty
)

// Alike judges whether two units beacon alike, from what was heard of each so far.
func Alike(a, b Observed) Likeness {
	sa, sb := a.schedule(), b.schedule()
	result := Likeness{CertainAt: clock.None, A: interval(sa), B: interval(sb), Waiting: WaitGaps}
	at, sure := clock.None, false
	if !sameRule(sa, sb) && !mayBeOne(a, sa, b, sb) { // periods take long to read and say nothing of these
		at, sure = firstApart(a.periods(), b.periods())
	}
	steady := sa.Kind == Fixed && sb.Kind == Fixed // their periods tell sooner than their kinds
	if told(a, sa, b, sb) && !(sure && steady) {
		if first := firstTold(a, b); !sure || first < at {
			at, sure = first, true
		}
	}
	switch {
	case sure:
		result.Verdict, result.CertainAt, result.Waiting = Different, at, ""
	case sa.Kind == Irregular && sb.Kind == Irregular:
		result.Waiting = WaitRule
	case sa.Kind == Undecided || sb.Kind == Undecided:
	case sameRule(sa, sb) && settled(sa, a) && settled(sb, b):
		result.Verdict, result.Waiting = AlikeSoFar, ""
	default:
		result.Waiting = WaitDecay
	}
	return result
}

// interval gives the interval that a schedule keeps or begins with.
func interval(s Schedule) estimate.Estimate {
	if s.Kind == Fixed || s.Kind == Decaying {
		return s.Interval
	}
	return estimate.Unknown
}

// sameRule tells whether both are decided and no parameter that both resolve differs.
func sameRule(a, b Schedule) bool {
	return a.Kind == b.Kind && a.Kind != Undecided && a.Kind != Irregular && !differ(a, b)
}

// told tells whether two schedules differ, and neither is what the other may look like so far.
func told(a Observed, sa Schedule, b Observed, sb Schedule) bool {
	return differ(sa, sb) && !mayBeOne(a, sa, b, sb)
}

// mayBeOne tells whether a fixed interval of one unit may be a part of the richer rule of the other.
func mayBeOne(a Observed, sa Schedule, b Observed, sb Schedule) bool {
	return a.mayBecome(sa, sb) || b.mayBecome(sb, sa)
}

// mayBecome tells whether the fixed schedule s of what was heard may turn out to be the other rule: its base until a rest was
// long enough to lengthen it, or another of its intervals until the unit both rested and moved.
func (o Observed) mayBecome(s, other Schedule) bool {
	if s.Kind == Fixed && other.Kind == Adaptive && !apart(s.Interval.Best, other.Slow, sameInterval) && (!o.Motion.Dense || !o.fasterThan(other.SlowSpeed)) {
		return true
	}
	if s.Kind != Fixed || other.Kind != Decaying && other.Kind != Adaptive || !s.AsFarAsHeard && o.Motion.Dense {
		return false
	}
	for _, part := range []float64{other.Longest, other.Slow, other.Fast} {
		if s.AsFarAsHeard && part > 0 && !apart(s.Interval.Best, part, sameInterval) {
			return true
		}
	}
	return other.Kind == Decaying && !apart(s.Interval.Best, other.Interval.Best, sameInterval) && !settled(s, o)
}

// fasterThan tells whether the unit went clearly faster than a speed, m/s, for some minutes: below its slow speed an adaptive
// schedule keeps to one interval.
func (o Observed) fasterThan(speed float64) bool {
	const clearly = 1.5
	moved := 0.0
	for i := 1; i < len(o.Motion.Samples); i++ {
		if a := o.Motion.Samples[i-1]; a.Speed > clearly*speed {
			moved += min(60, o.Motion.Samples[i].At.Sub(a.At).Seconds())
		}
	}
	return moved >= leastMoving
}

// sureSingles is how many single intervals after a rest show that it lengthened nothing; one may be a beacon sent by hand. Where
// rest and movement are known from the beacons alone, some of them may have been sent on the way.
const (
	sureSingles   = 2
	sparseSingles = 6
)

// settled tells whether no slowing down is left to wait for: single intervals were heard after a rest in which any hold would
// have ended, or the schedule is a richer one whose slowest interval was heard.
func settled(s Schedule, o Observed) bool {
	if s.Kind != Fixed {
		return !s.AsFarAsHeard
	}
	if len(s.marks) == 0 {
		return false
	}
	series := newSeries(o.Times, o.Resolution)
	w := newWay(series, o.Motion)
	singles := 0
	for i, m := range s.marks {
		if m.role == onTime && m.steps == 1 && w.restingFor(series.second(s.marks[i-1].at)) > (mostHold-0.5)*s.Interval.Best {
			singles++
		}
	}
	if len(w.moves) > 0 && !o.Motion.Dense {
		return singles >= sparseSingles
	}
	return singles >= sureSingles
}

// A Reading is the periods that were plausible at a moment, none when no period explains the gaps; se is the standard error
// of the first, the likeliest.
type Reading struct {
	at      clock.Instant
	periods []float64
	se      float64
}

func (o Observed) periods() []Reading {
	if o.Read != nil {
		return o.Read()
	}
	return o.Periods()
}

// Periods reads the period after every beacon from the fourth on, and at last from all of them.
func (o Observed) Periods() []Reading {
	all := newSeries(o.Times, o.Resolution)
	read := []Reading{}
	f := newFilter(all)
	for n := fewestRead + 1; n <= len(all.at); n++ {
		if n > mostRead+1 {
			n = len(all.at)
		}
		read = append(read, f.readAfter(all, n, o.Resolution))
	}
	return read
}

func (f *filter) readAfter(all *series, n int, resolution time.Duration) Reading {
	times := make([]clock.Instant, n)
	for i := range n {
		times[i] = all.instant(all.at[i])
	}
	f.take(newSeries(times, resolution))
	fits := f.fitPeriods()
	r := Reading{at: times[n-1]}
	if len(fits) == 0 {
		return r
	}
	best := fits[0]
	lawful := best.tally.logL > f.irregular()+clearLead || even(f.s.gaps)
	if best.noise.stray >= decideStray || !lawful {
		return r
	}
	of := f.period(best, f.trace(best))
	r.se = max((of.High-of.Low)/(2*1.96), f.s.floor/float64(n))
	for _, fit := range fits {
		p := fit.rule.(fixedRule).period
		known := slices.ContainsFunc(r.periods, func(q float64) bool { return !apart(p, q, rivalShare) })
		if !known && fit.tally.logL > best.tally.logL-clearLead {
			r.periods = append(r.periods, p)
		}
	}
	return r
}

// even tells whether gaps are so equal that they are one interval whatever the law behind them.
func even(gaps []float64) bool { return slices.Max(gaps) < (1+rivalShare)*slices.Min(gaps)+jitterRoom }

// firstApart gives the moment from which on two periods differed by more than their errors allow.
func firstApart(a, b []Reading) (clock.Instant, bool) {
	var moments []clock.Instant
	for _, r := range slices.Concat(a, b) {
		moments = append(moments, r.at)
	}
	slices.Sort(moments)
	certain, ok := clock.None, false
	for _, at := range moments {
		ra, heardA := latest(a, at)
		rb, heardB := latest(b, at)
		switch different := heardA && heardB && periodsApart(ra, rb); {
		case !different:
			ok = false
		case !ok:
			certain, ok = at, true
		}
	}
	return certain, ok
}

func latest(all []Reading, at clock.Instant) (Reading, bool) {
	i := sort.Search(len(all), func(i int) bool { return all[i].at > at })
	if i == 0 {
		return Reading{}, false
	}
	return all[i-1], true
}

// periodsApart tells whether every plausible period of one differs from every one of the other.
func periodsApart(a, b Reading) bool {
	for _, p := range a.periods {
		for _, q := range b.periods {
			if math.Abs(p-q) <= surePeriod*math.Hypot(a.se, b.se)+leastShare*max(p, q) {
				return false
			}
		}
	}
	return len(a.periods) > 0 && len(b.periods) > 0
}

// firstTold gives the beacon at which two schedules were first told apart. What is told once stays told: the moment is
// bracketed by growing beginnings, which are cheap to fit, then halved.
func firstTold(a, b Observed) clock.Instant {
	moments := slices.Concat(a.Times, b.Times)
	slices.Sort(moments)
	apartAt := func(i int) bool {
		x, y := a.until(moments[i]), b.until(moments[i])
		return told(x, x.schedule(), y, y.schedule())
	}
	low, high := 0, len(moments)-1
	for n := 2 * (fewestGaps + 1); n < high; n += n / 2 {
		if apartAt(n) {
			high = n
			break
		}
		low = n
	}
	return moments[low+1+sort.Search(high-low-1, func(i int) bool { return apartAt(low + 1 + i) })]
}

// SlowingSince tells since which beacon the interval has been longer than the base, of a decaying schedule that has not come
// back to its base since; ok is false for a unit that is not slowing down.
func (s Schedule) SlowingSince() (since clock.Instant, ok bool) {
	if s.Kind != Decaying {
		return clock.None, false
	}
	since = clock.None
	for i, m := range s.marks {
		if i == 0 || m.role != onTime {
			continue
		}
		switch longer := m.at.Sub(s.marks[i-1].at).Seconds() > 1.5*float64(m.steps)*s.Interval.Best; {
		case !longer:
			since = clock.None
		case !since.Known():
			since = m.at
		}
	}
	return since, since.Known()
}

// DoubleChance gives the chance that one heard gap is an even multiple of the period when a share of the beacons is lost:
// what must repeat, gap after gap, for a unit to look as if it had twice its period.
func DoubleChance(lost float64) float64 { return lost / (1 + lost) }

// GapsToRuleOutDouble gives how many heard gaps rule out, at 5 %, that a unit with twice the period only lost every second
// beacon.
func GapsToRuleOutDouble(lost float64) int {
	if lost <= 0 {
		return 1
	}
	return max(1, int(math.Ceil(math.Log(0.05)/math.Log(DoubleChance(lost)))))
}
