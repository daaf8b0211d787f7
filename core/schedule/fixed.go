package schedule

import (
	"math"
	"slices"
)

const (
	shortest      = 5.0  // s; no unit beacons faster for long
	screenGaps    = 150  // gaps used to choose among candidates
	learnPeriods  = 20   // of the candidates between coarse stamps that are fitted to these
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
	start := f.guessed()
	f.at = f.s.at[:min(len(f.s.at), screenGaps+1)]
	var tried []fit
	top := math.Inf(-1)
	for _, period := range slices.Backward(f.periods()) {
		var t fit
		f.bar = top - outOfSight
		if f.better(&t, fixedRule{period}, start); t.tally.logL > f.bar {
			if f.cell == 0 {
				f.bar = math.Inf(-1)
				t = f.improved(t, 2)
			}
			tried = append(tried, t)
			top = max(top, t.tally.logL)
		}
	}
	f.bar = math.Inf(-1)
	sortFits(tried)
	if f.cell > 0 {
		tried = tried[:min(len(tried), learnPeriods)]
		for i, t := range tried {
			tried[i] = f.improved(t, 2)
		}
		sortFits(tried)
	}
	f.at = f.s.at
	tried = f.fullFits(tried[:min(len(tried), keepPeriods)])
	if f.cell > 0 && len(tried) > 0 {
		tried[0] = f.tuned(tried[0])
	}
	return tried
}

// tuned moves a period by ever smaller shares. In cells the expected counts lead close to the best period and no further.
func (f *filter) tuned(best fit) fit {
	period := best.rule.(fixedRule).period
	for share := 0.004; share > 1e-5; share /= 2.5 {
		for _, by := range []float64{1 + share, 1 - share} {
			for {
				before := best.tally.logL
				f.better(&best, fixedRule{best.rule.(fixedRule).period * by}, best.noise)
				moved := best.rule.(fixedRule).period / period
				if best.tally.logL <= before+1e-3 || math.Abs(math.Log(moved)) > 0.05 {
					break
				}
			}
		}
	}
	return best
}

// fullFits fits candidates of a screening to all gaps, without those that fall out of sight, and sorts them.
func (f *filter) fullFits(candidates []fit) []fit {
	var kept []fit
	top := math.Inf(-1)
	for _, t := range candidates {
		f.bar = top - outOfSight
		if len(f.at) > screenGaps+1 {
			t.tally = f.over(t.rule, t.noise)
		}
		if t.tally.logL < f.bar {
			continue
		}
		if t = f.improved(t, 12); t.tally.logL > f.bar {
			kept = append(kept, t)
			top = max(top, t.tally.logL)
		}
	}
	f.bar = math.Inf(-1)
	sortFits(kept)
	return kept
}

// periodStep is the share between candidate periods where the gaps do not show them: a phase that errs so much within an
// interval is followed all the same.
const periodStep = 0.01

// everyPeriod gives the candidate periods of gaps that hold few steps of their stamps, all multiples of the step: the period lies
// anywhere between.
func (f *filter) everyPeriod() []float64 {
	least := max(f.leastPeriod(), (quantile(f.s.gaps, 0.1)-f.cell)/periodDivisor)
	most := quantile(f.s.gaps, 0.25) + f.cell
	var all []float64
	for p := least; p < most*(1+periodStep); p *= 1 + periodStep {
		all = append(all, p)
	}
	return all
}

// leastPeriod gives the shortest period that the stamps may show.
func (f *filter) leastPeriod() float64 {
	if f.cell > 0 {
		return max(shortest, f.cell)
	}
	return max(shortest, 2*f.s.floor)
}

// periods gives the candidate periods, shortest first, no two within 0.3 %.
func (f *filter) periods() []float64 {
	if f.cell > 0 {
		return f.everyPeriod()
	}
	var all []float64
	for _, c := range clusters(f.s.gaps) {
		for d := 1.0; d <= periodDivisor; d++ {
			all = append(all, c/d)
		}
	}
	return distinct(all, f.leastPeriod(), 0.003)
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
	const most = 10
	found := make([]cluster, 0, most+1)
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] <= sorted[i]*1.02+3 {
			j++
		}
		found = append(found, cluster{sorted[(i+j-1)/2], j - i})
		for k := len(found) - 1; k > 0 && found[k-1].size < found[k].size; k-- {
			found[k-1], found[k] = found[k], found[k-1]
		}
		found = found[:min(len(found), most)]
		i = j
	}
	var middles []float64
	for _, c := range found {
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
