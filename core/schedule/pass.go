package schedule

import "math"

// This file is the pass of filter.over where stamps are fine and nothing is traced, which is nearly all the work of a fit. A guess
// then stands at a heard time itself, so that its age tells its anchor, and all that differs between two of one age is the rung.

// A spot is such a guess.
type spot struct {
	weight float64
	rung   int
	age    int // heard beacons since its own, all of them strays
}

// A pass is one run of a rule over the heard times. What each step needs is worked out once: in WebAssembly logarithms, powers and
// exponentials are computed step by step.
type pass struct {
	period    float64    // of a fixed rule, else 0
	decaying  *decayRule // the rule, where it is one
	adaptive  *adaptRule
	noise     noise
	at        []float64
	now, then []spot
	lost      float64
	square    float64     // of the noise's sd
	sent      float64     // chance that a beacon is no stray and heard
	beside    float64     // half the density of a stray
	powers    [16]float64 // of lost; 0 where not asked for yet
	odds      float64     // product of the densities of the last few gaps
	sum, part tally
	rung      int // that explain reached
}

// So many densities are multiplied before one logarithm is taken of them; smaller ones than leastOdds might vanish in a product.
const (
	together  = 8
	leastOdds = 1e-30
)

var rootTau = math.Sqrt(2 * math.Pi)

// pass is over for fine stamps.
func (f *filter) pass(r rule, n noise) tally {
	p := pass{noise: n, at: f.at, now: f.spots[0][:0], then: f.spots[1][:0], lost: 1 - n.heard, square: n.sd * n.sd,
		sent: (1 - n.stray) * n.heard, beside: n.stray / f.s.reach / 2, odds: 1}
	if fixed, ok := r.(fixedRule); ok {
		p.period = fixed.period
	}
	p.decaying, _ = r.(*decayRule)
	p.adaptive, _ = r.(*adaptRule)
	for rung, chance := range r.starts() {
		if chance > 0 {
			p.now = append(p.now, spot{weight: chance, rung: rung})
		}
	}
	most := math.Log(p.sent * normal(0, n.sd))
	last := len(p.at) - 1
	for i := 1; i <= last; i++ {
		p.advance(i)
		if i%together == 0 || i == last {
			p.sum.logL += math.Log(p.odds)
			p.odds = 1
			if p.sum.logL+float64(last-i)*most < f.bar {
				p.sum.logL = math.Inf(-1)
				break
			}
		}
	}
	f.spots = [2][]spot{p.now, p.then}
	return p.sum
}

// advance takes the guesses to the i-th heard beacon.
func (p *pass) advance(i int) {
	p.part = tally{}
	p.then = p.then[:0]
	for k := range p.now {
		g := p.now[k]
		p.explain(&g, i)
		beside := g.weight * p.beside
		if g.age < oldest {
			p.then = append(p.then, spot{beside, g.rung, g.age + 1})
		}
		p.merge(beside, p.rung)
	}
	total := p.settle()
	if total > leastOdds {
		p.odds *= total
	} else {
		p.sum.logL += math.Log(total)
	}
	p.sum.on += p.part.on / total
	p.sum.slots += p.part.slots / total
	p.sum.span += p.part.span / total
	p.sum.squares += p.part.squares / total
	p.sum.lean += p.part.lean / total
	p.sum.leanBase += p.part.leanBase / total
}

// explain is the filter's. Hot: a fixed rule is followed here, and others are called by name, since calls through an interface are dear.
func (p *pass) explain(g *spot, i int) {
	anchor, at := p.at[i-1-g.age], p.at[i]
	blur := drift * (at - anchor)
	variance := p.square + blur*blur
	plain := math.Sqrt(variance)
	from, rung, steps, before := anchor, g.rung, 0, at-window*(p.noise.sd+blur)
	if p.period > 0 {
		if ahead := math.Floor((before - from) / p.period); ahead > 1 {
			steps = int(ahead) - 1
			from += float64(steps) * p.period
		}
	} else if p.decaying != nil {
		from, rung, steps = p.decaying.leap(from, rung, before)
	}
	least := 1e-12 * g.weight
	price := g.weight * p.sent
	if steps > 0 {
		price *= p.power(steps)
	}
	for price > least {
		due, nextRung, extra := from+p.period, 0, 0.0
		if p.decaying != nil {
			due, nextRung, extra = p.decaying.next(from, rung)
		} else if p.adaptive != nil {
			due, nextRung, extra = p.adaptive.next(from, rung)
		}
		steps++
		sd := plain
		if extra != 0 {
			sd = math.Sqrt(variance + extra*extra)
		}
		off := at - due
		if z := off / sd; math.Abs(z) <= window {
			w := price * bell(z) / (sd * rootTau)
			p.arrive(from, nextRung, w)
			p.part.add(w, off, due-anchor, at-anchor, steps)
		} else if off < 0 {
			if steps == 1 && p.adaptive != nil {
				p.early(g, anchor, at, due)
			}
			break
		}
		from, rung = due, nextRung
		price *= p.lost
	}
	p.rung = rung
}

// power gives the chance that so many beacons are lost.
func (p *pass) power(steps int) float64 {
	if steps >= len(p.powers) {
		return math.Pow(p.lost, float64(steps))
	}
	if p.powers[steps] == 0 {
		p.powers[steps] = math.Pow(p.lost, float64(steps))
	}
	return p.powers[steps]
}

// early is the filter's.
func (p *pass) early(g *spot, anchor, at, due float64) {
	if density := p.adaptive.early(anchor, at, due); density > 0 {
		w := g.weight * p.sent * density
		p.merge(w, 0)
		p.part.on += w
		p.part.slots += w
		p.part.span += w * (at - anchor)
		p.part.squares += w * p.square
	}
}

// arrive is the filter's.
func (p *pass) arrive(from float64, rung int, weight float64) {
	if p.decaying != nil {
		if other, doubtful := p.decaying.otherwise(from, rung); doubtful {
			weight /= 2
			p.merge(weight, other)
		}
	}
	p.merge(weight, rung)
}

// merge adds a guess that stands at the beacon just heard to the one on the same rung.
func (p *pass) merge(weight float64, rung int) {
	for i := range p.then {
		if g := &p.then[i]; g.age == 0 && g.rung == rung {
			g.weight += weight
			return
		}
	}
	p.then = append(p.then, spot{weight: weight, rung: rung})
}

// settle is the filter's.
func (p *pass) settle() float64 {
	total := 0.0
	for i := range p.then {
		total += p.then[i].weight
	}
	if total == 0 { // max of two numbers is a call in WebAssembly
		total = math.SmallestNonzeroFloat64
	}
	if len(p.then) > mostGuess {
		p.heaviestFirst()
		p.then = p.then[:mostGuess]
	}
	kept := p.then[:0]
	for _, g := range p.then {
		if g.weight > leastPart*total {
			g.weight /= total
			kept = append(kept, g)
		}
	}
	p.now, p.then = kept, p.now
	return total
}

// heaviestFirst is sortDown of what was found, without its calls: rules with a long ladder often have more guesses than are kept.
func (p *pass) heaviestFirst() {
	for i, g := range p.then {
		k := i
		for ; k > 0 && p.then[k-1].weight < g.weight; k-- {
			p.then[k] = p.then[k-1]
		}
		p.then[k] = g
	}
}

// bells holds exp(-x) in steps of a sixteenth, as far as a window reaches.
var bells = func() (t [window*window/2*16 + 2]float64) {
	for i := range t {
		t[i] = math.Exp(-float64(i) / 16)
	}
	return t
}()

// bell gives exp(-z²/2) for z within the window, by the series about the nearest entry of bells; it errs by less than 1e-14 of it.
func bell(z float64) float64 {
	x := z * z / 2
	i := int(x*16 + 0.5)
	r := float64(i)/16 - x
	return bells[i] * (1 + r*(1+r*(1./2+r*(1./6+r*(1./24+r*(1./120+r/720))))))
}
