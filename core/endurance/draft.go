package endurance

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
)

// A draft is a run under work, with what its bounds rest on.
type draft struct {
	Run
	subject    *Subject
	watch      Watch
	charge     charge
	notes      NotedRun
	habit      FirstBeacon // as stated, or as learned from the unit's other runs
	legs       []leg
	steps      map[clock.Instant]float64 // by beacon, the interval that the legs expect after it; asked for again and again
	walk       walk                      // of the last leg
	beacons    []int                     // transmissions that the schedule spaces, useful life only
	beats      []beat                    // due times from the first of them to the last
	resolution time.Duration             // of the stamps
	ears       []ear                     // receivers that heard the last part of the run
	listened   spans                     // when they are proven to have listened
	loss       loss                      // that the end goes by
	alive      clock.Instant             // last moment at which the unit is known to have been on
	after      law                       // of falling silent after alive
	before     law                       // of the first beacon sent before the first heard; empty when power-on was noted
	unsure     []clock.Instant           // due times while it slept when parked, or in absences, at which it may have sent unheard
	absences   []absence
	astray     []beat            // beats with those of the absences among them
	woken      []clock.Instant   // first beacons after the unit had slept when parked
	dropped    bool              // the source drops repeats: at rest the unit cannot be counted
	spread     estimate.Estimate // of such a unit, Missed as if it had been on the air all the time
	doubted    []int             // last transmissions that may be afterlife, but need not be
	silent     int               // due times after alive listened for in vain
}

// newDraft fits the schedule of one charge and walks it.
func newDraft(s *Subject, w Watch, c charge) *draft {
	d := &draft{subject: s, watch: w, charge: c, habit: s.Notes.FirstBeacon}
	d.Label, d.Noted, d.Basis, d.Flags = c.label, c.note, c.basis, c.flags
	d.Events = c.events
	d.FirstHeard, d.LastHeard, d.alive = clock.None, clock.None, clock.None
	d.notes.Exclude = c.exclude
	if c.note >= 0 {
		d.notes = s.Notes.Runs[c.note]
	}
	d.Transmissions = slices.DeleteFunc(slices.Clone(c.transmissions), func(t int) bool {
		return spans(d.notes.Exclude).joined(0).cover(s.Unit.Transmissions[t].At)
	})
	if len(d.Transmissions) == 0 {
		return d
	}
	d.resolution = w.resolution(s.Unit, d.Transmissions)
	d.dropped = d.rested() && !slices.ContainsFunc(ears(s.Unit, d.Transmissions), func(e ear) bool { return !slices.Contains(w.Unrepeated, e.file) })
	d.settle()
	d.hear()
	return d
}

// settle parts useful life from what came after it.
func (d *draft) settle() {
	tail, doubted := d.placeless(), false
	if len(tail) > 0 {
		d.live(d.Transmissions[:len(d.Transmissions)-len(tail)])
		restarted := false
		if restarted, doubted = d.restarts(tail); restarted {
			d.die(tail)
			return
		}
	}
	d.live(d.Transmissions)
	if spent := d.afterlife(); len(spent) > 0 {
		d.live(d.Transmissions[:len(d.Transmissions)-len(spent)])
		d.die(spent)
		if doubted && len(tail) > len(spent) { // those before the loop have lost the place already
			d.doubt(tail[:len(tail)-len(spent)])
		}
		return
	}
	if !doubted {
		tail = d.mayBeLoop()
	}
	if doubted || len(tail) > 0 {
		d.doubt(tail)
	}
}

// doubt takes the last transmissions for life or afterlife.
func (d *draft) doubt(tail []int) {
	d.doubted = tail
	d.flag(FlagMayBeAfterlife, float64(len(tail)), d.subject.Unit.Transmissions[tail[0]].At)
}

// die takes the last transmissions for afterlife.
func (d *draft) die(tail []int) {
	d.Afterlife = tail
	d.flag(FlagAfterlife, float64(len(tail)), d.subject.Unit.Transmissions[tail[0]].At)
}

// live takes the transmissions of useful life: their schedules and due times.
func (d *draft) live(transmissions []int) {
	u := d.subject.Unit
	d.FirstHeard = u.Transmissions[transmissions[0]].At
	d.LastHeard = u.Transmissions[transmissions[len(transmissions)-1]].At
	d.alive = d.LastHeard
	d.beacons = d.spaced(transmissions)
	if d.dropped {
		d.beacons = d.underWay(d.beacons)
	}
	var legs []leg
	for _, beacons := range d.bySettings() {
		legs = append(legs, d.parted(beacons)...)
	}
	d.follow(legs)
}

// spaced gives those of the transmissions that the schedule spaces: position packets, or all when there are none.
func (d *draft) spaced(transmissions []int) []int {
	var beacons []int
	for _, t := range transmissions {
		if d.subject.Unit.Transmissions[t].Beacon {
			beacons = append(beacons, t)
		}
	}
	if len(beacons) == 0 {
		return transmissions
	}
	return beacons
}

// hear finds who listened, what share was heard, and the law of falling silent.
func (d *draft) hear() {
	u := d.subject.Unit
	d.Deaf = d.watch.deaf(ears(u, d.Transmissions), d.walk.times(d.Transmissions))
	d.ears = ears(u, d.lastPart())
	d.sleep()
	d.absent()
	d.listened = d.watch.union(d.ears)
	if next := d.charge.until; next != nil {
		d.listened = d.listened.before(next.At)
	}
	all := d.lossOver(d.counted(d.beats), nil)
	if d.Missed.Known && !d.dropped {
		d.ShareHeard = d.shareHeard(all)
	}
	if all.bursts {
		d.flag(FlagBursts, all.next(1), clock.None)
	}
	d.loss = d.lossAtEnd()
	if on := d.lastSeenOn(); on > d.alive {
		d.alive = on
	}
	if len(d.beats) > 0 {
		d.after, d.silent = d.walk.ahead(d.beats[len(d.beats)-1].due, d.alive, d.listened, d.loss)
	}
}

// shareHeard gives the share heard, with limits that also hold what is not sure about the number missed.
func (d *draft) shareHeard(all loss) estimate.Estimate {
	e, n := all.share(), float64(all.heard+all.missed)
	if !e.Known || !d.Missed.Known {
		return e
	}
	more, fewer := d.Missed.High-d.Missed.Best, d.Missed.Best-d.Missed.Low
	for _, a := range d.absences {
		more -= float64(a.due)
	}
	more = max(0, more)
	return estimate.Of(e.Low*n/(n+more), e.Best, min(1, e.High*n/max(float64(all.heard), n-fewer)))
}

// lastPart gives the transmissions that tell which receivers mattered at the end: the last ten, or the last fifth.
func (d *draft) lastPart() []int {
	n := len(d.beacons)
	return d.beacons[n-min(n, max(10, n/5)):]
}

// counted leaves out the due times in which nobody listened or that were excluded, and the first, which is heard by choice.
func (d *draft) counted(beats []beat) []beat {
	out := make([]beat, 0, len(beats))
	skip := append(slices.Clone(spans(d.Deaf)), d.notes.Exclude...).joined(0)
	for i, b := range beats {
		if i > 0 && !(skip.cover(b.due) && !b.heard()) {
			out = append(out, b)
		}
	}
	return out
}

// lossOver counts beats; with receivers given, a beat is heard when one of those heard it.
func (d *draft) lossOver(beats []beat, by []ear) loss {
	heard := make([]bool, len(beats))
	for i, b := range beats {
		heard[i] = d.heardBy(b, by)
	}
	return lossOf(heard)
}

// heardBy tells whether a beat was heard, by one of the receivers when some are given.
func (d *draft) heardBy(b beat, by []ear) bool {
	return b.heard() && (by == nil || slices.ContainsFunc(d.subject.Unit.Transmissions[b.sent].Heard, func(r *evidence.Reception) bool {
		return slices.Contains(by, earOf(r))
	}))
}

// lossAtEnd gives the loss that due times after the last packet go by: of the receivers that went on listening, over the
// stretch at the last place, or over its last part when that was heard worse.
func (d *draft) lossAtEnd() loss {
	var on []ear
	for _, e := range d.ears {
		if d.watch.listening(e).end() > d.LastHeard {
			on = append(on, e)
		}
	}
	if len(on) == len(d.ears) {
		on = nil
	}
	beats := d.counted(d.astray) // what fell silent for long once may do so again
	whole := d.lossOver(beats, on)
	if tail, sinking := d.sunk(d.counted(d.beats), on); sinking {
		d.flag(FlagSinking, float64(tail.heard)/float64(tail.heard+tail.missed), clock.None)
		whole.tail = &tail
	}
	heard := make([]bool, len(beats))
	for i, b := range beats {
		heard[i] = d.heardBy(b, on)
	}
	whole.fading(heard)
	return whole
}

// sunk compares the last ten due times, or the last fifth, with those before.
func (d *draft) sunk(beats []beat, on []ear) (tail loss, sinking bool) {
	n := len(beats)
	size := min(n, max(10, n/5))
	tail = d.lossOver(beats[n-size:], on)
	rest := d.lossOver(beats[:n-size], on)
	return tail, estimate.Fisher(tail.heard, tail.heard+tail.missed, rest.heard, rest.heard+rest.missed) < sure
}

// lastSeenOn gives the last moment at which a person or the unit's own log saw it on, within this charge.
func (d *draft) lastSeenOn() clock.Instant {
	on := clock.None
	for _, e := range d.Events {
		if e.What == SeenOn || e.What == LowBattery || e.What == SettingsChanged {
			on = max(on, e.earliest())
		}
	}
	for _, s := range d.subject.Alive {
		if s.Start <= d.LastHeard {
			on = max(on, s.End)
		}
	}
	return on
}

func (d *draft) flag(code string, number float64, at clock.Instant) {
	d.Flags = append(d.Flags, Flag{code, number, at})
}

// moving tells whether the unit moved at its last packet.
func (d *draft) moving() bool {
	at := d.LastHeard
	if s := d.subject.Timeline.StateAt(at); s != motion.Unknown {
		return s == motion.Moving
	}
	last := d.beacons[len(d.beacons)-1]
	fix := d.subject.Unit.Transmissions[last].Fix
	return fix != nil && !math.IsNaN(float64(fix.Speed)) && fix.Speed >= walkingPace
}

// walkingPace in m/s: faster than the noise of a fix at rest.
const walkingPace = 1.5
