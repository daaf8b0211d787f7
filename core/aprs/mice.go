package aprs

import "lastbeacon/core/ax25"

// A MicEStatus is the message of a Mic-E packet; "" for other packets.
type MicEStatus string

// MicEUnknown is what mixed message bits say.
const MicEUnknown MicEStatus = "Unknown"

// Messages by their bits A, B, C (A the highest). Source: 1.0.1 ch.10 p.45.
var (
	micEStandard = [8]MicEStatus{"Emergency", "Priority", "Special", "Committed", "Returning", "In Service", "En Route", "Off Duty"}
	micECustom   = [8]MicEStatus{"Emergency", "Custom-6", "Custom-5", "Custom-4", "Custom-3", "Custom-2", "Custom-1", "Custom-0"}
)

const micELen = 8 // d, m, h, SP, DC, SE, code, table

// micE reads a Mic-E packet: the latitude stands in the destination, the rest in the information. Bytes are checked by their
// raw ranges, since blanks of a radio without a fix would decode to a place. Source: 1.0.1 ch.10.
func (p *Packet) micE(to ax25.Call, b []byte, fix FixState) {
	p.Kind, p.Fix = MicE, fix
	var lat micELatitude
	code := lat.destination(to)
	switch {
	case code != "":
	case len(b) < micELen:
		code = FlawShort
	case b[0] == ' ' && b[1] == ' ' && b[2] == ' ':
		p.Fix, code = FixNone, FlawNoFix
	case !micERange(b):
		code = FlawMicE
	case !table(b[7]) || b[6] < '!' || b[6] > '~':
		code = FlawSymbol
	}
	if code != "" {
		p.flaw(code)
		return
	}
	p.Encoding, p.MicE, p.Symbol = MicEncoder, lat.status, [2]byte{b[7], b[6]}
	p.place(lat.degrees, micELongitude(b, &lat), lat.south, lat.west, lat.void)
	p.micEMotion(b[3], b[4], b[5])
	p.micEText(b[micELen:])
}

// A micELatitude is what a Mic-E destination says.
type micELatitude struct {
	degrees     float64
	south, west bool
	far         bool // add 100 degrees to the longitude
	void        int
	status      MicEStatus
}

// micEUnits are what the digits of a destination are worth, in hundredths of a minute.
var micEUnits = [...]int{60000, 6000, 1000, 100, 10, 1}

// destination reads the six characters of a Mic-E destination; its SSID means nothing here.
func (l *micELatitude) destination(to ax25.Call) (code string) {
	if to.Base().Len() != 6 {
		return FlawDestination
	}
	value, standard, custom := 0, 0, 0
	for i := range micEUnits {
		c := &micEChars[to.Byte(i)]
		switch {
		case !c.valid || c.custom && i > 2:
			return FlawDestination
		case c.blank && i < 2 || !c.blank && l.void > 0:
			return FlawAmbiguity
		case i == 2 && c.digit > 5:
			return FlawRange
		}
		if c.blank {
			l.void++
		}
		value += int(c.digit) * micEUnits[i]
		switch {
		case i < 3 && c.custom:
			custom |= 4 >> i
		case i < 3 && c.set:
			standard |= 4 >> i
		case i == 3:
			l.south = !c.set
		case i == 4:
			l.far = c.set
		case i == 5:
			l.west = c.set
		}
	}
	if value > 90*6000 {
		return FlawRange
	}
	l.degrees, l.status = float64(value)/6000, micEMessage(standard, custom)
	return ""
}

func micEMessage(standard, custom int) MicEStatus {
	switch {
	case standard != 0 && custom != 0:
		return MicEUnknown
	case custom != 0:
		return micECustom[custom]
	}
	return micEStandard[standard]
}

// A micEChar is what one character of a destination says: a digit or a blank, the bit it sets, and whether it belongs to the
// custom messages.
type micEChar struct {
	digit                     uint8
	valid, blank, set, custom bool
}

// micEChars is the table of 1.0.1 p.43.
var micEChars = func() (t [256]micEChar) {
	for d := range uint8(10) {
		t['0'+d] = micEChar{digit: d, valid: true}
		t['A'+d] = micEChar{digit: d, valid: true, set: true, custom: true}
		t['P'+d] = micEChar{digit: d, valid: true, set: true}
	}
	t['K'] = micEChar{valid: true, blank: true, set: true, custom: true}
	t['L'] = micEChar{valid: true, blank: true}
	t['Z'] = micEChar{valid: true, blank: true, set: true}
	return t
}()

// micERange checks the six data bytes by their raw ranges. Source: 1.0.1 p.47-52.
func micERange(b []byte) bool {
	if b[0] < 38 || b[0] > 127 || b[1] < 38 || b[1] > 97 || b[2] < 28 || b[2] > 127 {
		return false
	}
	for _, ch := range b[3:6] {
		if ch < 28 || ch > 127 {
			return false
		}
	}
	return true
}

// micELongitude gives degrees from the bytes d, m, h. Digits that the latitude blanks are dropped.
func micELongitude(b []byte, lat *micELatitude) float64 {
	d := int(b[0]) - 28
	if lat.far {
		d += 100
	}
	switch {
	case d >= 190:
		d -= 190
	case d >= 180:
		d -= 80
	}
	m := int(b[1]) - 28
	if m >= 60 {
		m -= 60
	}
	hundredths := m*100 + int(b[2]) - 28
	hundredths -= hundredths % units[lat.void]
	return float64(d*6000+hundredths) / 6000
}

// micEMotion reads speed and course; a course of 0 is unknown, 360 is north. Both legal encodings of the speed are read.
func (p *Packet) micEMotion(sp, dc, se byte) {
	speed := (int(sp)-28)*10 + (int(dc)-28)/10
	if speed >= 800 {
		speed -= 800
	}
	course := (int(dc)-28)%10*100 + int(se) - 28
	if course >= 400 {
		course -= 400
	}
	p.Speed = float64(speed) * knot
	if course > 0 && course <= 360 {
		p.Course = float64(course)
	}
}

// micEText reads the text: a type byte, the altitude xxx}, the comment with its fields, and type bytes at the end.
// Source: 1.2 draft c p.54-56.
func (p *Packet) micEText(t []byte) {
	if len(t) > 0 {
		switch t[0] {
		case ' ', '>', ']', '`', '\'':
			p.TypeFirst, t = t[0], t[1:]
		}
	}
	if n := typeLast(p.TypeFirst, t); n > 0 {
		t, p.TypeLast = t[:len(t)-n], t[len(t)-n:]
	} else if p.micETelemetry(t) {
		p.Comment = t
		return
	}
	if len(t) >= 4 && t[3] == '}' {
		if n, ok := base91(t[:3]); ok {
			p.Altitude, t = float64(n-10000), t[4:]
		}
	}
	p.comment(t)
}

// typeLast gives the number of type bytes at the end of t, by the type byte ahead of it.
func typeLast(first byte, t []byte) int {
	n := len(t)
	if n == 0 {
		return 0
	}
	last := t[n-1]
	switch first {
	case '>':
		if last == '=' || last == '^' || last == '&' {
			return 1
		}
	case ']':
		if last == '=' {
			return 1
		}
	case '`', '\'':
		if n >= 2 && makerAndModel(t[n-2], last) {
			return 2
		}
	}
	return 0
}

// makerAndModel tells whether two bytes are a type that is assigned, or of an assigned maker, so that the end of a comment
// is not taken for one.
func makerAndModel(maker, model byte) bool {
	switch maker {
	case '_':
		return model >= ' ' && model <= '~'
	case '|', ':', '(':
		return digit(model)
	case '*', '^', '~':
		return model == 'v'
	case ' ':
		return model == 'X'
	}
	return false
}

// micETelemetry reads the obsolete telemetry behind ' (ten hexadecimal digits) or ` (four) if nothing else is there. Since a
// comment may look alike, the digits stay in the comment too. Source: 1.0.1 ch.10 p.54.
func (p *Packet) micETelemetry(t []byte) bool {
	var values [5]float64
	switch {
	case p.TypeFirst == '\'' && len(t) == 10:
	case p.TypeFirst == '`' && len(t) == 4:
	default:
		return false
	}
	n := len(t) / 2
	for i := range n {
		hi, okH := hexDigit(t[2*i])
		lo, okL := hexDigit(t[2*i+1])
		if !okH || !okL {
			return false
		}
		values[i] = float64(hi<<4 | lo)
	}
	p.Telemetry = Channels{Sequence: -1, N: n, Values: values}
	if n == 2 { // channels 1 and 3
		p.Telemetry.N, p.Telemetry.Values[2], p.Telemetry.Values[1] = 3, values[1], noChannels.Values[1]
	}
	return true
}

func hexDigit(ch byte) (byte, bool) {
	switch {
	case digit(ch):
		return ch - '0', true
	case ch >= 'A' && ch <= 'F':
		return ch - 'A' + 10, true
	case ch >= 'a' && ch <= 'f':
		return ch - 'a' + 10, true
	}
	return 0, false
}
