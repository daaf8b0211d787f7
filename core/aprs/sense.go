package aprs

import (
	"bytes"
	"slices"
	"strings"
)

// A Quantity is what a Reading measures.
type Quantity string

// Quantities that tell of a battery and its surroundings; Untold is a telemetry value whose unit tells nothing of them.
const (
	Voltage     Quantity = "voltage"     // V
	Charge      Quantity = "charge"      // per cent
	Temperature Quantity = "temperature" // degrees Celsius
	Current     Quantity = "current"     // mA
	Untold      Quantity = ""
)

// A Reading is a value that a unit sent of itself, in telemetry or as free text. Label is what the sender calls it, "" if
// nothing. Unit is V, %, °C or mA for the quantities above, and the sender's own, or "", for Untold.
type Reading struct {
	Quantity Quantity
	Label    string
	Unit     string
	Value    float64
}

func readingIn(q Quantity, label string, v float64) Reading {
	unit := "V"
	switch q {
	case Charge:
		unit = "%"
	case Temperature:
		unit = "°C"
	case Current:
		unit = "mA"
	}
	return Reading{q, label, unit, v}
}

// AppendReadings appends what free text such as "Bat=4.01", "7.8V", "83%" or "21C" tells. The standard has no field for it:
// a number counts if its unit stands right behind it, or if it has a decimal mark and a battery's name ahead of it. A comma
// between digits is a decimal mark ahead of V, and of C where one digit follows it; else nobody can tell it from one that parts
// two values, and neither counts. Values that no battery of a portable radio has (over 60 V, over 100 %, beyond -60 or 125 degrees, over 20 A) are
// left out.
func AppendReadings(dst []Reading, text []byte) []Reading {
	for i := 0; i < len(text); {
		n := numeral(text, i)
		if n == 0 {
			i++
			continue
		}
		number := text[i : i+n]
		whole, fraction, comma := bytes.Cut(number, []byte{','})
		if comma {
			number = slices.Concat(whole, []byte{'.'}, fraction)
		}
		value, _ := decimal(number)
		r, ok := readingOf(value, text[i+n:], labelBefore(text[:i]), bytes.IndexByte(number, '.') >= 0)
		if ok && (!comma || r.Quantity == Voltage || r.Quantity == Temperature && len(fraction) == 1) {
			dst = append(dst, r)
		}
		i += n
	}
	return dst
}

// numeral gives the length of a decimal number that begins at i and stands by itself on its left side, or right behind a
// battery's name, as in BAT7.8V.
func numeral(t []byte, i int) int {
	j := i
	if t[j] == '-' || t[j] == '+' {
		j++
	}
	start := j
	for j < len(t) && (digit(t[j]) || t[j] == '.' && j > start && j+1 < len(t) && digit(t[j+1])) {
		j++
	}
	if j == start || j-start > 6 || i > 0 && !free(t[:i]) || glued(t[:i]) && bytes.IndexByte(t[i:j], '.') < 0 {
		return 0
	}
	if _, ok := decimal(t[i:j]); !ok {
		return 0
	}
	return j - i + fractionAt(t[i:j], t[j:])
}

// glued tells whether t ends in a whole number and a comma, so that a whole number behind it may be its fraction.
func glued(t []byte) bool {
	if len(t) < 2 || t[len(t)-1] != ',' || !digit(t[len(t)-2]) {
		return false
	}
	i := len(t) - 1
	for i > 0 && digit(t[i-1]) {
		i--
	}
	return i == 0 || t[i-1] != '.'
}

// fractionAt gives the length of a comma and the digits behind it that may belong to the whole number ahead: not where either
// number has a decimal point, or a third follows.
func fractionAt(number, after []byte) int {
	n := 1
	for n < len(after) && digit(after[n]) {
		n++
	}
	if len(after) < 2 || after[0] != ',' || n == 1 || n > 4 || bytes.IndexByte(number, '.') >= 0 {
		return 0
	}
	if n+1 < len(after) && (after[n] == '.' || after[n] == ',') && digit(after[n+1]) {
		return 0
	}
	return n
}

// free tells whether a number may begin behind t.
func free(t []byte) bool {
	switch last := t[len(t)-1]; {
	case last == '.' || last == '/' || last == '-' || last == '+':
		return false
	case word(last):
		return battery(labelBefore(t))
	}
	return true
}

func word(ch byte) bool {
	return digit(ch) || ch|0x20 >= 'a' && ch|0x20 <= 'z' || ch >= 0x80 && ch != 0xb0
}

// labelBefore gives the word that stands ahead of a number, with '=', ':' or blanks between. The unit of an earlier number
// is no label.
func labelBefore(t []byte) string {
	t = bytes.TrimRight(t, "=: ")
	const longest = 12
	i := len(t)
	for i > 0 && len(t)-i <= longest && t[i-1]|0x20 >= 'a' && t[i-1]|0x20 <= 'z' {
		i--
	}
	if i > 0 && digit(t[i-1]) || len(t)-i > longest {
		return ""
	}
	ahead := bytes.TrimRight(t[:i], " ")
	if _, unit := unitAt(t[i:]); unit && len(ahead) > 0 && digit(ahead[len(ahead)-1]) {
		return ""
	}
	return string(t[i:])
}

func battery(label string) bool {
	switch strings.ToLower(label) {
	case "b", "bat", "batt", "battery", "vbat", "vbatt", "volt", "volts", "voltage", "u", "v", "pwr":
		return true
	}
	return false
}

// readingOf tells what a number is, by the unit behind it or the label ahead.
func readingOf(v float64, after []byte, label string, point bool) (Reading, bool) {
	unit, ok := unitAt(after)
	switch {
	case ok && unit == "V" && v > 0 && v <= 60:
		return readingIn(Voltage, label, v), true
	case ok && unit == "mV" && v > 0 && v <= 60000:
		return readingIn(Voltage, label, v/1000), true
	case ok && unit == "%" && v >= 0 && v <= 100 && !humidity(label):
		return readingIn(Charge, label, v), true
	case ok && unit == "C" && v >= -60 && v <= 125:
		return readingIn(Temperature, label, v), true
	case ok && unit == "F" && v >= -76 && v <= 257:
		return readingIn(Temperature, label, (v-32)/1.8), true
	case ok && unit == "mA" && v >= 0 && v <= 20000:
		return readingIn(Current, label, v), true
	case !ok && point && battery(label) && v > 0 && v <= 60 && (len(after) == 0 || !word(after[0])):
		return readingIn(Voltage, label, v), true
	}
	return Reading{}, false
}

func humidity(label string) bool {
	l := strings.ToLower(label)
	return strings.HasPrefix(l, "hum") || l == "rh" || l == "h"
}

// unitAt reads a unit at the head of b, with up to one blank ahead of it and no letter or digit behind.
func unitAt(b []byte) (string, bool) {
	b = bytes.TrimPrefix(b, blank)
	b = bytes.TrimPrefix(bytes.TrimPrefix(b, []byte{0xc2}), []byte{0xb0})
	b = bytes.TrimPrefix(b, []byte("deg"))
	for _, unit := range [...]string{"Volts", "volts", "Volt", "volt", "mV", "mA", "V", "v", "%", "C", "F"} {
		if !bytes.HasPrefix(b, []byte(unit)) || len(b) > len(unit) && word(b[len(unit)]) {
			continue
		}
		switch unit {
		case "Volts", "volts", "Volt", "volt", "v":
			return "V", true
		}
		return unit, true
	}
	return "", false
}
