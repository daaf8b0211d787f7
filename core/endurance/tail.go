package endurance

import (
	"math"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
)

// Restarts at the end of life: at low voltage a radio may fall over at every key-up and start again, some times in a few
// minutes; then the cells recover and one more packet comes an hour later.
const (
	leastLife      = 10      // beacons that show how the unit beacons
	mostAfterlife  = 20      // transmissions
	mostRestarts   = 500     // transmissions that say themselves that the unit had started again
	restartStretch = 30 * 60 // s from the first restart to the last of the cluster
	samePlace      = 100.0   // m
)

// afterlife gives the transmissions at the end of the run that came after useful life: a cluster of at least two beacons
// much too early, or a few off the schedule's phase after a silence that loss cannot explain. Only for a unit at rest.
func (d *draft) afterlife() []int {
	if len(d.beacons) < leastLife || d.dropped || d.placesNeverReturn() {
		return nil
	}
	if !d.restartLeg() {
		return d.spentTail()
	}
	legs := d.legs
	d.follow(withoutLast(legs))
	tail := d.spentTail()
	if len(tail) == 0 {
		d.follow(legs)
	}
	return tail
}

// placeless gives the last transmissions when they say that their place is an old one or none, and those before them did
// not: a unit that starts again has to find its place anew.
func (d *draft) placeless() []int {
	t := d.subject.Unit.Transmissions
	lost := func(i int) bool { return t[i].LostFix() }
	first := len(d.Transmissions)
	for first > 0 && lost(d.Transmissions[first-1]) {
		first--
	}
	if tail := len(d.Transmissions) - first; first < leastLife || tail == 0 || tail > mostRestarts {
		return nil
	}
	if slices.ContainsFunc(d.Transmissions[first-leastLife:first], lost) {
		return nil
	}
	return d.Transmissions[first:]
}

// restarts tells whether transmissions without a place, which follow the useful life under study, are those of a unit at
// rest that started again: some come quicker than the unit ever beacons, two of them came off phase, or the first did after a
// silence that loss cannot explain. A unit that lost sight of the sky and beacons on, on its due times, did not. Where a few
// packets tell neither it is doubted.
func (d *draft) restarts(tail []int) (restarted, doubted bool) {
	t := d.subject.Unit.Transmissions
	if d.subject.Timeline.StateAt(d.LastHeard) == motion.Moving {
		return false, false
	}
	least := d.tooQuick(d.shortestStep(len(d.beacons)))
	previous, steady, strays := d.LastHeard, 0, 0
	quick := !countable(d.Schedule) && d.hurried(tail)
	for i, x := range tail {
		_, off := d.silence(d.LastHeard, t[x].At)
		if t[x].At.Sub(previous).Seconds() < least {
			quick = true
		} else if !off && steady == i {
			steady++
		}
		if off {
			strays++
		}
		previous = t[x].At
	}
	few := len(tail) <= mostAfterlife && d.clustered(tail)
	if !countable(d.Schedule) {
		return quick && steady <= 1, few
	}
	if steady > 1 { // of a loop, as many may have met due times by chance
		return false, few && quick
	}
	restarted = quick || strays >= 2 || d.unexplained(d.LastHeard, t[tail[0]].At)
	return restarted, few && strays > 0
}

// clustered tells whether all transmissions but one late packet stand within the stretch of one cluster.
func (d *draft) clustered(tail []int) bool {
	t := d.subject.Unit.Transmissions
	last := max(0, len(tail)-2)
	return t[tail[last]].At.Sub(t[tail[0]].At).Seconds() <= restartStretch
}

// hurried tells whether at least three gaps between the transmissions all lie below the lower quarter of those before them,
// which one of 64 does by chance.
func (d *draft) hurried(tail []int) bool {
	const fewest, rank = 3, 4
	gaps := gapsOf(d.walk.times(d.beacons))
	slices.Sort(gaps)
	quick := 0
	for _, g := range gapsOf(d.walk.times(tail)) {
		if g < restartStretch/2 && len(gaps) > 0 {
			if g > gaps[len(gaps)/rank] {
				return false
			}
			quick++
		}
	}
	return quick >= fewest
}

func gapsOf(times []clock.Instant) []float64 {
	var gaps []float64
	for i := 1; i < len(times); i++ {
		gaps = append(gaps, times[i].Sub(times[i-1]).Seconds())
	}
	return gaps
}

// unexplained tells whether a beacon came off phase after a silence that loss cannot explain.
func (d *draft) unexplained(last, at clock.Instant) bool {
	_, off := d.silence(last, at)
	return off && d.fellSilent(last, at)
}

// fellSilent tells whether loss cannot explain the silence between two beacons.
func (d *draft) fellSilent(last, at clock.Instant) bool {
	lost, _ := d.silence(last, at)
	if lost < 2 {
		return false
	}
	kept := slices.IndexFunc(d.beats, func(b beat) bool { return b.due > last })
	if kept < 0 {
		kept = len(d.beats)
	}
	l := d.lossOver(d.counted(d.beats[:kept]), nil)
	return l.excluded(lost)
}

// spentTail looks for such transmissions under the schedules as they stand.
func (d *draft) spentTail() []int {
	first := len(d.beacons)
	first = min(first, d.latePackets(first))
	first = min(first, d.restartLoop(first), d.lateAfterLoop(first))
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
	for i := max(leastLife, until-3); i < until; i++ {
		if d.unexplained(d.at(i-1), d.at(i)) {
			return i
		}
	}
	return until
}

// lateAfterLoop gives the place in beacons of the first restart of a cluster after which up to three last ones came late,
// whatever their phase; until when there is none.
func (d *draft) lateAfterLoop(until int) int {
	if !countable(d.Schedule) {
		return until
	}
	for i := max(leastLife, until-3); i < until; i++ {
		if loop := d.restartLoop(i); loop < i && d.fellSilent(d.at(i-1), d.at(i)) {
			return loop
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

// restartLoop gives the place in beacons of the first restart of a cluster that ends at until: gaps clearly below the interval
// in force before them. The beacon before them opens the cluster when it lies off the schedule's phase. At least two signs are
// asked for: gaps below the shortest interval that the schedule has had in this run, or off its due times, since a schedule
// that movement quickens may have begun anew by itself. Beacons sent by hand among steady ones, after which the schedule goes
// on in phase, are none.
func (d *draft) restartLoop(until int) int {
	first, signs := d.cluster(until)
	if signs < 2 || !d.startedAnew(first, until) {
		return until
	}
	return first
}

// mayBeLoop gives the transmissions of a cluster at the end that shows all signs of a loop of restarts but that its last one stands
// on a due time of its first, as one of a few does by chance: it may be that, or beacons sent by hand among steady ones.
func (d *draft) mayBeLoop() []int {
	n := len(d.beacons)
	if n < leastLife || d.dropped || !countable(d.Schedule) {
		return nil
	}
	first, signs := d.cluster(n)
	if signs < 2 || first < leastLife || !d.atRest(first-1, n-1) {
		return nil
	}
	from := slices.Index(d.Transmissions, d.beacons[first])
	if len(d.Transmissions)-from > mostAfterlife {
		return nil
	}
	return d.Transmissions[from:]
}

// cluster gives the place in beacons of the first of a cluster that ends at until, and its signs of restarts.
func (d *draft) cluster(until int) (first, signs int) {
	least, inForce := d.tooQuick(d.shortestStep(until)), d.tooQuick(d.stepInForce(until))
	first = until
	for i := until - 1; i > 0; i-- {
		gap := d.at(i).Sub(d.at(i - 1)).Seconds()
		if gap >= max(least, inForce) || d.at(until-1).Sub(d.at(i)).Seconds() > restartStretch {
			break
		}
		first = i
		if _, off := d.silence(d.at(i-1), d.at(i)); off || gap < least {
			signs++
		}
	}
	if signs > 0 && first > 1 {
		if _, off := d.silence(d.at(first-2), d.at(first-1)); off {
			first--
			signs++
		}
	}
	return first, signs
}

// stepInForce gives the interval in seconds that a unit at rest kept to before a cluster that ends at until; 0 when it moved.
func (d *draft) stepInForce(until int) float64 {
	before := until - 1
	for before > 0 && d.at(until-1).Sub(d.at(before)).Seconds() <= restartStretch {
		before--
	}
	if !countable(d.Schedule) || !d.atRest(before, until-1) {
		return 0
	}
	return d.stepAt(d.at(before))
}

// startedAnew tells whether the beacons of a cluster show that the unit had started again: it lost its place or its running
// number, or its clock does not go on in phase.
func (d *draft) startedAnew(first, until int) bool {
	if first == 0 {
		return false
	}
	t := d.subject.Unit.Transmissions
	before := &t[d.beacons[first-1]]
	for _, b := range d.beacons[first:until] {
		after := &t[b]
		if after.LostFix() && !before.LostFix() || before.Sequence.Known() && after.Sequence.Known() && after.Sequence.No <= 2 && before.Sequence.No > 2 {
			return true
		}
	}
	_, off := d.silence(before.At, d.at(until-1))
	return off
}

// tooQuick gives the gap in seconds that is clearly below an interval.
func (d *draft) tooQuick(least float64) float64 {
	return least - max(0.15*least, 6*d.Schedule.Jitter, d.resolution.Seconds()+2)
}

// shortestStep gives the shortest interval in seconds that the unit keeps to: as its schedule has it, but not above what it
// was heard to keep to in one of ten gaps.
func (d *draft) shortestStep(until int) float64 {
	var gaps []float64
	least := math.Inf(1)
	for i := range until {
		if s := d.stepAt(d.at(i)); s > 0 {
			least = min(least, s)
		}
		if i > 0 {
			gaps = append(gaps, d.at(i).Sub(d.at(i-1)).Seconds())
		}
	}
	if len(gaps) == 0 {
		return 0
	}
	slices.Sort(gaps)
	return min(least, gaps[len(gaps)/10])
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
