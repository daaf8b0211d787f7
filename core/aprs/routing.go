package aprs

import "lastbeacon/core/ax25"

// Heard says how a packet came to the receiver.
type Heard uint8

// Ways of a packet, in the same order as package evidence has them.
const (
	Direct   Heard = iota // no used hop: the unit itself was heard
	Repeated              // at least one used hop
	Internet              // never on the air at this receiver
)

// Routing tells how the packet of h came to the receiver, and the call of the gateway that passed it to the internet; the
// zero call when no gateway did. TCPIP* or TCPXX* in the path, and the q constructs qAC, qAX, qAU and qAZ, stand for packets
// that no receiver took from the air. Source: aprs-is.net q; APRS Protocol Reference 1.2 draft c, ch.17.
func Routing(h *ax25.Header) (Heard, ax25.Call) {
	radio := h.RadioHops()
	var gateway ax25.Call
	if radio < len(h.Path) {
		tag := h.Path[radio].Call
		switch {
		case !tag.Q():
			gateway = tag // CALL,I
		case radio+1 < len(h.Path) && gated(tag.Byte(2)):
			gateway = h.Path[radio+1].Call
		case !gated(tag.Byte(2)) && tag.Byte(2) != 'I':
			return Internet, gateway
		}
	}
	heard := Direct
	for _, hop := range h.Path[:radio] {
		if hop.Used && internet(hop.Call) {
			return Internet, gateway
		}
		// A star behind the entries that a server appended says nothing about the radio hops left of them.
		if hop.Starred || hop.Used && !starredBeyond(h, radio) {
			heard = Repeated
		}
	}
	return heard, gateway
}

func starredBeyond(h *ax25.Header, radio int) bool {
	for _, hop := range h.Path[radio:] {
		if hop.Starred {
			return true
		}
	}
	return false
}

// internet tells the path entries of packets that came from the internet.
func internet(c ax25.Call) bool {
	return c.Len() == 5 && c.Byte(0) == 'T' && c.Byte(1) == 'C' && c.Byte(2) == 'P' &&
		(c.Byte(3) == 'I' && c.Byte(4) == 'P' || c.Byte(3) == 'X' && c.Byte(4) == 'X')
}

// gated tells the q constructs of packets that a gateway took from the air.
func gated(kind byte) bool {
	switch kind {
	case 'R', 'r', 'o', 'O', 'S':
		return true
	}
	return false
}
