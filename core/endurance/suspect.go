package endurance

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/schedule"
)

// Signs that something happened which nobody noted.
const (
	SignPhase    = "phase"    // the schedule's clock began anew
	SignSequence = "sequence" // the running numbers of telemetry began anew
	SignVoltage  = "voltage"  // the voltage jumped up
	SignSchedule = "schedule" // another schedule from then on
	SignStart    = "start"    // the unit looked for its place as after power-on
	SignAbsence  = "absence"  // it fell silent for longer than its losses explain, and came back
)

const voltageJump = 0.06 // of the voltage; a pack under the same load never rises by so much

// suspect proposes events that the packets of useful life suggest. They change no bounds, but a pack may have been changed at
// any restart, and a run over two charges must not be ranked.
func (d *draft) suspect() {
	if len(d.beacons) < 8 {
		return
	}
	for _, l := range d.legs {
		if l.suspected {
			d.Events = append(d.Events, Event{Moment: Moment{At: l.from()}, What: SettingsChanged, Basis: Suspected, Sign: SignSchedule})
			d.flag(FlagChanged, 0, l.from())
		}
	}
	d.propose(d.sequenceRestarts(), PowerCycled, SignSequence)
	d.propose(d.voltageJumps(), PackChanged, SignVoltage)
	if !d.dropped {
		d.propose(d.lostPlaces(), PowerCycled, SignStart)
		d.propose(d.phaseBreaks(), PowerCycled, SignPhase)
	}
	d.propose(d.returns(), PowerCycled, SignAbsence)
	sort.SliceStable(d.Events, func(i, j int) bool { return d.Events[i].At < d.Events[j].At })
	d.offBefore()
}

// offBefore lowers the least number missed by the beacons due in the silences before suspected restarts: the unit may have been
// off by then.
func (d *draft) offBefore() {
	if !d.Missed.Known {
		return
	}
	for _, e := range d.Events {
		if e.Basis != Suspected || e.What == SettingsChanged {
			continue
		}
		i, _ := slices.BinarySearchFunc(d.beats, e.At, func(b beat, at clock.Instant) int { return cmp.Compare(b.due, at) })
		for ; i > 0 && !d.beats[i-1].heard(); i-- {
			d.Missed.Low = max(0, d.Missed.Low-1)
		}
	}
}

// propose adds suspected events, but none within two intervals of one that is known; other settings may have come with
// another pack.
func (d *draft) propose(at []clock.Instant, what What, sign string) {
	reach := 2 * d.Schedule.Interval.Best
	for _, t := range at {
		if slices.ContainsFunc(d.Events, func(e Event) bool {
			return e.Sign != SignSchedule && math.Abs(e.At.Sub(t).Seconds()) <= max(reach, 60)
		}) {
			continue
		}
		d.Events = append(d.Events, Event{Moment: Moment{At: t}, What: what, Basis: Suspected, Sign: sign})
		if sign != SignAbsence { // which has a flag of its own, and shows no start
			d.flag(FlagSwap, 0, t)
		}
	}
}

// sequenceRestarts gives the first packets whose running number fell back to the begin, elsewhere than at its wrap.
func (d *draft) sequenceRestarts() []clock.Instant {
	var found []clock.Instant
	t := d.subject.Unit.Transmissions
	previous, most := -1, 0
	for _, i := range d.useful() {
		most = max(most, t[i].Sequence.No)
	}
	for _, i := range d.useful() {
		s := t[i].Sequence
		if !s.Known() {
			continue
		}
		if previous >= 0 {
			was := t[previous].Sequence
			if s.Wrap == was.Wrap && s.No <= 2 && was.No > 2+s.No && !ranOver(was.No, s.No, most) {
				found = append(found, t[i].At)
			}
		}
		previous = i
	}
	return found
}

// ranOver tells whether numbers may have gone on over their end: radios count to 255, to 999 or, in comments, to 8280, whatever
// the field holds. None counts beyond most.
func ranOver(was, now, most int) bool {
	const few = 12 // numbers between two packets heard
	return slices.ContainsFunc([]int{256, 1000, 8281}, func(wrap int) bool { return most < wrap && now+wrap-was <= few })
}

// lostPlaces gives the beacons of a unit at rest at which it had no current place while it had one for long before and soon
// again: it was started anew, when that is off phase or under another schedule than before, or when it hardly ever happened.
func (d *draft) lostPlaces() []clock.Instant {
	const before, soon = 5, 3
	const long, seldom = 20, 2
	t := d.subject.Unit.Transmissions
	placed := func(b int) bool { return !t[b].LostFix() }
	var found []clock.Instant
	episodes := 0
	for i := before; i < len(d.beacons); i++ {
		if !placed(d.beacons[i]) && placed(d.beacons[i-1]) {
			episodes++
		}
	}
	for i := before; i+soon < len(d.beacons); i++ {
		if placed(d.beacons[i]) || !placed(d.beacons[i-1]) || slices.ContainsFunc(d.beacons[i-before:i], func(b int) bool { return !placed(b) }) {
			continue
		}
		_, off := d.silence(d.at(i-1), d.at(i))
		changed := slices.ContainsFunc(d.legs, func(l leg) bool {
			return l.suspected && l.from().Sub(d.at(i)).Abs() <= clock.Seconds(2*max(d.stepAt(d.at(i-1)), d.stepAt(d.at(i))))
		})
		lone := episodes <= seldom && i >= long && !slices.ContainsFunc(d.beacons[i-long:i], func(b int) bool { return !placed(b) })
		if (off || changed || lone) && d.atRest(i-1, i) && slices.ContainsFunc(d.beacons[i+1:i+1+soon], placed) {
			found = append(found, d.at(i))
		}
	}
	return found
}

// useful gives the transmissions of useful life.
func (d *draft) useful() []int { return d.Transmissions[:len(d.Transmissions)-len(d.Afterlife)] }

// voltageJumps gives the packets from which on the median of three voltages stands clearly above the median of the three
// before.
func (d *draft) voltageJumps() []clock.Instant {
	var told []int
	t := d.subject.Unit.Transmissions
	for _, i := range d.useful() {
		if !math.IsNaN(t[i].Volts) {
			told = append(told, i)
		}
	}
	var found []clock.Instant
	for i := 3; i+3 <= len(told); i++ {
		before := middle(t[told[i-3]].Volts, t[told[i-2]].Volts, t[told[i-1]].Volts)
		after := middle(t[told[i]].Volts, t[told[i+1]].Volts, t[told[i+2]].Volts)
		if before > 0 && after > before*(1+voltageJump) && t[told[i]].Volts > before*(1+voltageJump) {
			found = append(found, t[told[i]].At)
			i += 2
		}
	}
	return found
}

func middle(a, b, c float64) float64 { return max(min(a, b), min(max(a, b), c)) }

// phaseBreaks gives the beacons at which a schedule began anew off its own phase, other than by waking.
func (d *draft) phaseBreaks() []clock.Instant {
	var found []clock.Instant
	for _, l := range d.legs {
		for _, b := range schedule.PhaseBreaks(l.walk.schedule, l.walk.timeline) {
			if !slices.Contains(d.woken, b.After) {
				found = append(found, b.After)
			}
		}
	}
	return found
}

// returns flags the absences and gives the first beacons after them.
func (d *draft) returns() []clock.Instant {
	var found []clock.Instant
	for _, a := range d.absences {
		code := FlagAbsence
		if a.unheeded {
			code = FlagUnheeded
		}
		d.flag(code, a.to.Sub(a.from).Seconds(), a.from)
		found = append(found, a.to)
	}
	return found
}
