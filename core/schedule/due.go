package schedule

import (
	"iter"
	"math"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// A placedMark is a mark on the common clock.
type placedMark struct {
	at clock.Instant
	mark
}

func (f *filter) placed(marks []mark) []placedMark {
	all := make([]placedMark, len(marks))
	for i, m := range marks {
		all[i] = placedMark{f.s.instant(m.at), m}
	}
	return all
}

// Due gives the times at which beacons are due after the one heard at after, in order and without end: the caller stops.
// The clock runs on from that beacon; m tells how the unit moved, and beyond its end its last state is taken to hold.
// Without a rule (Undecided, Irregular) the k-th beacon is due within k of the longest interval.
func (s Schedule) Due(after clock.Instant, m motion.Timeline) iter.Seq[clock.Between] {
	return func(yield func(clock.Between) bool) {
		if !after.Known() {
			return
		}
		if r := s.rule(after, m); r != nil {
			s.follow(r, after, yield)
			return
		}
		s.bound(after, yield)
	}
}

// follow walks a rule from the beacon heard at after.
func (s Schedule) follow(r rule, after clock.Instant, yield func(clock.Between) bool) {
	from, rung := 0.0, s.rungAt(after, r)
	extra, last := 0.0, after
	for k := 1.0; ; k++ {
		due, next, sd := r.next(from, rung)
		extra = math.Hypot(extra, sd)
		half := 1.96 * math.Sqrt(2*s.Jitter*s.Jitter+extra*extra+s.slack(due)*s.slack(due))
		best := max(last+1, after+clock.Instant(math.Round(due*1000)))
		if !yield(clock.Within(best, clock.Seconds(half))) {
			return
		}
		from, rung, last = due, next, best
	}
}

// slack is the error that the interval's own uncertainty makes of a due time so many seconds ahead.
func (s Schedule) slack(ahead float64) float64 {
	if !s.Interval.Known || s.Interval.Best <= 0 || math.IsInf(s.Interval.High, 1) {
		return drift * ahead
	}
	return (s.Interval.High - s.Interval.Low) / (2 * 1.96) * ahead / s.Interval.Best
}

// bound gives due times when no rule is known: any time up to the longest interval after the one before.
func (s Schedule) bound(after clock.Instant, yield func(clock.Between) bool) {
	longest := max(1, clock.Instant(math.Round(1000*max(s.Longest, s.Interval.Best))))
	best := longest
	if s.Kind == Irregular {
		best = max(1, clock.Instant(math.Round(1000*s.Interval.Best)))
	}
	for k := clock.Instant(1); ; k++ {
		if !yield(clock.Between{Earliest: after + 1, Best: after + k*best, Latest: after + k*longest}) {
			return
		}
	}
}

// rule gives the rule with its clock at after; nil when there is none.
func (s Schedule) rule(after clock.Instant, m motion.Timeline) rule {
	at := &series{origin: after}
	if s.Kind != Adaptive && s.Interval.Best <= 0 {
		return nil
	}
	switch s.Kind {
	case Fixed:
		return fixedRule{s.Interval.Best}
	case Decaying:
		r := newDecay(s.Interval.Best, s.BeaconsBeforeDecay, s.Longest, newWay(at, m))
		return r.but(func(c *decayRule) { c.delay = s.SendDelay })
	case Adaptive:
		w := newWay(at, m)
		if !w.known {
			return fixedRule{s.Slow}
		}
		return &adaptRule{
			slow: s.Slow, fast: s.Fast, slowSpeed: s.SlowSpeed, fastSpeed: s.FastSpeed, uncapped: s.Uncapped,
			delay:  s.SendDelay,
			corner: corner{on: s.Corners, min: s.TurnMin, slope: s.TurnSlope, holdback: s.TurnTime},
			way:    w,
		}
	}
	return nil
}

// rungAt gives how far the rule had slowed down at the beacon heard at after: as the heard beacons tell, else as the rule
// reaches from the last of them.
func (s Schedule) rungAt(after clock.Instant, r rule) int {
	i := sort.Search(len(s.marks), func(i int) bool { return s.marks[i].at > after }) - 1
	if i < 0 {
		return 0
	}
	from := -after.Sub(s.marks[i].at).Seconds()
	rung := s.marks[i].rung
	for from < 0 {
		due, next, _ := r.next(from, rung)
		if due > 1 {
			break
		}
		from, rung = due, next
	}
	return rung
}

// Walk gives the due times from a start at which the unit is switched on, the first at the start itself, up to and with
// until: what the schedule sends on a route. The start counts as movement: a decaying schedule begins at its base.
func (s Schedule) Walk(start, until clock.Instant, m motion.Timeline) []clock.Instant {
	if start > until || !start.Known() {
		return nil
	}
	fresh := s
	fresh.marks = nil
	sent := []clock.Instant{start}
	for due := range fresh.Due(start, m) {
		if due.Best > until {
			break
		}
		sent = append(sent, due.Best)
	}
	return sent
}
