// Package aprs decodes and encodes the information field of packets as the APRS Protocol Reference 1.0.1 (29 August 2000)
// says, with the additions of its 1.1 and 1.2 addenda that are in use: !DAO! digits, base-91 telemetry, the PHG rate digit.
//
// Decode never fails: a packet whose information is damaged is a packet heard, gives no place, and carries a stable code
// that says what was wrong. It guesses nothing: a field counts only if every byte of it is as the standard says.
package aprs

import (
	"math"

	"lastbeacon/core/ax25"
	"lastbeacon/core/geo"
)

// A Kind says what a packet is.
type Kind string

// Kinds of packets. A position with weather is Weather; a packet that wraps another is ThirdParty.
const (
	Position   Kind = "position"
	Compressed Kind = "compressed"
	MicE       Kind = "mic-e"
	Object     Kind = "object"
	Item       Kind = "item"
	Status     Kind = "status"
	Message    Kind = "message"
	Telemetry  Kind = "telemetry"
	Weather    Kind = "weather"
	NMEA       Kind = "nmea"
	ThirdParty Kind = "third-party"
	Other      Kind = "other"
)

// An Encoding says how a place was written.
type Encoding string

// Encodings of a place; "" when the packet has none.
const (
	PlainText    Encoding = "plain"
	Base91       Encoding = "compressed"
	MicEncoder   Encoding = "mic-e"
	NMEASentence Encoding = "nmea"
)

// A FixState says what the packet tells about the fix behind its place; "" when it tells nothing.
type FixState string

// States of a fix.
const (
	FixCurrent FixState = "current"
	FixOld     FixState = "old"
	FixNone    FixState = "none"
)

// Flaws are stable codes for what is wrong with the information of a packet. Those of a time or of an extension leave the
// place in use; all others mean that no place was taken.
const (
	FlawEmpty       = "info.empty"
	FlawShort       = "position.short"      // it ends inside the position
	FlawForm        = "position.form"       // neither plain nor compressed
	FlawDigits      = "position.digits"     // another byte where a digit or the point belongs
	FlawHemisphere  = "position.hemisphere" // not N, S, E or W
	FlawRange       = "position.range"      // beyond 90 or 180 degrees or 59.99 minutes
	FlawAmbiguity   = "position.ambiguity"  // blanks that are not a tail
	FlawSymbol      = "position.symbol"     // no symbol table that exists
	FlawNull        = "position.null"       // the sender says that it does not know its place
	FlawDestination = "mic-e.destination"   // not a Mic-E destination
	FlawMicE        = "mic-e.range"         // a byte of the information outside its range
	FlawNoFix       = "mic-e.no-fix"        // blanks in place of the longitude
	FlawTime        = "time.unusable"
	FlawName        = "object.name"
	FlawMessage     = "message.form"
	FlawTelemetry   = "telemetry.form"
	FlawWeather     = "weather.form"
	FlawChecksum    = "nmea.checksum"
	FlawSentence    = "nmea.form"
	FlawInvalid     = "nmea.no-fix"        // the receiver says that its fix is not valid
	FlawNested      = "third-party.nested" // wrapped more than MaxNested times
	FlawInner       = "third-party.header" // what it wraps has no valid header
)

// MaxNested bounds how often a third-party packet may wrap another.
const MaxNested = 4

// A Packet is a decoded information field. Slices are parts of the information field or of the Packet's own memory: they
// hold until the next Decode into the same Packet. Numbers that the packet does not tell are NaN.
type Packet struct {
	Kind      Kind
	Encoding  Encoding
	Messaging bool // the sender can take messages

	Placed    bool
	Place     geo.Place // digits as sent: blanks of an ambiguous place count as 0. !DAO! may lead 0.0002 degrees past a pole or 180
	Cell      geo.Cell  // how coarsely the place was written
	Ambiguity int       // blanked digits, 0 to 4
	Datum     byte      // of the !DAO! construct; 0 without one
	Course    float64   // degrees true, above 0 up to 360; 360 is north
	Speed     float64   // m/s
	Altitude  float64   // m above sea level
	Range     float64   // m, the radio range that the sender states
	Fix       FixState
	Stamp     Stamp

	Symbol    [2]byte // table (or overlay) and code; zero without one
	Comment   []byte  // free text, without the fields that were taken out of it; the text of a status
	Extension []byte  // data extension as sent: PHGphgd, PHGphgdr/, RNGrrrr, DFSshgd, Tyy/Cxx, BRG/NRQ

	Name   []byte // of an object, item or waypoint, which is then what the place belongs to
	Killed bool   // the object or item is withdrawn

	MicE      MicEStatus // the message of a Mic-E packet
	TypeFirst byte       // Mic-E: type byte ahead of the text; 0 without one
	TypeLast  []byte     // Mic-E: type bytes behind the text

	Telemetry Channels
	Weather   Conditions
	Message   Text
	Status    Station

	Inner     Kind // ThirdParty: the kind of the innermost packet
	InnerFrom ax25.Call
	InnerTo   ax25.Call

	Flaw string // code of what is wrong with the information; "" when nothing is

	inner       ax25.Header
	text        []byte
	south, west bool // the hemisphere as written, which a place on the equator does not show
	elsewhere   bool // the place is that of an object, item or waypoint
}

// Decode reads the information field of a packet to the destination to, whose call Mic-E uses for data, into p. It never
// fails and, once p has been used, allocates nothing.
func Decode(to ax25.Call, info []byte, p *Packet) {
	p.reset()
	info = trimLineEnd(info)
	if len(info) == 0 {
		p.flaw(FlawEmpty)
		return
	}
	if info[0] != '}' {
		p.decode(to, info)
		return
	}
	if to, inner, ok := p.unwrap(info); ok {
		p.decode(to, inner)
	}
	p.Inner, p.Kind = p.Kind, ThirdParty
}

// OwnPlace tells whether p's place is that of the station that sent it: not that of an object, item or waypoint, nor one
// that it passes on for another station.
func (p *Packet) OwnPlace() bool { return p.Placed && p.Kind != ThirdParty && !p.elsewhere }

func (p *Packet) reset() {
	path, text := p.inner.Path, p.text
	*p = empty
	p.inner.Path, p.text = path, text[:0]
}

// empty is a Packet that tells nothing.
var empty = Packet{
	Kind: Other, Course: math.NaN(), Speed: math.NaN(), Altitude: math.NaN(), Range: math.NaN(),
	Telemetry: noChannels, Weather: noConditions, Status: Station{Heading: math.NaN(), Power: math.NaN()},
}

// flaw notes what is wrong, unless something is noted already.
func (p *Packet) flaw(code string) {
	if p.Flaw == "" {
		p.Flaw = code
	}
}

// decode reads info by its data type identifier, which is its first byte.
func (p *Packet) decode(to ax25.Call, info []byte) {
	if len(info) == 0 {
		p.flaw(FlawEmpty)
		return
	}
	body := info[1:]
	switch info[0] {
	case '!':
		p.report(body, false)
	case '=':
		p.Messaging = true
		p.report(body, false)
	case '/':
		p.report(body, true)
	case '@':
		p.Messaging = true
		p.report(body, true)
	case '`', 0x1c:
		p.micE(to, body, FixCurrent)
	case '\'', 0x1d:
		p.micE(to, body, FixOld)
	case ';':
		p.object(body)
	case ')':
		p.item(body)
	case '>':
		p.status(body)
	case ':':
		p.message(body)
	case '_':
		p.positionless(body)
	case '$':
		p.nmea(info)
	case '#', '*':
		p.Kind = Weather // raw weather station data, not decoded
	case '%', '&', ',', '<', '?', '[', '{', '}':
	default:
		p.unlisted(info)
	}
}

// report reads a position report behind its data type identifier.
func (p *Packet) report(b []byte, timed bool) {
	p.Kind = Position
	if len(b) > 0 && b[0] == '!' && !timed {
		p.Kind = Weather // "!!" opens raw weather station data
		return
	}
	if timed {
		if len(b) < stampLen {
			p.flaw(FlawShort)
			return
		}
		p.stamp(b[:stampLen])
		b = b[stampLen:]
	}
	p.position(b)
}

// unlisted reads what begins with no identifier of the standard: telemetry, or a position whose '!' stands among the first
// 40 bytes because a repeater put its own text ahead. Source: 1.0.1 ch.5.
func (p *Packet) unlisted(info []byte) {
	if len(info) > 1 && info[0] == 'T' && info[1] == '#' {
		p.telemetry(info[2:])
		return
	}
	for i, ch := range info[:min(len(info), 40)] {
		if ch != '!' || i+1 == len(info) || info[i+1] == '!' {
			continue
		}
		p.report(info[i+1:], false)
		if p.Placed {
			return
		}
		from, to := p.InnerFrom, p.InnerTo
		p.reset()
		p.InnerFrom, p.InnerTo = from, to
	}
	p.Comment = info
}

func trimLineEnd(b []byte) []byte {
	for len(b) > 0 && (b[len(b)-1] == '\r' || b[len(b)-1] == '\n') {
		b = b[:len(b)-1]
	}
	return b
}
