package schedule

import (
	"math"
	"slices"

	"lastbeacon/core/estimate"
)

// resolveFall: a parameter is resolved when the log-likelihood falls by more than this at every step away from its value,
// the other parameters kept and the noise fitted anew.
const resolveFall = 2.5

// clearSpeed: when the speed blurs the intervals by more than this share, it also biases the distance between beacons: noise
// makes a beacon due early.
const clearSpeed = 0.01

// A step changes one parameter of a rule.
type step[R rule] func(r R) rule

// A question asks whether a parameter, named as the report names it, is resolved: by these steps away from its value.
type question[R rule] struct {
	name  string
	steps []step[R]
}

// resolves tells whether every step makes the rule explain less.
func resolves[R rule](f *filter, b fit, q question[R]) bool {
	for _, change := range q.steps {
		r := change(b.rule.(R))
		if r == nil {
			continue
		}
		if f.learn(r, b.noise, 1).tally.logL > b.tally.logL-resolveFall {
			return false
		}
	}
	return true
}

// resolved gives the names of the parameters that the data resolve.
func (f *filter) resolved(b fit, marks []mark, w *way) []string {
	var names []string
	switch b.rule.(type) {
	case fixedRule:
		names = append(names, "interval_s")
	case *decayRule:
		names = answered(f, b, decayQuestions())
		if !heldLongest(b.rule.(*decayRule), marks) {
			names = slices.DeleteFunc(names, func(name string) bool { return name == "longest_s" })
		}
	case *adaptRule:
		names = answered(f, b, adaptQuestions())
		if b.rule.(*adaptRule).blur > clearSpeed {
			names = slices.DeleteFunc(names, func(name string) bool { return name == "metres_between_beacons" })
		}
	}
	if w.sparse && len(w.moves) > 0 {
		names = slices.DeleteFunc(names, needsTrack)
	}
	return names
}

// needsTrack tells whether a parameter shows only against speeds and turns that are known all the time.
func needsTrack(name string) bool {
	switch name {
	case "beacons_before_decay", "fast_interval_s", "slow_speed_mps", "metres_between_beacons":
		return true
	}
	return false
}

// heldLongest tells whether the longest interval was heard twice in a row: one alone may be a step on the way to a longer.
func heldLongest(r *decayRule, marks []mark) bool {
	top, row := len(r.ladder)-1, 0.0
	last := marks[0]
	for _, m := range marks[1:] {
		if m.role == stray {
			continue
		}
		row += math.Floor((m.at-last.at)/r.longest + 0.1)
		if m.rung != top || m.role != onTime {
			row = 0
		}
		if row >= 2 {
			return true
		}
		last = m
	}
	return false
}

func answered[R rule](f *filter, b fit, questions []question[R]) []string {
	var names []string
	for _, q := range questions {
		if resolves(f, b, q) {
			names = append(names, q.name)
		}
	}
	return names
}

func decayQuestions() []question[*decayRule] {
	base := func(by float64, hold int) step[*decayRule] {
		return func(r *decayRule) rule {
			return r.but(func(c *decayRule) { c.base, c.hold = c.base*by, max(1, c.hold+hold) })
		}
	}
	hold := func(more int) step[*decayRule] {
		return func(r *decayRule) rule {
			if r.hold+more < 1 {
				return nil
			}
			return r.but(func(c *decayRule) { c.hold += more })
		}
	}
	longest := func(by float64) step[*decayRule] {
		return func(r *decayRule) rule {
			if r.longest*by < r.base*1.2 {
				return nil
			}
			return r.but(func(c *decayRule) { c.longest *= by })
		}
	}
	return []question[*decayRule]{
		{"interval_s", []step[*decayRule]{
			base(1.03, 0), base(1/1.03, 0), base(1.5, 0), base(2, 0), base(2, -1), base(0.5, 0), base(0.5, 1), base(0.5, 2),
		}},
		{"beacons_before_decay", []step[*decayRule]{hold(1), hold(-1), hold(2), hold(-2)}},
		{"longest_s", []step[*decayRule]{
			longest(1.15), longest(1 / 1.15), longest(1.5), longest(1 / 1.5), longest(2), longest(0.5),
		}},
	}
}

// adaptQuestions: the product moves by the fast speed; the fast interval moves with the product kept.
func adaptQuestions() []question[*adaptRule] {
	moved := func(change func(r *adaptRule)) step[*adaptRule] {
		return func(r *adaptRule) rule {
			c := *r
			change(&c)
			return &c
		}
	}
	both := func(name string, change func(r *adaptRule, by float64), factors ...float64) question[*adaptRule] {
		q := question[*adaptRule]{name: name}
		for _, by := range factors {
			q.steps = append(q.steps, moved(func(r *adaptRule) { change(r, by) }), moved(func(r *adaptRule) { change(r, 1/by) }))
		}
		return q
	}
	return []question[*adaptRule]{
		both("slow_interval_s", func(r *adaptRule, by float64) { r.slow *= by }, 1.1, 1.5, 2),
		both("fast_interval_s", func(r *adaptRule, by float64) { r.fast *= by; r.fastSpeed /= by }, 1.15, 2),
		both("slow_speed_mps", func(r *adaptRule, by float64) { r.slowSpeed *= by }, 1.5, 2),
		both("metres_between_beacons", func(r *adaptRule, by float64) { r.fastSpeed *= by }, 1.05, 1.25, 1.6),
	}
}

// profile gives a value with the limits at which the log-likelihood has fallen by 1.92, half the 95 % point of chi-squared
// with one degree of freedom (profile likelihood; Venzon and Moolgavkar 1988, Applied Statistics 37, 87). at gives the rule
// with the value multiplied by a factor. A side that does not fall within a factor of 1.1 is left open.
func (f *filter) profile(b fit, value float64, at func(by float64) rule) estimate.Estimate {
	const fall, furthest = 1.92, 0.1
	side := func(sign float64) float64 {
		low, high := 0.0, 1e-4
		for f.over(at(1+sign*high), b.noise).logL > b.tally.logL-fall {
			if high >= furthest {
				return math.Inf(1)
			}
			low, high = high, min(2*high, furthest)
		}
		for range 6 {
			middle := (low + high) / 2
			if f.over(at(1+sign*middle), b.noise).logL > b.tally.logL-fall {
				low = middle
			} else {
				high = middle
			}
		}
		return high
	}
	return estimate.Of(value*(1-min(side(-1), 1)), value, value*(1+side(1)))
}
