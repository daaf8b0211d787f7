package aprs

import "time"

// A StampKind says which parts of a Stamp are given.
type StampKind uint8

// Kinds of stamps.
const (
	NoStamp  StampKind = iota
	DayUTC             // day, hour, minute, UTC
	DayLocal           // day, hour, minute in the sender's zone, which is not told
	ClockUTC           // hour, minute, second, UTC
	MonthUTC           // month, day, hour, minute, UTC
	DateUTC            // year to second, UTC
)

// A Stamp is the time that the sender put into the packet; parts that its kind does not give are 0.
type Stamp struct {
	Kind                             StampKind
	Year                             int16
	Month, Day, Hour, Minute, Second uint8
}

const stampLen = 7

// stamp reads seven bytes ddhhmmz, ddhhmm/ or hhmmssh. Source: 1.0.1 ch.6 p.22.
func (p *Packet) stamp(b []byte) {
	s, ok := parseStamp(b)
	if !ok {
		p.flaw(FlawTime)
		return
	}
	p.Stamp = s
}

func parseStamp(b []byte) (Stamp, bool) {
	x, okX := two(b)
	y, okY := two(b[2:])
	z, okZ := two(b[4:])
	if !okX || !okY || !okZ {
		return Stamp{}, false
	}
	switch b[6] {
	case 'z', '/':
		s := Stamp{Kind: DayUTC, Day: x, Hour: y, Minute: z}
		if b[6] == '/' {
			s.Kind = DayLocal
		}
		return s, x >= 1 && x <= 31 && y < 24 && z < 60
	case 'h':
		return Stamp{Kind: ClockUTC, Hour: x, Minute: y, Second: z}, x < 24 && y < 60 && z < 60
	}
	return Stamp{}, false
}

// two reads two digits.
func two(b []byte) (uint8, bool) {
	if len(b) < 2 || !digit(b[0]) || !digit(b[1]) {
		return 0, false
	}
	return (b[0]-'0')*10 + b[1] - '0', true
}

func digit(ch byte) bool { return ch >= '0' && ch <= '9' }

// Near gives the moment closest to t that s can stand for, in UTC. ok is false for a stamp in an untold zone and for a day
// that no month near t has.
func (s Stamp) Near(t time.Time) (at time.Time, ok bool) {
	t = t.UTC()
	best := time.Duration(-1)
	consider := func(c time.Time) {
		if d := c.Sub(t).Abs(); best < 0 || d < best {
			at, best = c, d
		}
	}
	switch s.Kind {
	case ClockUTC:
		for day := -1; day <= 1; day++ {
			consider(time.Date(t.Year(), t.Month(), t.Day()+day, int(s.Hour), int(s.Minute), int(s.Second), 0, time.UTC))
		}
	case DayUTC:
		for month := -2; month <= 2; month++ {
			c := time.Date(t.Year(), t.Month()+time.Month(month), int(s.Day), int(s.Hour), int(s.Minute), 0, 0, time.UTC)
			if c.Day() == int(s.Day) {
				consider(c)
			}
		}
	case MonthUTC:
		for year := -1; year <= 1; year++ {
			c := time.Date(t.Year()+year, time.Month(s.Month), int(s.Day), int(s.Hour), int(s.Minute), 0, 0, time.UTC)
			if c.Day() == int(s.Day) {
				consider(c)
			}
		}
	case DateUTC:
		consider(time.Date(int(s.Year), time.Month(s.Month), int(s.Day), int(s.Hour), int(s.Minute), int(s.Second), 0, time.UTC))
	}
	return at, best >= 0
}
