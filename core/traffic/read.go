package traffic

import (
	"bytes"
	"math"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
)

// A reader decodes receptions; its memory is used again for each.
type reader struct {
	packet aprs.Packet
	header ax25.Header
	path   []ax25.Hop
}

// matches tells whether the rule holds for a reception that read has just decoded.
func (rule *Rule) matches(r *evidence.Reception, p *aprs.Packet) bool {
	switch {
	case rule.Station != "" && rule.Station != r.From.String(),
		rule.Destination != "" && rule.Destination != r.To.String(),
		rule.Symbol != "" && rule.Symbol != string(p.Symbol[:]),
		rule.Encoding != "" && rule.Encoding != string(p.Encoding),
		rule.From.Known() && !(r.At.Known() && r.At >= rule.From),
		rule.Until.Known() && !(r.At.Known() && r.At <= rule.Until):
		return false
	}
	return rule.Comment == "" || bytes.Contains(p.Comment, []byte(rule.Comment))
}

// empty tells whether the rule gives no part at all: it then claims nothing rather than everything.
func (rule *Rule) empty() bool {
	return rule.Station == "" && rule.Comment == "" && rule.Destination == "" && rule.Symbol == "" && rule.Encoding == ""
}

// read decodes the information of a reception.
func (d *reader) read(r *evidence.Reception) *aprs.Packet {
	aprs.Decode(r.To, r.InfoField(), &d.packet)
	return &d.packet
}

// asSent gives the path that the unit itself sent, and whether the reception tells it for certain.
func (d *reader) asSent(r *evidence.Reception) (ax25.Header, bool) {
	if _, err := ax25.ParseHeader(r.Raw, &d.header); err != nil {
		return ax25.Header{From: r.From, To: r.To}, false
	}
	sent, certain := ax25.AsSent(d.header, d.path)
	d.path = sent.Path
	return sent, certain
}

// Lengths in bytes of an AX.25 UI frame (AX.25 v2.0): each address, and control, protocol and frame check together.
const (
	addressBytes = 7
	frameBytes   = 4
)

// describe fills in what later stages need to know of a transmission, from the reception that counts.
func (d *reader) describe(t *Transmission) {
	r := t.Heard[0]
	p := d.read(r)
	sent, _ := d.asSent(r)
	t.Bytes = addressBytes*(2+len(sent.Path)) + frameBytes + len(r.InfoField())
	t.Encoding, t.Symbol, t.FixState = string(p.Encoding), p.Symbol, p.Fix
	t.Comment = bytes.Clone(p.Comment)
	t.Beacon = p.Kind == aprs.Position || p.Kind == aprs.Compressed || p.Kind == aprs.MicE || p.Kind == aprs.NMEA
	t.Ack = p.Kind == aprs.Message && (p.Message.Ack || p.Message.Reject)
	t.Sequence = sequence(p)
	t.Volts = volts(p.Comment)
	if p.OwnPlace() {
		t.Fix = &evidence.Fix{
			At: t.At, Place: p.Place, Cell: p.Cell, Line: r.Line,
			Speed: float32(p.Speed), Course: float32(p.Course),
		}
	}
}

// Running numbers begin anew after 999 in telemetry packets and after 8280 in comments. Source: APRS Protocol Reference
// 1.0.1 ch.13; base-91 comment telemetry, 2012.
const (
	packetWrap  = 1000
	commentWrap = 8281
)

func sequence(p *aprs.Packet) Sequence {
	switch {
	case p.Telemetry.N == 0 || p.Telemetry.Sequence < 0:
		return Sequence{}
	case p.Kind == aprs.Telemetry:
		return Sequence{p.Telemetry.Sequence, packetWrap}
	}
	return Sequence{p.Telemetry.Sequence, commentWrap}
}

// volts finds the first number in free text that a V follows as a unit, such as 7.92V or 13.8 V, between 1 and 60; NaN when
// there is none. Common practice, no source: no standard field holds a voltage.
func volts(text []byte) float64 {
	for i, ch := range text {
		if ch != 'V' && ch != 'v' || i+1 < len(text) && letter(text[i+1]) {
			continue
		}
		end := i
		if end > 0 && text[end-1] == ' ' {
			end--
		}
		start := end
		for start > 0 && (text[start-1] >= '0' && text[start-1] <= '9' || text[start-1] == '.') {
			start--
		}
		if v, ok := decimal(text[start:end]); ok && v >= 1 && v <= 60 {
			return v
		}
	}
	return math.NaN()
}

func letter(ch byte) bool { return ch|0x20 >= 'a' && ch|0x20 <= 'z' }

// decimal reads digits with at most one point.
func decimal(b []byte) (float64, bool) {
	whole, scale, points, digits := 0.0, 1.0, 0, 0
	for _, ch := range b {
		if ch == '.' {
			points++
			continue
		}
		digits++
		whole = whole*10 + float64(ch-'0')
		if points > 0 {
			scale *= 10
		}
	}
	return whole / scale, digits > 0 && digits <= 9 && points <= 1
}
