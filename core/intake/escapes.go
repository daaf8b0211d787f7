package intake

import (
	"bytes"
	"strconv"
)

// Text that passed through a browser, mail or a monitor carries bytes in words. They are undone where the line shows it.

var entities = []struct {
	name string
	byte byte
}{{"&gt;", '>'}, {"&lt;", '<'}, {"&amp;", '&'}, {"&quot;", '"'}, {"&#39;", '\''}, {"&apos;", '\''}, {"&nbsp;", ' '}, {"&#160;", ' '}}

// appendPlain appends line with the entities of HTML undone.
func appendPlain(dst, line []byte) []byte {
	for len(line) > 0 {
		i := bytes.IndexByte(line, '&')
		if i < 0 {
			return append(dst, line...)
		}
		dst = append(dst, line[:i]...)
		line = line[i:]
		c, n := numbered(line)
		for _, e := range entities {
			if bytes.HasPrefix(line, []byte(e.name)) {
				n, c = len(e.name), e.byte
				break
			}
		}
		dst = append(dst, c)
		line = line[n:]
	}
	return dst
}

// numbered reads the entity of a byte of ASCII by its number, such as &#62; or &#x3E;, or the byte itself.
func numbered(b []byte) (c byte, n int) {
	end := bytes.IndexByte(b[:min(len(b), 7)], ';')
	if end < 3 || b[1] != '#' {
		return b[0], 1
	}
	digits, base := string(b[2:end]), 10
	if digits[0]|0x20 == 'x' {
		digits, base = digits[1:], 16
	}
	if v, err := strconv.ParseUint(digits, base, 7); err == nil && v >= ' ' {
		return byte(v), end + 1
	}
	return b[0], 1
}

// unescape undoes <0x1c> and \x1c in the information of raw, where a monitor wrote bytes that do not print that way.
func (s *splitter) unescape(raw []byte, info int) ([]byte, int) {
	if !bytes.Contains(raw[info:], []byte("<0x")) && !bytes.Contains(raw[info:], []byte(`\x`)) {
		return raw, info
	}
	s.raw = append(s.raw[:0], raw...)
	s.raw = undoEscapes(s.raw, info)
	return s.raw, info
}

// undoEscapes does so in place, from info on. Only bytes that do not print are written so; <0x41> is text.
func undoEscapes(b []byte, info int) []byte {
	out := b[:info]
	for i := info; i < len(b); {
		c, n := escape(b[i:])
		out = append(out, c)
		i += n
	}
	return out
}

// escape reads one byte, or the escape of one.
func escape(b []byte) (c byte, n int) {
	switch {
	case len(b) >= 6 && b[0] == '<' && b[1] == '0' && b[2] == 'x' && b[5] == '>':
		if c, ok := hexByte(b[3], b[4]); ok && unprintable(c) {
			return c, 6
		}
	case len(b) >= 4 && b[0] == '\\' && b[1] == 'x':
		if c, ok := hexByte(b[2], b[3]); ok && unprintable(c) {
			return c, 4
		}
	}
	return b[0], 1
}

func unprintable(c byte) bool { return c < ' ' || c >= 0x7f }

func hexByte(a, b byte) (byte, bool) {
	hi, ok1 := hexDigit(a)
	lo, ok2 := hexDigit(b)
	return hi<<4 | lo, ok1 && ok2
}

func hexDigit(c byte) (byte, bool) {
	switch {
	case c-'0' < 10:
		return c - '0', true
	case c|0x20 >= 'a' && c|0x20 <= 'f':
		return c | 0x20 - 'a' + 10, true
	}
	return 0, false
}
