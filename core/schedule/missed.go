package schedule

import (
	"math"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

// Misses are the due beacons between heard ones that were not heard. Slots[i] counts the due times from the heard beacon
// before times[i] up to and with times[i]: 1 when none was missed, 0 for the first and for a beacon that no due time explains.
// Fewer and More are by how many their number may be too high or too low, at 95 %: where several explanations of a gap, or
// several rules that the data do not tell apart, count differently.
type Misses struct {
	Due         []clock.Instant
	Slots       []int
	Fewer, More float64
}

// mostDue is how many due times are counted one by one, more than any battery sends: one stamp of a clock that had lost its
// date puts millions between two packets.
const mostDue = 300_000

// dueTimes gives how many due times stand between the first mark and the last.
func dueTimes(marks []mark) int {
	n := 0
	for _, m := range marks {
		n += m.steps
	}
	return n
}

// Missed walks the due times of s between heard beacons, which must be known and in time order. Without a rule nothing can
// be said and both lists are empty; so they are where more due times passed than anybody counts.
func Missed(times []clock.Instant, s Schedule, m motion.Timeline) Misses {
	if len(times) == 0 || !times[0].Known() || !slices.IsSorted(times) {
		return Misses{}
	}
	r, origin := s.rule(times[0], m)
	if r == nil {
		return Misses{}
	}
	at := newSeries(times, 0).since(origin)
	at.cell = s.cell
	f := newFilter(at)
	heard := clamp(s.Received.Best, leastHeard, mostHeard)
	sd := max(at.floor, s.Jitter*math.Sqrt2)
	if s.cell > 0 {
		at.floor = gapFloor(clock.Seconds(s.cell))
		sd = max(leastError, math.Sqrt(max(0, 2*s.Jitter*s.Jitter-at.floor*at.floor)))
	}
	best := fit{rule: r, noise: noise{heard, firstStray, sd}}
	marks := f.trace(best)
	if dueTimes(marks) > mostDue {
		return Misses{}
	}
	found := f.misses(r, marks, times)
	unshown := f.unshown(r, marks, found, m)
	found.doubt(f.spread())
	f.otherwise(&found, best, s.others(r, f.s, m))
	found.Fewer = max(found.Fewer, unshown)
	return found
}

// surelyOne is the spread of a count below which it is taken as it is: the chance of one more or less is under one in forty.
const surelyOne = 0.156

// spread gives the standard deviation of the number of due times over all explanations of the pass just traced.
func (f *filter) spread() float64 {
	total, sum := 0.0, count{}
	for _, g := range f.now {
		total += g.weight
		sum.mean += g.weight * g.count.mean
		sum.square += g.weight * g.count.square
	}
	if total == 0 {
		return 0
	}
	mean := sum.mean / total
	return math.Sqrt(max(0, sum.square/total-mean*mean))
}

// doubt widens the number by a spread.
func (m *Misses) doubt(sd float64) {
	if sd > surelyOne {
		more := math.Ceil(1.96 * sd)
		m.Fewer, m.More = max(m.Fewer, more), max(m.More, more)
	}
}

// openingGaps is how many gaps a decaying rule may take to reach its longest interval, with some missed.
const openingGaps = 20

// others gives the decaying rules that may stand behind one that explains the times: other bases and holds, and, behind a
// fixed interval as far as it was heard, rules that have it for their longest.
func (s Schedule) others(r rule, of *series, m motion.Timeline) []*decayRule {
	var all []*decayRule
	shares := []float64{1, 0.5, 0.25, 2}
	d, ok := r.(*decayRule)
	if fixed, plain := r.(fixedRule); plain && s.AsFarAsHeard {
		d, ok = newDecay(fixed.period, 1, fixed.period, newWay(of, m)), true
		shares = []float64{0.5, 0.25, 0.125}
	}
	if !ok {
		return nil
	}
	for _, share := range shares {
		for hold := 1; hold <= mostHold; hold++ {
			if d.longest >= 1.2*share*d.base {
				all = append(all, d.but(func(c *decayRule) { c.base, c.hold = share*c.base, hold }))
			}
		}
	}
	return all
}

// unlikely is the fall of the log-likelihood beyond which the odds of an explanation are below one in forty.
var unlikely = math.Log(40)

// otherwise widens the number by what other rules would count that explain the times about as well. A fixed interval can
// differ from a decaying one in its opening only.
func (f *filter) otherwise(m *Misses, best fit, others []*decayRule) {
	if _, fixed := best.rule.(fixedRule); fixed {
		f.at = f.at[:min(len(f.at), openingGaps+1)]
	}
	if len(others) == 0 || len(f.at) < 2 {
		return
	}
	missed := f.missed(best)
	f.bar = f.over(best.rule, best.noise).logL - unlikely
	for _, r := range others {
		other := fit{rule: r, noise: best.noise}
		if f.over(r, best.noise).logL < f.bar {
			continue
		}
		apart := float64(f.missed(other) - missed)
		m.Fewer, m.More = max(m.Fewer, -apart), max(m.More, apart)
	}
}

// missed gives how many due times went unheard by the likeliest explanation.
func (f *filter) missed(b fit) int {
	sum := 0
	for _, x := range f.trace(b) {
		sum += max(0, x.steps-1)
	}
	return sum
}

// misses walks the rule between the marks that it explains.
func (f *filter) misses(r rule, marks []mark, times []clock.Instant) Misses {
	found := Misses{Slots: make([]int, len(times))}
	next, anchor := 0, marks[0]
	for i, t := range times {
		if i > 0 && t == times[i-1] {
			continue
		}
		m := marks[next]
		next++
		if m.role == stray || m.steps == 0 {
			continue
		}
		found.Slots[i] = m.steps
		from, rung := anchor.at, anchor.rung
		for range m.steps - 1 {
			from, rung, _ = r.next(from, rung)
			found.Due = append(found.Due, f.s.instant(from))
		}
		anchor = m
	}
	return found
}

// received gives the share of due beacons heard, from the slots between heard ones: the interval of Wilson (1927, JASA 22,
// 209), widened when losses come in bursts by the correlation of neighbouring slots.
func received(marks []mark) estimate.Estimate {
	if dueTimes(marks[1:]) > mostDue {
		return estimate.Unknown
	}
	var slots []float64
	for _, m := range marks[1:] {
		for range m.steps - 1 {
			slots = append(slots, 0)
		}
		if m.steps > 0 {
			slots = append(slots, 1)
		}
	}
	if len(slots) == 0 {
		return estimate.Unknown
	}
	heard, n := 0.0, float64(len(slots))
	for _, v := range slots {
		heard += v
	}
	bursts := clamp(lagOne(slots), 0, 0.9)
	return wilson(heard/n, n*(1-bursts)/(1+bursts))
}

// wilson gives the 95 % interval of a share seen in n trials.
func wilson(share, n float64) estimate.Estimate {
	const z = 1.959963984540054
	middle := (share + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(share*(1-share)/n+z*z/(4*n*n))
	return estimate.Of(clamp(middle-half, 0, share), share, clamp(middle+half, share, 1))
}
