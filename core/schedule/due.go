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
		if r, origin := s.rule(after, m); r != nil {
			s.follow(r, origin, after, yield)
			return
		}
		s.bound(after, yield)
	}
}

// follow walks a rule, whose seconds count from origin, from the beacon heard at after.
func (s Schedule) follow(r rule, origin, after clock.Instant, yield func(clock.Between) bool) {
	clocked := series{origin: origin}
	begin := clocked.second(after)
	from, rung := begin, s.rungAt(after, begin, r)
	extra, last := 0.0, after
	for {
		due, next, sd := r.next(from, rung)
		extra = math.Hypot(extra, sd)
		slack := s.slack(due - begin)
		half := clock.Seconds(1.96 * math.Sqrt(2*s.Jitter*s.Jitter+extra*extra+slack*slack))
		best := max(last+1, clocked.instant(due))
		if !yield(clock.Between{Earliest: max(after+1, best.Add(-half)), Best: best, Latest: best.Add(half)}) {
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

// rule gives the rule and the moment from which its seconds count; nil when there is none.
func (s Schedule) rule(after clock.Instant, m motion.Timeline) (rule, clock.Instant) {
	switch {
	case s.Kind == Fixed && s.Interval.Best > 0:
		return fixedRule{s.Interval.Best}, after
	case s.Kind == Decaying && s.Interval.Best > 0:
		w, origin := s.prepared.way(after, m)
		r := newDecay(s.Interval.Best, s.BeaconsBeforeDecay, s.Longest, w)
		return r.but(func(c *decayRule) { c.delay = s.SendDelay }), origin
	case s.Kind == Adaptive:
		w, origin := s.prepared.way(after, m)
		if !w.laid() {
			return fixedRule{max(s.Slow, 1)}, after
		}
		return &adaptRule{
			slow: s.Slow, fast: s.Fast, slowSpeed: s.SlowSpeed, fastSpeed: s.FastSpeed, uncapped: s.Uncapped,
			delay:  s.SendDelay,
			blur:   s.blur,
			corner: corner{on: s.Corners, min: s.TurnMin, slope: s.TurnSlope, holdback: s.TurnTime},
			way:    w,
		}, origin
	}
	return nil, after
}

// rungAt gives how far a decaying rule had slowed down at the beacon heard at after, which is begin in the rule's seconds:
// as the heard beacons tell, else as the rule reaches from the last of them.
func (s Schedule) rungAt(after clock.Instant, begin float64, r rule) int {
	i := sort.Search(len(s.marks), func(i int) bool { return s.marks[i].at > after }) - 1
	if _, ok := r.(*decayRule); !ok || i < 0 {
		return 0
	}
	from, rung := begin-after.Sub(s.marks[i].at).Seconds(), s.marks[i].rung
	for from < begin {
		due, next, _ := r.next(from, rung)
		if due > begin+1 {
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
