package compare

import (
	"math"
	"slices"
	"sort"

	"lastbeacon/core/estimate"
)

// All compares every pair of units, in order. With more than two units the verdicts are judged together by Holm's method:
// five equal units would otherwise show a false difference in 29 of 100 tests.
func All(units int, pair func(i, j int) Comparison) []Comparison {
	var out []Comparison
	for i := range units {
		for j := i + 1; j < units; j++ {
			out = append(out, pair(i, j))
		}
	}
	if units > 2 {
		holm(out, func(c *Comparison) *Verdict { return &c.Runtime })
		holm(out, func(c *Comparison) *Verdict { return &c.Draw })
	}
	return out
}

// holm takes back the verdicts that do not stand when all pairs are judged together, and says of those that do up to which
// spread they stand so.
func holm(pairs []Comparison, which func(*Comparison) *Verdict) {
	var judged []*Verdict
	var p []float64
	for i := range pairs {
		if v := which(&pairs[i]); v.Code != CannotRank {
			judged, p = append(judged, v), append(p, v.P)
		}
	}
	for i, stands := range estimate.Holm(p, alone) {
		if v := judged[i]; !stands && v.Code != NoDifferenceShown && v.Code != SameWithinMargin {
			v.Code, v.Holm, v.Stands = NoDifferenceShown, true, 0
		}
	}
	standTogether(judged)
}

// standTogether lowers the spread up to which each verdict stands to what Holm's method leaves: the k-th surest of n is held
// against a chance of alone/(n-k), and stands no longer than those before it.
func standTogether(judged []*Verdict) {
	judged = slices.Clone(judged)
	sort.SliceStable(judged, func(i, j int) bool { return judged[i].P < judged[j].P })
	least := math.Inf(1)
	for k, v := range judged {
		if v.Stands > 0 {
			least = min(least, v.footing.stands(alone/float64(len(judged)-k)))
			v.Stands = least
		}
	}
}
