package endurance

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
)

// Silence of a parked unit may mean sleep, or a source that does not pass on what it has passed on before.

// sleep finds the silences, at one place, from which the unit moved off, and which are longer than loss explains or come back:
// it sends nothing while parked. The due times in them were hardly missed; a unit in a cellar that sends unheard looks the
// same, so the most that was missed stays.
func (d *draft) sleep() {
	if d.dropped {
		return
	}
	if !d.Missed.Known || !countable(d.Schedule) {
		d.dozed()
		return
	}
	rests := d.silentRests()
	inside := func(b beat) bool {
		return !b.heard() && slices.ContainsFunc(rests, func(r rest) bool { return d.beats[r.from].due < b.due && b.due < d.beats[r.to].due })
	}
	l := d.lossOver(d.counted(slices.DeleteFunc(slices.Clone(d.beats), inside)), nil)
	if !habitual(rests) {
		rests = slices.DeleteFunc(rests, func(r rest) bool { return !l.excluded(r.to - r.from - 1) })
	}
	for _, r := range rests {
		d.woken = append(d.woken, d.beats[r.to].due)
	}
	for _, b := range d.beats {
		if inside(b) {
			d.unsure = append(d.unsure, b.due)
		}
	}
	awake := slices.DeleteFunc(slices.Clone(d.beats), inside)
	n := float64(len(d.beats) - len(awake))
	d.beats = awake
	d.Missed = estimate.Of(max(0, d.Missed.Low-n), max(0, d.Missed.Best-n), d.Missed.High)
}

// habitual tells whether silences of ten due times or more came back.
func habitual(rests []rest) bool {
	n := 0
	for _, r := range rests {
		if r.to-r.from > longRest {
			n++
		}
	}
	return n > 1
}

const longRest = 10 // due times

// A rest is a silence at one place between two heard beats, after which the unit went on from there.
type rest struct{ from, to int }

// leastRest is how many due times in a row unheard are worth asking whether the unit slept.
const leastRest = 3

// silentRests finds the silences in which the unit may have slept.
func (d *draft) silentRests() []rest {
	var all []rest
	from := 0
	for i, b := range d.beats {
		if !b.heard() {
			continue
		}
		if i-from > leastRest && d.leftFrom(d.beats[from], b) {
			all = append(all, rest{from, i})
		}
		from = i
	}
	return all
}

// dozed looks for such silences of a unit without due times: half an hour or more, and twice as long as any other.
func (d *draft) dozed() {
	longest := leastDoze
	var naps []rest
	heard := slices.DeleteFunc(slices.Clone(d.beats), func(b beat) bool { return !b.heard() })
	for i := 1; i < len(heard); i++ {
		if d.leftFrom(heard[i-1], heard[i]) {
			naps = append(naps, rest{i - 1, i})
			continue
		}
		longest = max(longest, 2*heard[i].due.Sub(heard[i-1].due))
	}
	for _, n := range naps {
		if heard[n.to].due.Sub(heard[n.from].due) >= longest {
			d.woken = append(d.woken, heard[n.to].due)
		}
	}
}

const leastDoze = 30 * time.Minute

// sleepsNow tells whether the silence at the end may be one more sleep.
func (d *draft) sleepsNow() bool { return len(d.woken) > 0 && !d.moving() }

// leftFrom tells whether the unit stood at one place between two beacons and was off soon after the second.
func (d *draft) leftFrom(a, b beat) bool {
	t := d.subject.Unit.Transmissions
	if t[a.sent].Fix == nil || t[b.sent].Fix == nil || geo.Distance(t[a.sent].Fix.Place, t[b.sent].Fix.Place) > wakingWay {
		return false
	}
	soon := b.due.Add(clock.Seconds(2 * d.stepAt(b.due)))
	for _, p := range d.subject.Timeline.Periods {
		if p.State == motion.Moving && p.Start.Best <= soon && p.End.Best > a.due && p.Start.Best >= a.due {
			return true
		}
	}
	return false
}

// wakingWay in metres is how far a unit that movement wakes may come before it beacons.
const wakingWay = 1000.0

// A source that passes on each packet once only, or changed positions only, shows of a parked unit a row of places of which
// no two are equal, though a place sent to the metre in ten comes back all the time.
const (
	coarseCell   = 10.0 // m
	leastPlaces  = 3    // places that never came back
	leastChanges = 16   // places one after the other that were never equal
)

// unrepeated tells whether silence at the end may be that of the source: all that heard the unit last drop repeats, or the
// unit's own places since it was parked show it.
func (d *draft) unrepeated() bool {
	if d.moving() {
		return false
	}
	return d.dropped || d.placesNeverReturn()
}

// rested tells whether the unit was at rest, as far as is known, for some of the time.
func (d *draft) rested() bool {
	t := d.subject.Unit.Transmissions
	first, last := t[d.Transmissions[0]].At, t[d.Transmissions[len(d.Transmissions)-1]].At
	return !slices.ContainsFunc(d.subject.Timeline.Periods, func(p motion.Period) bool {
		return p.State == motion.Moving && p.Start.Best <= first && p.End.Best >= last
	}) || d.subject.Timeline.StateAt(last) != motion.Moving
}

// underWay gives the beacons that were sent in movement, where there are enough of them to show a schedule; else all.
func (d *draft) underWay(beacons []int) []int {
	var moved []int
	for _, b := range beacons {
		if d.subject.Timeline.StateAt(d.subject.Unit.Transmissions[b].At) == motion.Moving {
			moved = append(moved, b)
		}
	}
	if len(moved) < leastLeg {
		return beacons
	}
	return moved
}

// shown gives the schedule of a unit whose source drops repeats: as it is in movement, or none, since the source sets the times
// at rest.
func (d *draft) shown(s schedule.Schedule) schedule.Schedule {
	last := d.subject.Unit.Transmissions[d.beacons[len(d.beacons)-1]].At
	if d.subject.Timeline.StateAt(last) == motion.Moving {
		s.AsFarAsHeard = true
		return s
	}
	longest := s.Interval
	longest.Low, longest.Best = longest.High, longest.High
	return schedule.Schedule{Kind: schedule.Undecided, Interval: longest, AsFarAsHeard: true, Reason: ReasonDropped}
}

// ReasonDropped says why the schedule of a unit at rest is not decided whose source drops repeats.
const ReasonDropped = "repeats_dropped"

// placesNeverReturn tells whether the places that the unit sent since it was parked show a source that drops repeats.
func (d *draft) placesNeverReturn() bool {
	places := d.parkedPlaces()
	if len(places) < leastPlaces {
		return false
	}
	again, equal := 0, 0
	for i, p := range places {
		if slices.Contains(places[:i], p) {
			again++
		}
		if i > 0 && p == places[i-1] {
			equal++
		}
	}
	return again == 0 || equal == 0 && len(places) > leastChanges
}

// parkedPlaces gives the places that the unit sent since it last moved, where they are coarse enough to come back.
func (d *draft) parkedPlaces() []geo.Place {
	arrived := d.arrived()
	var places []geo.Place
	for _, b := range d.beacons {
		t := &d.subject.Unit.Transmissions[b]
		if t.Fix == nil || t.At < arrived {
			continue
		}
		if north, _ := t.Fix.Cell.Metres(t.Fix.Place.Lat); math.IsNaN(north) || north < coarseCell {
			return nil
		}
		places = append(places, t.Fix.Place)
	}
	return places
}
