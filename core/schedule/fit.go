package schedule

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

const (
	fewestGaps = 5   // heard gaps before a kind is decided
	sameGain   = 1.0 // log units by which a richer rule must explain more than a fixed one to be another rule
	// A kind so many log units, and so many for every gap, behind the best at first sight never catches up.
	hopeless    = 40.0
	hopelessGap = 0.3

	windowGaps  = 120
	decideHeard = 0.4  // a rich rule of which less was heard may be a comb that fits anything
	decideStray = 0.15 // a rule that leaves more of the beacons unexplained is not the rule
	decideLead  = 3.0  // log units by which the best kind must lead, after the price of its parameters
	mostTwice   = 0.05 // share of beacons on the stamp of another that may be strays
	nextToCell  = 0.1  // share by which an interval must be longer than the step of the stamps
	coarseLead  = 6.0  // the same where stamps are coarse: the many periods and phases between cells find more by chance
)

// parameters that each kind prices, in the order of Kind.
var parameters = [...]float64{Fixed: 3, Decaying: 5, Adaptive: 9, Irregular: 2}

// A contender is one kind's best explanation of a series.
type contender struct {
	kind Kind
	fit  fit // without a rule when irregular
	// score is the log-likelihood less half a logarithm of the gaps for every parameter: half the criterion of Schwarz.
	score float64
}

// Fit finds the schedule behind the heard times of one unit's transmissions, in any order. resolution is that of the time
// stamps; m is how the unit moved, the zero Timeline when nobody knows. The result answers Due also when it is Undecided.
func Fit(times []clock.Instant, resolution time.Duration, m motion.Timeline) Schedule {
	s := newSeries(times, resolution)
	result, _ := newFilter(s).fit(m)
	return result
}

// fit gives the schedule and the contender that it describes.
func (f *filter) fit(m motion.Timeline) (Schedule, contender) {
	if len(f.s.gaps) == 0 {
		return Schedule{Reason: Few, AsFarAsHeard: true}, contender{}
	}
	result, best := f.decide(m)
	result.explained = explanation{best, slices.Clone(f.each)}
	return result, best
}

func (f *filter) decide(m motion.Timeline) (Schedule, contender) {
	if f.tooFast() {
		best := contender{kind: Irregular, score: f.irregular()}
		return f.undecided(Schedule{Nearest: best.kind}, Coarse), best
	}
	w := newWay(f.s, m)
	ranked := f.rank(w)
	best := ranked[0]
	result := f.describe(best, w)
	result.prepared = prepared{w, f.s.origin, outlineOf(m)}
	if len(ranked) > 1 {
		result.Rival, result.Lead = ranked[1].kind, best.score-ranked[1].score
	}
	if reason := f.doubt(best, result, w); reason != "" {
		return f.undecided(result, reason), best
	}
	return result, best
}

// rank fits every kind and sorts them, the best first.
func (f *filter) rank(w *way) []contender {
	price := math.Log(float64(len(f.s.gaps))) / 2
	irregular := f.irregular()
	all := []contender{{Irregular, fit{}, irregular - parameters[Irregular]*price}}
	fixed := f.fitFixed()
	if fixed.rule == nil {
		return all
	}
	all = append(all, contender{Fixed, fixed, fixed.tally.logL - parameters[Fixed]*price})
	for kind, b := range f.richest(w, fixed, irregular) {
		// One that explains no more than a fixed period is the same rule so far as it was heard, and no rival.
		if b.rule != nil && b.tally.logL > fixed.tally.logL+sameGain {
			all = append(all, contender{Kind(kind), b, b.tally.logL - parameters[kind]*price})
		}
	}
	sortDown(all, func(c *contender) float64 { return c.score })
	return all
}

// richest fits the kinds that follow the motion. Where stamps are coarse they are sought under the law of fine ones.
func (f *filter) richest(w *way, fixed fit, irregular float64) (fits [Adaptive + 1]fit) {
	if f.cell == 0 {
		return f.richer(w, fixed, max(irregular, fixed.tally.logL))
	}
	cell := f.cell
	f.cell = 0
	if plain := f.fitFixed(); plain.rule != nil {
		fits = f.richer(w, plain, max(f.irregular(), plain.tally.logL))
	}
	f.cell = cell
	for kind, b := range fits {
		if b.rule == nil {
			continue
		}
		n := f.guessed()
		n.heard, n.stray = b.noise.heard, b.noise.stray
		fits[kind] = f.learn(b.rule, n, 4)
		if kind == int(Decaying) {
			fits[kind] = f.fine(fits[kind])
		}
	}
	return fits
}

// richer fits the kinds that follow the motion. A first look at each tells which are worth a full search.
func (f *filter) richer(w *way, fixed fit, leader float64) (fits [Adaptive + 1]fit) {
	var decaying []fit
	var adaptive fit
	grip := f.grip(fixed, w)
	if !grip.noDecay() {
		decaying = f.sightDecaying(w)
	}
	if !grip.noAdaptation() {
		adaptive = f.sightAdaptive(w)
	}
	if len(decaying) > 0 {
		leader = max(leader, decaying[0].tally.logL)
	}
	if adaptive.rule != nil {
		leader = max(leader, adaptive.tally.logL)
	}
	leader -= hopeless + hopelessGap*float64(len(f.s.gaps))
	if len(decaying) > 0 && decaying[0].tally.logL > leader {
		fits[Decaying] = f.fitDecaying(decaying)
	}
	if adaptive.rule != nil && adaptive.tally.logL > leader {
		fits[Adaptive] = f.fitAdaptive(adaptive, w)
	}
	return fits
}

// window gives the heard times used for a first look: all, or the run of windowGaps in which rest and movement are most
// alike in length.
func (f *filter) window(w *way) []float64 {
	best, most := 0, -1.0
	for from := 0; from+windowGaps < len(f.s.at); from += windowGaps / 4 {
		begin, end := f.s.at[from], f.s.at[from+windowGaps]
		moving := w.movingTime(begin, end)
		if even := min(moving, end-begin-moving); even > most {
			best, most = from, even
		}
	}
	return f.s.at[best:min(len(f.s.at), best+windowGaps+1)]
}

// doubt gives the reason not to decide, "" when there is none.
func (f *filter) doubt(best contender, s Schedule, w *way) string {
	followsMotion := func(k Kind) bool { return k == Decaying || k == Adaptive }
	coarse := 3 * f.s.floor * math.Sqrt(6) // s: three steps of the stamps
	switch {
	case len(f.s.gaps) < fewestGaps:
		return Few
	case best.kind == Irregular && quantile(f.s.gaps, 0.5) < coarse:
		return Coarse
	case best.kind != Irregular && f.mayBeFaster(best):
		return Coarse
	case followsMotion(best.kind) && followsMotion(s.Rival) && best.fit.rule.briefest() < coarse:
		return Coarse // so coarse, they cannot tell whether movement or speed quickens the beacons
	case best.kind != Adaptive && best.fit.noise.stray > decideStray:
		return Strays
	case followsMotion(best.kind) && best.fit.noise.heard < decideHeard:
		return Faint
	case best.kind == Irregular && f.cell > 0 && w.movingTime(f.s.at[0], f.s.last()) > leastMoving:
		return Coarse // nor whether speed set the gaps
	case best.kind == Irregular && w.sparse && w.movingTime(f.s.at[0], f.s.last()) > leastMoving:
		return NoTrack
	case s.Lead < decideLead || f.cell > 0 && s.Lead < coarseLead:
		return Tie
	}
	return ""
}

// tooFast tells whether no rule can be told from beacons that follow each other faster than the stamps step: they stand on equal
// stamps, or nearly every stamp has one.
func (f *filter) tooFast() bool {
	if f.cell == 0 {
		return false
	}
	surest := -float64(len(f.s.gaps)) * math.Log(f.cell)
	return float64(f.s.twice) > mostTwice*float64(len(f.s.at)) || fasterLogL(f.s.gaps, f.cell)+coarseLead > surest && len(f.s.gaps) >= fewestGaps
}

// mayBeFaster tells whether beacons that follow each other faster than the stamps step explain the times as well.
func (f *filter) mayBeFaster(best contender) bool {
	if f.cell == 0 {
		return false
	}
	price := math.Log(float64(len(f.s.gaps))) / 2
	return best.fit.rule.briefest() < (1+nextToCell)*f.cell ||
		best.score < fasterLogL(f.s.gaps, f.cell)-price+coarseLead
}

// undecided keeps of a description what does not depend on the kind.
func (f *filter) undecided(r Schedule, reason string) Schedule {
	longest := slices.Max(f.s.gaps)
	return Schedule{
		Interval:     estimate.Exact(longest),
		AsFarAsHeard: true,
		Reason:       reason,
		Nearest:      r.Nearest,
		Rival:        r.Rival,
		Lead:         r.Lead,
	}
}

// describe turns a contender into a schedule.
func (f *filter) describe(c contender, w *way) Schedule {
	r := Schedule{Kind: c.kind, Nearest: c.kind}
	if c.kind == Irregular {
		f.each = f.each[:0]
		gaps := f.s.gaps
		r.Interval = estimate.Of(quantile(gaps, 0.025), quantile(gaps, 0.5), quantile(gaps, 0.975))
		r.Longest = r.Interval.High
		return r
	}
	r.Jitter, r.cell = f.gapError(c.fit.noise)/math.Sqrt2, f.cell
	marks := f.trace(c.fit)
	r.marks = f.placed(marks)
	r.Received = received(marks)
	r.Resolved = f.resolved(c.fit, marks, w)
	shows := func(name string) bool { return slices.Contains(r.Resolved, name) }
	switch rule := c.fit.rule.(type) {
	case fixedRule:
		r.Interval = f.period(c.fit, marks)
		r.AsFarAsHeard = !f.restedAndMoved(rule.period, w)
	case *decayRule:
		r.Interval = f.profile(c.fit, rule.base, rule.scaled)
		r.AsFarAsHeard = !shows("longest_s")
		r.BeaconsBeforeDecay, r.Growth, r.Longest, r.SendDelay = rule.hold, growth, rule.longest, rule.delay
	case *adaptRule:
		r.AsFarAsHeard = !shows("slow_interval_s")
		r.Slow, r.Fast, r.SlowSpeed, r.FastSpeed = rule.slow, rule.fast, rule.slowSpeed, rule.fastSpeed
		r.SendDelay, r.blur = rule.delay, rule.blur
		r.Uncapped, r.Corners = rule.uncapped, rule.corner.on
		if r.Corners {
			r.TurnMin, r.TurnSlope, r.TurnTime = rule.corner.min, rule.corner.slope, rule.corner.holdback
		}
	}
	return r
}

// period gives the estimate of a fixed period.
func (f *filter) period(b fit, marks []mark) estimate.Estimate {
	rule := b.rule.(fixedRule)
	if f.cell > 0 {
		return f.centred(f.profile(b, rule.period, rule.scaled), b)
	}
	return around(rule.period, periodError(marks, b.noise.sd))
}

// centred moves the best value of a period between its limits to the mean of what the likelihood allows there: cells allow a
// range of periods about alike.
func (f *filter) centred(e estimate.Estimate, b fit) estimate.Estimate {
	const parts = 24
	if e.Low <= 0 || math.IsInf(e.High, 1) {
		return e
	}
	sum, total := 0.0, 0.0
	for i := range parts {
		p := e.Low + (e.High-e.Low)*(float64(i)+0.5)/parts
		w := math.Exp(f.over(fixedRule{p}, b.noise).logL - b.tally.logL)
		sum, total = sum+w*p, total+w
	}
	if total > 0 {
		e.Best = sum / total
	}
	return e
}

// restedAndMoved tells whether a fixed period held both at rest, longer than any decay waits, and in movement: only then is
// it known to be the whole rule.
func (f *filter) restedAndMoved(period float64, w *way) bool {
	begin, end := f.s.at[0], f.s.last()
	return w.longestRest(begin, end) > (mostHold+2)*period && w.movingTime(begin, end) > max(leastMoving, 3*period)
}

// around gives a value with 95 % limits from its standard error.
func around(v, se float64) estimate.Estimate { return estimate.Of(v-1.96*se, v, v+1.96*se) }
