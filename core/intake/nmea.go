package intake

import (
	"bufio"
	"bytes"
	"math"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// NMEA 0183 as receivers write it: RMC, GGA, GLL, VTG and ZDA of any talker, with or without checksum. Sentences of one
// moment make one fix. Times are UTC; the date comes from RMC or ZDA and runs on over midnight.
func nmeaTrack() Format {
	return Format{Name: "NMEA 0183 track", Lacks: "no sentence such as $GPRMC", Sniff: sniffNMEA, read: readNMEA}
}

func sniffNMEA(head []byte) Confidence {
	sentences, others := 0, 0
	for line := range headLines(head) {
		if _, _, ok := sentenceIn(line); ok {
			sentences++
		} else if len(bytes.TrimSpace(line)) > 0 {
			others++
		}
	}
	if sentences == 0 || sentences < others {
		return 0
	}
	return 90
}

// sentenceIn finds a sentence on a line, perhaps behind a stamp: its type of three letters, and what stands between '$' and
// '*' or the end.
func sentenceIn(line []byte) (kind string, body []byte, ok bool) {
	at := bytes.IndexByte(line, '$')
	if at < 0 || at > 40 || bytes.IndexByte(line[:at], '>') >= 0 {
		return "", nil, false
	}
	body = bytes.TrimRight(line[at+1:], " \t")
	comma := bytes.IndexByte(body, ',')
	if comma < 4 || comma > 6 || !upperOrDigit(body[:comma]) {
		return "", nil, false
	}
	return string(body[comma-3 : comma]), body, true
}

func upperOrDigit(b []byte) bool {
	for _, c := range b {
		if !(c >= 'A' && c <= 'Z' || digit(c)) {
			return false
		}
	}
	return true
}

// nmea reads one file of sentences.
type nmea struct {
	*reading
	track    evidence.Track
	point    trackPoint // of the moment at work
	of       time.Duration
	open     bool
	lineNo   int
	day      clock.Instant // date and time last known; None before the first date
	anyDates bool
	fields   [12][]byte
}

func readNMEA(rd *reading, r *bufio.Reader) error {
	n := &nmea{reading: rd, day: clock.None}
	head, _ := r.Peek(maxLine)
	n.anyDates = bytes.Contains(head, []byte("RMC,")) || bytes.Contains(head, []byte("ZDA,"))
	in := newLines(r, head)
	f := &rd.src.File
	for b, long, ok := in.next(); ok; b, long, ok = in.next() {
		f.Lines++
		code := ""
		switch {
		case long:
			code = "line.too-long"
		case len(bytes.TrimSpace(b)) == 0:
			f.Empty++
		default:
			code = n.sentence(b, in.no)
		}
		if code != "" {
			f.NotUsed++
			rd.notes.add(note{code: code, line: rd.line(in.no).No, excerpt: b, unused: true})
		}
	}
	n.close()
	rd.addTrack(n.track)
	return nil
}

// sentence reads one line and gives the code of why it was not used.
func (n *nmea) sentence(b []byte, line int) string {
	kind, body, ok := sentenceIn(b)
	if !ok {
		return "nmea.form"
	}
	body, ok = unsummed(body)
	if !ok {
		return "nmea.checksum"
	}
	n.fields = [len(n.fields)][]byte{}
	for i := range n.fields {
		field, rest, more := bytes.Cut(body, []byte{','})
		n.fields[i] = field
		if body = rest; !more {
			break
		}
	}
	switch kind {
	case "RMC":
		return n.rmc(line)
	case "GGA":
		if q := n.fields[6]; len(q) != 1 || q[0] == '0' {
			return "nmea.no-fix"
		}
		return n.placed(line, n.fields[1], 2, b)
	case "GLL":
		if len(n.fields[6]) == 1 && n.fields[6][0] != 'A' {
			return "nmea.no-fix"
		}
		return n.placed(line, n.fields[5], 1, b)
	case "VTG":
		n.motion(number(string(n.fields[5])), number(string(n.fields[1])))
		return ""
	case "ZDA":
		return n.zda()
	}
	return "nmea.not-used"
}

// unsummed takes the checksum off: the exclusive or of all bytes between '$' and '*'. Source: NMEA 0183.
func unsummed(body []byte) ([]byte, bool) {
	star := bytes.IndexByte(body, '*')
	if star < 0 {
		return body, true
	}
	sum := byte(0)
	for _, c := range body[:star] {
		sum ^= c
	}
	if len(body) < star+3 {
		return nil, false
	}
	want, ok := hexByte(body[star+1], body[star+2])
	return body[:star], ok && sum == want
}

// rmc reads time, status, place, speed in knots, course and date.
func (n *nmea) rmc(line int) string {
	of, step, ok := timeOfDay(n.fields[1])
	date, dated := shortDate(n.fields[9])
	if !ok || !dated {
		return "nmea.form"
	}
	n.day = date.Add(of)
	if len(n.fields[2]) != 1 || n.fields[2][0] != 'A' {
		return "nmea.no-fix"
	}
	n.moment(of, line)
	n.dates.steps.add(step, of%time.Minute)
	n.point.at = n.day
	n.motion(number(string(n.fields[7])), number(string(n.fields[8])))
	return n.where(3)
}

// placed reads a sentence of time and place whose latitude is field lat.
func (n *nmea) placed(line int, clk []byte, lat int, b []byte) string {
	of, step, ok := timeOfDay(clk)
	if !ok {
		return "nmea.form"
	}
	if n.day == clock.None && n.anyDates {
		return "nmea.no-date"
	}
	n.dates.steps.add(step, of%time.Minute)
	n.moment(of, line)
	if n.point.at == clock.None {
		n.point.at = n.dateOf(of, b, line)
	}
	return n.where(lat)
}

// dateOf gives the moment with the time of day of: next to the last date, or as the settings say where the file has none.
func (n *nmea) dateOf(of time.Duration, b []byte, line int) clock.Instant {
	if n.anyDates {
		n.day = n.dates.near(n.day, of, false)
		return n.day
	}
	t, _ := n.dates.at(&clock.Stamp{Of: of, Step: time.Second, Zone: clock.ZoneOffset}, utc, b, n.line(line), false)
	return t
}

// zda reads time, day, month and year.
func (n *nmea) zda() string {
	of, _, ok := timeOfDay(n.fields[1])
	d, m, y := number(string(n.fields[2])), number(string(n.fields[3])), number(string(n.fields[4]))
	if !ok || !(d >= 1 && d <= 31 && m >= 1 && m <= 12 && y >= 1970 && y < 2200) {
		return "nmea.form"
	}
	n.day = clock.At(time.Date(int(y), time.Month(m), int(d), 0, 0, 0, 0, time.UTC)).Add(of)
	return ""
}

// moment begins a new fix when the time of day has changed.
func (n *nmea) moment(of time.Duration, line int) {
	if n.open && n.of == of {
		return
	}
	n.close()
	n.open, n.of, n.point, n.lineNo = true, of, noPoint(), line
}

// motion takes speed in knots and course for the fix at work.
func (n *nmea) motion(knots, course float64) {
	if !math.IsNaN(knots) {
		n.point.speed = knots * 1852 / 3600
	}
	if !math.IsNaN(course) {
		n.point.course = course
	}
}

// where reads latitude, N or S, longitude, E or W from field i on.
func (n *nmea) where(i int) string {
	lat, ok1 := minutes(n.fields[i], 2, n.fields[i+1], 'N', 'S')
	lon, ok2 := minutes(n.fields[i+2], 3, n.fields[i+3], 'E', 'W')
	if !ok1 || !ok2 {
		return "nmea.form"
	}
	n.point.lat, n.point.lon = lat, lon
	return ""
}

// close stores the fix at work.
func (n *nmea) close() {
	if n.open && n.point.lat == n.point.lat {
		n.dates.state(utc)
		if fault := n.fix(&n.track, n.point, n.lineNo); fault != "" {
			n.notes.add(note{code: fault, line: n.line(n.lineNo).No})
		}
	}
	n.open = false
}

// minutes reads ddmm.mmmm or dddmm.mmmm.
func minutes(b []byte, degreeDigits int, side []byte, plus, minus byte) (float64, bool) {
	if len(b) < degreeDigits+2 || len(side) != 1 || (side[0] != plus && side[0] != minus) {
		return 0, false
	}
	d, m := number(string(b[:degreeDigits])), number(string(b[degreeDigits:]))
	if !(d >= 0 && m >= 0 && m < 60) {
		return 0, false
	}
	v := d + m/60
	if side[0] == minus {
		v = -v
	}
	return v, true
}

// timeOfDay reads hhmmss or hhmmss.sss.
func timeOfDay(b []byte) (of, step time.Duration, ok bool) {
	if len(b) < 6 {
		return 0, 0, false
	}
	v := number(string(b))
	h, m, s := math.Floor(v/10000), math.Mod(math.Floor(v/100), 100), math.Mod(v, 100)
	if !(h >= 0 && h < 24 && m < 60 && s < 61) {
		return 0, 0, false
	}
	step = time.Second
	if math.Mod(s, 1) != 0 {
		step = time.Millisecond
	}
	return clock.Seconds(h*3600 + m*60 + s), step, true
}

// shortDate reads ddmmyy; 80 to 99 are of the last century, in which the system began.
func shortDate(b []byte) (clock.Instant, bool) {
	v := number(string(b))
	if len(b) != 6 || !(v >= 0) {
		return clock.None, false
	}
	d, m, y := int(v)/10000, int(v)/100%100, int(v)%100
	if y < 80 {
		y += 100
	}
	t := time.Date(1900+y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	return clock.At(t), m >= 1 && m <= 12 && d >= 1 && t.Day() == d
}
