package clock

import "time"

// A DateForm says what a stamp tells of its date.
type DateForm uint8

const (
	NoDate   DateForm = iota // a time of day only
	FullDate                 // Year, Month and Day are told apart (ISO 8601, or the month stands in letters)
	OpenDate                 // three numbers in one of Orders (02/05/2031): Month holds the first, Day the second, Year the third
	NoYear                   // Month and Day only (May  2)
	UnixTime                 // At is the instant, nothing is left open
)

// A DateOrder is an order in which the numbers of a date stand, or a set of such orders.
type DateOrder uint8

const (
	DayFirst   DateOrder = 1 << iota // 02/05/2031 is 2 May
	MonthFirst                       // 02/05/2031 is 5 February
	YearFirst                        // 31-05-02 is 2 May 2031
)

// A ZoneForm says what a stamp tells of its zone.
type ZoneForm uint8

const (
	NoZone     ZoneForm = iota
	ZoneOffset          // Offset is known
	ZoneUnsure          // an abbreviation in use for several offsets, or not known
	ZonePlace           // an IANA name
)

// A Stamp is a date and time as somebody wrote it, before the order of its date, its day and its zone are settled.
type Stamp struct {
	Date             DateForm
	Orders, Likely   DateOrder     // of OpenDate: those in which its numbers are a date, and the one to take while nothing tells
	Year, Month, Day int           // Year 0: not written
	Of               time.Duration // time of day, 0 to 24 h (a leap second runs on)
	At               Instant       // of UnixTime
	Step             time.Duration // one unit of the last place written: 1 min, 1 s, 1 ms ...
	Zone             ZoneForm
	Offset           time.Duration // east of UTC
	ZoneAt, ZoneEnd  int           // where the zone stands in the text
}

// In gives the date of an OpenDate whose numbers stand in one order of s.Orders.
func (s *Stamp) In(order DateOrder) (year, month, day int) {
	switch order {
	case DayFirst:
		return s.Year, s.Day, s.Month
	case YearFirst:
		return fullYear(s.Month), s.Day, s.Year % 100
	}
	return s.Year, s.Month, s.Day
}

// ScanStamp reads the stamp that b begins with and gives its length, 0 when there is none. It reads ISO 8601 (extended and
// basic, day of the year, week), dates with full stops or slashes, months in letters (English and, behind the day, other
// languages of Europe), dates behind the time of day, Unix seconds to nanoseconds, times of day, 12-hour clocks, 1400z, 021400Z
// MAY 31, and zones as ScanZone does. A date without a time is no stamp. It does not allocate.
func ScanStamp(b []byte) (s Stamp, n int) {
	if n = scanCommon(b, &s); n > 0 {
		return s, n
	}
	p := scanner{b: b}
	p.weekday()
	digits := p.run(0)
	if digits >= 10 && p.i == 0 && p.unix(&s, digits) {
		return s, p.i
	}
	if digits == 14 && p.compactDate(&s) && p.compactTime(&s) {
		return p.finish(&s)
	}
	if (digits == 4 || digits == 6) && p.at(digits)|0x20 == 'z' && p.zulu(&s, digits) {
		return s, p.i
	}
	if p.date(&s, digits) {
		if !p.joint() || !p.time(&s, true) {
			return Stamp{}, 0
		}
	} else if !p.time(&s, false) {
		return Stamp{}, 0
	}
	return p.finish(&s)
}

// common is the form of most logs, which runs for every line: 0 stands for a digit, T for itself or a blank.
const common = "0000-00-00T00:00:00Z "

// scanCommon reads a stamp of the common form that a blank follows, as ScanStamp would by the longer way; 0 for any other.
// s is empty before, and after a failure.
func scanCommon(b []byte, s *Stamp) (n int) {
	if len(b) < len(common)+1 || b[len(common)] == '(' {
		return 0
	}
	for i, c := range b[:len(common)] {
		want := common[i]
		if c != want && (want != '0' || !isDigit(c)) && (want != 'T' || c != ' ') {
			return 0
		}
	}
	n = len(common) - 1
	s.Date, s.Year, s.Month, s.Day = FullDate, 100*two(b)+two(b[2:]), two(b[5:]), two(b[8:])
	s.Step, s.Zone, s.ZoneAt, s.ZoneEnd = time.Second, ZoneOffset, n-1, n
	if !validDate(s) || !s.setTime(two(b[11:]), two(b[14:]), two(b[17:]), 0) {
		*s = Stamp{}
		return 0
	}
	return n
}

// scanner walks over one stamp.
type scanner struct {
	b []byte
	i int
}

// finish reads what may follow a time of day: am or pm, the zone, and the year where it stands last.
func (p *scanner) finish(s *Stamp) (Stamp, int) {
	if !p.half(s) {
		return Stamp{}, 0
	}
	p.zone(s)
	switch s.Date {
	case NoYear:
		p.yearLast(s)
	case NoDate:
		p.dateLast(s)
	}
	if c := p.at(0); isDigit(c) || (isLetter(c) && s.Zone == NoZone && isLetterOrDigit(p.at(-1))) {
		return Stamp{}, 0
	}
	return *s, p.i
}

// unix reads seconds, milliseconds, microseconds or nanoseconds since 1970, from 2001 to 2286.
func (p *scanner) unix(s *Stamp, digits int) bool {
	per := map10[digits]
	if per == 0 || p.b[0] == '0' {
		return false
	}
	v := p.number(digits)
	ms := v * 1000 / per
	if per > 1000 {
		ms = v / (per / 1000)
	}
	s.Step = time.Second / time.Duration(per)
	if per == 1 && p.at(0) == '.' && isDigit(p.at(1)) {
		frac, step := p.fraction()
		ms, s.Step = ms+int64(frac/time.Millisecond), step
	}
	if isLetterOrDigit(p.at(0)) || p.at(0) == '-' {
		return false
	}
	s.Date, s.At, s.Zone, s.Step = UnixTime, Instant(ms), ZoneOffset, max(s.Step, time.Millisecond)
	return true
}

// map10 gives the units per second of a Unix time by its number of digits.
var map10 = [20]int64{10: 1, 13: 1000, 16: 1000000, 19: 1000000000}

// joint steps over what stands between a date and a time.
func (p *scanner) joint() bool {
	from := p.i
	if c := p.at(0); (c == 'T' || c == 't' || c == '_' || c == '-' || c == ':') && isDigit(p.at(1)) {
		p.i++
		return true
	}
	if c := p.at(0); c == ',' || c == ';' || c == '|' {
		p.i++
	}
	p.blanks()
	if p.at(0) == '-' && p.at(1) == ' ' {
		p.i++
		p.blanks()
	}
	if p.at(0) == 'a' && p.at(1) == 't' && p.at(2) == ' ' {
		p.i += 3
	}
	return p.i > from
}

// time reads a time of day; compact forms and times without seconds count only behind a date, or with am, pm or a zone.
func (p *scanner) time(s *Stamp, dated bool) bool {
	digits := p.run(0)
	if dated && (digits == 6 || digits == 4) {
		return p.compactTime(s)
	}
	if digits != 1 && digits != 2 {
		return false
	}
	h := p.upTo2()
	sep := p.at(0)
	if (sep != ':' && !(dated && (sep == '.' || sep == 'h'))) || p.run(1) != 2 {
		return false
	}
	p.i++
	m := p.upTo2()
	s.Step = time.Minute
	sec, frac := 0, time.Duration(0)
	if next := p.at(0); (next == sep || sep == 'h' && (next == ':' || next == 'm')) && p.run(1) == 2 {
		p.i++
		sec, s.Step = p.upTo2(), time.Second
		if c := p.at(0); (c == '.' && isDigit(p.at(1))) || (c == ',' && p.run(1) == 3) {
			frac, s.Step = p.fraction()
		}
	}
	return s.setTime(h, m, sec, frac)
}

// zulu reads 1400z, and 021400Z MAY 31 with the day ahead and month and year behind, as nets and forms write UTC.
func (p *scanner) zulu(s *Stamp, digits int) bool {
	from := p.i
	if digits == 6 {
		s.Day = int(p.number(2))
	}
	h, m := int(p.number(2)), int(p.number(2))
	s.Step, s.Zone, s.ZoneAt, s.ZoneEnd = time.Minute, ZoneOffset, p.i, p.i+1
	p.i++
	ok := s.setTime(h, m, 0, 0)
	if digits == 6 {
		p.blanks()
		s.Month = p.month()
		p.blanks()
		s.Date = FullDate
		s.Year, _ = p.year()
		ok = ok && validDate(s)
	}
	if ok = ok && !isLetterOrDigit(p.at(0)) && p.at(0) != '-' && p.at(0) != '>'; !ok {
		p.i = from
		*s = Stamp{}
	}
	return ok
}

// compactTime reads hhmm or hhmmss with an optional fraction.
func (p *scanner) compactTime(s *Stamp) bool {
	digits := p.run(0)
	h, m, sec, frac := int(p.number(2)), int(p.number(2)), 0, time.Duration(0)
	s.Step = time.Minute
	if digits == 6 {
		sec, s.Step = int(p.number(2)), time.Second
		if p.at(0) == '.' && isDigit(p.at(1)) {
			frac, s.Step = p.fraction()
		}
	}
	return s.setTime(h, m, sec, frac)
}

// fraction reads a decimal mark and the digits behind it, cut to the millisecond.
func (p *scanner) fraction() (frac, step time.Duration) {
	p.i++
	step = time.Second
	for ; isDigit(p.at(0)); p.i++ {
		if step > time.Millisecond {
			step /= 10
			frac += step * time.Duration(p.at(0)-'0')
		}
	}
	return frac, step
}

// setTime checks the parts of a time of day. 24:00 ends a day; a 60th second is a leap second.
func (s *Stamp) setTime(h, m, sec int, frac time.Duration) bool {
	if h > 24 || m > 59 || sec > 60 || (h == 24 && (m > 0 || sec > 0)) {
		return false
	}
	s.Of = time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(sec)*time.Second + frac
	return true
}

// half applies am or pm where it follows; it fails on 13:00 pm.
func (p *scanner) half(s *Stamp) bool {
	from := p.i
	p.blanks()
	c := p.at(0) | 0x20
	n := 0
	switch {
	case c != 'a' && c != 'p':
	case p.at(1)|0x20 == 'm' && !isLetterOrDigit(p.at(2)) && p.at(2) != '-':
		n = 2
	case p.at(1) == '.' && p.at(2)|0x20 == 'm' && p.at(3) == '.':
		n = 4
	}
	if n == 0 {
		p.i = from
		return true
	}
	p.i += n
	hour := s.Of / time.Hour
	if hour < 1 || hour > 12 {
		return false
	}
	if hour == 12 {
		s.Of -= 12 * time.Hour
	}
	if c == 'p' {
		s.Of += 12 * time.Hour
	}
	return true
}

// zone reads the zone behind a time of day.
func (p *scanner) zone(s *Stamp) {
	from := p.i
	blanks := p.blanks()
	open := p.at(0) == '('
	if open {
		p.i++
	}
	alone := open || closes(p.b[p.i:])
	form, off, n := scanZone(p.b[p.i:], alone)
	if form == NoZone || (blanks == 0 && form == ZoneUnsure) {
		p.i = from
		return
	}
	s.Zone, s.Offset, s.ZoneAt, s.ZoneEnd = form, off, p.i, p.i+n
	p.i += n
	if open && p.at(0) == ')' {
		p.i++
	}
	p.zoneAgain()
}

// zoneAgain steps over the name in brackets that mail puts behind an offset: +0200 (CEST).
func (p *scanner) zoneAgain() {
	if p.at(0) != ' ' || p.at(1) != '(' {
		return
	}
	if _, _, n := scanZone(p.b[p.i+2:], true); n > 0 && p.at(2+n) == ')' {
		p.i += n + 3
	}
}

// closes tells whether b begins with one word of capitals that a bracket closes at once.
func closes(b []byte) bool {
	i := 0
	for i < len(b) && b[i] >= 'A' && b[i] <= 'Z' {
		i++
	}
	return i >= 2 && i <= 5 && i < len(b) && (b[i] == ']' || b[i] == ')' || b[i] == '}')
}
