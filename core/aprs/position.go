package aprs

import (
	"encoding/binary"
	"math"

	"lastbeacon/core/geo"
)

const (
	plainLen      = 19 // ddmm.hhN, table, dddmm.hhW, code
	compressedLen = 13 // table, 4 + 4 bytes, code, cs, T
	metresPerMile = 1609.344
	metresPerFoot = 0.3048
	knot          = 1852.0 / 3600 // m/s
)

// position reads a plain or compressed position and the text behind it. Which one it is shows in the first byte: a digit or
// blank opens a latitude, everything else a symbol table. Source: 1.0.1 ch.9 p.37.
func (p *Packet) position(b []byte) {
	switch {
	case len(b) == 0:
		p.flaw(FlawShort)
	case digit(b[0]) || b[0] == ' ' || plainLayout(b):
		p.plain(b)
	case table(b[0]):
		p.compressed(b)
	default:
		p.flaw(FlawForm)
	}
}

// plainLayout tells a plain position by its fixed letters, so that one whose first digit is damaged is not read as a
// compressed one.
func plainLayout(b []byte) bool {
	return len(b) >= plainLen && b[4] == '.' && b[14] == '.' && (b[7] == 'N' || b[7] == 'S') && (b[17] == 'E' || b[17] == 'W')
}

// table tells whether ch names a symbol table or an overlay. Overlays 0-9 travel as a-j in compressed positions.
func table(ch byte) bool {
	return ch == '/' || ch == '\\' || ch >= 'A' && ch <= 'Z' || ch >= 'a' && ch <= 'j' || digit(ch)
}

// plain reads ddmm.hhN, symbol table, dddmm.hhW, symbol code. Source: 1.0.1 ch.6 p.23-25, ch.8.
func (p *Packet) plain(b []byte) {
	if len(b) < plainLen {
		p.flaw(FlawShort)
		return
	}
	// A latitude is read as a longitude below 100 degrees.
	lat, void, code := degrees(load(b)<<8|'0', -1, 90)
	south, code := hemisphere(code, b[7], 'N', 'S')
	var lon float64
	if code == "" {
		lon, _, code = degrees(load(b[9:]), void, 180)
	}
	west, code := hemisphere(code, b[17], 'E', 'W')
	if code == "" && (!table(b[8]) || b[18] < '!' || b[18] > '~') {
		code = FlawSymbol
	}
	if code != "" {
		p.flaw(code)
		return
	}
	p.Symbol = [2]byte{b[8], b[18]}
	p.Encoding = PlainText
	if lat == 0 && lon == 0 && p.Symbol == [2]byte{'\\', '.'} {
		p.Fix = FixNone
		p.flaw(FlawNull)
	} else {
		p.place(lat, lon, south, west, void)
	}
	p.afterPlain(b[plainLen:])
}

// place takes a place whose degrees were written without a sign and with void blanked digits.
func (p *Packet) place(lat, lon float64, south, west bool, void int) {
	if south {
		lat = 0 - lat
	}
	if west {
		lon = 0 - lon
	}
	p.Placed, p.Place, p.Ambiguity = true, geo.Place{Lat: lat, Lon: lon}, void
	p.south, p.west = south, west
	side := sides[void]
	p.Cell = geo.Cell{Lat: side, Lon: side}
}

// sides are those of the cells of places with so many blanked digits, degrees.
var sides = [...]float64{1. / 6000, 1. / 600, 1. / 60, 1. / 6, 1}

// units are what the digits of mm.hh are worth in hundredths of a minute, the last one first, and a degree after them.
var units = [...]int{1, 10, 100, 1000, 6000}

// degrees reads dddmm.hh, eight bytes as load gives them, the last void digits blank; void -1 takes as many as there are blanks. Digits
// where the latitude has blanks carry nothing and are dropped. Source: 1.0.1 ch.6 p.24.
func degrees(word uint64, void, most int) (deg float64, blanks int, code string) {
	const point = 5
	if byte(word>>(8*point)) != '.' {
		return 0, 0, FlawDigits
	}
	var d, hundredths int
	written := word&before(point) | word>>8&^before(point)
	if void <= 0 && allDigits(written, 7) {
		n := int(valueOf(written, 7))
		d, hundredths, void = n/10_000, n%10_000, 0
	} else if d, hundredths, void, code = blanked(written, void); code != "" {
		return 0, 0, code
	}
	if hundredths >= 6000 || d > most || d == most && hundredths > 0 {
		return 0, 0, FlawRange
	}
	return float64(d*6000+hundredths) / 6000, void, ""
}

// blanked reads dddmmhh with blanks as degrees and hundredths of a minute.
func blanked(written uint64, void int) (d, hundredths, blanks int, code string) {
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], written)
	tail := [4]byte{b[6], b[5], b[4], b[3]}
	if void < 0 {
		for void = 0; void < 4 && tail[void] == ' '; {
			void++
		}
	}
	for _, ch := range b[:3] {
		if !digit(ch) {
			return 0, 0, 0, damaged(ch)
		}
		d = d*10 + int(ch-'0')
	}
	for i, ch := range tail {
		if i < void && (digit(ch) || ch == ' ') {
			continue
		}
		if !digit(ch) {
			return 0, 0, 0, damaged(ch)
		}
		hundredths += int(ch-'0') * units[i]
	}
	return d, hundredths, void, ""
}

func damaged(ch byte) string {
	if ch == ' ' {
		return FlawAmbiguity
	}
	return FlawDigits
}

// hemisphere tells whether the letter is minus, unless an earlier code says that the position is lost.
func hemisphere(code string, letter, plus, minus byte) (bool, string) {
	if code == "" && letter != plus && letter != minus {
		code = FlawHemisphere
	}
	return letter == minus, code
}

// compressed reads table, YYYY, XXXX, code, cs, T. Source: 1.0.1 ch.9.
func (p *Packet) compressed(b []byte) {
	if p.Kind == Position {
		p.Kind = Compressed
	}
	if len(b) < compressedLen {
		p.flaw(FlawShort)
		return
	}
	y, okY := base91(b[1:5])
	x, okX := base91(b[5:9])
	if !okY || !okX || b[9] < '!' || b[9] > '~' {
		p.flaw(FlawDigits)
		return
	}
	place := geo.Place{Lat: 90 - float64(y)/380926, Lon: -180 + float64(x)/190463}
	if place.Lat < -90 || place.Lon > 180 {
		p.flaw(FlawRange)
		return
	}
	p.Encoding, p.Placed, p.Place = Base91, true, place
	p.Cell = geo.Cell{Lat: 1. / 380926, Lon: 1. / 190463}
	p.Symbol = [2]byte{b[0], b[9]}
	if b[0] >= 'a' && b[0] <= 'j' {
		p.Symbol[0] = b[0] - 'a' + '0'
	}
	course, speed := p.compressedExtension(b[10], b[11], b[12])
	rest := b[compressedLen:]
	if p.Symbol[1] == '_' {
		p.weatherReport(course, speed/knot, rest)
		return
	}
	p.Course, p.Speed = course, speed
	p.comment(rest)
}

// compressedExtension reads the bytes c, s and T: nothing for a blank c, an altitude if T names GGA as the source, a radio
// range if c is '{', else course and speed in m/s. Its course of 0 is unknown, as in every other form, although a sender that
// moves north has no other byte to say so. Source: 1.0.1 ch.9 p.38-40, ch.7 p.27.
func (p *Packet) compressedExtension(c, s, t byte) (course, speed float64) {
	course, speed = math.NaN(), math.NaN()
	if c == ' ' || t < '!' || s < '!' || s > '{' || c < '!' || c > '{' {
		return course, speed
	}
	t -= 33
	p.Fix = FixOld
	if t&0x20 != 0 {
		p.Fix = FixCurrent
	}
	switch {
	case t&0x18 == 0x10:
		p.Altitude = power(1.002, int(c-33)*91+int(s-33)) * metresPerFoot
	case c == '{':
		p.Range = 2 * powers[s-33] * metresPerMile
	case c <= 'z':
		if c > '!' {
			course = float64(c-33) * 4
		}
		speed = (powers[s-33] - 1) * knot
	}
	return course, speed
}

// powers holds 1.08 to the powers that the byte s may stand for.
var powers = func() (p [91]float64) {
	for n := range p {
		p[n] = power(1.08, n)
	}
	return p
}()

// power gives base to the n by multiplications alone, which round alike on every machine.
func power(base float64, n int) float64 {
	r := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 != 0 {
			r *= base
		}
		base *= base
	}
	return r
}

// base91 reads digits '!' to '{', the highest first.
func base91(b []byte) (n int, ok bool) {
	for _, ch := range b {
		if ch < '!' || ch > '{' {
			return 0, false
		}
		n = n*91 + int(ch-'!')
	}
	return n, true
}
