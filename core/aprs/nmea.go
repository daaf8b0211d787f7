package aprs

import (
	"bytes"
	"math"
	"math/bits"

	"lastbeacon/core/geo"
)

// nmea reads a raw sentence of a GPS receiver from any talker: RMC, GGA, GLL, VTG, WPL. A checksum, where there is one, must
// agree; a fix that the receiver calls not valid gives no place. Source: 1.0.1 ch.8 p.34; NMEA 0183 for the fields.
func (p *Packet) nmea(b []byte) {
	if bytes.HasPrefix(b, ultimeter) {
		p.Kind = Weather // raw weather station data, not decoded
		return
	}
	p.Kind = NMEA
	body, comment, ok := checked(b[1:])
	if !ok {
		p.flaw(FlawChecksum)
		return
	}
	p.Comment = bytes.TrimSpace(comment)
	var f [16][]byte
	n := split(body, &f)
	if len(f[0]) != 5 || n < 2 {
		p.flaw(FlawSentence)
		return
	}
	code := ""
	switch string(f[0][2:]) {
	case "RMC":
		code = p.rmc(f[1:])
	case "GGA":
		code = p.gga(f[1:])
	case "GLL":
		code = p.gll(f[1:])
	case "VTG":
		p.track(f[1], f[5])
	case "WPL":
		p.elsewhere = true
		code = p.fixed(f[1], f[2], f[3], f[4])
		p.Name, p.Fix = f[5], ""
	}
	if code != "" {
		p.flaw(code)
	}
}

var ultimeter = []byte("$ULTW")

// checked takes the checksum, the XOR of all bytes between $ and *, from the end, and tells whether it agrees. A sentence
// without one is taken as it is.
func checked(b []byte) (body, rest []byte, ok bool) {
	star := bytes.IndexByte(b, '*')
	if star < 0 {
		return b, nil, true
	}
	if len(b) < star+3 {
		return nil, nil, false
	}
	sum := xor(b[:star])
	hi, okH := hexDigit(b[star+1])
	lo, okL := hexDigit(b[star+2])
	return b[:star], b[star+3:], okH && okL && sum == hi<<4|lo
}

// xor combines the bytes of b, eight at a time.
func xor(b []byte) byte {
	word := uint64(0)
	for at := 0; at < len(b); at += 8 {
		word ^= load(b[at:])
	}
	word ^= word >> 32
	word ^= word >> 16
	return byte(word ^ word>>8)
}

// split cuts b at its commas into f, of which the last takes what is left.
func split(b []byte, f *[16][]byte) int {
	n, from := 0, 0
	for at := 0; at < len(b); at += 8 {
		for marks := zeros(load(b[at:]) ^ ','*each); marks != 0 && n < len(f)-1; marks &= marks - 1 {
			to := at + bits.TrailingZeros64(marks)/8
			f[n] = b[from:to]
			n, from = n+1, to+1
		}
	}
	f[n] = b[from:]
	return n + 1
}

// rmc reads time, status, latitude, longitude, speed in knots, course, date.
func (p *Packet) rmc(f [][]byte) string {
	p.clock(f[0])
	if len(f[1]) != 1 || f[1][0] != 'A' {
		return p.noFix()
	}
	p.date(f[8])
	p.track(f[7], f[6])
	return p.fixed(f[2], f[3], f[4], f[5])
}

// gga reads time, latitude, longitude, quality, and the altitude above sea level.
func (p *Packet) gga(f [][]byte) string {
	p.clock(f[0])
	if len(f[5]) != 1 || f[5][0] < '1' || f[5][0] > '8' {
		return p.noFix()
	}
	if v, ok := decimal(f[8]); ok {
		p.Altitude = v
	}
	return p.fixed(f[1], f[2], f[3], f[4])
}

// gll reads latitude, longitude, time, status. Receivers before NMEA 0183 2.0 leave out the last two.
func (p *Packet) gll(f [][]byte) string {
	p.clock(f[4])
	if len(f[5]) > 0 && f[5][0] != 'A' {
		return p.noFix()
	}
	return p.fixed(f[0], f[1], f[2], f[3])
}

func (p *Packet) noFix() string {
	p.Fix = FixNone
	return FlawInvalid
}

// track takes course and speed in knots. In NMEA 0183 a course of 0 is north and an empty one unknown.
func (p *Packet) track(course, knots []byte) {
	if v, ok := decimal(course); ok && v >= 0 && v <= 360 {
		if v == 0 {
			v = 360
		}
		p.Course = v
	}
	if v, ok := decimal(knots); ok && v >= 0 {
		p.Speed = v * knot
	}
}

// fixed takes a place from ddmm.mmmm and dddmm.mmmm with their hemispheres.
func (p *Packet) fixed(lat, ns, lon, ew []byte) string {
	y, cellY, okY := nmeaDegrees(lat, 2, 90)
	x, cellX, okX := nmeaDegrees(lon, 3, 180)
	switch {
	case !okY || !okX:
		return FlawDigits
	case len(ns) != 1 || len(ew) != 1:
		return FlawHemisphere
	}
	south, code := hemisphere("", ns[0], 'N', 'S')
	west, code := hemisphere(code, ew[0], 'E', 'W')
	if code != "" {
		return code
	}
	p.place(y, x, south, west, 0)
	p.Encoding, p.Fix, p.Cell = NMEASentence, FixCurrent, geo.Cell{Lat: cellY, Lon: cellX}
	return ""
}

// nmeaDegrees reads digits of degrees, then minutes, and the step of the last digit.
func nmeaDegrees(b []byte, width int, most float64) (deg, step float64, ok bool) {
	if len(b) < width+2 || !digits(b[:width+2]) {
		return 0, 0, false
	}
	minutes, ok := decimal(b[width:])
	deg = number(b[:width]) + minutes/60
	step = 1. / 60
	if len(b) > width+3 {
		step *= math.Pow10(width + 3 - len(b))
	}
	return deg, step, ok && minutes < 60 && deg <= most
}

// clock reads hhmmss with or without a fraction.
func (p *Packet) clock(b []byte) {
	h, okH := two(b)
	if len(b) < 6 || !okH {
		return
	}
	m, okM := two(b[2:])
	s, okS := two(b[4:])
	if okM && okS && h < 24 && m < 60 && s < 60 {
		p.Stamp = Stamp{Kind: ClockUTC, Hour: h, Minute: m, Second: s}
	}
}

// date reads ddmmyy and makes the clock a date; years from 80 on are of the last century.
func (p *Packet) date(b []byte) {
	if len(b) != 6 || p.Stamp.Kind != ClockUTC {
		return
	}
	d, okD := two(b)
	m, okM := two(b[2:])
	y, okY := two(b[4:])
	if !okD || !okM || !okY || d < 1 || d > 31 || m < 1 || m > 12 {
		return
	}
	p.Stamp.Kind, p.Stamp.Day, p.Stamp.Month, p.Stamp.Year = DateUTC, d, m, 2000+int16(y)
	if y >= 80 {
		p.Stamp.Year -= 100
	}
}
