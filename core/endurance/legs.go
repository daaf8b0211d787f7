package endurance

import (
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
)

// A leg is the part of a run that has one schedule. One that nobody noted begins with the last beacon of the leg before.
type leg struct {
	beacons   []int
	walk      walk
	suspected bool // nobody noted the change with which it begins
}

func (l *leg) from() clock.Instant { return l.walk.unit.Transmissions[l.beacons[0]].At }
func (l leg) until() clock.Instant {
	return l.walk.unit.Transmissions[l.beacons[len(l.beacons)-1]].At
}

// follow walks the due times of the legs one after the other; the last is the one that the end goes by.
func (d *draft) follow(legs []leg) {
	d.legs, d.beats, d.Missed = legs, nil, estimate.Exact(0)
	counted := true
	for _, l := range legs {
		beats, missed := l.walk.beats(l.beacons)
		if l.suspected {
			beats = beats[1:]
		}
		d.beats = append(d.beats, beats...)
		d.Missed = estimate.Of(d.Missed.Low+missed.Low, d.Missed.Best+missed.Best, d.Missed.High+missed.High)
		counted = counted && missed.Known
	}
	if !counted {
		d.Missed = estimate.Unknown
	}
	d.walk = legs[len(legs)-1].walk
	d.Schedule = d.walk.schedule
	d.steps = map[clock.Instant]float64{}
	if d.dropped {
		d.spread, d.Missed = d.Missed, estimate.Unknown
	}
}

// leastLeg is how many beacons show a schedule of their own.
const leastLeg = 6

// bySettings splits the beacons where somebody noted that settings were changed, unless too few are left on one side.
func (d *draft) bySettings() [][]int {
	rest := d.beacons
	var parts [][]int
	for _, e := range d.Events {
		if e.What != SettingsChanged || e.Basis != Noted {
			continue
		}
		n := slices.IndexFunc(rest, func(b int) bool { return d.subject.Unit.Transmissions[b].At >= e.At })
		if n >= leastLeg && len(rest)-n >= leastLeg {
			parts, rest = append(parts, rest[:n]), rest[n:]
		}
	}
	return append(parts, rest)
}

// parted splits beacons where their schedule changed though nobody noted it.
func (d *draft) parted(beacons []int) []leg {
	finds := d.subject.schedules()
	w := walk{unit: d.subject.Unit, timeline: d.subject.Timeline, schedules: finds}
	times := w.times(beacons)
	if d.dropped {
		w.schedule = d.shown(finds.Fit(times, d.resolution, d.subject.Timeline))
		return []leg{{beacons, w, false}}
	}
	segments := finds.Segments(times, d.resolution, d.subject.Timeline)
	if len(segments) == 0 {
		return []leg{{beacons, w, false}}
	}
	var legs []leg
	for i, s := range segments {
		if i > 0 && d.turnsAt(s.From, segments[i-1].Schedule, s.Schedule) {
			w.schedule = finds.Fit(times, d.resolution, d.subject.Timeline)
			return []leg{{beacons, w, false}}
		}
		w.schedule = s.Schedule
		from, _ := slices.BinarySearch(times, s.From)
		until, _ := slices.BinarySearch(times, s.To+1)
		legs = append(legs, leg{beacons[from:until], w, i > 0})
	}
	return legs
}

// turnReach is within how many intervals of the begin or the end of a movement an interval that changes is a matter of the
// movement, not of the settings.
const turnReach = 3

// turnsAt tells whether the unit set off or stopped about a moment at which its schedule seems to change.
func (d *draft) turnsAt(at clock.Instant, before, after schedule.Schedule) bool {
	longest := max(before.Interval.Best, after.Interval.Best, before.Longest, after.Longest, before.Slow, after.Slow)
	reach := clock.Seconds(turnReach * longest)
	return slices.ContainsFunc(d.subject.Timeline.Periods, func(p motion.Period) bool {
		return p.State == motion.Moving && (p.Start.Best.Sub(at).Abs() <= reach || p.End.Best.Sub(at).Abs() <= reach)
	})
}

// stepAt gives the interval in seconds that the schedule in force expects after a beacon.
func (d *draft) stepAt(t clock.Instant) float64 {
	if s, known := d.steps[t]; known {
		return s
	}
	w := &d.walk
	for i := range d.legs {
		if l := &d.legs[i]; l.from() <= t {
			w = &l.walk
		}
	}
	d.steps[t] = w.step(t)
	return d.steps[t]
}

// restartLeg tells whether the last leg may be no change of settings but the restarts of a unit whose cells are empty: a few
// beacons, in quick succession, at the very end.
func (d *draft) restartLeg() bool {
	n := len(d.legs)
	if n < 2 || !d.legs[n-1].suspected {
		return false
	}
	last, before := d.legs[n-1], d.legs[n-2]
	return len(last.beacons) <= mostAfterlife && last.until().Sub(last.from()).Seconds() <= restartStretch &&
		last.walk.step(last.from()) < before.walk.step(last.from())
}

// withoutLast gives the legs with the beacons of the last one under the schedule before.
func withoutLast(legs []leg) []leg {
	n := len(legs)
	joined := slices.Clone(legs[:n-1])
	joined[n-2].beacons = slices.Concat(legs[n-2].beacons, legs[n-1].beacons[1:])
	return joined
}

// part describes a leg to the caller.
func (l leg) part() Part {
	return Part{From: l.from(), Until: l.until(), Schedule: l.walk.schedule, Beacons: l.beacons}
}
