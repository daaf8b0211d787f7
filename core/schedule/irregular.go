package schedule

import (
	"math"
	"slices"
)

// leastSpread is the least spread of gaps that nothing spaced, as a share of them: narrower ones keep to a schedule. No law may
// be denser anywhere than a normal one of that spread.
const leastSpread = 0.2

// irregular gives the log-likelihood of the gaps when nothing spaced them, under the law of the stamps that the filter uses.
func (f *filter) irregular() float64 {
	if f.cell > 0 {
		return cellsLogL(f.s.gaps, f.cell)
	}
	return irregularLogL(f.s.gaps)
}

// cellsLogL is irregularLogL of gaps between cells: the mass of each law over the cell at the gap's end, the gap's beginning
// anywhere in its own, as a density.
func cellsLogL(gaps []float64, cell float64) float64 {
	n := float64(len(gaps))
	var sum, squares, total float64
	least := math.Inf(1)
	for _, g := range gaps {
		l := math.Log(g)
		sum, squares, total, least = sum+l, squares+l*l, total+g, min(least, g)
	}
	mean := sum / n
	sd := max(leastSpread, math.Sqrt(max(0, squares/n-mean*mean)))
	from := max(0, 0.98*least-cell)
	beyond := max(total/n-from, leastSpread*math.Sqrt(2*math.Pi)*total/n)
	logNormal := func(g float64) float64 {
		if g <= 0 {
			return 0
		}
		return phi((math.Log(g) - mean) / sd)
	}
	exponential := func(g float64) float64 { return 1 - math.Exp(-max(0, g-from)/beyond) }
	return max(massLogL(gaps, cell, logNormal), massLogL(gaps, cell, exponential))
}

// massLogL sums the logarithms of the mean density of a distribution over pairs of cells.
func massLogL(gaps []float64, cell float64, below func(g float64) float64) float64 {
	const parts = 12 // of a cell, over which the beginning of a gap is spread
	known := map[float64]float64{}
	sum := 0.0
	for _, g := range gaps {
		density, ok := known[g]
		if !ok {
			for i := range parts {
				begin := cell * (float64(i) + 0.5) / parts
				density += (below(g+cell-begin) - below(g-begin)) / (parts * cell)
			}
			known[g] = density
		}
		sum += math.Log(max(density, math.SmallestNonzeroFloat64))
	}
	return sum
}

// fasterLogL gives the log-likelihood of gaps between cells under a unit that beacons faster than the stamps step: each cell
// alike is heard or not.
func fasterLogL(gaps []float64, cell float64) float64 {
	n, cells := float64(len(gaps)), 0.0
	for _, g := range gaps {
		cells += max(1, math.Round(g/cell))
	}
	heard := clamp(n/cells, leastHeard, mostHeard)
	return n*math.Log(heard) + (cells-n)*math.Log(1-heard) - n*math.Log(cell)
}

// irregularLogL gives the log-likelihood of the gaps when nothing spaced them: the better of a log-normal law and an exponential
// law that begins at the shortest gap.
func irregularLogL(gaps []float64) float64 {
	n := float64(len(gaps))
	var sum, squares, total float64
	least := math.Inf(1)
	for _, g := range gaps {
		l := math.Log(g)
		sum += l
		squares += l * l
		total += g
		least = min(least, g)
	}
	mean := sum / n
	sd := max(leastSpread, math.Sqrt(max(0, squares/n-mean*mean)))
	logNormal := -sum - n*math.Log(sd*math.Sqrt(2*math.Pi)) - (squares-n*mean*mean)/(2*sd*sd)
	excess := total/n - 0.98*least
	beyond := max(excess, leastSpread*math.Sqrt(2*math.Pi)*total/n)
	exponential := -n * (math.Log(beyond) + excess/beyond)
	return max(logNormal, exponential)
}

// quantile of unsorted values; 0 when there are none.
func quantile(values []float64, share float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	at := share * float64(len(sorted)-1)
	low := int(at)
	high := min(low+1, len(sorted)-1)
	return sorted[low] + (at-float64(low))*(sorted[high]-sorted[low])
}
