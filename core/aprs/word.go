package aprs

import (
	"encoding/binary"
	"math/bits"
)

// Fields are short and every packet has many. WebAssembly made from Go pays for each turn of a loop as for several sums, so that they
// are looked at eight bytes at a time, the first byte in the lowest place of a word.
const (
	each = 0x0101010101010101 // one in every byte
	low  = 0x7f * each        // all bits of every byte but the highest
	top  = 0x80 * each        // the highest
)

// load gives the first eight bytes of b as a word, or as many as there are, with zeros behind them.
func load(b []byte) uint64 {
	if cap(b) >= 8 {
		return binary.LittleEndian.Uint64(b[:8]) & before(len(b))
	}
	return gather(b)
}

// gather does what load does where the memory ends behind b.
func gather(b []byte) (word uint64) {
	for i, ch := range b {
		word |= uint64(ch) << (8 * i)
	}
	return word
}

// before masks the first n bytes: all from eight on, since such a shift gives 0.
func before(n int) uint64 { return 1<<(8*n) - 1 }

// zeros marks the bytes that are zero by their highest bits.
func zeros(word uint64) uint64 { return ^((word&low + low) | word) & top }

// index gives the place of the first ch, which is not 0, in b; -1 without one.
func index(b []byte, ch byte) int {
	for at := 0; at < len(b); at += 8 {
		if marks := zeros(load(b[at:]) ^ uint64(ch)*each); marks != 0 {
			return at + bits.TrailingZeros64(marks)/8
		}
	}
	return -1
}

// upTo gives what stands ahead of the first ch in b and behind it, as bytes.Cut does.
func upTo(b []byte, ch byte) (ahead, behind []byte, found bool) {
	if i := index(b, ch); i >= 0 {
		return b[:i], b[i+1:], true
	}
	return b, nil, false
}

// allDigits tells whether the first n bytes of a word are digits: their high halves are 3, and stay so with 6 added.
func allDigits(word uint64, n int) bool {
	word |= '0' * each &^ before(n)
	return word&(word+6*each)&(0xf0*each) == 0x30*each
}

// valueOf gives the number that the first n bytes of a word write in digits: of neighbours first, then of pairs and of fours.
func valueOf(word uint64, n int) uint64 {
	word = (word & (0x0f * each)) << (64 - 8*n)
	word = (word*10 + word>>8) & 0x00ff00ff00ff00ff
	word = (word*100 + word>>16) & 0x0000ffff0000ffff
	return (word*10_000 + word>>32) & 0xffffffff
}

// natural reads one to eight digits; b is no longer than that.
func natural(b []byte) (float64, bool) {
	word := load(b)
	return float64(valueOf(word, len(b))), allDigits(word, len(b)) && len(b) > 0
}

// digits tells whether b is one digit or more, and nothing else.
func digits(b []byte) bool {
	for ; len(b) > 8; b = b[8:] {
		if !allDigits(load(b), 8) {
			return false
		}
	}
	return len(b) > 0 && allDigits(load(b), len(b))
}

// number reads digits that digits has seen; up to 15 of them are exact.
func number(b []byte) float64 {
	if len(b) <= 8 {
		return float64(valueOf(load(b), len(b)))
	}
	last := len(b) - 8
	return number(b[:last])*1e8 + number(b[last:])
}

// decimal reads [+-]digits[.digits], where either side of the point may be missing: at most 15 digits, exactly rounded.
func decimal(b []byte) (float64, bool) {
	sign := 1.0
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		if b[0] == '-' {
			sign = -1
		}
		b = b[1:]
	}
	if len(b) > 8 {
		n, ok := long(b)
		return sign * n, ok
	}
	n, decimals := len(b), 0
	word := load(b)
	if point := zeros(word ^ '.'*each); point != 0 {
		whole := bits.TrailingZeros64(point) / 8
		ahead := before(whole)
		word = word&ahead | word>>8&^ahead
		n--
		decimals = n - whole
	}
	if n == 0 || !allDigits(word, n) {
		return 0, false
	}
	return sign * float64(valueOf(word, n)) / tens[decimals], true
}

// long reads what decimal does, of any length and without a sign.
func long(b []byte) (float64, bool) {
	n, seen, whole := 0.0, 0, -1 // whole: how many digits stand ahead of the point
	for _, ch := range b {
		switch {
		case ch == '.' && whole < 0:
			whole = seen
			continue
		case !digit(ch) || seen == 15:
			return 0, false
		}
		n, seen = n*10+float64(ch-'0'), seen+1
	}
	if whole < 0 {
		whole = seen
	}
	return n / tens[seen-whole], seen > 0
}

// tens are the powers of ten, as far as decimal needs them.
var tens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}
