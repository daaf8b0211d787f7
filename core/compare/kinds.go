package compare

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// Kinds compares kinds of unit, each by the specimens of it that were tested. Every specimen counts once, however often it
// ran; how much specimens of one kind differ is taken from them where there are three or more of each, and assumed where not.
// Kinds of which one specimen each was tested are left out: that is a comparison of units. One test is used, that whose
// conditions were most alike, since the same specimens stand behind all of them.
func Kinds(subjects []Subject, set Settings) []Comparison {
	if set.CV == 0 {
		set.CV = DefaultCV
	}
	var names []string
	members := map[string][]Subject{}
	for _, s := range subjects {
		if s.Kind == "" || !slices.ContainsFunc(s.Runs, func(r Run) bool { return r.Rankable }) {
			continue
		}
		if members[s.Kind] == nil {
			names = append(names, s.Kind)
		}
		members[s.Kind] = append(members[s.Kind], s)
	}
	var out []Comparison
	for i, a := range names {
		for _, b := range names[i+1:] {
			if len(members[a])+len(members[b]) > 2 {
				out = append(out, ofKinds(a, b, members[a], members[b], set))
			}
		}
	}
	if len(names) > 2 {
		holm(out, func(c *Comparison) *Verdict { return &c.Runtime })
		holm(out, func(c *Comparison) *Verdict { return &c.Draw })
	}
	return out
}

// A kindGroup is one test of two kinds: the runs of each, together and specimen by specimen.
type kindGroup struct {
	group
	as, bs [][]Run
}

func ofKinds(a, b string, as, bs []Subject, set Settings) Comparison {
	labels := common(runsOf(as), runsOf(bs))
	if len(labels) == 0 {
		labels = []string{"*"}
	}
	groups := make([]kindGroup, len(labels))
	for i, label := range labels {
		groups[i] = newKindGroup(a, b, as, bs, label, set)
	}
	g := slices.MinFunc(groups, func(x, y kindGroup) int {
		return cmp.Or(compareFairness(x.group, y.group), cmp.Compare(len(y.as)+len(y.bs), len(x.as)+len(x.bs)))
	})
	c := Comparison{A: a, B: b, Label: g.label, Conditions: g.conditions, RateA: meanRate(g.a), RateB: meanRate(g.b)}
	c.RateRatio = over(c.RateA, c.RateB)
	c.Runtime, c.Draw = g.runtime(), g.draw(&c)
	return c
}

func newKindGroup(a, b string, as, bs []Subject, label string, set Settings) kindGroup {
	g := kindGroup{group: newGroup(Subject{Name: a, Runs: runsOf(as), Split: splitOf(as)},
		Subject{Name: b, Runs: runsOf(bs), Split: splitOf(bs)}, label, set)}
	specimens := func(all []Subject) (out [][]Run) {
		for _, s := range all {
			if runs := labelled(s.Runs, label); len(runs) > 0 {
				out = append(out, runs)
			}
		}
		return out
	}
	g.as, g.bs = specimens(as), specimens(bs)
	return g
}

func runsOf(all []Subject) (runs []Run) {
	for _, s := range all {
		runs = append(runs, s.Runs...)
	}
	return runs
}

// splitOf gives a kind's idle current and charge per beacon: the means over its specimens, all of which must have theirs. Their
// errors are not taken to average out, since specimens share a charger, a meter or an assumed efficiency.
func splitOf(all []Subject) (s draw.Split) {
	n := float64(len(all))
	for _, one := range all {
		if !one.Split.Resolved {
			return draw.Split{}
		}
		s.Idle, s.Beacon = s.Idle+one.Split.Idle/n, s.Beacon+one.Split.Beacon/n
		for i := range s.Cov {
			for j := range s.Cov[i] {
				s.Cov[i][j] += one.Split.Cov[i][j] / n
			}
		}
	}
	s.Resolved = len(all) > 0
	return s
}

// spread gives by how much specimens of one kind may differ, in place of the scatter from run to run.
func (g kindGroup) spread() float64 { return cmp.Or(g.set.SpecimenCV, draw.SpecimenSpread) }

// specimen gives the law of a specimen's mean logarithm: the mean of its runs' laws, and what their scatter leaves.
func (g kindGroup) specimen(laws []estimate.Law) estimate.Law {
	n := float64(len(laws))
	parts := []estimate.Law{estimate.NormalLaw(0, g.set.CV/math.Sqrt(n))}
	for _, l := range laws {
		parts = append(parts, l.Times(1/n))
	}
	return estimate.Sum(parts...)
}

// lives gives the specimens' run times: those that ended first, then those with a run still going.
func (g kindGroup) lives(all [][]Run) (s side) {
	var open []estimate.Law
	for _, runs := range all {
		switch times := logTimes(onCharge(runs)); {
		case len(times.laws) == 0:
		case times.open():
			open = append(open, g.specimen(times.laws))
		default:
			s.laws = append(s.laws, g.specimen(times.laws))
		}
	}
	s.closed = len(s.laws)
	s.laws = append(s.laws, open...)
	return s
}

func (g kindGroup) runtime() Verdict {
	a, b := g.lives(g.as), g.lives(g.bs)
	v := Verdict{Code: CannotRank, Reason: "no_run", P: 1}
	switch {
	case len(a.laws) == 0 || len(b.laws) == 0:
		v.WhyA, v.WhyB = noLife(g.a), noLife(g.b)
	case a.open() && b.open():
		v.Reason = "both_running"
	default:
		r := between(a, b, g.spread(), estimate.ExactLaw(0))
		if r.bound = 0; a.open() {
			r.bound = 1
		} else if b.open() {
			r.bound = -1
		}
		v = r.verdict(ALastsLonger, BLastsLonger)
	}
	v.A, v.B, v.Banks = g.mean(a), g.mean(b), g.banks()
	g.count(&v, len(a.laws), len(b.laws))
	return v
}

// mean gives the middle of the specimens, as a least value where one of them still runs.
func (g kindGroup) mean(s side) estimate.Estimate {
	e := meanOf(slices.Clone(s.laws))
	if s.open() {
		return estimate.AtLeast(e.Best)
	}
	return e
}

func (g kindGroup) count(v *Verdict, a, b int) {
	v.RunsA, v.RunsB, v.Tests = len(g.a), len(g.b), 1
	v.SpecimensA, v.SpecimensB = a, b
}

func (g kindGroup) draw(c *Comparison) Verdict {
	g.group = g.group.drawn()
	a, errA, okA := g.draws(g.as, 1, "a")
	b, errB, okB := g.draws(g.bs, -1, "b")
	if !okA || !okB {
		return g.undrawn()
	}
	raw := between(ended(a), ended(b), g.spread(), capacityError(merged(errA, errB)))
	raw = raw.plus(draw.LoadEffect(math.Exp(raw.law.Quantile(0.5)))).plus(g.voltageError())
	v, r := c.judged(raw, g.group)
	g.count(&v, len(a), len(b))
	v.settle(g.group, r)
	return v
}

// draws gives the specimens' draws without the errors of packs and instruments, and these errors with the weight of each.
func (g kindGroup) draws(all [][]Run, sign float64, kind string) (laws []estimate.Law, errors []share, ok bool) {
	var told [][]Run
	for _, runs := range all {
		if runs = (group{a: runs}).drawn().a; charges(runs) {
			told = append(told, runs)
		}
	}
	for i, runs := range told {
		laws = append(laws, g.specimen(logDraws(runs, true, g.energy())))
		errors = merged(errors, sharesOf(runs, sign/float64(len(told)), kind+strconv.Itoa(i)))
	}
	return laws, errors, len(laws) > 0
}
