package intake

import (
	"bufio"
	"bytes"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

func monitorText() Format {
	return Format{Name: "monitor text", Lacks: "no line with SOURCE>DESTINATION,PATH:information", Sniff: sniffMonitor, read: readMonitor}
}

// sniffMonitor believes in lines that hold a packet header; comment lines alone say little.
func sniffMonitor(head []byte) Confidence {
	var s splitter
	packets, others := 0, 0
	for line := range headLines(head) {
		switch {
		case len(bytes.TrimSpace(line)) == 0 || isComment(line):
		case s.split(line).fault == "":
			packets++
		default:
			others++
		}
	}
	if packets == 0 {
		return 0
	}
	return 40 + Confidence(50*packets/(packets+others))
}

// headLines gives the lines of the beginning of a text. The last one may be cut off.
func headLines(head []byte) func(func([]byte) bool) {
	return func(yield func([]byte) bool) {
		for len(head) > 0 {
			i := bytes.IndexAny(head, "\r\n")
			if i < 0 {
				i = len(head)
			}
			if !yield(head[:i]) {
				return
			}
			head = head[min(i+1, len(head)):]
		}
	}
}

// isComment tells whether the recorder's software wrote the line: it begins with '#'.
func isComment(line []byte) bool {
	for len(line) > 0 && (line[0] == ' ' || line[0] == '\t' || line[0] == '>') {
		line = line[1:]
	}
	return len(line) > 0 && line[0] == '#'
}

// monitor reads packet logs.
type monitor struct {
	*reading
	splitter
	file *evidence.File

	carried clock.Instant // of a line that holds nothing but a stamp: it counts for the packets behind it
	fresh   bool          // carried is for lines without their own stamp

	twoLines  bool // information mostly stands on the line behind its header
	waiting   bool // a header waits for its information
	waitingAt clock.Instant
	waitingNo int
	waitRaw   []byte
	waitInfo  int
	released  bool        // the packet at work stood on two lines, of which the first alone does not tell whether it stood before
	ahead     int         // the last line that held a packet, the beginning of one, or went on with one
	width     int         // its bytes
	follows   aprs.Packet // what a line would be as information
}

func readMonitor(rd *reading, r *bufio.Reader) error {
	m := &monitor{reading: rd, file: &rd.src.File, carried: clock.None}
	head, _ := r.Peek(maxLine)
	m.learn(head)
	in := newLines(r, head)
	for {
		b, long, ok := in.next()
		if !ok {
			break
		}
		m.file.Lines++
		if long {
			m.reject(in.no, note{code: "line.too-long", excerpt: b})
			continue
		}
		if err := m.take(b, in.no); err != nil {
			return err
		}
	}
	m.release(nil)
	return nil
}

// learn shows the first stamps to the dating.
func (m *monitor) learn(head []byte) {
	var first []seenStamp
	packets, open := 0, 0
	follows := false // the information of a stamped header is to follow
	for line := range headLines(head) {
		if len(first) == 1000 {
			break
		}
		if isComment(line) {
			if st, _, ok := m.stampIn(line[:min(len(line), maxPrefix)]); ok {
				first = append(first, seenStamp{stamp: st, comment: true})
			}
			continue
		}
		f := m.split(line)
		if follows && !f.open && !f.stamped {
			follows = false // information that may look like a packet
			continue
		}
		follows = f.open && f.stamped
		if f.fault == "" {
			packets++
		}
		if f.open {
			open++
		}
		if f.stamped && (f.fault == "" || onlyStamp(line)) {
			first = append(first, seenStamp{stamp: f.stamp, packet: f.fault == ""})
		}
	}
	m.twoLines = 2*open > packets
	m.dates.learn(first, packets)
}

// onlyStamp tells whether a line holds a stamp and nothing else.
func onlyStamp(line []byte) bool {
	at := opening(line)
	_, n := clock.ScanStamp(line[at:])
	return n > 0 && at+n+closing(line[at+n:]) == len(line)
}

// take reads one line.
func (m *monitor) take(b []byte, no int) error {
	if len(bytes.TrimSpace(b)) == 0 {
		m.file.Empty++
		m.release(nil)
		return nil
	}
	if isComment(b) {
		m.release(nil)
		return m.comment(b, no)
	}
	f := m.split(b)
	if f.fault != "" {
		return m.noPacket(b, no, f)
	}
	if m.twoLines && m.waiting && m.waitingAt.Known() && !f.open && !f.stamped {
		m.release(b) // information that looks like a packet: the headers of such a file are stamped
		return nil
	}
	if m.waiting {
		m.release(nil)
		f = m.split(b) // the release used the same header
	}
	m.ahead, m.width = no, len(b)
	at, err := m.when(f, b, no)
	if err != nil {
		return err
	}
	if f.open {
		m.wait(at, no, f)
		return nil
	}
	m.packet(at, no, f.raw, f.info, b)
	return nil
}

// noPacket reads a line without a header: the information of the line before, a stamp of its own, or nothing of use.
func (m *monitor) noPacket(b []byte, no int, f *found) error {
	if m.waiting && (m.twoLines || m.informs(b)) {
		m.release(b)
		return nil
	}
	if m.waiting {
		m.release(nil)
		f = m.split(b) // the release used the same header
	}
	if f.stamped && onlyStamp(b) {
		t, err := m.dates.at(&f.stamp, zoneOf(f), b, m.line(no), true)
		m.carried, m.fresh = t, true
		return err
	}
	if at := opening(b); f.stamped && bytes.Contains(b[at:], []byte(" #")) && f.stampAt == at {
		_, n := clock.ScanStamp(b[at:])
		if n += at + closing(b[at+n:]); n < len(b) && b[n] == '#' {
			return m.comment(b, no)
		}
	}
	code := f.fault
	if m.wrapped(b, no, f) {
		code, m.ahead = "line.wrapped", no
	} else if code == "header.no-end" {
		m.ahead, m.width = no, len(b)
	}
	m.reject(no, note{code: code, column: f.column, excerpt: b})
	return nil
}

// Mail wraps lines at 72 columns or so.
const (
	narrowMail = 60
	wideMail   = 100
)

// wrapped tells whether a line without stamp and header looks like the rest of the packet of the line before, as where mail wrapped
// it: it is indented or quoted, or the line before is as wide as mail is.
func (m *monitor) wrapped(b []byte, no int, f *found) bool {
	if f.stamped || m.ahead == 0 || no != m.ahead+1 || f.fault != "header.no-arrow" && f.fault != "header.no-source" {
		return false
	}
	at := opening(b)
	return bytes.IndexByte(b[at:], '>') < 0 && (at > 0 || m.width >= narrowMail && m.width <= wideMail)
}

// comment takes the clock of a comment line, which also proves that the recorder lived.
func (m *monitor) comment(b []byte, no int) error {
	st, at, ok := m.stampIn(b[:min(len(b), maxPrefix)])
	if !ok {
		return nil
	}
	t, err := m.dates.at(&st, zoneOf(&found{text: b, stamp: st, stampAt: at}), b, m.line(no), false)
	if err != nil {
		return err
	}
	m.dates.comment(t)
	m.store.comment(t)
	m.seen(t)
	return nil
}

// when gives the time of a packet: its own stamp, the stamp line before it, or the last comment line.
func (m *monitor) when(f *found, b []byte, no int) (clock.Instant, error) {
	if f.stamped {
		m.fresh = false
		if f.stamp.Date == clock.NoDate && f.stampAt > 0 && endsInDate(f.text[:f.stampAt]) {
			m.notes.add(note{line: m.line(no).No, code: "time.no-such-day", excerpt: b})
		}
		return m.dates.at(&f.stamp, zoneOf(f), b, m.line(no), true)
	}
	if m.fresh {
		return m.carried, nil
	}
	if m.dates.fromComments && m.dates.lastComment.Known() {
		m.notes.add(note{line: m.line(no).No, code: "time.from-comments", excerpt: b})
		return m.dates.lastComment, nil
	}
	m.notes.add(note{line: m.line(no).No, code: "time.missing", column: 1, excerpt: b})
	return clock.None, nil
}

// endsInDate tells whether b ends in three numbers written as a date is. Ahead of a time of day they are none of the calendar,
// since the stamp would have begun with them.
func endsInDate(b []byte) bool {
	b = bytes.TrimRight(b, " \t,;|_")
	word := b[1+bytes.LastIndexAny(b, " \t[({<"):]
	numbers := bytes.FieldsFunc(word, func(c rune) bool { return c == '-' || c == '/' || c == '.' })
	return len(numbers) == 3 && len(word) >= len("1-1-31") && len(word) <= len("2031-02-30") &&
		!bytes.ContainsFunc(bytes.Join(numbers, nil), func(c rune) bool { return c < '0' || c > '9' })
}

// zoneOf gives the part of the line that states the zone of its stamp.
func zoneOf(f *found) []byte {
	if f.stamp.Zone == clock.NoZone || f.stampAt+f.stamp.ZoneEnd > len(f.text) {
		return nil
	}
	return f.text[f.stampAt+f.stamp.ZoneAt : f.stampAt+f.stamp.ZoneEnd]
}

// wait keeps a header whose information may stand on the next line.
func (m *monitor) wait(at clock.Instant, no int, f *found) {
	m.waiting, m.waitingAt, m.waitingNo, m.waitInfo = true, at, no, f.info
	m.waitRaw = append(m.waitRaw[:0], f.raw...)
}

// informs tells whether a line is sound information for the header that waits. Where packets mostly stand on one line, a header
// may as well have lost its information, and the line may be anything.
func (m *monitor) informs(line []byte) bool {
	if _, err := ax25.ParseHeader(m.waitRaw, &m.header); err != nil {
		return false
	}
	info := undoEscapes(bytes.Clone(line), 0)
	aprs.Decode(m.header.To, info, &m.follows)
	return m.follows.Flaw == "" && m.follows.Kind != aprs.Other
}

// release stores the header that waits, with the information that followed or without any.
func (m *monitor) release(info []byte) {
	if !m.waiting {
		return
	}
	m.waiting = false
	m.waitRaw = undoEscapes(append(m.waitRaw, info...), m.waitInfo)
	if _, err := ax25.ParseHeader(m.waitRaw, &m.header); err != nil {
		return
	}
	m.released = true
	m.packet(m.waitingAt, m.waitingNo, m.waitRaw, m.waitInfo, m.waitRaw)
	m.released = false
}

// packet stores one packet whose header was parsed.
func (m *monitor) packet(at clock.Instant, no int, raw []byte, info int, text []byte) {
	if at.Known() {
		m.seen(at)
		m.watchClock(m.header.From, at, m.line(no), text)
	}
	m.store.again = m.dates.pastes.repeated && !m.released
	if flaw := m.store.add(at, m.line(no), &m.header, raw, info); flaw != "" {
		m.notes.add(note{line: m.line(no).No, code: flaw, excerpt: text})
	}
}

// reject counts a line that gave nothing.
func (m *monitor) reject(no int, n note) {
	m.file.NotUsed++
	n.line, n.unused = m.line(no).No, true
	m.notes.add(n)
}
