package compare

import "lastbeacon/core/estimate"

// All compares every pair of units, in order. With more than two units the verdicts are judged together by Holm's method:
// five equal units would otherwise show a false difference in 29 of 100 tests.
func All(subjects []Subject, set Settings) []Comparison {
	var out []Comparison
	for i := range subjects {
		for j := i + 1; j < len(subjects); j++ {
			out = append(out, Pair(subjects[i], subjects[j], set))
		}
	}
	if len(subjects) > 2 {
		holm(out, func(c *Comparison) *Verdict { return &c.Runtime })
		holm(out, func(c *Comparison) *Verdict { return &c.Draw })
	}
	return out
}

// holm takes back the verdicts that do not stand when all pairs are judged together.
func holm(pairs []Comparison, which func(*Comparison) *Verdict) {
	var judged []*Verdict
	var p []float64
	for i := range pairs {
		if v := which(&pairs[i]); v.Code != CannotRank {
			judged, p = append(judged, v), append(p, v.P)
		}
	}
	for i, stands := range estimate.Holm(p, 0.05) {
		if v := judged[i]; !stands && v.Code != NoDifferenceShown && v.Code != SameWithinMargin {
			v.Code, v.Holm = NoDifferenceShown, true
		}
	}
}
