package aprs

import (
	"bytes"
	"math"
)

// Channels is one sample of telemetry as sent, before any equation. N is how many of Values the packet gives, 0 without
// telemetry; a value left empty is NaN. Sequence is -1 when not given. Bits holds B1 as its lowest bit.
type Channels struct {
	Sequence int
	N        int
	Values   [5]float64
	HasBits  bool
	Bits     uint8
}

var noChannels = Channels{Sequence: -1, Values: [5]float64{math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()}}

// telemetry reads seq,v1,..,v5,bbbbbbbb and a comment behind T#. Fewer values, decimals and signs are in use.
// Source: 1.0.1 ch.13 p.68; 1.2 draft c p.68.
func (p *Packet) telemetry(b []byte) {
	p.Kind = Telemetry
	c := &p.Telemetry
	b = p.sequence(b, c)
	for i := range c.Values {
		field, rest, more := upTo(b, ',')
		v, ok := decimal(field)
		if !ok { // blanks around it are rare
			v, ok = decimal(bytes.TrimSpace(field))
		}
		if !ok && len(field) > 0 {
			break
		}
		if ok {
			c.Values[i], c.N = v, i+1
		}
		b = rest
		if !more {
			break
		}
	}
	if c.N == 0 {
		*c = noChannels
		p.flaw(FlawTelemetry)
		return
	}
	if bits, ok := parseBits(b); ok {
		c.Bits, c.HasBits, b = bits, true, b[8:]
	}
	p.Comment = bytes.TrimPrefix(b, comma)
}

// sequence reads digits or MIC, whose comma is optional.
func (p *Packet) sequence(b []byte, c *Channels) []byte {
	if bytes.HasPrefix(b, mic) {
		return bytes.TrimPrefix(b[len(mic):], comma)
	}
	field, rest, _ := upTo(b, ',')
	if len(field) <= 9 && digits(field) {
		c.Sequence = int(number(field))
	}
	return rest
}

var (
	comma = []byte{','}
	mic   = []byte("MIC")
)

// parseBits reads eight binary digits, B1 first.
func parseBits(b []byte) (bits uint8, ok bool) {
	if len(b) < 8 || len(b) > 8 && digit(b[8]) {
		return 0, false
	}
	for i, ch := range b[:8] {
		if ch != '0' && ch != '1' {
			return 0, false
		}
		bits |= (ch - '0') << i
	}
	return bits, true
}

// takeTelemetry takes |ss11..55bb| from t: a sequence number, one to five channels, and bits behind five. It belongs at the
// end; gateways that put their own text behind it push it into the middle, so that the last one counts.
// Source: Base91 comment telemetry, 2012; 1.2 draft c p.68-70.
func (p *Packet) takeTelemetry(t []byte) []byte {
	for end := bytes.LastIndexByte(t, '|'); p.Telemetry.N == 0 && end > 0; {
		open := bytes.LastIndexByte(t[:end], '|')
		if open < 0 {
			break
		}
		if c, ok := parseBase91(t[open+1 : end]); ok {
			p.Telemetry = c
			return p.cut(t, open, end+1)
		}
		end = open
	}
	return t
}

// parseBase91 reads the digits between the bars.
func parseBase91(b []byte) (c Channels, ok bool) {
	pairs := len(b) / 2
	if len(b)%2 != 0 || pairs < 2 || pairs > 7 {
		return c, false
	}
	c = noChannels
	for i := range pairs {
		v, ok := base91(b[2*i : 2*i+2])
		switch {
		case !ok:
			return c, false
		case i == 0:
			c.Sequence = v
		case i == 6:
			c.Bits, c.HasBits = uint8(v), true
		default:
			c.Values[i-1], c.N = float64(v), i
		}
	}
	return c, true
}
