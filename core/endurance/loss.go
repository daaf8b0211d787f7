package endurance

import (
	"gonum.org/v1/gonum/stat/distuv"

	"lastbeacon/core/estimate"
)

// A loss is what a stretch of due times teaches about the next ones: how many were heard and missed, and how often a miss
// followed a miss. The share heard has the Beta law of Jeffreys' prior. When misses follow misses more often than chance
// allows, losses come in bursts, and the chance of going on missing is taken from the misses alone.
type loss struct {
	heard, missed int
	fromHeard     [2]int // heard, missed after one that was heard
	fromMissed    [2]int // heard, missed after one that was missed
	bursts        bool
}

const sure = 0.05 // p value below which a share that sank, or a burst, is taken for real

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

// clustered tests whether a due time after a miss is heard less often than one after a beacon heard.
func (l loss) clustered() bool {
	afterMiss := l.fromMissed[0] + l.fromMissed[1]
	afterHeard := l.fromHeard[0] + l.fromHeard[1]
	return estimate.Fisher(l.fromMissed[0], afterMiss, l.fromHeard[0], afterHeard) < sure
}

// silent gives the chance that k due times in a row after a heard beacon are all missed though the unit sends.
func (l loss) silent(k int) float64 {
	chance := 1.0
	for j := range k {
		chance *= l.next(j)
	}
	return chance
}

// next gives the chance of a miss after k misses in a row, all misses so far counted in.
func (l loss) next(k int) float64 {
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

// excluded tells whether k misses in a row are too many for loss alone: below 1 % even with the 95 % upper limit of the loss.
func (l loss) excluded(k int) bool {
	if k == 0 {
		return false
	}
	first, then := upperMiss(l.heard, l.missed), 1.0
	if then = first; l.bursts {
		first, then = upperMiss(l.fromHeard[0], l.fromHeard[1]), upperMiss(l.fromMissed[0], l.fromMissed[1])
	}
	chance := first
	for range k - 1 {
		chance *= then
	}
	return chance <= 0.01
}

func upperMiss(heard, missed int) float64 {
	return distuv.Beta{Alpha: float64(missed) + 0.5, Beta: float64(heard) + 0.5}.Quantile(0.95)
}

// share gives the share heard, 0 to 1, with limits widened for bursts: neighbours that resemble each other with the
// correlation rho carry the information of (1 - rho) / (1 + rho) as many.
func (l loss) share() estimate.Estimate {
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
func (l loss) correlation() float64 {
	afterHeard, afterMiss := l.fromHeard[0]+l.fromHeard[1], l.fromMissed[0]+l.fromMissed[1]
	if afterHeard == 0 || afterMiss == 0 {
		return 0
	}
	rho := float64(l.fromHeard[0])/float64(afterHeard) - float64(l.fromMissed[0])/float64(afterMiss)
	return min(max(rho, 0), 0.95)
}
