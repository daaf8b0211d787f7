package motion

import (
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// OfTrack gives the timeline of a recorded track, whose fixes may come in any order.
func OfTrack(fixes []evidence.Fix) Timeline { return of(fixes, true) }

// OfBeacons gives the timeline of the places that a unit sent, which may be minutes apart and rounded to Cell.
func OfBeacons(fixes []evidence.Fix) Timeline { return of(fixes, false) }

func of(fixes []evidence.Fix, track bool) Timeline {
	fixes = clean(fixes)
	if len(fixes) == 0 {
		return Timeline{Dense: track}
	}
	origin := fixes[0].At
	all := sights(fixes, origin)
	m := beaconModel
	looks := all
	if track {
		m = trackModel
		looks = blocks(all, 5)
	}
	var spells []spell
	end := all[len(all)-1].at
	for _, c := range m.modes(looks) {
		state := Moving
		if c.mode == standing {
			state = Stationary
		}
		if n := len(spells); n > 0 {
			spells[n-1].end = within(c.at)
			if spells[n-1].state == state {
				continue
			}
		}
		spells = append(spells, spell{state: state, start: within(c.at)})
	}
	spells[len(spells)-1].end = within(end)
	t := Timeline{Dense: track, Samples: samples(looks, origin, track), trail: newTrail(looks, origin, track)}
	for _, s := range spells {
		t.Periods = append(t.Periods, t.trail.measure(blank(s.state, s.start.between(origin), s.end.between(origin))))
	}
	return t
}

var (
	trackModel  = model{wander: 5, wanderTime: 150, rough: 1, change: 900, shortest: 60, step: 10, speedWeight: 0.5}
	beaconModel = model{wander: 5, wanderTime: 150, rough: 1, change: 900, shortest: 120, step: 30, speedWeight: 0.5}
)

// A moment is a time in seconds after the origin, known within bounds.
type moment struct{ earliest, best, latest float64 }

func within(t float64) moment { return moment{t, t, t} }

func (m moment) between(origin clock.Instant) clock.Between {
	at := func(t float64) clock.Instant { return origin.Add(clock.Seconds(t)) }
	return clock.Between{Earliest: at(m.earliest), Best: at(m.best), Latest: at(m.latest)}
}

// A spell is a period in the making.
type spell struct {
	state      State
	start, end moment
}
