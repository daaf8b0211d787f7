package intake

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// A meaning is what a column of a table, or a field of an object, holds.
type meaning uint8

const (
	mTime meaning = iota
	mDate
	mLat
	mLon
	mSpeed
	mCourse
	mVolts
	mAmps
	mPacket
	mFrom
	mTo
	mPath
	mInfo
	mComment
	meanings // how many there are
)

// uses are the words by which somebody may say what a column holds. Where a word states no unit of speed, volts or amperes,
// the header's counts.
var uses = []struct {
	word string
	column
}{
	{"time", column{mTime, 1}}, {"date", column{mDate, 1}},
	{"lat", column{mLat, 1}}, {"lat 1e-7", column{mLat, 1e-7}}, {"lon", column{mLon, 1}}, {"lon 1e-7", column{mLon, 1e-7}},
	{"speed", column{mSpeed, math.NaN()}}, {"speed m/s", column{mSpeed, 1}}, {"speed km/h", column{mSpeed, 1 / 3.6}},
	{"speed kn", column{mSpeed, 1852 / 3600.0}}, {"speed mph", column{mSpeed, 1609.344 / 3600}}, {"course", column{mCourse, 1}},
	{"volts", column{mVolts, math.NaN()}}, {"volts V", column{mVolts, 1}}, {"volts mV", column{mVolts, 1e-3}},
	{"amps", column{mAmps, math.NaN()}}, {"amps A", column{mAmps, 1}}, {"amps mA", column{mAmps, 1e-3}},
	{"packet", column{mPacket, 1}}, {"from", column{mFrom, 1}}, {"to", column{mTo, 1}}, {"path", column{mPath, 1}},
	{"info", column{mInfo, 1}}, {"comment", column{mComment, 1}}, {"none", column{meanings, 1}},
}

// Meanings lists the words that Settings.Columns understands.
func Meanings() []string {
	var words []string
	for _, u := range uses {
		words = append(words, u.word)
	}
	return words
}

// word gives what a column is said to hold, "none" when nothing that is used.
func (c column) word() string {
	for _, u := range uses {
		if u.meaning == c.meaning && (u.scale == c.scale || math.IsNaN(u.scale) && math.IsNaN(c.scale)) {
			return u.word
		}
	}
	return "none"
}

// said gives the column that a word means under a header.
func said(word, header string) (column, bool) {
	for _, u := range uses {
		if u.word == word {
			c := u.column
			if _, unit := nameAndUnit(header); math.IsNaN(c.scale) {
				c.scale = scaleOf(c.meaning, "", unit)
			}
			return c, true
		}
	}
	return column{}, false
}

// headers gives the usual headers of each meaning, lower case, words parted by one blank; common practice, no source.
var headers = [meanings][]string{
	mTime: {"time", "timestamp", "datetime", "date time", "date and time", "utc", "time utc", "utc time", "gps time", "rx time", "received",
		"received at", "heard", "heard at", "at", "when", "epoch", "unix", "unix time", "unixtime", "utime", "ts", "iso time", "t",
		"isotime", "time stamp", "local time", "zeit", "uhrzeit", "zeitstempel"},
	mDate:    {"date", "day", "datum"},
	mLat:     {"lat", "latitude", "latitude i", "lat deg", "lat e7", "breite"},
	mLon:     {"lon", "lng", "long", "longitude", "longitude i", "lon deg", "lng e7", "lon e7", "laenge", "länge"},
	mSpeed:   {"speed", "spd", "velocity", "ground speed", "groundspeed", "sog"},
	mCourse:  {"course", "cog", "heading", "bearing", "track", "direction", "ground track"},
	mVolts:   {"volts", "volt", "voltage", "v", "u", "battery voltage", "vbat", "bus voltage", "spannung"},
	mAmps:    {"amps", "amp", "ampere", "amperes", "current", "i", "a", "ma", "strom"},
	mPacket:  {"packet", "raw", "frame", "monitor", "raw packet", "raw line", "tnc2"},
	mFrom:    {"from", "source", "src", "station", "call", "callsign", "call sign", "sender", "fromcall", "from call", "source call"},
	mTo:      {"to", "destination", "dest", "dst", "tocall", "to call"},
	mPath:    {"path", "via", "digipeaters", "digis"},
	mInfo:    {"info", "information", "payload", "information field"},
	mComment: {"comment", "text", "status"},
}

// A column is one column whose meaning is known. Values times scale are degrees, m/s, volts or amperes; scale NaN says that
// the unit is not known.
type column struct {
	meaning meaning
	scale   float64
}

// columnOf tells what a header means, its unit included: "Speed (km/h)", "current_ma", "latitudeI".
func columnOf(header string) (column, bool) {
	name, unit := nameAndUnit(header)
	for m := range meanings {
		for _, h := range headers[m] {
			if h == name {
				return column{m, scaleOf(m, name, unit)}, true
			}
		}
	}
	return column{}, false
}

// spaced writes a header in lower case with one blank between words: camelCase, under_scores and full stops part words.
func spaced(header string) string {
	var b strings.Builder
	lower := false
	for _, c := range header {
		switch {
		case unicode.IsUpper(c) && lower:
			b.WriteByte(' ')
		case c == '_' || c == '-' || c == '.' || unicode.IsSpace(c) || c == 0xfeff:
			b.WriteByte(' ')
			lower = false
			continue
		}
		lower = unicode.IsLower(c)
		b.WriteRune(unicode.ToLower(c))
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

var units = map[string]float64{
	"km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "kmph": 1 / 3.6, "m/s": 1, "mps": 1, "kn": 1852 / 3600.0, "kt": 1852 / 3600.0, "kts": 1852 / 3600.0,
	"knots": 1852 / 3600.0, "mph": 1609.344 / 3600, "deg": 1, "°": 1, "degrees": 1, "v": 1, "mv": 1e-3, "a": 1, "ma": 1e-3, "volts": 1, "amps": 1, "utc": 1,
}

// nameAndUnit parts a header from its unit, in brackets, behind a slash or as its last word.
func nameAndUnit(header string) (name, unit string) {
	if i := strings.IndexAny(header, "([{"); i > 0 {
		return spaced(header[:i]), strings.ToLower(strings.TrimSpace(strings.Trim(strings.TrimSpace(header[i:]), "()[]{}")))
	}
	s := spaced(header)
	for _, split := range []string{" m a", " m v"} { // mA and mV look like two words
		if base, ok := strings.CutSuffix(s, split); ok {
			return base, strings.ReplaceAll(split, " ", "")
		}
	}
	if i := strings.IndexByte(s, '/'); i > 0 && units[s[i+1:]] != 0 {
		return strings.TrimSpace(s[:i]), s[i+1:]
	}
	for _, cut := range []string{" m s", " km h"} {
		if base, ok := strings.CutSuffix(s, cut); ok {
			return base, strings.ReplaceAll(cut[1:], " ", "/")
		}
	}
	if i := strings.LastIndexByte(s, ' '); i > 0 && units[s[i+1:]] != 0 {
		return s[:i], s[i+1:]
	}
	return s, ""
}

// scaleOf gives what a value is multiplied with. Only a speed needs its unit said.
func scaleOf(m meaning, name, unit string) float64 {
	if strings.HasSuffix(name, " i") || strings.HasSuffix(name, " e7") {
		return 1e-7
	}
	if u, ok := units[unit]; ok {
		return u
	}
	switch {
	case name == "ma":
		return 1e-3
	case m == mSpeed, unit != "" && (m == mVolts || m == mAmps):
		return math.NaN()
	}
	return 1
}

// saysUTC tells whether the name of a time says in which zone it is: "Time (UTC)", "time_utc", "GMT".
func saysUTC(name []byte) bool {
	for _, zone := range []string{"UTC", "utc", "Utc", "GMT", "gmt"} {
		if bytes.Contains(name, []byte(zone)) {
			return true
		}
	}
	return false
}

// amount reads a number, with a decimal comma where the comma parts no columns. ok is false when there is none; an empty
// field is NaN.
func amount(b []byte, comma bool) (v float64, ok bool) {
	s := strings.TrimSpace(string(b))
	if s == "" || s == "-" || strings.EqualFold(s, "null") || strings.EqualFold(s, "nan") {
		return math.NaN(), true
	}
	if comma && strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	return decimal(s)
}

// decimal reads a number in decimal figures; Go's own notations, 0x1p4 and 1_000, are none.
func decimal(s string) (v float64, ok bool) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || strings.ContainsAny(s, "xX_") {
		return math.NaN(), false
	}
	return v, true
}

// degrees reads a coordinate: decimal, with N, S, E or W at either end, degrees and minutes, and seconds, with a hemisphere or the
// sign of degrees, or an integer of 1e-7 degrees, which shows by its size.
func degrees(b []byte, scale float64, comma bool) float64 {
	s := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(string(b)), "°"))
	sign, sphere := 1.0, false
	if n := len(s); n > 1 {
		switch end, begin := s[n-1]|0x20, s[0]|0x20; {
		case strings.IndexByte("nsew", end) >= 0:
			s = s[:n-1]
			sign, sphere = signOf(end), true
		case strings.IndexByte("nsew", begin) >= 0:
			s = s[1:]
			sign, sphere = signOf(begin), true
		}
		s = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "°"))
	}
	if rest, minus := strings.CutPrefix(s, "-"); minus && sphere {
		if s = rest; sign > 0 {
			return math.NaN() // north and south in one
		}
	}
	v, ok := amount([]byte(s), comma)
	switch {
	case !ok && (sphere || strings.Contains(s, "°")):
		return sign * sexagesimal(s, comma)
	case !ok:
		return math.NaN()
	case sphere && scale == 1 && v > 180 && v < 18000 && strings.ContainsAny(s, ".,"):
		return sign * parts([]float64{math.Floor(v / 100), math.Mod(v, 100)})
	}
	if scale == 1 && math.Abs(v) > 360 && v == math.Trunc(v) && math.Abs(v) <= 1.8e9 {
		scale = 1e-7
	}
	return sign * v * scale
}

// sexagesimal reads degrees and minutes, and seconds, parted by their signs or blanks; NaN when it is no such text.
func sexagesimal(s string, comma bool) float64 {
	negative := strings.HasPrefix(s, "-")
	fields := strings.FieldsFunc(strings.TrimPrefix(s, "-"), func(c rune) bool { return strings.ContainsRune("°'\"′″’” :", c) })
	var values []float64
	for _, f := range fields {
		v, ok := amount([]byte(f), comma)
		if !ok || v < 0 {
			return math.NaN()
		}
		values = append(values, v)
	}
	if negative {
		return -parts(values)
	}
	return parts(values)
}

// parts gives the degrees of two or three numbers, each a sixtieth of the one ahead; NaN when they cannot be.
func parts(values []float64) float64 {
	if len(values) < 2 || len(values) > 3 {
		return math.NaN()
	}
	sum, of := 0.0, 1.0
	for i, v := range values {
		if i > 0 && v >= 60 || i+1 < len(values) && v != math.Trunc(v) {
			return math.NaN()
		}
		sum, of = sum+v/of, of*60
	}
	return sum
}

func signOf(c byte) float64 {
	if c == 's' || c == 'w' {
		return -1
	}
	return 1
}
