// Package ax25 holds call signs, packet headers as monitor text and as AX.25 UI frames, KISS framing, the frame check, and
// the time a frame takes on the air.
package ax25

import (
	"encoding/binary"
	"math/bits"
)

// A Call is a station's call sign with its SSID as sent, such as QX1ABC-7, up to 9 bytes. It compares with == and serves as
// a map key. The zero Call is no station.
type Call struct {
	n uint8
	b [9]byte
}

// ParseCall reads a call sign as heard on the air or through the internet: 1 to 9 printable bytes without blanks, '>' ','
// ':' or '*'. Case is kept.
func ParseCall(s []byte) (Call, bool) {
	var c Call
	if n := c.read(s); n == 0 || n < len(s) {
		return Call{}, false
	}
	return c, true
}

// read reads the call that b begins with and gives its length; 0 when there is none, or it goes on beyond 9 bytes. Every
// line has half a dozen calls, so they are looked at eight bytes at a time: WebAssembly made from Go pays for each branch
// that is taken.
func (c *Call) read(b []byte) int {
	if len(b) < 10 {
		var padded [10]byte
		copy(padded[:], b)
		b = padded[:]
	}
	word := binary.LittleEndian.Uint64(b)
	n := bits.TrailingZeros64(outside(word)) / 8
	c.b[8] = 0
	if n == 8 && !ends(b[8]) {
		if !ends(b[9]) {
			return 0
		}
		c.b[8] = b[8]
		n = 9
	}
	binary.LittleEndian.PutUint64(c.b[:8], word&(1<<(8*n)-1)) // all of it from 8 bytes on, since such a shift gives 0
	c.n = uint8(n)
	return n
}

// ends tells that ch is no byte of a call.
func ends(ch byte) bool { return outside(uint64(ch))&0x80 != 0 }

// outside marks the bytes of word, the lowest first, that a call cannot hold, by their highest bits. Marks above the lowest
// one may be wrong, since a borrow or carry of one byte reaches the next.
func outside(word uint64) uint64 {
	const each, top = 0x0101010101010101, 0x8080808080808080
	star := word&^(0x10*each) ^ '*'*each // 0 in '*' and ':', which differ in one bit
	comma, arrow := word^','*each, word^'>'*each
	zero := (star-each)&^star | (comma-each)&^comma | (arrow-each)&^arrow
	return (zero | (word-'!'*each)&^word | (word + each) | word) & top
}

// String gives the call as sent; "" for the zero Call.
func (c Call) String() string { return string(c.b[:c.n]) }

// AppendTo appends what String gives.
func (c Call) AppendTo(b []byte) []byte { return append(b, c.b[:c.n]...) }

// Zero tells whether c is no station.
func (c Call) Zero() bool { return c.n == 0 }

// Len gives the number of bytes of c, SSID and dash included: 0 to 9.
func (c Call) Len() int { return int(c.n) }

// Byte gives byte i of c; 0 beyond its end.
func (c Call) Byte(i int) byte {
	if i < 0 || i >= int(c.n) {
		return 0
	}
	return c.b[i]
}

// Base gives c without its SSID: QX1ABC of QX1ABC-7.
func (c Call) Base() Call {
	i := c.dash()
	if i < 0 {
		return c
	}
	base := Call{n: uint8(i)}
	copy(base.b[:], c.b[:i])
	return base
}

// SSID gives the secondary station identifier, 0 to 15; a call without one has 0. ok is false for what the air does not
// know, such as -L4, -00 or -16.
func (c Call) SSID() (ssid int, ok bool) {
	i := c.dash()
	if i < 0 {
		return 0, true
	}
	s := c.b[i+1 : c.n]
	switch {
	case len(s) == 1 && digit(s[0]):
		return int(s[0] - '0'), true
	case len(s) == 2 && s[0] == '1' && s[1] >= '0' && s[1] <= '5':
		return 10 + int(s[1]-'0'), true
	}
	return 0, false
}

// OnAir tells whether AX.25 can carry c: 1 to 6 capitals and digits, SSID 0 to 15.
func (c Call) OnAir() bool {
	base := c.Base()
	if base.n == 0 || base.n > 6 {
		return false
	}
	for _, ch := range base.b[:base.n] {
		if !digit(ch) && (ch < 'A' || ch > 'Z') {
			return false
		}
	}
	_, ok := c.SSID()
	return ok
}

// is tells whether c reads s.
func (c Call) is(s string) bool { return int(c.n) == len(s) && string(c.b[:c.n]) == s }

// dash gives the place of the dash before the SSID, -1 without one.
func (c Call) dash() int {
	for i := int(c.n) - 1; i > 0; i-- {
		if c.b[i] == '-' {
			return i
		}
	}
	return -1
}

func digit(ch byte) bool { return ch >= '0' && ch <= '9' }
