package aprs

import (
	"math"
	"strconv"

	"lastbeacon/core/ax25"
	"lastbeacon/core/geo"
)

// A Report is what a unit says of itself. NaN numbers and empty parts are not sent. Digits are cut, not rounded, as most
// firmware does: the place lies in the cell that begins at the digits sent.
type Report struct {
	Place     geo.Place
	Symbol    [2]byte // table and code; zero means /[
	Stamp     Stamp   // DayUTC, DayLocal or ClockUTC; Mic-E has none
	Messaging bool
	Course    float64 // degrees; NaN unknown
	Speed     float64 // m/s; NaN: neither course nor speed is sent (Mic-E sends 0)
	Altitude  float64 // m
	Ambiguity int     // digits to blank, 0 to 4
	Digits    bool    // append !DAO! with a third decimal of the minute
	Comment   string

	// Mic-E alone.
	Status    MicEStatus // "" is Off Duty
	OldFix    bool
	TypeFirst byte
	TypeLast  string
}

// AppendPlain appends the information field of r as a plain position. Source: 1.0.1 ch.8.
func AppendPlain(dst []byte, r Report) []byte {
	dst = appendHead(dst, r)
	symbol := r.symbol()
	lat, lon := r.written()
	dst = appendMinutes(dst, lat, 2, r.Ambiguity)
	dst = append(dst, letter(r.Place.Lat, 'N', 'S'), symbol[0])
	dst = appendMinutes(dst, lon, 3, r.Ambiguity)
	dst = append(dst, letter(r.Place.Lon, 'E', 'W'), symbol[1])
	if !math.IsNaN(r.Speed) {
		dst = appendPadded(dst, r.course(), 3)
		dst = appendPadded(append(dst, '/'), min(999, whole(r.Speed*3600/1852)), 3)
	}
	dst = appendAltitude(dst, r.Altitude)
	return r.appendDigits(append(dst, r.Comment...), lat, lon)
}

// AppendCompressed appends the information field of r as a compressed position. Source: 1.0.1 ch.9.
func AppendCompressed(dst []byte, r Report) []byte {
	dst = appendHead(dst, r)
	symbol := r.symbol()
	if digit(symbol[0]) {
		symbol[0] += 'a' - '0'
	}
	dst = appendBase91(append(dst, symbol[0]), int(380926*(90-r.Place.Lat)), 4)
	dst = append(appendBase91(dst, int(190463*(180+r.Place.Lon)), 4), symbol[1])
	if math.IsNaN(r.Speed) {
		dst = append(dst, " sT"...)
	} else {
		s := whole(math.Log(r.Speed*3600/1852+1) / math.Log(1.08))
		dst = append(dst, '!'+r.quarter(), '!'+byte(min(s, 90)), '!'+0x3A)
	}
	return append(appendAltitude(dst, r.Altitude), r.Comment...)
}

// AppendMicE appends the information field of r as Mic-E and gives the destination that carries the rest of it. Altitudes
// are sent in whole metres, and a longitude of 180 as the last that can be written below it. Source: 1.0.1 ch.10.
func AppendMicE(dst []byte, r Report) (info []byte, to ax25.Call) {
	lat, lon := r.written()
	lon = min(lon, 180*60000-1)
	degree, minute := lon/60000, lon%60000/1000
	dti := byte('`')
	if r.OldFix {
		dti = '\''
	}
	symbol := r.symbol()
	dst = append(dst, dti, micEDegree(degree), micEMinute(minute), byte(lon%1000/10)+28)
	speed, course := 0, r.course()
	if !math.IsNaN(r.Speed) {
		speed = min(799, whole(r.Speed*3600/1852))
	}
	sp := speed/10 + 28
	if speed < 200 {
		sp += 80 // the printable encoding of the standard's table
	}
	dst = append(dst, byte(sp), byte(speed%10*10+course/100+4+28), byte(course%100+28), symbol[1], symbol[0])
	if r.TypeFirst != 0 {
		dst = append(dst, r.TypeFirst)
	}
	if !math.IsNaN(r.Altitude) {
		dst = append(appendBase91(dst, whole(r.Altitude)+10000, 3), '}')
	}
	dst = r.appendDigits(append(dst, r.Comment...), lat, lon)
	return append(dst, r.TypeLast...), micETo(lat, degree, r)
}

// micETo writes the latitude (thousandths of minutes), the message and three signs into a destination.
func micETo(lat, degree int, r Report) ax25.Call {
	digits := appendPadded(appendPadded(nil, lat/60000, 2), lat%60000/10, 4)
	bits := micEBits(r.Status)
	sign := [6]bool{bits&4 != 0, bits&2 != 0, bits&1 != 0, r.Place.Lat >= 0, degree < 10 || degree >= 100, r.Place.Lon < 0}
	for i, d := range digits {
		blank := i >= 6-r.Ambiguity
		custom := bits > 7 && i < 3
		switch {
		case blank && sign[i] && custom:
			digits[i] = 'K'
		case blank && sign[i]:
			digits[i] = 'Z'
		case blank:
			digits[i] = 'L'
		case sign[i] && custom:
			digits[i] = d - '0' + 'A'
		case sign[i]:
			digits[i] = d - '0' + 'P'
		}
	}
	to, _ := ax25.ParseCall(digits)
	return to
}

// micEBits gives the bits A, B, C of a message, with 8 added for a custom one.
func micEBits(s MicEStatus) int {
	for i := range micEStandard {
		switch s {
		case micEStandard[i]:
			return i
		case micECustom[i]:
			return i + 8
		}
	}
	return 7
}

// micEDegree gives the byte for degrees of longitude by the table of 1.0.1 p.47.
func micEDegree(degree int) byte {
	switch {
	case degree < 10:
		return byte(degree) + 118
	case degree < 100:
		return byte(degree) + 28
	case degree < 110:
		return byte(degree-100) + 108
	}
	return byte(degree-100) + 28
}

// micEMinute gives the byte for minutes of longitude by the table of 1.0.1 p.48.
func micEMinute(minute int) byte {
	if minute < 10 {
		return byte(minute) + 88
	}
	return byte(minute) + 28
}

// appendHead appends the data type identifier and the time.
func appendHead(dst []byte, r Report) []byte {
	kind := byte('!')
	switch {
	case r.Stamp.Kind != NoStamp && r.Messaging:
		kind = '@'
	case r.Stamp.Kind != NoStamp:
		kind = '/'
	case r.Messaging:
		kind = '='
	}
	dst = append(dst, kind)
	s := r.Stamp
	switch s.Kind {
	case ClockUTC:
		return append(appendThree(dst, s.Hour, s.Minute, s.Second), 'h')
	case DayUTC:
		return append(appendThree(dst, s.Day, s.Hour, s.Minute), 'z')
	case DayLocal:
		return append(appendThree(dst, s.Day, s.Hour, s.Minute), '/')
	}
	return dst
}

func appendThree(dst []byte, a, b, c uint8) []byte {
	return appendPadded(appendPadded(appendPadded(dst, int(a), 2), int(b), 2), int(c), 2)
}

func (r Report) symbol() [2]byte {
	if r.Symbol == [2]byte{} {
		return [2]byte{'/', '['}
	}
	return r.Symbol
}

// written gives the magnitudes of the place in thousandths of a minute, cut.
func (r Report) written() (lat, lon int) {
	// The nudge of a hundred-thousandth of a unit keeps 10.5 minutes from being cut to 10.499.
	return int(math.Abs(r.Place.Lat)*60000 + 1e-5), int(math.Abs(r.Place.Lon)*60000 + 1e-5)
}

// course gives whole degrees: 0 for unknown, 360 for north.
func (r Report) course() int {
	if math.IsNaN(r.Course) {
		return 0
	}
	if c := whole(r.Course) % 360; c > 0 {
		return c
	}
	return 360
}

// quarter gives the course in steps of 4 degrees: 0 for unknown, and for north, which would be 0, the step beside it.
func (r Report) quarter() byte {
	c := r.course()
	if c == 0 {
		return 0
	}
	return byte(max(1, min(89, c/4)))
}

// appendDigits appends the third decimals of the minutes as !WXX!.
func (r Report) appendDigits(dst []byte, lat, lon int) []byte {
	if !r.Digits || r.Ambiguity > 0 {
		return dst
	}
	return append(dst, '!', 'W', '0'+byte(lat%10), '0'+byte(lon%10), '!')
}

func appendMinutes(dst []byte, thousandths, width, blanks int) []byte {
	dst = appendPadded(dst, thousandths/60000, width)
	start := len(dst)
	dst = appendPadded(dst, thousandths%60000/1000, 2)
	dst = appendPadded(append(dst, '.'), thousandths%1000/10, 2)
	for i, at := range [...]int{4, 3, 1, 0} {
		if i < blanks {
			dst[start+at] = ' '
		}
	}
	return dst
}

func appendAltitude(dst []byte, m float64) []byte {
	if math.IsNaN(m) {
		return dst
	}
	feet := whole(m / 0.3048)
	dst = append(dst, "/A="...)
	if feet < 0 {
		return appendPadded(append(dst, '-'), -feet, 5)
	}
	return appendPadded(dst, feet, 6)
}

func letter(v float64, plus, minus byte) byte {
	if v < 0 {
		return minus
	}
	return plus
}

func whole(v float64) int { return int(math.Round(v)) }

// appendPadded appends n, which is not negative, with leading zeros to the width.
func appendPadded(dst []byte, n, width int) []byte {
	for ten := 10; width > 1; width, ten = width-1, ten*10 {
		if n < ten {
			for range width - 1 {
				dst = append(dst, '0')
			}
			break
		}
	}
	return strconv.AppendInt(dst, int64(n), 10)
}

func appendBase91(dst []byte, n, width int) []byte {
	start := len(dst)
	for range width {
		dst = append(dst, 0)
	}
	for i := width - 1; i >= 0; i-- {
		dst[start+i] = '!' + byte(n%91)
		n /= 91
	}
	return dst
}
