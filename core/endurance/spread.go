package endurance

import (
	"slices"

	"lastbeacon/core/estimate"
)

// An atom is a value in seconds with its chance.
type atom struct{ at, chance float64 }

// A spread is a law as atoms, in order of value; the chances sum to 1.
type spread []atom

// mostAtoms bounds the work of adding two spreads.
const mostAtoms = 240

// A triple is one uncertain moment by three laws: the earliest and the latest that the evidence allows for each share of
// chance, and the one between that gives the best value.
type triple struct{ low, best, high spread }

// exactly is a moment without uncertainty.
func exactly(at float64) triple {
	one := spread{{at, 1}}
	return triple{one, one, one}
}

// rectangle is a moment that lies with equal chance anywhere within half of at.
func rectangle(at, half float64) triple {
	if half == 0 {
		return exactly(at)
	}
	const parts = 41
	s := make(spread, parts)
	for i := range s {
		s[i] = atom{at + half*(2*(float64(i)+0.5)/parts-1), 1.0 / parts}
	}
	return triple{s, s, s}
}

// edged is a moment within half of at, with its edges as limits: beside a law of whole intervals the quantiles of a sum would
// fall short of a due time by part of half, and miss units that die on it.
func edged(at, half float64) triple {
	return triple{exactly(at - half).low, rectangle(at, half).best, exactly(at + half).high}
}

// rounded turns a law into a triple: a gap's whole chance stands at its opening for the low side, at its close for the high
// side, widened by the slack of the due time and by step for the stamps; the best side takes its moments as equal.
func (l law) rounded(step float64) triple {
	total := l.total()
	if total == 0 {
		return exactly(0)
	}
	var t triple
	const parts = 8
	for _, g := range l {
		m := g.mass() / total
		t.low = append(t.low, atom{g.from, m})
		t.high = append(t.high, atom{g.to + g.slack + step, m})
		for i := range parts {
			t.best = append(t.best, atom{g.from + (g.to-g.from)*(float64(i)+0.5)/parts, m / parts})
		}
	}
	return triple{t.low.thin(false), t.best.thin(false), t.high.thin(true)}
}

// plus adds an independent moment.
func (t triple) plus(u triple) triple {
	return triple{t.low.plus(u.low, false), t.best.plus(u.best, false), t.high.plus(u.high, true)}
}

// estimate claims 95 % limits and the median.
func (t triple) estimate() estimate.Estimate {
	low, best, high := t.low.quantile(0.025), t.best.quantile(0.5), t.high.quantile(0.975)
	return estimate.Of(min(low, best), best, max(best, high))
}

// plus is the law of the sum of two independent values. Hot: t moved by each atom of s is in order already, and two such rows are
// merged at a time.
func (s spread) plus(t spread, up bool) spread {
	t = t.inOrder()
	sum, room := make(spread, 0, len(s)*len(t)), make(spread, len(s)*len(t))
	for _, a := range s {
		for _, b := range t {
			sum = append(sum, atom{a.at + b.at, a.chance * b.chance})
		}
	}
	for row := len(t); row < len(sum); row *= 2 {
		for from := 0; from < len(sum); from += 2 * row {
			middle, to := min(from+row, len(sum)), min(from+2*row, len(sum))
			room[from:to].merge(sum[from:middle], sum[middle:to])
		}
		sum, room = room, sum
	}
	return sum.thin(up)
}

// inOrder gives the atoms in order of value; those of whole gaps may lack it where the slack of one reaches beyond the next.
func (s spread) inOrder() spread {
	s = slices.Clone(s)
	for i := range s {
		for k := i; k > 0 && s[k-1].at > s[k].at; k-- {
			s[k-1], s[k] = s[k], s[k-1]
		}
	}
	return s
}

// merge fills s with two others of its length together.
func (s spread) merge(a, b spread) {
	i, k := 0, 0
	for n := range s {
		if k == len(b) || i < len(a) && a[i].at <= b[k].at {
			s[n] = a[i]
			i++
		} else {
			s[n] = b[k]
			k++
		}
	}
}

// quantile gives the least value reached with at least that chance.
func (s spread) quantile(share float64) float64 {
	sum := 0.0
	for _, a := range s {
		if sum += a.chance; sum >= share-1e-12 {
			return a.at
		}
	}
	return s[len(s)-1].at
}

// thin merges neighbours until at most mostAtoms are left; merged ones take the highest value when up, else the lowest, so
// that a limit never moves inwards.
func (s spread) thin(up bool) spread {
	if len(s) <= mostAtoms {
		return s
	}
	kept := make(spread, 0, mostAtoms)
	open, first := 0.0, 0
	for i, a := range s {
		open += a.chance
		if open < 1.0/mostAtoms && i < len(s)-1 {
			continue
		}
		at := s[first].at
		if up {
			at = a.at
		}
		kept = append(kept, atom{at, open})
		open, first = 0, i+1
	}
	return kept
}
