package ax25

// Control and protocol octets of an unnumbered information frame without a layer 3 protocol.
const (
	controlUI = 0x03
	pollFinal = 0x10
	noLayer3  = 0xF0
)

const (
	addressLen = 7
	maxHops    = 8
	fcsLen     = 2
	// fcsGood is what FCS gives for a frame with its own check appended: the residue 0xF0B8 after the final inversion.
	fcsGood = 0xF0B8 ^ 0xFFFF
)

// ParseFrame reads an AX.25 UI frame without flags: destination, source, up to 8 hops, control, protocol, information, and
// the frame check where the capture kept it. The check is told by its residue, since a capture does not say whether it is
// there. info is a part of frame. Source: APRS Protocol Reference 1.2 draft c, p.12; AX.25 v2.0 address coding.
func ParseFrame(frame []byte, h *Header) (info []byte, err error) {
	h.Path = h.Path[:0]
	if len(frame) > fcsLen && FCS(frame) == fcsGood {
		frame = frame[:len(frame)-fcsLen]
	}
	if len(frame) < 2*addressLen+2 {
		return nil, ShortFrame
	}
	var last bool
	if h.To, _, last, err = parseAddress(frame); err != nil || last {
		return nil, BadAddress
	}
	if h.From, _, last, err = parseAddress(frame[addressLen:]); err != nil {
		return nil, err
	}
	frame = frame[2*addressLen:]
	for !last {
		if len(h.Path) == maxHops {
			return nil, BadAddress
		}
		hop := Hop{}
		if hop.Call, hop.Used, last, err = parseAddress(frame); err != nil {
			return nil, err
		}
		h.Path = append(h.Path, hop)
		frame = frame[addressLen:]
	}
	if len(frame) < 2 || frame[0]&^pollFinal != controlUI || frame[1] != noLayer3 {
		return nil, NotUI
	}
	return frame[2:], nil
}

// parseAddress reads seven address octets: six characters shifted left by one, then the octet with the SSID, the bit for
// "has been repeated" and the bit that ends the addresses.
func parseAddress(b []byte) (c Call, used, last bool, err error) {
	if len(b) < addressLen {
		return c, false, false, ShortFrame
	}
	for _, o := range b[:6] {
		if o&1 != 0 {
			return c, false, false, BadAddress
		}
		ch := o >> 1
		if ch == ' ' {
			break
		}
		if ch == '-' { // it would read as the SSID, which has its own octet
			return c, false, false, BadAddress
		}
		c.b[c.n] = ch
		c.n++
	}
	o := b[6]
	if ssid := o >> 1 & 15; ssid != 0 {
		c = c.withSSID(ssid)
	}
	if !c.OnAir() {
		return c, false, false, BadAddress
	}
	return c, o&0x80 != 0, o&1 != 0, nil
}

// withSSID puts a dash and a number from 1 to 15 behind a base of up to six characters.
func (c Call) withSSID(ssid byte) Call {
	c.b[c.n] = '-'
	c.n++
	if ssid >= 10 {
		c.b[c.n] = '1'
		c.n++
		ssid -= 10
	}
	c.b[c.n] = '0' + ssid
	c.n++
	return c
}

// AppendFrame appends the UI frame of h and info without flags and without the frame check (see AppendFCS). It fails with
// NotOnAir for calls that AX.25 cannot carry and with LongPath beyond 8 hops.
func AppendFrame(dst []byte, h Header, info []byte) ([]byte, error) {
	if len(h.Path) > maxHops {
		return dst, LongPath
	}
	if !h.From.OnAir() || !h.To.OnAir() {
		return dst, NotOnAir
	}
	dst = appendAddress(dst, h.To, 0xE0)
	dst = appendAddress(dst, h.From, 0x60)
	for _, hop := range h.Path {
		if !hop.Call.OnAir() {
			return dst, NotOnAir
		}
		var flags byte = 0x60
		if hop.Used {
			flags |= 0x80
		}
		dst = appendAddress(dst, hop.Call, flags)
	}
	dst[len(dst)-1] |= 1
	dst = append(dst, controlUI, noLayer3)
	return append(dst, info...), nil
}

func appendAddress(dst []byte, c Call, flags byte) []byte {
	base := c.Base()
	for i := range 6 {
		ch := base.Byte(i)
		if ch == 0 {
			ch = ' '
		}
		dst = append(dst, ch<<1)
	}
	ssid, _ := c.SSID()
	return append(dst, flags|byte(ssid)<<1)
}

// FCS gives the frame check of AX.25: CRC-16/X-25, reflected polynomial 0x8408, start and final inversion 0xFFFF. It is
// sent low byte first. The check value of "123456789" is 0x906E (CRC catalogue, CRC-16/IBM-SDLC).
func FCS(b []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, o := range b {
		crc = crc>>8 ^ fcsTable[byte(crc)^o]
	}
	return crc ^ 0xFFFF
}

// AppendFCS appends the frame check of frame to it.
func AppendFCS(frame []byte) []byte {
	crc := FCS(frame)
	return append(frame, byte(crc), byte(crc>>8))
}

var fcsTable = func() (t [256]uint16) {
	for i := range t {
		crc := uint16(i)
		for range 8 {
			odd := crc&1 != 0
			crc >>= 1
			if odd {
				crc ^= 0x8408
			}
		}
		t[i] = crc
	}
	return t
}()
