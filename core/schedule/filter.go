package schedule

import "math"

// A noise says how heard times differ from a rule: the share of due beacons heard, the share of heard beacons that no rule
// explains (strays: sent by hand, or heard late), and the standard deviation of a gap about its due time, s.
type noise struct{ heard, stray, sd float64 }

// A guess is one explanation of the beacons so far: the last one that the rule explains stood at anchor on rung.
type guess struct {
	anchor float64
	half   float64 // s by which the anchor may lie earlier or later, all of it alike: of a stamp that stands for a cell of time
	rung   int
	age    int // heard beacons since the anchor, all of them strays
	weight float64
	count  count
	most   float64 // weight of the likeliest way here, which link records
	link   int
}

// A count is the number of due times passed so far, as its mean and its mean square.
type count struct{ mean, square float64 }

// after gives the count after k more.
func (c count) after(k float64) count { return count{c.mean + k, c.square + 2*k*c.mean + k*k} }

// mixed gives the count of a case of weight v beside one of weight w.
func (c count) mixed(v float64, d count, w float64) count {
	p := w / (v + w)
	return count{c.mean + p*(d.mean-c.mean), c.square + p*(d.square-c.square)}
}

// A tally is what one pass over the gaps finds: the log-likelihood and the expected counts from which the noise and the
// scale of the rule are estimated anew.
type tally struct {
	logL     float64
	on       float64 // heard beacons that the rule explains
	slots    float64 // due times passed to explain them
	span     float64 // s spanned by them
	squares  float64 // of heard minus due
	lean     float64 // sum of (heard - due) times (due - anchor)
	leanBase float64 // sum of (due - anchor) squared
}

const (
	window    = 5.0    // standard deviations around a due time that count as heard at it
	drift     = 0.0005 // share of a gap by which clock and period may be off
	oldest    = 3      // strays in a row that a guess survives
	mostGuess = 24
	leastPart = 1e-3
)

// A filter runs rules over one series; its buffers are reused between runs.
type filter struct {
	s         *series
	cell      float64   // that of the series, or 0 for a search under the law of fine stamps, which is faster
	at        []float64 // the heard times under study: all of them, or a window of them
	now, then []guess
	spots     [2][]spot // of a pass over fine stamps
	bar       float64   // a run that cannot reach this log-likelihood is abandoned
	tracing   bool      // record the likeliest explanation of each beacon in links
	links     []link
	each      []float64 // log-likelihood of each gap, when tracing
}

func newFilter(s *series) *filter {
	f := &filter{}
	f.take(s)
	return f
}

// take turns a filter to a series.
func (f *filter) take(s *series) { f.s, f.cell, f.at, f.bar = s, s.cell, s.at, math.Inf(-1) }

// over gives the likelihood of heard times under a rule: a forward pass over the beacons in which every guess walks its due
// times up to the next heard beacon. Missed ones cost the share that is lost, and a beacon off every due time is a stray,
// after which the clock either ran on or began anew. Hot, with all that it calls: guesses are handed on by pointer, since copies
// took long.
func (f *filter) over(r rule, n noise) tally {
	if f.cell == 0 && !f.tracing {
		return f.pass(r, n)
	}
	at := f.at
	var sum tally
	f.now = f.now[:0]
	for rung, chance := range r.starts() {
		if chance > 0 {
			first := f.note(0, mark{at: at[0], rung: rung})
			g := f.heardAt(at[0])
			g.rung, g.weight, g.link = rung, chance, first
			f.now = append(f.now, g)
		}
	}
	most := math.Log((1 - n.stray) * n.heard * f.densest(n))
	for i := 1; i < len(at); i++ {
		before := sum.logL
		f.advance(r, n, at[i], &sum)
		if f.tracing {
			f.each = append(f.each, sum.logL-before)
		}
		if sum.logL+float64(len(at)-1-i)*most < f.bar {
			sum.logL = math.Inf(-1)
			break
		}
	}
	return sum
}

// advance takes the guesses from one heard beacon to the next and adds what was learned to sum.
func (f *filter) advance(r rule, n noise, at float64, sum *tally) {
	var part tally
	f.then = f.then[:0]
	for i := range f.now {
		g := &f.now[i]
		rung, passed := f.explain(r, n, g, at, &part)
		beside := g.weight * n.stray / f.s.reach
		if g.age < oldest {
			f.then = append(f.then, guess{
				anchor: g.anchor, half: g.half, rung: g.rung, age: g.age + 1, weight: beside / 2, count: g.count,
				link: f.note(g.link, mark{at: at, role: stray, rung: g.rung}),
			})
		}
		fresh := f.heardAt(at)
		fresh.rung, fresh.weight, fresh.count = rung, beside/2, g.count.after(float64(passed))
		fresh.link = f.note(g.link, mark{at: at, rung: rung})
		f.merge(&fresh)
	}
	total := f.settle()
	sum.logL += math.Log(total)
	sum.on += part.on / total
	sum.slots += part.slots / total
	sum.span += part.span / total
	sum.squares += part.squares / total
	sum.lean += part.lean / total
	sum.leanBase += part.leanBase / total
}

// explain walks the due times of a guess past the heard time at, adds a guess for every due time that may be it, and gives
// the rung that the rule had reached by then and how many due times it took.
func (f *filter) explain(r rule, n noise, g *guess, at float64, part *tally) (rung, passed int) {
	lost := 1 - n.heard
	blur := drift * (at - g.anchor)
	variance := n.sd*n.sd + blur*blur
	from, rung, steps := r.leap(g.anchor, g.rung, at-g.half-window*(n.sd+blur))
	price := g.weight * (1 - n.stray) * n.heard
	if steps > 0 {
		price *= math.Pow(lost, float64(steps))
	}
	for price > 1e-12*g.weight {
		due, nextRung, extra := r.next(from, rung)
		steps++
		here := f.chance(at, due, g.half, math.Sqrt(variance+extra*extra))
		if here.far && here.off < 0 {
			if steps == 1 {
				f.early(r, n, g, at, due, part)
			}
			break
		}
		if !here.far {
			w := price * here.density
			f.arrive(r, from, nextRung, &guess{anchor: here.anchor, half: here.half, weight: w, count: g.count.after(float64(steps))}, g.link, mark{at: at, role: onTime, steps: steps, off: here.off, rung: nextRung})
			part.add(w, here.off, due-g.anchor, here.anchor-g.anchor, steps)
			passed = steps
		}
		from, rung = due, nextRung
		price *= lost
	}
	if passed == 0 {
		passed = steps
	}
	return rung, passed
}

// early adds the guess that a turn sent a beacon before its due time.
func (f *filter) early(r rule, n noise, g *guess, at, due float64, part *tally) {
	a, ok := r.(*adaptRule)
	if !ok {
		return
	}
	if density := a.early(g.anchor, at, due); density > 0 {
		w := g.weight * (1 - n.stray) * n.heard * density
		sent := f.heardAt(at)
		sent.weight, sent.count, sent.link = w, g.count.after(1), f.note(g.link, mark{at: at, role: onTime, steps: 1})
		f.merge(&sent)
		part.on += w
		part.slots += w
		part.span += w * (at - g.anchor)
		part.squares += w * n.sd * n.sd
	}
}

// arrive adds the guess that a heard beacon was due as m says; when the rung is in doubt it is shared between the two.
func (f *filter) arrive(r rule, from float64, rung int, g *guess, parent int, m mark) {
	if d, ok := r.(*decayRule); ok {
		if other, doubtful := d.otherwise(from, rung); doubtful {
			g.weight /= 2
			m.rung = other
			g.rung, g.link = other, f.note(parent, m)
			f.merge(g)
			m.rung = rung
		}
	}
	g.rung, g.link = rung, f.note(parent, m)
	f.merge(g)
}

func (t *tally) add(w, off, ahead, span float64, steps int) {
	t.on += w
	t.slots += w * float64(steps)
	t.span += w * span
	t.squares += w * off * off
	t.lean += w * off * ahead
	t.leanBase += w * ahead * ahead
}

// merge adds a guess that stands at the beacon just heard; one on the same rung takes up its weight.
func (f *filter) merge(with *guess) {
	with.most = with.weight
	for i := range f.then {
		g := &f.then[i]
		if g.age != 0 || g.rung != with.rung || f.apart(g, with) {
			continue
		}
		f.blend(g, with)
		g.count = g.count.mixed(g.weight, with.count, with.weight)
		g.weight += with.weight
		if with.most > g.most {
			g.most, g.link = with.most, with.link
		}
		return
	}
	f.then = append(f.then, *with)
}

// settle makes the new guesses the current ones, scaled to 1, without the negligible ones; it gives their sum.
func (f *filter) settle() float64 {
	total := 0.0
	for i := range f.then {
		total += f.then[i].weight
	}
	total = max(total, math.SmallestNonzeroFloat64)
	if len(f.then) > mostGuess {
		sortDown(f.then, func(g *guess) float64 { return g.weight })
		f.then = f.then[:mostGuess]
	}
	kept := f.then[:0]
	for i := range f.then {
		if g := &f.then[i]; g.weight > leastPart*total {
			g.weight /= total
			kept = append(kept, *g)
		}
	}
	f.now, f.then = kept, f.now
	return total
}

// sortDown sorts a few by what they are worth, the most first and equal ones as they stood. Of each type it takes a twentieth of the room
// in the page that the library's stable sort does.
func sortDown[T any](all []T, worth func(*T) float64) {
	for i := 1; i < len(all); i++ {
		for k := i; k > 0 && worth(&all[k-1]) < worth(&all[k]); k-- {
			all[k-1], all[k] = all[k], all[k-1]
		}
	}
}

// normal is the density of a normal error.
func normal(off, sd float64) float64 {
	z := off / sd
	return math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi))
}
