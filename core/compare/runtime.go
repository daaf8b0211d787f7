package compare

import (
	"cmp"
	"math"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// runtime says which unit lasted longer as it was set up. It needs no capacity and forgives every condition.
func runtime(groups []group) Verdict {
	var rs []ratio
	var a, b []Run
	v := Verdict{Code: CannotRank, Reason: "no_run", P: 1}
	for _, g := range groups {
		a, b = append(a, g.a...), append(b, g.b...)
		r, why := g.lasted()
		if why != "" {
			v.Reason = why
			continue
		}
		rs = append(rs, r)
	}
	if r, ok := pool(rs); ok {
		v = r.verdict(ALastsLonger, BLastsLonger)
		switch {
		case v.Code == NoDifferenceShown && r.bound != 0:
			v.Reason = "still_running"
		case v.Code == NoDifferenceShown && statedBefore(groups[0].set, a, b) && r.within(groups[0].set.Margin):
			v.Margin = groups[0].set.Margin
		}
	} else if len(rs) > 0 {
		v.Reason = "both_running"
	}
	if v.Reason == "no_run" {
		v.WhyA, v.WhyB = cmp.Or(noLife(a), groups[0].whyA), cmp.Or(noLife(b), groups[0].whyB)
	}
	a, b = onCharge(a), onCharge(b)
	v.InOrder = inOrder(a, b) || inOrder(b, a)
	pooled := groups[0]
	pooled.a, pooled.b = a, b
	v.Banks = pooled.banks()
	v.A, v.B, v.RunsA, v.RunsB, v.Tests = meanTime(a), meanTime(b), len(a), len(b), len(rs)
	return v
}

// onCharge keeps the runs that a charge could end; an external supply does not run out.
func onCharge(runs []Run) []Run {
	return kept(runs, func(r *Run) bool { return r.Draw.Supply != draw.External })
}

// banks names the units that a USB bank fed.
func (g group) banks() (names []string) {
	bank := func(r *Run) bool { return r.Draw.Supply == draw.Bank }
	if len(kept(g.a, bank)) > 0 {
		names = append(names, g.nameA)
	}
	if len(kept(g.b, bank)) > 0 {
		names = append(names, g.nameB)
	}
	return names
}

// noLife tells by a code of the draw why runs have no life to compare; "" where they have, or there are none.
func noLife(runs []Run) string {
	if len(runs) > 0 && len(onCharge(runs)) == 0 {
		return string(draw.External)
	}
	return ""
}

// inOrder tells whether several runs all ended before several others began.
func inOrder(first, then []Run) bool {
	if len(first) < 2 || len(then) < 2 {
		return false
	}
	last := clock.None
	for _, r := range first {
		if !known(r.Facts.End) {
			return false
		}
		last = max(last, r.Facts.End)
	}
	return !slices.ContainsFunc(then, func(r Run) bool { return !known(r.Facts.Start) || r.Facts.Start < last })
}

// runtime gives the ratio of run times in one test. A unit still running counts with what it has run so far, which bounds
// the ratio on one side.
func (g group) runtime() (ratio, string) {
	g.a, g.b = onCharge(g.a), onCharge(g.b)
	g = g.withoutPacks()
	a, b := logTimes(g.a), logTimes(g.b)
	switch {
	case len(a.laws) == 0 || len(b.laws) == 0:
		return ratio{}, "no_run"
	case a.open() && b.open():
		return ratio{}, "both_running"
	}
	r := between(a, b, g.set.CV, estimate.ExactLaw(0))
	switch {
	case a.open():
		r.bound = 1
	case b.open():
		r.bound = -1
	}
	return r, ""
}

// logTimes gives the laws of the logarithms of the run times. A run without an end that lasted less than one with an end says
// nothing and is left out.
func logTimes(runs []Run) side {
	var s side
	shortest := math.Inf(1)
	for _, r := range runs {
		if r.Time.Positive() && !math.IsInf(r.Time.High, 1) {
			shortest = min(shortest, r.Time.Best)
			s.laws = append(s.laws, r.seconds().Log())
		}
	}
	s.closed = len(s.laws)
	for _, r := range runs {
		if r.Time.Positive() && math.IsInf(r.Time.High, 1) && (s.closed == 0 || r.Time.Low > shortest) {
			s.laws = append(s.laws, estimate.ExactLaw(math.Log(r.Time.Low)))
		}
	}
	return s
}

// open tells whether one of the logarithms is only a least value.
func (s side) open() bool { return s.closed < len(s.laws) }

// seconds gives the law of a closed run time.
func (r Run) seconds() estimate.Law {
	l := estimate.LawOf(r.Time)
	if l.Known() && l.X[0] <= 0 { // a start hardly known at all: what lies below the lower limit is put upon it
		l.X[0] = r.Time.Low
	}
	return l
}

// meanTime gives the geometric mean of the runs' times with limits from their bounds alone, as they stand in the table.
func meanTime(runs []Run) estimate.Estimate {
	times := logTimes(runs)
	mean := meanOf(times.laws)
	if times.open() {
		return estimate.AtLeast(mean.Best)
	}
	return mean
}

// meanOf gives the exponential of the mean of independent laws.
func meanOf(logs []estimate.Law) estimate.Estimate {
	if len(logs) == 0 {
		return estimate.Unknown
	}
	for i, l := range logs {
		logs[i] = l.Times(1 / float64(len(logs)))
	}
	return estimate.Sum(logs...).ExpEstimate()
}
