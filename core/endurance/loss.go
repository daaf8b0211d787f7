package endurance

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"lastbeacon/core/estimate"
)

// A loss is what a stretch of due times teaches about the next ones: how many were heard and missed, and how often a miss
// followed a miss. The share heard has the Beta law of Jeffreys' prior. When misses follow misses more often than chance
// allows, losses come in bursts, and the chance of going on missing is taken from the misses alone. A unit at the end of its
// charge may also be heard worse than before: see fades.
type loss struct {
	heard, missed int
	fromHeard     [2]int // heard, missed after one that was heard
	fromMissed    [2]int // heard, missed after one that was missed
	bursts        bool
	fades         []fade
	tail          *loss // of the last part, when that was heard worse
}

// A fade is the case that the share heard had sunk to share some time before the last beacon, and the weight of that case.
type fade struct{ share, weight float64 }

const (
	sure = 0.05 // p value below which a share that sank, or a burst, is taken for real

	// Power sags as cells empty. That the share heard sinks to half of it somewhere in the last quarter of a run is given
	// this chance beforehand; what was heard then speaks for or against it. Common practice, no source: chosen so that the
	// bounds hold in 90 % of runs whose share heard halves in the last tenth, and cost one interval where it does not.
	fadeChance = 0.4
	fadeDepth  = 0.5
	fadePart   = 4
	fadeLeast  = 5
)

// lossOf counts over due times in order, true where heard.
func lossOf(heard []bool) loss {
	var l loss
	for i, h := range heard {
		miss := 0
		if !h {
			miss = 1
		}
		l.heard += 1 - miss
		l.missed += miss
		if i == 0 {
			continue
		}
		if heard[i-1] {
			l.fromHeard[miss]++
		} else {
			l.fromMissed[miss]++
		}
	}
	l.bursts = l.clustered()
	return l
}

// fading weighs, for each of the last due times, the case that the share heard had halved from it on, by the likelihood of
// what was heard against that of one share throughout.
func (l *loss) fading(heard []bool) {
	n := len(heard)
	reach := min(n, max(fadeLeast, n/fadePart))
	steady := likelihood(l.heard, l.missed, l.mean())
	after := loss{}
	total := 1 - fadeChance
	for j := 1; j <= reach; j++ {
		if heard[n-j] {
			after.heard++
		} else {
			after.missed++
		}
		before := loss{heard: l.heard - after.heard, missed: l.missed - after.missed}
		p := before.mean()
		chance := likelihood(before.heard, before.missed, p) + likelihood(after.heard, after.missed, fadeDepth*p) - steady
		f := fade{fadeDepth * p, fadeChance / float64(reach) * math.Exp(chance)}
		l.fades = append(l.fades, f)
		total += f.weight
	}
	for i := range l.fades {
		l.fades[i].weight /= total
	}
}

// mean is that of the Beta law of the share heard.
func (l *loss) mean() float64 { return 1 - missShare(l.heard, l.missed, 0) }

func likelihood(heard, missed int, share float64) float64 {
	return float64(heard)*math.Log(share) + float64(missed)*math.Log(1-share)
}

// clustered tests whether a due time after a miss is heard less often than one after a beacon heard.
func (l *loss) clustered() bool {
	afterMiss := l.fromMissed[0] + l.fromMissed[1]
	afterHeard := l.fromHeard[0] + l.fromHeard[1]
	return estimate.Fisher(l.fromMissed[0], afterMiss, l.fromHeard[0], afterHeard) < sure
}

// A silence goes from one missed due time to the next and gives the chance that all so far were missed though the unit
// sends, beginning with 1 before the first.
type silence struct {
	of     *loss
	steady float64
	fades  []fade // weights here are chances so far
	k      int
}

func (l *loss) silence() *silence {
	s := &silence{of: l, steady: 1, fades: slices.Clone(l.fades)}
	for _, f := range s.fades {
		s.steady -= f.weight
	}
	return s
}

// miss counts one more due time as missed.
func (s *silence) miss() {
	s.steady *= s.of.next(s.k)
	for i := range s.fades {
		s.fades[i].weight *= 1 - s.fades[i].share
	}
	s.k++
}

func (s *silence) chance() float64 {
	sum := s.steady
	for _, f := range s.fades {
		sum += f.weight
	}
	return sum
}

// next gives the chance of a miss after k misses in a row, all misses so far counted in.
func (l *loss) next(k int) float64 {
	if !l.bursts {
		return missShare(l.heard, l.missed, k)
	}
	if k == 0 {
		return missShare(l.fromHeard[0], l.fromHeard[1], 0)
	}
	return missShare(l.fromMissed[0], l.fromMissed[1], k-1)
}

// missShare is the mean of Beta(missed + 1/2, heard + 1/2) after k more misses.
func missShare(heard, missed, k int) float64 {
	return (float64(missed+k) + 0.5) / (float64(heard+missed+k) + 1)
}

// excludedBelow is the chance below which loss alone does not explain a silence.
const excludedBelow = 0.01

// excluded tells whether k misses in a row are too many for loss alone, of the last part too when that was heard worse.
func (l *loss) excluded(k int) bool {
	return l.chanceOf(k) <= excludedBelow && (l.tail == nil || l.tail.excluded(k))
}

// chanceOf gives the chance of k misses in a row by loss alone: with the 95 % upper limit of the loss, or on average with all
// cases of fading, whichever is more.
func (l *loss) chanceOf(k int) float64 {
	if k == 0 {
		return 1
	}
	first := upperMiss(l.heard, l.missed)
	then := first
	if l.bursts {
		first, then = upperMiss(l.fromHeard[0], l.fromHeard[1]), upperMiss(l.fromMissed[0], l.fromMissed[1])
	}
	s := l.silence()
	s.miss()
	chance := first
	for range k - 1 {
		s.miss()
		chance *= then
	}
	return max(chance, s.chance())
}

func upperMiss(heard, missed int) float64 {
	return distuv.Beta{Alpha: float64(missed) + 0.5, Beta: float64(heard) + 0.5}.Quantile(0.95)
}

// allLost gives the chance that so many beacons are lost, each by itself, where so many were heard and missed; at its upper limit.
func allLost(heard, missed, beacons int) float64 {
	return math.Pow(upperMiss(heard, missed), float64(beacons))
}

// outOfReach tells whether the losses elsewhere are too few for so many in a row by chance.
func (l *loss) outOfReach(inRow int) bool {
	rest := max(0, l.missed-inRow)
	return inRow > 1 && allLost(l.heard, rest, inRow)*float64(l.heard+rest) <= excludedBelow
}

// share gives the share heard, 0 to 1, with limits widened for bursts: neighbours that resemble each other with the
// correlation rho carry the information of (1 - rho) / (1 + rho) as many.
func (l *loss) share() estimate.Estimate {
	n := l.heard + l.missed
	if n == 0 {
		return estimate.Unknown
	}
	weight := 1.0
	if rho := l.correlation(); rho > 0 {
		weight = (1 - rho) / (1 + rho)
	}
	law := distuv.Beta{Alpha: float64(l.heard)*weight + 0.5, Beta: float64(l.missed)*weight + 0.5}
	e := estimate.Of(law.Quantile(0.025), float64(l.heard)/float64(n), law.Quantile(0.975))
	e.Low, e.High = min(e.Low, e.Best), max(e.High, e.Best)
	return e
}

// correlation is that of neighbouring due times, 0 where they cannot tell.
func (l *loss) correlation() float64 {
	afterHeard, afterMiss := l.fromHeard[0]+l.fromHeard[1], l.fromMissed[0]+l.fromMissed[1]
	if afterHeard == 0 || afterMiss == 0 {
		return 0
	}
	rho := float64(l.fromHeard[0])/float64(afterHeard) - float64(l.fromMissed[0])/float64(afterMiss)
	return min(max(rho, 0), 0.95)
}
