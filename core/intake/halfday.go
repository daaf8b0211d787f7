package intake

import (
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// A HalfDay says how stamps with neither AM nor PM are read. That they are of a 12-hour clock shows only where they begin again
// at one o'clock while the lines go on; the file is then read again.
type HalfDay uint8

const (
	NoHalves  HalfDay = iota // not seen so far: a 24-hour clock
	FromNoon                 // the first step from twelve to one o'clock is past noon
	FromNight                // it is past midnight
	AllHours                 // a later stamp showed a 24-hour clock after all
)

// A dial is what is followed of a 12-hour clock.
type dial struct {
	started, never bool
	shown          bool          // noon or midnight was told by the date beside it
	wall, put      clock.Instant // of the line before: as written, and in its half of the day
}

const halfDay = 12 * time.Hour

// onDial puts a wall time with a date of its own into its half of the day. The error is a *ReadAgain.
func (d *dating) onDial(s *clock.Stamp, wall clock.Instant, text []byte, line evidence.Line) (clock.Instant, error) {
	if _, dated := d.wall(s); !dated || s.Zone != clock.NoZone || d.set.HalfDay == AllHours {
		return wall, nil
	}
	h, before := &d.dial, d.dial
	other := s.Of < time.Hour || s.Of >= 13*time.Hour
	h.started, h.never, h.wall = true, h.never || other, wall
	restarts := before.started && d.step(before.wall, wall, 12, 1, -halfDay)
	switch {
	case d.set.HalfDay == NoHalves && restarts && !h.never:
		return wall, d.again(FromNoon, line)
	case d.set.HalfDay == NoHalves:
		return wall, nil
	case other:
		return wall, d.again(AllHours, line)
	case restarts:
		d.notes.add(note{code: "time.half-day", excerpt: text})
	}
	h.put = d.half(before, wall.Add(-s.Of+s.Of%halfDay), s.Of >= halfDay)
	if before.started {
		return h.put, d.checkHalf(before, line)
	}
	return h.put, nil
}

func (d *dating) again(half HalfDay, line evidence.Line) error {
	set := d.set
	set.HalfDay = half
	return &ReadAgain{Settings: set, Line: line}
}

// half picks the half of the day in which a line follows the one before; morning is its time before noon.
func (d *dating) half(before dial, morning clock.Instant, twelve bool) clock.Instant {
	late := morning.Add(halfDay)
	first := d.set.HalfDay == FromNight
	if d.backwards {
		first = !first
	} else if twelve {
		first = !first
	}
	switch {
	case !before.started && first, before.started && d.backwards && late <= before.put.Add(disorder),
		before.started && !d.backwards && morning < before.put.Add(-disorder):
		return late
	}
	return morning
}

// checkHalf looks at a step from eleven to twelve o'clock: on one day it is noon, from one day to the next midnight.
func (d *dating) checkHalf(before dial, line evidence.Line) error {
	early, late := before.put, d.dial.put
	if d.backwards {
		early, late = late, early
	}
	noon := d.step(before.wall, d.dial.wall, 11, 12, 0)
	if !noon && !d.step(before.wall, d.dial.wall, 11, 12, 2*halfDay) {
		return nil
	}
	morning := func(t clock.Instant) bool { return t.Time().Hour() < 12 }
	if morning(early) == noon && morning(late) != noon {
		d.dial.shown = true
	} else if d.set.HalfDay == FromNoon && !d.dial.shown {
		return d.again(FromNight, line)
	}
	return nil
}

// step tells whether two lines that follow one another go from one hour to another as written, within the usual time beyond
// what the dial makes of it.
func (d *dating) step(before, wall clock.Instant, from, to int, dialled time.Duration) bool {
	if d.backwards {
		before, wall = wall, before
	}
	beyond := wall.Sub(before) - dialled
	return before.Time().Hour() == from && wall.Time().Hour() == to && beyond > 0 && beyond <= min(time.Hour, max(disorder, 5*d.usual))
}
