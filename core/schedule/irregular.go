package schedule

import (
	"math"
	"slices"
)

// leastSpread is the least spread of gaps that nothing spaced, as a share of them: narrower ones keep to a schedule. No law may
// be denser anywhere than a normal one of that spread.
const leastSpread = 0.2

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
