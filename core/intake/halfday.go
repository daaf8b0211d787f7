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
	dated          bool          // the line before had a date
	shown          bool          // noon or midnight was told by the date beside it
	wall, put      clock.Instant // of the line before: as written, and in its half of the day
	seen           samples       // the first line, and the first that begins again at one o'clock
	first          string        // half of the first line
}

const halfDay = 12 * time.Hour

// onDial puts a wall time into its half of the day. Without a date of its own the wall time is that which a 24-hour clock would
// show next. The error is a *ReadAgain.
func (d *dating) onDial(s *clock.Stamp, wall clock.Instant, text []byte, line evidence.Line) (clock.Instant, error) {
	if s.Zone != clock.NoZone || d.set.HalfDay == AllHours {
		return wall, nil
	}
	h, before := &d.dial, d.dial
	other := s.Of < time.Hour || s.Of >= 13*time.Hour
	h.started, h.dated, h.never, h.wall = true, s.Date != clock.NoDate, h.never || other, wall
	skipped := halfDay // by a 24-hour clock that shows one o'clock behind twelve
	if h.dated {
		skipped = -halfDay
	}
	restarts := before.started && d.step(before.wall, wall, 12, 1, skipped)
	if !before.started || restarts && h.seen.n == 1 {
		h.seen.add(line, text)
	}
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
	if !before.started {
		h.first = "am"
		if h.put.Time().Hour() >= 12 {
			h.first = "pm"
		}
		return h.put, nil
	}
	if !h.dated {
		h.put = nearIn(halfDay, before.put, s.Of%halfDay, d.backwards)
		return h.put, nil
	}
	return h.put, d.checkHalf(before, text, line)
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
	if d.set.Half != "" {
		first = d.set.Half == "pm"
	}
	switch {
	case !before.started && first, before.started && d.backwards && late <= before.put.Add(disorder),
		before.started && !d.backwards && morning < before.put.Add(-disorder):
		return late
	}
	return morning
}

// checkHalf looks at a step from eleven to twelve o'clock: on one day it is noon, from one day to the next midnight.
func (d *dating) checkHalf(before dial, text []byte, line evidence.Line) error {
	early, late := before.put, d.dial.put
	if d.backwards {
		early, late = late, early
	}
	noon := d.step(before.wall, d.dial.wall, 11, 12, 0)
	if !before.dated || !noon && !d.step(before.wall, d.dial.wall, 11, 12, 2*halfDay) {
		return nil
	}
	morning := func(t clock.Instant) bool { return t.Time().Hour() < 12 }
	if morning(early) == noon && morning(late) != noon {
		d.dial.shown = true
	} else if d.set.Half != "" {
		d.notes.add(note{line: line.No, code: "time.half-day-set", excerpt: text})
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

// askHalf asks in which half of the day the first line stands, unless the dates showed it or somebody said it.
func (d *dating) askHalf(f *evidence.File) {
	if d.set.HalfDay != FromNoon && d.set.HalfDay != FromNight || d.dial.shown || d.set.Half != "" || d.dial.seen.n == 0 {
		return
	}
	d.notes.add(note{code: "time.half-day-open"})
	f.Ask = append(f.Ask, d.dial.seen.ask("half_day", []string{"am", "pm"}, d.dial.first,
		"the stamps are of a 12-hour clock and say neither AM nor PM; no line shows in which half of the day the first one stands"))
}
