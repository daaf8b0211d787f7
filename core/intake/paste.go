package intake

import (
	"bytes"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// pastes remembers the lines read lately, to tell a list that was pasted twice, in part or whole, from a clock that was put back
// and from another day. A line that comes again with its stamp is the same line where its text stood with no other stamp; a unit
// that sends one text for ever leaves that open.
type pastes struct {
	lines  []seenLine // a set of fixed size in which a line lands in one of four places; the oldest of them gives way
	added  int
	texts  []seenText
	slot   int           // of the line at work
	again  bool          // the line at work stood before
	told   bool          // and its text stood with no other stamp
	before clock.Instant // the wall time it had then

	far      clock.Instant // the furthest instant that the list has come to
	rewound  bool          // the list has jumped back and not come to far again
	repeated bool          // the line at work stands again in such a part

	leap int32 // the line behind the last silence of a list without dates: it may begin another paste
}

type seenLine struct {
	hash uint64
	wall clock.Instant
}

// seenText is the text behind a stamp, and with how many stamps it stood.
type seenText struct {
	hash   uint64
	stamps int32
}

const (
	linesLately = 4 << 10
	linesCoarse = 64 << 10 // where stamps are coarse or have no date, so that equal lines mean less
	mostPastes  = 4        // for each of which a file is read again
)

// look tells of the line at work whether it stood before, and remembers it.
func (p *pastes) look(s *clock.Stamp, text []byte) {
	coarse := s.Date == clock.NoDate || s.Step >= time.Minute
	if p.lines == nil {
		p.lines = make([]seenLine, linesLately)
		p.far = clock.None
	}
	if coarse && p.texts == nil {
		p.lines, p.texts = make([]seenLine, linesCoarse), make([]seenText, linesLately)
	}
	h := evidence.Hash(text) | 1
	p.slot = int(h>>32) % (len(p.lines) / 4) * 4
	four, free := p.lines[p.slot:p.slot+4], p.added%4
	p.again = false
	for i := range four {
		switch four[i].hash {
		case h:
			p.again, p.before = true, four[i].wall
		case 0:
			free = i
		}
	}
	if !p.again {
		p.slot += free
		p.lines[p.slot] = seenLine{h, clock.None}
		p.added++
	}
	p.told = p.again
	if coarse {
		once := p.stamps(text) == 1
		p.told = p.again && once
	}
}

// stamps counts with how many stamps the text of a line stood so far; 0 when it was forgotten.
func (p *pastes) stamps(line []byte) int32 {
	const shortest = len("00:00 ")
	arrow := bytes.IndexByte(line[min(shortest, len(line)):], '>')
	if arrow < 0 {
		return 1 // no packet that repeats itself
	}
	h := evidence.Hash(line[shortest+arrow:])
	t := &p.texts[int(h>>32)%len(p.texts)]
	switch {
	case t.hash != h && p.again:
		return 0
	case t.hash != h:
		*t = seenText{h, 1}
	case !p.again:
		t.stamps++
	}
	return t.stamps
}

// placed remembers at which wall time the line at work was read.
func (p *pastes) placed(wall clock.Instant) {
	if !p.again {
		p.lines[p.slot].wall = wall
	}
}

// rewind follows how far the list has come; jumped tells that it went back at the line at work.
func (p *pastes) rewind(t clock.Instant, backwards, jumped bool) {
	beyond := p.far == clock.None || t > p.far
	if backwards {
		beyond = p.far == clock.None || t < p.far
	}
	p.rewound = !beyond && (p.rewound || jumped)
	p.repeated = p.rewound && p.again
	if beyond {
		p.far = t
	}
}

// begunAnew gives the wall time of a stamp without a date, which near would put at wall, where a list was pasted again: a day
// before that, since the list went back. The error is a *ReadAgain that names the line where the paste began.
func (d *dating) begunAnew(wall clock.Instant, text []byte, line evidence.Line) (clock.Instant, error) {
	const silent = 2 * time.Hour
	anew, silence := wall.Add(-24*time.Hour), wall.Sub(d.today)
	if d.backwards {
		anew, silence = wall.Add(24*time.Hour), -silence
	}
	stood := d.pastes.again && d.pastes.before == anew
	switch {
	case slices.Contains(d.set.Pastes, line.No), stood && d.pastes.told && silence > silent:
		d.pastes.leap = 0
		d.notes.add(note{line: line.No, code: "time.pasted", excerpt: text})
		return anew, nil
	case silence > silent:
		d.pastes.leap = line.No
		if stood {
			d.notes.add(note{line: line.No, code: "time.another-day", excerpt: text})
		}
	case stood && d.pastes.told && d.pastes.leap > 0 && len(d.set.Pastes) < mostPastes:
		again := d.set
		again.Pastes = append(slices.Clone(d.set.Pastes), d.pastes.leap)
		return wall, &ReadAgain{Settings: again, Line: line}
	case stood && d.pastes.leap > 0:
		d.pastes.leap = 0
		d.notes.add(note{line: line.No, code: "time.another-day", excerpt: text})
	}
	return wall, nil
}
