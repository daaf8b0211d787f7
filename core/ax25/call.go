// Package ax25 holds call signs, packet headers as monitor text and as AX.25 UI frames, KISS framing, the frame check, and
// the time a frame takes on the air.
package ax25

// A Call is a station's call sign with its SSID as sent, such as QX1ABC-7, up to 9 bytes. It compares with == and serves as
// a map key. The zero Call is no station.
type Call struct {
	n uint8
	b [9]byte
}

// ParseCall reads a call sign as heard on the air or through the internet: 1 to 9 printable bytes without blanks, '>' ','
// ':' or '*'. Case is kept.
func ParseCall(s []byte) (Call, bool) {
	if len(s) == 0 || len(s) > 9 {
		return Call{}, false
	}
	var c Call
	for i, ch := range s {
		if ch <= ' ' || ch >= 0x7f || ch == '>' || ch == ',' || ch == ':' || ch == '*' {
			return Call{}, false
		}
		c.b[i] = ch
	}
	c.n = uint8(len(s))
	return c, true
}

// String gives the call as sent; "" for the zero Call.
func (c Call) String() string { return string(c.b[:c.n]) }

// AppendTo appends what String gives.
func (c Call) AppendTo(b []byte) []byte { return append(b, c.b[:c.n]...) }

// Zero tells whether c is no station.
func (c Call) Zero() bool { return c.n == 0 }
