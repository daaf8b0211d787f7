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

// Observed is what was heard of one unit so far, and how it moved.
type Observed struct {
	Times      []clock.Instant // of its transmissions
	Resolution time.Duration   // of the stamps
	Motion     motion.Timeline
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
	WaitGaps  = "gaps"  // more beacons: an interval is not clear yet
	WaitDecay = "decay" // the same interval so far, but a unit that slows down when parked looks the same at first
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
	clearLead  = 3.0   // log units by which a period must lead its best rival
	rivalShare = 0.05  // a rival differs by more than this share
	surePeriod = 2.2   // standard errors between two periods
	leastShare = 0.005 // and this share of a period
	fewestRead = 3     // gaps before a period is read
	mostRead   = 60    // gaps read one by one while looking for the moment of certainty
)

// Alike judges whether two units beacon alike, from what was heard of each so far.
func Alike(a, b Observed) Likeness {
	sa, sb := Fit(a.Times, a.Resolution, a.Motion), Fit(b.Times, b.Resolution, b.Motion)
	result := Likeness{CertainAt: clock.None, A: interval(sa), B: interval(sb), Waiting: WaitGaps}
	pa, pb := a.periods(), b.periods()
	if at, ok := firstApart(pa, pb); ok && !sameRule(sa, sb) {
		result.Verdict, result.CertainAt, result.Waiting = Different, at, ""
		return result
	}
	if differ(sa, sb) {
		result.Verdict, result.CertainAt, result.Waiting = Different, max(a.decided(sa), b.decided(sb)), ""
		return result
	}
	if !sameRule(sa, sb) {
		return result
	}
	result.Waiting = WaitDecay
	if settled(sa, a) && settled(sb, b) {
		result.Verdict, result.Waiting = AlikeSoFar, ""
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

// settled tells whether no slowing down is left to wait for: the unit rested longer than any hold and one lengthening take,
// or its schedule is a richer one whose slowest interval was heard.
func settled(s Schedule, o Observed) bool {
	if s.Kind != Fixed {
		return !s.AsFarAsHeard
	}
	series := newSeries(o.Times, o.Resolution)
	rest := newWay(series, o.Motion).longestRest(series.at[0], series.last())
	return rest > (mostHold+growth)*s.Interval.Best
}

// A reading is the period as it could be read at a moment; clear tells that it leads its rivals.
type reading struct {
	at         clock.Instant
	period, se float64
	clear      bool
}

// periods reads the period after every beacon from the fourth on, and at last from all of them.
func (o Observed) periods() []reading {
	all := newSeries(o.Times, o.Resolution)
	var read []reading
	for n := fewestRead + 1; n <= len(all.at); n++ {
		if n > mostRead+1 {
			n = len(all.at)
		}
		read = append(read, readAfter(all, n, o.Resolution))
	}
	return read
}

func readAfter(all *series, n int, resolution time.Duration) reading {
	times := make([]clock.Instant, n)
	for i := range n {
		times[i] = all.instant(all.at[i])
	}
	f := newFilter(newSeries(times, resolution))
	fits := f.fitPeriods()
	r := reading{at: times[n-1]}
	if len(fits) == 0 {
		return r
	}
	best := fits[0]
	r.period = best.rule.(fixedRule).period
	r.se = max(periodError(f.trace(best), best.noise.sd), f.s.floor/float64(n))
	r.clear = best.noise.stray < decideStray && best.tally.logL > irregularLogL(f.s.gaps)+clearLead
	for _, rival := range fits[1:] {
		p := rival.rule.(fixedRule).period
		if apart(p, r.period, rivalShare) && best.tally.logL < rival.tally.logL+clearLead {
			r.clear = false
		}
	}
	return r
}

// firstApart gives the moment from which on two clear periods differed by more than their errors allow.
func firstApart(a, b []reading) (clock.Instant, bool) {
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

func latest(all []reading, at clock.Instant) (reading, bool) {
	i := sort.Search(len(all), func(i int) bool { return all[i].at > at })
	if i == 0 {
		return reading{}, false
	}
	return all[i-1], true
}

func periodsApart(a, b reading) bool {
	least := surePeriod*math.Hypot(a.se, b.se) + leastShare*max(a.period, b.period)
	return a.clear && b.clear && math.Abs(a.period-b.period) > least
}

// decided gives the moment at which the kind of s was first decided, found by halving.
func (o Observed) decided(s Schedule) clock.Instant {
	times := newSeries(o.Times, o.Resolution)
	moment := func(i int) clock.Instant { return times.instant(times.at[i]) }
	n := sort.Search(len(times.at), func(i int) bool {
		var heard []clock.Instant
		for k := range i + 1 {
			heard = append(heard, moment(k))
		}
		return i+1 == len(times.at) || Fit(heard, o.Resolution, o.Motion).Kind == s.Kind
	})
	return moment(min(n, len(times.at)-1))
}

// SlowsDown tells whether a unit has begun to lengthen its interval while parked, and the first beacon that came after a
// longer interval.
func SlowsDown(o Observed) (since clock.Instant, ok bool) {
	s := Fit(o.Times, o.Resolution, o.Motion)
	if s.Kind != Decaying {
		return clock.None, false
	}
	for i, m := range s.marks {
		if i > 0 && m.role == onTime && m.at.Sub(s.marks[i-1].at).Seconds() > 1.5*float64(m.steps)*s.Interval.Best {
			return m.at, true
		}
	}
	return clock.None, false
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
