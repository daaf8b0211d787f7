package aprs

import (
	"bytes"

	"lastbeacon/core/geo"
)

const (
	daoLen      = 5 // !DAO!
	altitudeLen = 9 // /A=dddddd
)

// comment takes the fields that stand in the free text, and keeps the rest. Telemetry goes first, since its digits may look
// like the others. Source: 1.0.1 ch.6 p.26; 1.2 draft c p.22-23, p.68-70.
func (p *Packet) comment(t []byte) {
	seen := opened(t)
	if seen&opensTelemetry != 0 {
		t = p.takeTelemetry(t)
	}
	if seen&opensDAO != 0 {
		if i := p.findDAO(t); i >= 0 {
			p.dao(t[i : i+daoLen])
			t = p.cut(t, i, i+daoLen)
		}
	}
	if seen&opensAltitude != 0 {
		if i := findAltitude(t); i >= 0 {
			p.Altitude = altitude(t[i:])
			t = p.cut(t, i, i+altitudeLen)
		}
	}
	p.Comment = t
}

// Fields of a comment, by the byte that opens them.
const (
	opensTelemetry = 1 << iota // |
	opensDAO                   // !
	opensAltitude              // /
)

// opened tells which fields the bytes of t may open: all in one go, since each search costs as much and most find nothing.
func opened(t []byte) (seen uint8) {
	bars, marks, slashes := uint64(0), uint64(0), uint64(0)
	for at := 0; at < len(t); at += 8 {
		word := load(t[at:])
		bars |= zeros(word ^ '|'*each)
		marks |= zeros(word ^ '!'*each)
		slashes |= zeros(word ^ '/'*each)
	}
	if bars != 0 {
		seen |= opensTelemetry
	}
	if marks != 0 {
		seen |= opensDAO
	}
	if slashes != 0 {
		seen |= opensAltitude
	}
	return seen
}

// cut gives t without t[from:to], in p's own memory where the hole is inside.
func (p *Packet) cut(t []byte, from, to int) []byte {
	switch {
	case from == 0:
		return t[to:]
	case to == len(t):
		return t[:from]
	}
	// t may lie in p.text already: every byte then moves to the left, which append does right.
	p.text = append(append(p.text[:0], t[:from]...), t[to:]...)
	return p.text
}

// findDAO gives the place of the last !DAO! of t that a position in minutes can carry, else -1. A capital D has two digits
// or two blanks, a small one two base-91 bytes.
func (p *Packet) findDAO(t []byte) int {
	if p.Encoding != PlainText && p.Encoding != MicEncoder {
		return -1
	}
	for end := len(t); ; {
		end = bytes.LastIndexByte(t[:end], '!')
		i := end - daoLen + 1
		if i < 0 {
			return -1
		}
		if t[i] == '!' && isDAO(t[i+1], t[i+2], t[i+3]) {
			return i
		}
	}
}

func isDAO(d, a, o byte) bool {
	switch {
	case d >= 'A' && d <= 'Z':
		return digit(a) && digit(o) || a == ' ' && o == ' '
	case d >= 'a' && d <= 'z':
		return a >= '!' && a <= '{' && o >= '!' && o <= '{'
	}
	return false
}

// dao adds the digits of !DAO! to the place, away from zero since they extend what is written: thousandths of a minute, or
// base-91 steps of 1.1 ten-thousandths. An ambiguous place takes none.
func (p *Packet) dao(b []byte) {
	d, a, o := b[1], b[2], b[3]
	p.Datum = d &^ 0x20
	if a == ' ' || p.Ambiguity > 0 || !p.Placed {
		return
	}
	step, zero := 0.00011/60, byte('!')
	if d == p.Datum {
		step, zero = 0.001/60, '0'
	}
	north, east := float64(a-zero)*step, float64(o-zero)*step
	if p.south {
		north = -north
	}
	if p.west {
		east = -east
	}
	p.Place.Lat += north
	p.Place.Lon += east
	p.Cell = geo.Cell{Lat: step, Lon: step}
}

// findAltitude gives the place of the first /A= that six digits, or a minus and five, follow; else -1.
func findAltitude(t []byte) int {
	for i := 0; i+altitudeLen <= len(t); i++ {
		j := bytes.IndexByte(t[i:], '/')
		if j < 0 {
			return -1
		}
		i += j
		if i+altitudeLen <= len(t) && t[i+1] == 'A' && t[i+2] == '=' && digits(t[i+4:i+altitudeLen]) && (digit(t[i+3]) || t[i+3] == '-') {
			return i
		}
	}
	return -1
}

// altitude reads /A=dddddd in feet.
func altitude(b []byte) float64 {
	feet := number(b[4:altitudeLen])
	if b[3] == '-' {
		return -feet * metresPerFoot
	}
	return (number(b[3:4])*100000 + feet) * metresPerFoot
}
