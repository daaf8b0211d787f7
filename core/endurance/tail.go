package endurance

import (
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
)

// Restarts at the end of life: at low voltage a radio may fall over at every key-up and start again, some times in a few
// minutes; then the cells recover and one more packet comes an hour later.
const (
	mostAfterlife  = 20      // transmissions
	restartStretch = 30 * 60 // s from the first restart to the last of the cluster
	samePlace      = 100.0   // m
)

// afterlife gives the transmissions at the end of the run that came after useful life: a cluster of at least two beacons
// much too early, or a few off the schedule's phase after a silence that loss cannot explain. Only for a unit at rest.
func (d *draft) afterlife() []int {
	first := len(d.beacons)
	if late := d.latePackets(first); late < first {
		first = late
	}
	if loop := d.restartLoop(first); loop < first {
		first = loop
	}
	if first == len(d.beacons) || first == 0 {
		return nil
	}
	from := slices.Index(d.Transmissions, d.beacons[first])
	if len(d.Transmissions)-from > mostAfterlife || !d.atRest(first-1, len(d.beacons)-1) {
		return nil
	}
	return d.Transmissions[from:]
}

// latePackets gives the place in beacons of the first of up to three last ones that came off phase after a long silence;
// until when there is none.
func (d *draft) latePackets(until int) int {
	if !countable(d.Schedule) {
		return until
	}
	for i := max(4, until-3); i < until; i++ {
		before := d.at(i - 1)
		lost, off := d.silence(before, d.at(i))
		if lost < 2 || !off {
			continue
		}
		kept := slices.IndexFunc(d.beats, func(b beat) bool { return b.due > before })
		if kept < 0 {
			kept = len(d.beats)
		}
		if l := d.lossOver(d.counted(d.beats[:kept]), nil); l.excluded(lost) {
			return i
		}
	}
	return until
}

// silence counts the due times between two moments and tells whether the second lies off all of them.
func (d *draft) silence(from, to clock.Instant) (lost int, off bool) {
	last := from
	for due := range d.Schedule.Due(from, d.subject.Timeline) {
		step := due.Best.Sub(last)
		near := max(step/20, latest(due).Sub(due.Best), clock.Seconds(10), d.resolution)
		if due.Best >= to.Add(-near) || lost == mostGaps {
			return lost, due.Best > to.Add(near) && last < to.Add(-near)
		}
		lost++
		last = due.Best
	}
	return lost, false
}

// restartLoop gives the place in beacons of the first restart of a cluster that ends at until: gaps below half the shortest
// interval that the schedule has had in this run.
func (d *draft) restartLoop(until int) int {
	shortestStep := 0.0
	for _, b := range d.beacons[:until] {
		if s := d.stepAt(d.subject.Unit.Transmissions[b].At); s > 0 && (shortestStep == 0 || s < shortestStep) {
			shortestStep = s
		}
	}
	first, early := until, 0
	for i := until - 1; i > 0; i-- {
		gap := d.at(i).Sub(d.at(i - 1)).Seconds()
		if gap >= shortestStep/2 || d.at(until-1).Sub(d.at(i)).Seconds() > restartStretch {
			break
		}
		first = i
		early++
	}
	if early < 2 {
		return until
	}
	return first
}

func (d *draft) at(beacon int) clock.Instant {
	return d.subject.Unit.Transmissions[d.beacons[beacon]].At
}

// atRest tells whether the unit stayed at one place from one beacon to another, as far as packets tell.
func (d *draft) atRest(from, to int) bool {
	if d.subject.Timeline.StateAt(d.at(from)) == motion.Moving {
		return false
	}
	var here *geo.Place
	for _, b := range d.beacons[from : to+1] {
		fix := d.subject.Unit.Transmissions[b].Fix
		if fix == nil {
			continue
		}
		if here == nil {
			here = &fix.Place
		}
		if geo.Distance(*here, fix.Place) > samePlace {
			return false
		}
	}
	return true
}
