package endurance

import (
	"math"
	"slices"

	"lastbeacon/core/clock"
)

// A Now is how a run stands that may still be going on, at the end of the listening: the last sign of life of its receivers,
// whatever a clock on the wall says. It describes a test and raises no alarm.
type Now struct {
	ListenedUntil clock.Instant
	SinceHeard    float64       // s from the last packet to ListenedUntil
	DueMissed     int           // due beacons listened for in vain since the last packet; -1 when no schedule tells
	Chance        float64       // that a unit that still sends is silent that long by loss alone, 0 to 1; NaN when not known
	SlowingSince  clock.Instant // since when the interval has been longer than its base; clock.None when it has not
}

// nowSteps is how many intervals after its last packet a run may still be going on.
const nowSteps = 5

// now describes the run as it stands; nil when it is over, or has been silent for long.
func (d *draft) now() *Now {
	if d.charge.until != nil || d.State == Stopped || d.State == NotedEnd || len(d.Afterlife) > 0 || len(d.beats) == 0 {
		return nil
	}
	until := max(d.listened.end(), d.LastHeard)
	since := until.Sub(d.LastHeard).Seconds()
	if d.State != OnAirAtLogEnd && since > nowSteps*d.step() {
		return nil
	}
	n := &Now{ListenedUntil: until, SinceHeard: since, DueMissed: -1, Chance: math.NaN(), SlowingSince: clock.None}
	n.SlowingSince, _ = d.Schedule.SlowingSince()
	if !countable(d.Schedule) {
		return n
	}
	_, n.DueMissed = d.walk.ahead(d.anchor(), d.LastHeard, d.listened, d.loss)
	if !d.hushed() {
		n.Chance = d.byLoss(n.DueMissed)
	}
	return n
}

// hushed tells whether silence is a habit of the unit or of the source, so that loss is not what to compare it with.
func (d *draft) hushed() bool {
	return d.sleepsNow() || slices.ContainsFunc(d.Flags, func(f Flag) bool { return f.Code == FlagUnrepeated })
}

// byLoss gives the chance that so many due beacons in a row are lost, by the last part of the run when that was heard worse:
// what an end is judged by.
func (d *draft) byLoss(missed int) float64 {
	l := &d.loss
	if l.tail != nil {
		l = l.tail
	}
	s := l.silence()
	for range missed {
		s.miss()
	}
	return s.chance()
}
