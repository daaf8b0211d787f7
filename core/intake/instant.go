package intake

import (
	"bytes"
	"cmp"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// at gives the instant of a stamp and follows the run of the file. text is the line, for samples and notes; zone is the part
// of it that states the zone. packet: the stamp belongs to a packet, not to a comment. The error is a *ReadAgain. This runs for
// every line, and copying a stamp takes WebAssembly a call, so that it goes by pointer.
func (d *dating) at(s *clock.Stamp, zone, text []byte, line evidence.Line, packet bool) (clock.Instant, error) {
	if err := d.checkOrder(s, text, line); err != nil {
		return clock.None, err
	}
	if packet {
		d.steps.add(s.Step, subMinute(s))
	}
	d.pastes.look(s, text)
	if s.Date == clock.UnixTime {
		d.state(utc)
		return d.follow(s.At, text, line, true), nil
	}
	wall, err := d.complete(s, text, line)
	if err == nil {
		wall, err = d.onDial(s, wall, text, line)
	}
	if err != nil {
		return clock.None, err
	}
	d.started = true
	t, stated := d.zoned(s, wall, zone, text, line)
	return d.follow(t, text, line, stated), nil
}

var utc = []byte("UTC")

// subMinute gives what a stamp says below the minute.
func subMinute(s *clock.Stamp) time.Duration {
	if s.Date == clock.UnixTime {
		return time.Duration(s.At%60000) * time.Millisecond
	}
	return s.Of % time.Minute
}

// checkOrder compares the orders that an open date allows with the one in use.
func (d *dating) checkOrder(s *clock.Stamp, text []byte, line evidence.Line) error {
	if s.Date != clock.OpenDate {
		return nil
	}
	left := d.orders & s.Orders
	if d.orderBasis != assumed || left == 0 {
		if s.Orders&d.order == 0 {
			d.notes.add(note{line: line.No, code: "time.day-order", excerpt: text})
		}
		return nil
	}
	left = cmp.Or(d.overMidnight(&d.opened, s), left)
	d.opened = *s
	if d.open.n > 0 && left&d.order == 0 {
		again := d.set
		again.DayOrder = orderName(left)
		return &ReadAgain{Settings: again, Line: line}
	}
	d.settleOrder(left)
	if d.orderBasis == assumed {
		d.open.add(line, text)
	}
	return nil
}

// orderNames are those of the bench file.
var orderNames = map[clock.DateOrder]string{clock.DayFirst: "dmy", clock.MonthFirst: "mdy", clock.YearFirst: "ymd"}

// orderName gives the first of the orders.
func orderName(orders clock.DateOrder) string { return orderNames[orders&-orders] }

// orderNamed gives the order of a name, 0 for none.
func orderNamed(name string) clock.DateOrder {
	for order, n := range orderNames {
		if n == name {
			return order
		}
	}
	return 0
}

// complete gives the stamp's date and time of day, filling in the day or the year from the lines before.
// The error is a *ReadAgain.
func (d *dating) complete(s *clock.Stamp, text []byte, line evidence.Line) (clock.Instant, error) {
	if wall, ok := d.wall(s); ok {
		if d.dateBasis < decided {
			d.dateBasis = decided
		}
		d.today = wall
		return wall, nil
	}
	if d.dateBasis < decided {
		d.undated.add(line, text)
		code := "time.no-date"
		if s.Date == clock.NoYear {
			code = "time.no-year"
		}
		if d.today == clock.None {
			t, _ := time.Parse(time.DateOnly, NoDay)
			d.today, d.placed = clock.At(t).Add(s.Of), NoDay
		}
		d.notes.add(note{code: code, excerpt: text})
	}
	if s.Date == clock.NoYear {
		d.today = d.yearNear(s)
		return d.today, nil
	}
	if !d.started {
		d.today = clock.At(d.today.Time().Truncate(24 * time.Hour)).Add(s.Of) // the first line stands on the day that was set
		d.pastes.placed(d.today)
		return d.today, nil
	}
	wall, err := d.begunAnew(d.near(d.today, s.Of, d.backwards), text, line)
	d.today = wall
	d.pastes.placed(wall)
	return wall, err
}

// yearNear gives the stamp in the year that puts it nearest to the line before.
func (d *dating) yearNear(s *clock.Stamp) clock.Instant {
	best := clock.None
	year := d.today.Time().Year()
	for y := year - 1; y <= year+1; y++ {
		t := time.Date(y, time.Month(s.Month), s.Day, 0, 0, 0, 0, time.UTC)
		if t.Day() != s.Day || (y != year && !d.started) {
			continue // 29 February of a year without one; the first line stands in the year that was set
		}
		if w := clock.At(t).Add(s.Of); best == clock.None || w.Sub(d.today).Abs() < best.Sub(d.today).Abs() {
			best = w
		}
	}
	if best == clock.None {
		return d.today
	}
	return best
}

// zoned turns a wall time into an instant and tells whether the stamp states its zone.
func (d *dating) zoned(s *clock.Stamp, wall clock.Instant, zone, text []byte, line evidence.Line) (t clock.Instant, stated bool) {
	switch s.Zone {
	case clock.ZoneOffset:
		d.state(zone)
		return wall.Add(-s.Offset), true
	case clock.ZonePlace:
		if z := d.place(zone); z != nil {
			d.state(zone)
			return d.resolve(z, wall, text, line), true
		}
	}
	if s.Zone != clock.NoZone && d.zoneBasis == "assumed" {
		d.notes.add(note{line: line.No, code: "time.unsure-zone", excerpt: text, column: 1 + max(0, bytes.Index(text, zone))})
		d.jump.add(line, text)
	} else if d.zoneBasis == "assumed" {
		d.notes.add(note{code: "time.no-zone", excerpt: text}) // of the whole file, as what its stamps lack mostly is
	}
	return d.resolve(d.zone, wall, text, line), false
}

// state remembers the first zone that a stamp states.
func (d *dating) state(zone []byte) {
	if d.stated != "" {
		return
	}
	d.stated = string(zone)
	switch d.stated {
	case "Z", "z", "UT", "GMT":
		d.stated = "UTC"
	}
}

// place gives the zone of an IANA name, nil when there is none.
func (d *dating) place(name []byte) *clock.Zone {
	if z, ok := d.places[string(name)]; ok {
		return z
	}
	z, err := clock.ZoneNamed(string(name))
	if err != nil {
		z = nil
	}
	if len(d.places) < 100 {
		d.places[string(name)] = z
	}
	return z
}

// disorder is how far two lines may stand in the wrong order without meaning anything.
const disorder = 10 * time.Minute

// resolve asks the zone; in the hour that clocks put back pass twice, the lines before decide.
func (d *dating) resolve(z *clock.Zone, wall clock.Instant, text []byte, line evidence.Line) clock.Instant {
	early, late, passing := z.Resolve(wall)
	switch passing {
	case clock.Never:
		d.notes.add(note{line: line.No, code: "time.skipped", excerpt: text})
		return late
	case clock.Twice:
		d.notes.add(note{line: line.No, code: "time.twice", excerpt: text})
		if d.secondPass(early, late) {
			return late
		}
	}
	return early
}

// secondPass tells which of the two instants that a stamp may mean follows the line before: oldest first, the earlier one as long
// as it does, newest first, the later one.
func (d *dating) secondPass(early, late clock.Instant) bool {
	if d.backwards {
		return !d.last.Known() || late <= d.last.Add(disorder)
	}
	return d.last.Known() && early < d.last.Add(-disorder)
}

// follow compares t with the line before: it takes an hour's jump back for a clock put back where the stamps state no zone,
// and notes what is out of order.
func (d *dating) follow(t clock.Instant, text []byte, line evidence.Line, stated bool) clock.Instant {
	if !stated {
		t = t.Add(d.shift)
	}
	if d.last == clock.None {
		d.pastes.rewind(t, d.backwards, false)
		d.remember(t, text, line)
		return t
	}
	back, jumped := d.last.Sub(t), false
	if d.backwards {
		back = -back
	}
	switch {
	case back <= 0:
		d.usual = (7*d.usual + min(-back, time.Hour)) / 8
	case back <= disorder:
		jumped = d.pastes.told && back >= time.Minute
	case !d.pastes.told && !stated && d.zone.Fixed() && d.zoneBasis == "assumed" && d.shift == 0 && d.hourBack(back):
		d.shift = time.Hour
		if d.backwards {
			d.shift = -time.Hour
		}
		t = t.Add(d.shift)
		d.jump = samples{}
		d.jump.add(d.lastLine, d.lastText)
		d.jump.add(line, text)
		d.notes.add(note{line: line.No, code: "time.hour-back", excerpt: text})
	case d.pastes.again:
		jumped = true
		d.notes.add(note{line: line.No, code: "time.pasted", excerpt: text})
	default:
		jumped = true
		d.notes.add(note{line: line.No, code: "time.out-of-order", excerpt: text})
	}
	d.pastes.rewind(t, d.backwards, jumped)
	d.remember(t, text, line)
	return t
}

// remember keeps the line for the comparison with the next.
func (d *dating) remember(t clock.Instant, text []byte, line evidence.Line) {
	d.last, d.lastLine = t, line
	d.lastText = append(d.lastText[:0], text[:min(len(text), maxExcerpt)]...)
}

// hourBack tells whether a jump back is that of a clock put back by an hour, given what usually lies between two lines.
func (d *dating) hourBack(back time.Duration) bool {
	off := (back + d.usual - time.Hour).Abs()
	return back > 20*time.Minute && back <= 61*time.Minute && off <= max(2*time.Minute, d.usual)
}

// comment takes the stamp of a comment line.
func (d *dating) comment(t clock.Instant) {
	if d.lastComment.Known() && t > d.lastComment && len(d.commentGaps) < 1000 {
		d.commentGaps = append(d.commentGaps, t.Sub(d.lastComment))
	}
	d.lastComment = t
}
