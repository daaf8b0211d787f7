package schedule

import (
	"math"
	"slices"
)

const (
	shortest      = 5.0  // s; no unit beacons faster for long
	screenGaps    = 150  // gaps used to choose among candidates
	keepPeriods   = 6    // candidates that are fitted to all gaps
	outOfSight    = 45.0 // log units behind the best candidate so far: not looked at any closer
	periodDivisor = 5    // a gap heard may hold up to so many intervals
)

// fitFixed finds the period. Candidates are the clusters of the gaps, divided by small whole numbers: a gap heard is a
// multiple of the period. The likelihood decides between them, also between a period and its half.
func (f *filter) fitFixed() fit {
	all := f.fitPeriods()
	if len(all) == 0 {
		return fit{}
	}
	return all[0]
}

// fitPeriods fits every candidate period, the best to all gaps, and gives them with the best first.
func (f *filter) fitPeriods() []fit {
	start := noise{firstHeard, firstStray, max(2, f.s.floor)}
	f.at = f.s.at[:min(len(f.s.at), screenGaps+1)]
	var tried []fit
	top := math.Inf(-1)
	for _, period := range slices.Backward(f.periods()) {
		var t fit
		f.bar = top - outOfSight
		if f.better(&t, fixedRule{period}, start); t.tally.logL > f.bar {
			f.bar = math.Inf(-1)
			t = f.learn(t.rule, t.noise, 2)
			tried = append(tried, t)
			top = max(top, t.tally.logL)
		}
	}
	f.bar = math.Inf(-1)
	f.at = f.s.at
	sortFits(tried)
	return f.fullFits(tried[:min(len(tried), keepPeriods)])
}

// fullFits fits candidates to all gaps, without those that fall out of sight, and sorts them.
func (f *filter) fullFits(candidates []fit) []fit {
	var kept []fit
	top := math.Inf(-1)
	for _, t := range candidates {
		f.bar = top - outOfSight
		if t = f.learn(t.rule, t.noise, 12); t.tally.logL > f.bar {
			kept = append(kept, t)
			top = max(top, t.tally.logL)
		}
	}
	f.bar = math.Inf(-1)
	sortFits(kept)
	return kept
}

// periods gives the candidate periods, shortest first, no two within 0.3 %.
func (f *filter) periods() []float64 {
	var all []float64
	for _, c := range clusters(f.s.gaps) {
		for d := 1.0; d <= periodDivisor; d++ {
			all = append(all, c/d)
		}
	}
	return distinct(all, max(shortest, 2*f.s.floor), 0.003)
}

// clusters gives the middles of the gaps that lie close together (3 s and 2 %), the fullest first, at most ten, and the
// low quantiles.
func clusters(gaps []float64) []float64 {
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	type cluster struct {
		middle float64
		size   int
	}
	var found []cluster
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] <= sorted[i]*1.02+3 {
			j++
		}
		found = append(found, cluster{sorted[(i+j-1)/2], j - i})
		i = j
	}
	slices.SortStableFunc(found, func(a, b cluster) int { return b.size - a.size })
	var middles []float64
	for _, c := range found[:min(len(found), 10)] {
		middles = append(middles, c.middle)
	}
	for _, share := range []float64{0, 0.05, 0.1, 0.25} {
		middles = append(middles, sorted[int(share*float64(len(sorted)-1))])
	}
	return middles
}

// distinct sorts values, drops those below least and those within the share apart of their smaller neighbour.
func distinct(values []float64, least, apart float64) []float64 {
	slices.Sort(values)
	var kept []float64
	for _, v := range values {
		if v >= least && (len(kept) == 0 || v > kept[len(kept)-1]*(1+apart)) {
			kept = append(kept, v)
		}
	}
	return kept
}

// periodError gives the standard error of a fixed period, s. Independent errors of the beacons cancel but at the ends of a
// chain of gaps; errors that the unit's clock carries along add up. The correlation of neighbouring gaps tells which.
func periodError(marks []mark, sd float64) float64 {
	var chain []float64 // gap residuals
	slots := 0
	for _, m := range marks {
		if m.role == onTime {
			chain = append(chain, m.off)
			slots += m.steps
		}
	}
	if slots == 0 {
		return math.Inf(1)
	}
	n := float64(len(chain))
	carried := clamp(1+2*lagOne(chain)+2/math.Sqrt(n), 0, 1) // 0 when errors cancel, 1 when gaps are independent
	return sd * max(1, math.Sqrt(n*carried)) / float64(slots)
}

// lagOne gives the correlation of neighbours.
func lagOne(x []float64) float64 {
	if len(x) < 3 {
		return 0
	}
	mean := 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	var cross, square float64
	for i, v := range x {
		square += (v - mean) * (v - mean)
		if i > 0 {
			cross += (v - mean) * (x[i-1] - mean)
		}
	}
	if square < 1e-9 {
		return 0
	}
	return cross / square
}
