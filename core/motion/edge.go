package motion

import "math"

// When a unit left or arrived is never seen, only that it was still there and that it was away. A claimed boundary is the
// stretch between two such looks; the best value within it is where half of the likelihood is reached.

// An edge is one change between standing and moving, looked at from the stop: towards is 1 when the trip follows the stop, -1
// when it comes before. Time runs from the stop to the trip.
type edge struct {
	looks   []sight
	centre  sight // of the stop: place, and the largest cell of its looks
	best    float64
	towards int
}

// bound gives the bounds of the change between two spells, one of which is a stop.
func (m *model) bound(before, after spell, looks []sight, dense bool) moment {
	e, ok := edgeOf(before, after, looks)
	if !ok {
		return e.pause()
	}
	if dense {
		e.best = e.trim()
	}
	e.best = m.pin(e, before.start.best, after.end.best)
	if dense {
		return e.close()
	}
	return e.wide()
}

// edgeOf gives the edge between two spells; ok is false when no look tells the place of the stop.
func edgeOf(before, after spell, looks []sight) (e edge, ok bool) {
	const memory = 300 // s of a stop that tell its place
	at := after.start.best
	e = edge{looks: looks, best: at, towards: 1}
	stop := part(looks, max(before.start.best, at-memory), at)
	if before.state == Moving {
		e.towards = -1
		stop = part(looks, at, min(after.end.best, at+memory))
	}
	if len(stop) == 0 {
		return e, false
	}
	e.centre.place = medianPlace(stop)
	for _, s := range stop {
		e.centre.cell = max(e.centre.cell, s.cell)
	}
	return e, true
}

// trim gives the change anew where the filter let a slow drift begin long before the unit left the stop, or end long after it
// came: from when it was last near the stop and first clearly away, back to the stop at that speed.
func (e edge) trim() float64 {
	const near, late, most = 15, 120, 60 // m, s, s
	i, j := e.around()
	if e.towards < 0 {
		i, j = j, i
	}
	last := e.best
	for ; e.inside(j) && e.medianOff(j) < jitter; j += e.towards {
		if e.medianOff(j) < near {
			last = e.looks[j].at
		}
	}
	wait := (last - e.best) * float64(e.towards)
	if !e.inside(j) || wait < late {
		return e.best
	}
	speed := (e.medianOff(j) - near) / math.Abs(e.looks[j].at-last)
	return e.best + float64(e.towards)*(wait-min(near/speed, most))
}

// medianOff gives how far the middle of look j and its neighbours is from the stop.
func (e edge) medianOff(j int) float64 {
	three := e.looks[max(j-1, 0):min(j+2, len(e.looks))]
	return medianPlace(three).Sub(e.centre.place).Length()
}

// pause gives the stretch between the two looks around the change.
func (e edge) pause() moment {
	i, j := e.around()
	return moment{e.looks[i].at, e.best, e.looks[j].at}
}

// around gives the looks before and after the change in order of time.
func (e edge) around() (before, after int) {
	after = trail{looks: e.looks}.after(e.best)
	return max(after-1, 0), min(after, len(e.looks)-1)
}

// close gives the bounds on a track: the place is known to about 15 m, which at the speed of leaving takes a certain time,
// plus a step. A pause of the track at the change belongs to the bounds.
func (e edge) close() moment {
	const place, step, stretch = 15, 10, 60
	away := trail{looks: e.looks}.placeAt(e.best + float64(e.towards)*stretch)
	speed := max(away.Sub(e.centre.place).Length()/stretch, 0.13)
	half := place/speed + step
	m := e.pause()
	return moment{min(m.earliest, e.best-half), e.best, max(m.latest, e.best+half)}
}

// wide gives the bounds between beacons: from one look before the last that is surely at the stop to the first that is surely
// away from it.
func (e edge) wide() moment {
	reach := tolerance(e.centre.cell)
	i, j := e.around()
	at, away := i, j // from the stop outward
	if e.towards < 0 {
		at, away = j, i
	}
	for e.inside(away) && e.off(away) < reach {
		away += e.towards
	}
	for e.inside(at) && e.off(at) > reach/2 {
		at -= e.towards
	}
	if e.inside(at - e.towards) {
		at -= e.towards
	}
	near, far := e.at(at), e.at(away)
	return moment{min(near, far, e.best), e.best, max(near, far, e.best)}
}

func (e edge) inside(i int) bool { return i >= 0 && i < len(e.looks) }

// off gives how far look i is from the stop.
func (e edge) off(i int) float64 { return e.looks[i].place.Sub(e.centre.place).Length() }

// at gives the time of look i, that of the nearest one beyond the ends.
func (e edge) at(i int) float64 { return e.looks[min(max(i, 0), len(e.looks)-1)].at }

// tolerance gives how far (m) two fixes of one place may lie apart: 3.5 standard deviations of two errors of 6 m and two
// roundings to a cell of the given size.
func tolerance(cell float64) float64 { return 3.5 * math.Sqrt(2*6*6+cell*cell/6) }
