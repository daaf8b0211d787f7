package ax25

// AsSent gives h with the path that the station itself sent, as far as a copy tells, and whether it tells for certain.
// From the q construct or "CALL,I" on, internet servers wrote the path. A repeater puts its call before an alias such as
// WIDE2-2 and counts the alias down, or replaces an alias that was down to 1. The path is written to buf.
// Source: APRS Digipeater Algorithm, 4.3.2.
func AsSent(h Header, buf []Hop) (sent Header, certain bool) {
	sent = Header{From: h.From, To: h.To, Path: buf[:0]}
	certain = true
	pending := 0 // used calls since the last alias: repeaters named by the sender, or put in on the way
	for _, hop := range h.Path[:h.RadioHops()] {
		n, left, alias := hop.Call.alias()
		if !alias {
			if hop.Used {
				pending++
			}
			sent.Path = append(sent.Path, Hop{Call: hop.Call})
			continue
		}
		inserted := min(pending, n-left)
		sent.Path = sent.Path[:len(sent.Path)-inserted]
		sent.Path = append(sent.Path, Hop{Call: hop.Call.counted(left + inserted)})
		certain = certain && (hop.Used || inserted == 0) && inserted == pending
		pending = 0
	}
	return sent, certain && pending < 2
}

// RadioHops gives how many entries of the path, from the left, were written by radio stations: those before a q construct or
// before the "CALL,I" that its predecessor put at the end.
func (h *Header) RadioHops() int {
	for i, hop := range h.Path {
		if hop.Call.Q() {
			return i
		}
		if i > 0 && hop.Call.is("I") && i == len(h.Path)-1 {
			return i - 1
		}
	}
	return len(h.Path)
}

// Q tells whether c is a q construct, such as qAR, which internet servers put into the path. Source: aprs-is.net q.
func (c Call) Q() bool { return c.n == 3 && c.b[0] == 'q' && c.b[1] == 'A' }

// alias reads a generic alias such as WIDE2-1: letters, then n from 1 to 7, and how many hops are left of n.
func (c Call) alias() (n, left int, ok bool) {
	base := c.Base()
	k := base.Len() - 1
	if !c.OnAir() || k < 1 || base.Byte(k) < '1' || base.Byte(k) > '7' {
		return 0, 0, false
	}
	for i := range k {
		if ch := base.Byte(i); ch < 'A' || ch > 'Z' {
			return 0, 0, false
		}
	}
	n = int(base.Byte(k) - '0')
	left, ok = c.SSID()
	return n, left, ok && left <= n
}

// counted gives the alias with another count behind the dash; none for 0.
func (c Call) counted(left int) Call {
	base := c.Base()
	if left == 0 {
		return base
	}
	return base.withSSID(byte(left))
}
