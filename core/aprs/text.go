package aprs

import "bytes"

// A Text is what a message packet carries. Slices are nil when the packet has no such part.
type Text struct {
	To          []byte // addressee, without its padding
	Text        []byte
	ID          []byte // number to acknowledge
	Reply       []byte // number that this message acknowledges besides
	Ack, Reject bool   // an acknowledgement or refusal of ID
}

// message reads addressee (nine bytes), colon, text, and a number behind {. Source: 1.0.1 ch.14 p.71; reply
// acknowledgements: 1.2 draft c p.73.
func (p *Packet) message(b []byte) {
	p.Kind = Message
	if len(b) < objectNameLen+1 || b[objectNameLen] != ':' {
		p.flaw(FlawMessage)
		return
	}
	m := &p.Message // in place: copies of large structs are dear in WebAssembly
	m.To = bytes.TrimRight(b[:objectNameLen], " ")
	t := b[objectNameLen+1:]
	switch {
	case bytes.HasPrefix(t, ack) && identifier(t[3:]):
		m.Ack, m.ID = true, t[3:]
	case bytes.HasPrefix(t, rej) && identifier(t[3:]):
		m.Reject, m.ID = true, t[3:]
	default:
		m.Text = t
		if i := bytes.LastIndexByte(t, '{'); i >= 0 && identifier(t[i+1:]) {
			m.Text, m.ID = t[:i], t[i+1:]
		}
	}
	if id, reply, ok := upTo(m.ID, '}'); ok {
		m.ID, m.Reply = id, reply
	}
}

var (
	ack = []byte("ack")
	rej = []byte("rej")
)

// identifier tells whether b is a message number: 1 to 5 letters or digits, or MM}AA with two numbers in it.
func identifier(b []byte) bool {
	id, reply, _ := upTo(b, '}')
	return len(id) >= 1 && len(id) <= 5 && len(reply) <= 5 && alphanumeric(id) && alphanumeric(reply)
}

func alphanumeric(b []byte) bool {
	for _, ch := range b {
		if !digit(ch) && (ch|0x20 < 'a' || ch|0x20 > 'z') {
			return false
		}
	}
	return true
}

// A Station is what a status tells besides its text: a Maidenhead locator of four or six characters, which is no place of
// a receiver's fix, and a beam's heading in degrees and its effective radiated power in W; NaN when not told.
type Station struct {
	Locator        []byte
	Heading, Power float64
}

// status reads [ddhhmmz]text or locator, symbol and text, and ^HP at the end. Source: 1.0.1 ch.16 p.80-82.
func (p *Packet) status(b []byte) {
	p.Kind = Status
	if len(b) >= stampLen && b[6] == 'z' {
		if s, ok := parseStamp(b); ok {
			p.Stamp, b = s, b[stampLen:]
		}
	}
	if n := locator(b); n > 0 {
		p.Status.Locator, p.Symbol = b[:n], [2]byte{b[n], b[n+1]}
		b = bytes.TrimPrefix(b[n+2:], blank)
	}
	if n := len(b); n >= 3 && b[n-3] == '^' && beam(b[n-2], b[n-1]) {
		p.Status.Heading, p.Status.Power = heading(b[n-2]), 10*float64(b[n-1]-'0')*float64(b[n-1]-'0')
		b = b[:n-3]
	}
	p.Comment = b
}

var blank = []byte{' '}

// locator gives the length of a locator at the head of b that a symbol, and then a blank or nothing, follow.
func locator(b []byte) int {
	for _, n := range [...]int{6, 4} {
		if len(b) < n+2 || len(b) > n+2 && b[n+2] != ' ' || !table(b[n]) {
			continue
		}
		if field(b[0]) && field(b[1]) && digits(b[2:4]) && (n == 4 || square(b[4]) && square(b[5])) {
			return n
		}
	}
	return 0
}

func field(ch byte) bool  { return ch >= 'A' && ch <= 'R' }
func square(ch byte) bool { return ch|0x20 >= 'a' && ch|0x20 <= 'x' }

func beam(h, power byte) bool {
	return (digit(h) || h >= 'A' && h <= 'Z') && power >= '1' && power <= 'K'
}

// heading gives ten degrees a step: 0 to 9, then A for 100 degrees and so on.
func heading(h byte) float64 {
	if digit(h) {
		return float64(h-'0') * 10
	}
	return float64(h-'A'+10) * 10
}
