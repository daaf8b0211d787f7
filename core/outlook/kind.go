package outlook

import (
	"math"

	"lastbeacon/core/estimate"
)

// A Use says how further units are going to be used: beacons per hour (0: as in each unit's latest run) and voice overs
// of so many seconds, so many an hour.
type Use struct {
	PerHour    float64
	Overs      float64
	OverS      float64
	TransmitMA []float64 // while transmitting, by unit; 0 where not known
}

// sameRate is how far two rates may differ before a life is brought from one to the other.
const sameRate = 0.02

// Kind answers a shift from every finished run of the units of one kind. Each life is brought to the rate and the voice
// traffic asked for by its unit's split; runs for which that is not possible are left out.
func Kind(units []Unit, use Use, s Shift) ShiftAnswer {
	var lives []Life
	refused := "no_run"
	for i, u := range units {
		if u.Running && len(u.Runs) == 0 {
			refused = "running"
		}
		for _, r := range u.Runs {
			factor, why := use.factor(u, i, r)
			if why != "" {
				refused = why
				continue
			}
			lives = append(lives, Life{u.Name, r.Time.Scale(factor)})
		}
	}
	a := Lasts(lives, s)
	if len(lives) == 0 {
		a.Refused = refused
		return a
	}
	a.ShortestS = use.shortest(units, a)
	return a
}

// factor gives by what a run's life is multiplied under another use, or why that is not known.
func (use Use) factor(u Unit, i int, r Run) (factor float64, why string) {
	from, to := r.Rate.Best, use.rate(u)
	factor = 1
	if to > 0 && (!r.Rate.Known || math.Abs(math.Log(from/to)) > sameRate) {
		ok := false
		if factor, ok = AtRate(u.Split, from, to); !ok || !r.Rate.Known {
			return 0, "no_split"
		}
	}
	if use.Overs > 0 {
		tx := use.TransmitMA[i]
		voice, ok := WithVoice(u.Split, to, use.Overs, use.OverS, tx)
		if !ok || tx == 0 {
			return 0, "no_currents"
		}
		factor *= voice
	}
	return factor, ""
}

// rate gives the rate asked for, else that of the unit's latest run.
func (use Use) rate(u Unit) float64 {
	if use.PerHour > 0 || len(u.Runs) == 0 {
		return use.PerHour
	}
	return u.Runs[len(u.Runs)-1].Rate.Best
}

// shortest gives the shortest interval at which the need would be met by the first unit whose split is resolved; 0 where none
// is, NaN where not even silence would do.
func (use Use) shortest(units []Unit, a ShiftAnswer) float64 {
	for _, u := range units {
		if !u.Split.Resolved || !(a.Need > 0) {
			continue
		}
		s, ok := ShortestInterval(u.Split, use.rate(u), a.Reach, a.Need)
		if !ok {
			return math.NaN()
		}
		return s
	}
	return 0
}

// TransmitCurrent gives a unit's transmit current in mA: as stated, else as its split implies; 0 where neither is known.
func TransmitCurrent(stated float64, u Unit, airtime estimate.Estimate) float64 {
	if stated > 0 {
		return stated
	}
	if e := TransmitMA(u.Split, airtime.Best); airtime.Known && e.Known {
		return e.Best
	}
	return 0
}
