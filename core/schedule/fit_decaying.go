package schedule

import (
	"math"
	"slices"
)

const (
	mostHold      = 6  // intervals at the base before the first longer one
	keepBases     = 4  // bases that are searched in full
	farBehind     = 15 // log units behind the best sighted: not searched further
	fewestMoving  = 8  // gaps in movement that choose among bases
	keepMoving    = 16 // bases they leave
	fewestOffBeat = 3  // heard gaps that are no multiple of the longest interval: fewer show no decay
)

// usualDelay are mean delays of sending, s: a clear channel is waited for.
var usualDelay = []float64{0, 0.25, 0.5, 1, 1.5}

// roundLongest are the longest intervals that people set, s; the base times a power of two is the other habit.
var roundLongest = []float64{600, 900, 1200, 1800, 1920, 3600}

// sightDecaying looks for bases, holds and longest intervals that may explain the gaps, the best first. Bases come from the
// gaps divided by what a doubled ladder can add up to.
func (f *filter) sightDecaying(w *way) []fit {
	f.at = f.window(w)
	tried := f.coarse(f.bases(w), w)
	f.at = f.s.at
	for i, t := range tried {
		tried[i] = f.learn(t.rule, t.noise, 2)
	}
	sortFits(tried)
	return tried
}

// coarse looks at every base with few holds and longest intervals, those that the gaps show most and doubled ones, and
// keeps the best bases.
func (f *filter) coarse(bases []float64, w *way) []fit {
	start := f.guessed()
	shown := clusters(f.s.gaps)
	shown = shown[:min(2, len(shown))]
	var tried []fit
	top := math.Inf(-1)
	for _, base := range slices.Backward(bases) {
		var best fit
		for _, longest := range append([]float64{4 * base, 16 * base}, shown...) {
			for _, hold := range []int{1, 3} {
				f.bar = top - outOfSight
				if longest > 1.5*base {
					f.better(&best, newDecay(base, hold, longest, w), start)
				}
			}
		}
		if best.rule != nil && best.tally.logL > top-outOfSight {
			tried = append(tried, best)
			top = max(top, best.tally.logL)
		}
	}
	f.bar = math.Inf(-1)
	sortFits(tried)
	return tried[:min(len(tried), keepBases)]
}

// fitDecaying searches in full what was sighted and is not far behind the best of it.
func (f *filter) fitDecaying(sighted []fit) fit {
	var best fit
	for _, t := range sighted {
		if t.tally.logL < sighted[0].tally.logL-farBehind {
			break
		}
		if t = f.search(t); best.rule == nil || t.tally.logL > best.tally.logL {
			best = t
		}
	}
	if best.rule == nil || f.tells(best) < fewestOffBeat {
		return fit{}
	}
	return best
}

// tells counts the gaps, strays aside, that the longest interval alone does not explain.
func (f *filter) tells(b fit) int {
	ladder := b.rule.(*decayRule).ladder
	marks := f.trace(b)
	n := 0
	for i, m := range marks[1:] {
		strays := m.role == stray || marks[i].role == stray
		if !strays && !multiple(f.s.gaps[i], ladder[len(ladder)-1], max(b.noise.sd, f.cell/4)) {
			n++
		}
	}
	return n
}

func sortFits(all []fit) {
	sortDown(all, func(b *fit) float64 { return b.tally.logL })
}

// bases gives candidate bases. While the unit moves every gap is a multiple of the base; gaps at rest are sums of the ladder.
func (f *filter) bases(w *way) []float64 {
	moving := f.movingGaps(w)
	sorted := slices.Clone(f.s.gaps)
	slices.Sort(sorted)
	sources := append(clusters(f.s.gaps), sorted[:min(6, len(sorted))]...)
	if len(moving) > 0 {
		sources = append(sources, clusters(moving)...)
	}
	var all []float64
	for _, g := range sources {
		for _, d := range []float64{1, 2, 3, 4, 8, 16, 32} {
			all = append(all, g/d)
		}
	}
	all = distinct(all, f.leastPeriod(), 0.008)
	if len(moving) < fewestMoving {
		return all
	}
	type judged struct{ base, logL float64 }
	judgements := make([]judged, len(all))
	for i, base := range all {
		judgements[i] = judged{base, f.multiplesLogL(moving, base)}
	}
	sortDown(judgements, func(j *judged) float64 { return j.logL })
	all = all[:min(len(all), keepMoving)]
	for i := range all {
		all[i] = judgements[i].base
	}
	slices.Sort(all)
	return all
}

// multiplesLogL gives the log-likelihood of gaps each of which is a multiple of an interval, or a stray.
func (f *filter) multiplesLogL(gaps []float64, interval float64) float64 {
	sum := 0.0
	for _, g := range gaps {
		m := max(1, math.Round(g/interval))
		sd := math.Hypot(max(2, f.s.floor), 0.01*g)
		sum += math.Log((1-firstStray)*firstHeard*math.Pow(1-firstHeard, m-1)*normal(g-m*interval, sd) + firstStray/f.s.reach)
	}
	return sum
}

// movingGaps gives the gaps throughout which the unit moved.
func (f *filter) movingGaps(w *way) []float64 {
	var all []float64
	for i, g := range f.s.gaps {
		if w.movingTime(f.s.at[i], f.s.at[i+1]) > g-1 {
			all = append(all, g)
		}
	}
	return all
}

// better tries a rule and keeps it when it explains more.
func (f *filter) better(best *fit, r rule, n noise) {
	bar := f.bar
	if best.rule != nil {
		f.bar = max(bar, best.tally.logL)
	}
	if t := f.over(r, n); best.rule == nil || t.logL > best.tally.logL {
		*best = fit{r, n, t}
	}
	f.bar = bar
}

// search goes over longest interval, hold and delay in turn, fits scale and noise, and ends when nothing gets better.
func (f *filter) search(best fit) fit {
	for range 4 {
		before := best.tally.logL
		best = f.improved(best, 3)
		for _, longest := range f.longests(best.rule.(*decayRule).base) {
			f.tryDecay(&best, func(c *decayRule) { c.longest = longest })
		}
		for hold := 1; hold <= mostHold; hold++ {
			f.tryDecay(&best, func(c *decayRule) { c.hold = hold })
		}
		for _, delay := range usualDelay {
			f.tryDecay(&best, func(c *decayRule) {
				c.base, c.longest, c.delay = c.base+c.delay-delay, c.longest+c.delay-delay, delay
			})
		}
		if best.tally.logL < before+0.01 {
			break
		}
	}
	return f.fine(f.improved(best, 6))
}

func (f *filter) tryDecay(best *fit, change func(c *decayRule)) {
	r := best.rule.(*decayRule)
	c := r.but(change)
	if c.base != r.base || c.hold != r.hold || c.longest != r.longest || c.delay != r.delay {
		f.better(best, c, best.noise)
	}
}

// longests gives candidate longest intervals above a base.
func (f *filter) longests(base float64) []float64 {
	all := slices.Clone(roundLongest)
	for c := base * growth; c <= base*64; c *= growth {
		all = append(all, c)
	}
	all = append(all, clusters(f.s.gaps)...)
	all = slices.DeleteFunc(all, func(c float64) bool { return c < base*1.5 })
	return distinct(all, 0, 0.004)
}

// fine moves base and longest interval by small shares, together and apart.
func (f *filter) fine(best fit) fit {
	for _, share := range []float64{0.01, 0.004, 0.0015, 0.0005} {
		for _, by := range [][2]float64{{share, share}, {-share, -share}, {0, share}, {0, -share}, {share, 0}, {-share, 0}} {
			f.tryDecay(&best, func(c *decayRule) { c.base, c.longest = c.base*(1+by[0]), c.longest*(1+by[1]) })
		}
	}
	return best
}

// offBeat counts the gaps that are no multiple of an interval.
func (f *filter) offBeat(interval, sd float64) int {
	n := 0
	for _, g := range f.s.gaps {
		if !multiple(g, interval, sd) {
			n++
		}
	}
	return n
}

// multiple tells whether a gap is one of an interval.
func multiple(gap, interval, sd float64) bool {
	off := gap - interval*max(1, math.Round(gap/interval))
	return math.Abs(off) <= max(4*sd, 0.002*gap)
}
