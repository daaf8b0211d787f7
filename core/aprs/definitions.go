package aprs

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// Definitions is what a station says of its telemetry in messages addressed to itself: names and units of five values and
// eight bits, the equations of the values, and which state of each bit is the true one. The zero Definitions leaves values
// as sent. Source: 1.0.1 ch.13 p.69-70.
type Definitions struct {
	Names, Units [13]string
	Equations    [5]Equation
	True         uint8 // B1 is the lowest bit
	Title        string
}

// An Equation turns a value v as sent into A v^2 + B v + C. The zero Equation leaves it as it is.
type Equation struct{ A, B, C float64 }

// Of gives what v stands for.
func (e Equation) Of(v float64) float64 {
	if e == (Equation{}) {
		return v
	}
	return float64(e.A*v*v) + float64(e.B*v) + e.C
}

// Learn takes a message whose text is PARM., UNIT., EQNS. or BITS. with what follows, and tells whether it was one. The
// caller sees to it that the addressee is the station that sends the telemetry.
func (d *Definitions) Learn(m *Text) bool {
	if len(m.Text) < 5 {
		return false
	}
	body := m.Text[5:]
	switch string(m.Text[:5]) {
	case "PARM.":
		d.Names = names(body)
	case "UNIT.":
		d.Units = names(body)
	case "EQNS.":
		d.Equations = equations(body)
	case "BITS.":
		bits, ok := parseBits(body)
		if !ok {
			return false
		}
		d.True, d.Title = bits, string(bytes.TrimPrefix(body[8:], comma))
	default:
		return false
	}
	return true
}

func names(b []byte) (n [13]string) {
	for i, more := 0, true; more && i < len(n); i++ {
		var f []byte
		f, b, more = bytes.Cut(b, comma)
		n[i] = string(bytes.TrimSpace(f))
	}
	return n
}

// equations reads a,b,c for each value. A coefficient that is no number takes its equation away.
func equations(b []byte) (e [5]Equation) {
	more := true
	for i := range e {
		var c [3]float64
		sound := more
		for j := range c {
			var f []byte
			f, b, more = bytes.Cut(b, comma)
			v, ok := decimal(bytes.TrimSpace(f))
			c[j], sound = v, sound && ok
		}
		if sound {
			e[i] = Equation{c[0], c[1], c[2]}
		}
	}
	return e
}

// AppendReadings appends the values of a sample with the equations applied: in V, per cent, degrees Celsius or mA where
// the unit says that it is one of these, else as they are.
func (d *Definitions) AppendReadings(dst []Reading, c Channels) []Reading {
	for i := range min(c.N, len(c.Values)) {
		v := d.Equations[i].Of(c.Values[i])
		if math.IsNaN(v) {
			continue
		}
		label := d.Names[i]
		if label == "" {
			label = fmt.Sprintf("channel %d", i+1)
		}
		q, scale, offset := quantity(d.Units[i])
		if q == Untold {
			dst = append(dst, Reading{Untold, label, d.Units[i], v})
			continue
		}
		dst = append(dst, readingIn(q, label, (v-offset)*scale))
	}
	return dst
}

// quantity tells what a unit measures, and how to come from it to V, per cent, degrees Celsius or mA.
func quantity(unit string) (q Quantity, scale, offset float64) {
	switch strings.TrimPrefix(strings.TrimPrefix(strings.ToLower(unit), "deg"), ".") {
	case "v", "volt", "volts", "vdc":
		return Voltage, 1, 0
	case "v/10", "dv":
		return Voltage, 0.1, 0
	case "v/100", "cv":
		return Voltage, 0.01, 0
	case "mv":
		return Voltage, 0.001, 0
	case "%", "percent", "pct":
		return Charge, 1, 0
	case "c", "\u00b0c", "\xb0c", "celsius":
		return Temperature, 1, 0
	case "ma":
		return Current, 1, 0
	case "a", "amp", "amps":
		return Current, 1000, 0
	case "f", "\u00b0f", "\xb0f", "fahrenheit":
		return Temperature, 1 / 1.8, 32
	}
	return Untold, 1, 0
}
