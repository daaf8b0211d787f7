package schedule

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// A Segment is a part of the heard times that one schedule explains, from its first beacon heard to its last.
type Segment struct {
	From, To clock.Instant
	Schedule Schedule
}

const (
	fewestSide = 6 // gaps on either side of a change
	// A ladder of doubled intervals up to the longest has so many steps below it; fewer gaps of their own show no change.
	fewestForeign = 5
	mostDepth     = 3   // halvings of a run: at most eight segments
	changeGain    = 5.0 // log units by which two schedules must explain more than one, after the price of a change
	changeSeen    = 1.3 // a sum of deviations so many times its chance size hints at a change
	sameInterval  = 0.02
)

// Segments splits the heard times where the schedule was changed, and gives one segment when it was not. Only a change of
// kind or of interval counts; a broken phase alone is a matter of PhaseBreaks.
func Segments(times []clock.Instant, resolution time.Duration, m motion.Timeline) []Segment {
	return Fit(times, resolution, m).Segments(times, resolution, m)
}

// Segments splits as the function does; s is the schedule that was fitted to all the times.
func (s Schedule) Segments(times []clock.Instant, resolution time.Duration, m motion.Timeline) []Segment {
	all := newSeries(times, resolution)
	if len(all.at) == 0 {
		return nil
	}
	whole := part{all.instants(), s, s.explained.best, s.explained.each}
	p := parter{resolution: resolution, motion: m, whole: whole}
	p.split(whole, 0)
	p.join()
	segments := make([]Segment, len(p.parts))
	for i, part := range p.parts {
		segments[i] = Segment{part.times[0], part.times[len(part.times)-1], part.schedule}
	}
	return segments
}

// An explanation is the contender that a schedule describes, with the log-likelihood of each gap.
type explanation struct {
	best contender
	each []float64
}

// A part is a run of beacons with the schedule that was fitted to it.
type part struct {
	times    []clock.Instant
	schedule Schedule
	best     contender
	each     []float64 // log-likelihood of each gap
}

type parter struct {
	resolution time.Duration
	motion     motion.Timeline
	whole      part
	parts      []part
}

func (p *parter) fit(s *series) part {
	schedule, best := newFilter(s).fit(p.motion)
	return part{s.instants(), schedule, best, schedule.explained.each}
}

// split takes a part apart where that explains more, else adds it to the parts.
func (p *parter) split(whole part, depth int) {
	if depth < mostDepth {
		for _, at := range whole.hints() {
			left, right := p.halves(whole, at)
			if at = whole.border(left, right, at, p.resolution); at != len(left.times)-1 {
				left, right = p.halves(whole, at)
			}
			if left.foreign(right) && left.best.score+right.best.score > whole.best.score+changeGain+math.Log(float64(len(whole.times))) {
				p.split(left, depth+1)
				p.split(right, depth+1)
				return
			}
		}
	}
	p.parts = append(p.parts, whole)
}

// foreign tells whether enough gaps of a part fit the interval of the next one badly: a decaying schedule lengthens its first
// few intervals and keeps to one from then on, which is no change.
func (w part) foreign(next part) bool {
	fixed, ok := next.best.fit.rule.(fixedRule)
	if !ok || next.schedule.Kind != Fixed || w.schedule.Interval.Best > fixed.period {
		return true
	}
	return newFilter(newSeries(w.times, 0)).offBeat(fixed.period, max(next.best.fit.noise.sd, next.schedule.cell/4)) >= fewestForeign
}

// halves fits both sides of a beacon, which belongs to both.
func (p *parter) halves(whole part, at int) (left, right part) {
	return p.fit(newSeries(whole.times[:at+1], p.resolution)), p.fit(newSeries(whole.times[at:], p.resolution))
}

// border gives the beacon at which the rule of the left half hands over to that of the right one: the place where both
// together explain most. Without two rules it is the one given.
func (w part) border(left, right part, at int, resolution time.Duration) int {
	if left.best.fit.rule == nil || right.best.fit.rule == nil {
		return at
	}
	s := newSeries(w.times, resolution)
	a := explained(s, left.best.fit)
	b := explained(s.since(right.times[0]), right.best.fit)
	sum, most := 0.0, math.Inf(-1)
	for i := range a {
		sum += a[i] - b[i]
		if i+1 >= fewestSide && len(a)-i-1 >= fewestSide && sum > most {
			at, most = i+1, sum
		}
	}
	return at
}

// explained gives the log-likelihood of each gap of a series under a rule fitted to a series of the same origin.
func explained(s *series, b fit) []float64 {
	f := newFilter(s)
	f.trace(b)
	return f.each
}

// join puts neighbours together that follow the same rule: a run that changes and changes back is first split in the wrong
// places.
func (p *parter) join() {
	for i := 1; i < len(p.parts); {
		a, b := p.parts[i-1], p.parts[i]
		if differ(a.schedule, b.schedule) {
			i++
			continue
		}
		both := p.whole
		if len(p.parts) > 2 {
			both = p.fit(newSeries(slices.Concat(a.times, b.times), p.resolution))
		}
		p.parts = slices.Replace(p.parts, i-1, i+1, both)
		i = max(1, i-1)
	}
}

// hints gives the beacons at which the schedule may have changed: where the gaps began to be explained better or worse, and
// where they began to be longer or shorter.
func (w part) hints() []int {
	var logs []float64
	for i := 1; i < len(w.times); i++ {
		logs = append(logs, math.Log(max(0.5, w.times[i].Sub(w.times[i-1]).Seconds())))
	}
	var found []int
	for _, values := range [][]float64{w.each, logs} {
		if at, ok := turn(values); ok && !slices.Contains(found, at) {
			found = append(found, at)
		}
	}
	return found
}

// turn gives the place where the mean of values most likely changes: the furthest point of the sum of deviations (Page
// 1954, Biometrika 41, 100; the retrospective form). ok tells whether chance alone would hardly go that far.
func turn(values []float64) (at int, ok bool) {
	n := len(values)
	if n < 2*fewestSide {
		return 0, false
	}
	mean, square := 0.0, 0.0
	for _, v := range values {
		mean += v / float64(n)
	}
	for _, v := range values {
		square += (v - mean) * (v - mean) / float64(n)
	}
	sum, most := 0.0, 0.0
	for i, v := range values {
		sum += v - mean
		if i+1 >= fewestSide && n-i-1 >= fewestSide && math.Abs(sum) > most {
			at, most = i+1, math.Abs(sum)
		}
	}
	return at, most > changeSeen*math.Sqrt(square*float64(n))
}

// differ tells whether two decided schedules are different rules.
func differ(a, b Schedule) bool {
	if a.Kind == Undecided || b.Kind == Undecided {
		return false
	}
	if a.Kind != b.Kind {
		return true
	}
	switch a.Kind {
	case Fixed:
		return apart(a.Interval.Best, b.Interval.Best, sameInterval)
	case Decaying:
		return bothResolve(a, b, "interval_s") && apart(a.Interval.Best, b.Interval.Best, sameInterval) || longestDiffers(a, b)
	case Adaptive:
		return resolvedApart(a, b, "slow_interval_s", a.Slow, b.Slow) ||
			resolvedApart(a, b, "metres_between_beacons", a.MetresBetween(), b.MetresBetween())
	}
	return false
}

func longestDiffers(a, b Schedule) bool {
	return resolvedApart(a, b, "longest_s", a.Longest, b.Longest) ||
		resolvedApart(a, b, "beacons_before_decay", float64(a.BeaconsBeforeDecay), float64(b.BeaconsBeforeDecay))
}

// resolvedApart tells whether both schedules resolve a parameter and disagree about it by more than a tenth.
func resolvedApart(a, b Schedule, name string, va, vb float64) bool {
	return bothResolve(a, b, name) && apart(va, vb, 0.1)
}

func bothResolve(a, b Schedule, name string) bool {
	return slices.Contains(a.Resolved, name) && slices.Contains(b.Resolved, name)
}

func apart(a, b, share float64) bool { return math.Abs(a-b) > share*max(a, b) }
