package schedule

import "math"

// A fit is a rule with the noise that suits it best.
type fit struct {
	rule  rule
	noise noise
	tally tally
}

// A scalable rule has one scale by which all its due times grow.
type scalable interface {
	rule
	scaled(by float64) rule
}

func (r fixedRule) scaled(by float64) rule { return fixedRule{r.period * by} }

// limits of the noise: a unit heard less than one time in twenty, or whose beacons are strays more than three times in ten,
// shows no rule.
const (
	leastHeard = 0.05
	mostHeard  = 0.998
	leastStray = 0.002
	mostStray  = 0.3
	firstHeard = 0.8
	firstStray = 0.02
)

// widest gives the largest standard deviation of a gap that still counts as keeping to a shortest interval. Between cells that is
// the beacon's alone, and short intervals have their slack: 5 s of beacons sent up to 2 s late.
func (f *filter) widest(interval float64) float64 {
	if f.cell > 0 {
		return max(leastError, min(max(4, 0.015*interval), interval/6))
	}
	return max(f.s.floor, min(max(4, 2*f.s.floor, 0.015*interval), interval/8))
}

// learn fits the noise of a rule, and its scale when it has one, by expectation and maximisation; rounds bounds the work.
func (f *filter) learn(r rule, n noise, rounds int) fit {
	return f.improved(fit{r, n, f.over(r, n)}, rounds)
}

// improved is learn from a fit whose tally is that of the times under study.
func (f *filter) improved(best fit, rounds int) fit {
	for range rounds {
		if math.IsInf(best.tally.logL, -1) {
			break
		}
		rule := best.rule
		if s, ok := rule.(scalable); ok {
			rule = s.scaled(best.scale())
		}
		n := f.suited(best)
		next := fit{rule, n, f.over(rule, n)}
		gain := next.tally.logL - best.tally.logL
		if gain > 0 {
			best = next
		}
		if gain < 0.02 {
			break
		}
	}
	if f.cell > 0 && rounds > 1 {
		return f.sharpened(best)
	}
	return best
}

// sharpened fits the error of a rule whose beacons stand in cells, where the cells hide it from the expected counts.
func (f *filter) sharpened(best fit) fit {
	for _, by := range []float64{2, 0.5} {
		for {
			n := best.noise
			n.sd = clamp(n.sd*by, leastError, f.widest(best.rule.briefest()))
			if n.sd == best.noise.sd {
				break
			}
			t := f.over(best.rule, n)
			if t.logL <= best.tally.logL {
				break
			}
			best = fit{best.rule, n, t}
		}
	}
	return best
}

// scale: what was spanned over what was due. Between neighbours the error of a beacon cancels, so sums beat squares.
func (b fit) scale() float64 {
	if f, ok := b.rule.(fixedRule); ok && b.tally.slots > 0 {
		return b.tally.span / b.tally.slots / f.period
	}
	if b.tally.leanBase == 0 {
		return 1
	}
	return 1 + b.tally.lean/b.tally.leanBase
}

// suited gives the noise that the expected counts of a pass speak for, held within its limits.
func (f *filter) suited(b fit) noise {
	t, gaps := b.tally, float64(len(f.at)-1)
	if t.on < 1e-9 {
		return b.noise
	}
	sd := b.noise.sd
	if f.cell == 0 {
		sd = clamp(math.Sqrt(t.squares/t.on), f.s.floor, f.widest(b.rule.briefest()))
	}
	return noise{
		heard: clamp(t.on/t.slots, leastHeard, mostHeard),
		stray: clamp(1-t.on/gaps, leastStray, mostStray),
		sd:    sd,
	}
}

// leastError is the least standard deviation of a beacon in a cell about its due time, s.
const leastError = 0.3

// guessed gives the noise from which a search begins.
func (f *filter) guessed() noise {
	if f.cell > 0 {
		return noise{firstHeard, firstStray, max(leastError, f.cell/20)}
	}
	return noise{firstHeard, firstStray, max(2, f.s.floor)}
}

func clamp(v, low, high float64) float64 { return min(max(v, low), high) }
