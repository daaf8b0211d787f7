package aprs_test

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/aprs"
)

func TestKind(t *testing.T) {
	cases := []struct {
		name, info string
		kind       aprs.Kind
		placed     bool
		flaw       string
	}{
		{"plain", "!4903.50N/07201.75W-", aprs.Position, true, ""},
		{"plain with weather", "!4903.50N/07201.75W_220/004g005", aprs.Weather, true, ""},
		{"compressed", "=/5L!!<*e7>7P[", aprs.Compressed, true, ""},
		{"compressed with weather", "=/5L!!<*e7_7P[g005", aprs.Weather, true, ""},
		{"damaged position", "!4903.50N/07201", aprs.Position, false, aprs.FlawShort},
		{"damaged compressed position", "!/5L!!<*", aprs.Compressed, false, aprs.FlawShort},
		{"position without anything", "!", aprs.Position, false, aprs.FlawShort},
		{"time without a position", "@092345z", aprs.Position, false, aprs.FlawShort},
		{"cut off in the time", "@0923", aprs.Position, false, aprs.FlawShort},
		{"neither plain nor compressed", "!~~~~", aprs.Position, false, aprs.FlawForm},
		{"raw weather station", "!!006B00580250", aprs.Weather, false, ""},
		{"raw weather station after a hash", "#50B7500820082", aprs.Weather, false, ""},
		{"raw weather station in a sentence", "$ULTW0031003702CE0069", aprs.Weather, false, ""},
		{"position behind text", "1234567890 !4903.50N/07201.75W-", aprs.Position, true, ""},
		{"position behind an exclamation mark", "hi! there !4903.50N/07201.75W-", aprs.Position, true, ""},
		{"position from the 40th byte", strings.Repeat("x", 39) + "!4903.50N/07201.75W-", aprs.Position, true, ""},
		{"position from the 41st byte", strings.Repeat("x", 40) + "!4903.50N/07201.75W-", aprs.Other, false, ""},
		{"text that only sounds like one", "hello! 4903.50N", aprs.Other, false, ""},
		{"exclamation mark at the end", "hello!", aprs.Other, false, ""},
		{"status with an exclamation mark", ">hi !4903.50N/07201.75W-", aprs.Status, false, ""},
		{"query", "?APRS?", aprs.Other, false, ""},
		{"user defined", "{Q1 !4903.50N/07201.75W-", aprs.Other, false, ""},
		{"test data", ",test", aprs.Other, false, ""},
		{"locator beacon", "[IO91SX]text", aprs.Other, false, ""},
		{"letter T that opens no telemetry", "Text", aprs.Other, false, ""},
		{"course and speed alone", "$GPVTG,318.7,T,,M,35.1,N,65.0,K*69", aprs.NMEA, false, ""},
		{"sentence that tells no place", "$GPZDA,160012.71,11,03,2004,-1,00", aprs.NMEA, false, ""},
		{"sentence without an address", "$1,2", aprs.NMEA, false, aprs.FlawSentence},
		{"weather without a position", "_10090556c220s004g005t077", aprs.Weather, false, ""},
		{"weather cut off in the time", "_1009", aprs.Weather, false, aprs.FlawWeather},
		{"weather of month 13", "_13090556c220", aprs.Weather, false, aprs.FlawTime},
		{"message without its colon", ":QX2ABC Hello", aprs.Message, false, aprs.FlawMessage},
		{"object cut off", ";LEADER   *0923", aprs.Object, false, aprs.FlawShort},
		{"object without a name", ";         *092345z4903.50N/07201.75W>", aprs.Object, false, aprs.FlawName},
		{"object with weather", ";LEADER   *092345z4903.50N/07201.75W_220/004g005", aprs.Object, true, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := decode(t, "QX1ABC>APZ001:"+c.info)
			if p.Kind != c.kind || p.Placed != c.placed || p.Flaw != c.flaw {
				t.Errorf("kind %q, placed %v, flaw %q", p.Kind, p.Placed, p.Flaw)
			}
		})
	}
}

// A packet that wraps a position ahead of which a repeater put text keeps the inner calls.
func TestThirdPartyWithLatePosition(t *testing.T) {
	p := decode(t, "QX1ABC>APZ001:}QX2ABC>APZ002,TCPIP,QX1ABC*:hi! x!4903.50N/07201.75W-")
	if p.Kind != aprs.ThirdParty || p.Inner != aprs.Position || p.InnerFrom.String() != "QX2ABC" || p.InnerTo.String() != "APZ002" {
		t.Errorf("kind %q of %q from %v to %v", p.Kind, p.Inner, p.InnerFrom, p.InnerTo)
	}
}

// Type bytes behind a text: TYP list of mic-e-types.txt, makers left out. What is no type stays in the comment.
func TestMicETypes(t *testing.T) {
	cases := []struct{ text, first, last, comment string }{
		{"", "", "", ""},
		{" text", " ", "", "text"},
		{"text", "", "", "text"},
		{">text", ">", "", "text"},
		{">text=", ">", "=", "text"},
		{">text^", ">", "^", "text"},
		{">text&", ">", "&", "text"},
		{"]text", "]", "", "text"},
		{"]text=", "]", "=", "text"},
		{"`text_0", "`", "_0", "text"},
		{"`text_\"", "`", "_\"", "text"},
		{"`text X", "`", " X", "text"},
		{"`text(5", "`", "(5", "text"},
		{"`text", "`", "", "text"},
		{"'text|3", "'", "|3", "text"},
		{"'text:4", "'", ":4", "text"},
		{"'text*v", "'", "*v", "text"},
		{"'text at 5", "'", "", "text at 5"},
		{"'|3", "'", "|3", ""},
		{"`", "`", "", ""},
	}
	for _, c := range cases {
		p := decode(t, micE+c.text)
		if first := strings.Trim(string(rune(p.TypeFirst)), "\x00"); first != c.first || string(p.TypeLast) != c.last || string(p.Comment) != c.comment {
			t.Errorf("%q: %q, %q, comment %q", c.text, first, p.TypeLast, p.Comment)
		}
	}
}

// Old Mic-E telemetry: five values behind an apostrophe, channels 1 and 3 behind a grave accent (1.0.1 p.54). A comment that
// only looks alike is kept whole.
func TestOldMicETelemetry(t *testing.T) {
	nan := math.NaN()
	cases := []struct {
		text   string
		values []float64
	}{
		{"'7200007100", []float64{0x72, 0, 0, 0x71, 0}},
		{"`7F0a", []float64{0x7F, nan, 0x0a}},
		{"'720000710", nil},
		{"'72000071xx", nil},
		{"`12345", nil},
	}
	for _, c := range cases {
		p := decode(t, micE+c.text)
		if !agree(p.Telemetry.Values[:p.Telemetry.N], c.values) || string(p.Comment) != c.text[1:] {
			t.Errorf("%q: values %v, comment %q", c.text, p.Telemetry.Values[:p.Telemetry.N], p.Comment)
		}
	}
}

func TestMicEMessage(t *testing.T) {
	cases := map[string]aprs.MicEStatus{ // 1.0.1 p.45
		"SSS564": "Off Duty", "SS3564": "En Route", "S3S564": "In Service", "S33564": "Returning",
		"3SS564": "Committed", "3S3564": "Special", "33S564": "Priority", "333564": "Emergency",
		"DDD564": "Custom-0", "DD3564": "Custom-1", "D3D564": "Custom-2", "D33564": "Custom-3",
		"3DD564": "Custom-4", "3D3564": "Custom-5", "33D564": "Custom-6", "SD3564": aprs.MicEUnknown,
	}
	for to, want := range cases {
		if got := decode(t, "QX1ABC>"+to+":`(_fn\"Oj/").MicE; got != want {
			t.Errorf("%s: %q, want %q", to, got, want)
		}
	}
}

// What is not said is unknown, and 0 means 100 per cent for the humidity (1.0.1 ch.12 p.65).
func TestWeatherFields(t *testing.T) {
	cases := []struct {
		info, comment               string
		wind, temperature, humidity float64
		luminosity, rain, pressure  float64
	}{
		{"_10090556c...s...g...t...h..b.....wRSW", "wRSW", -1, -1, -1, -1, -1, -1},
		{"_10090556c220s010t032h00", "", 4.4704, 0, 100, -1, -1, -1},
		{"_10090556c220s010L456P100", "", 4.4704, -1, -1, 456, 25.4, -1},
		{"_10090556c220s010l456b10132", "", 4.4704, -1, -1, 1456, -1, 1013.2},
		{"_10090556c220s01xt032", "s01xt032", -1, -1, -1, -1, -1, -1},
		{"!4903.50N/07201.75W_.../...t032", "", -1, 0, -1, -1, -1, -1},
		{"!4903.50N/07201.75W_g005t032h50s010", "", -1, 0, 50, -1, -1, -1},
		{"!4903.50N/07201.75W_220/010t032text", "text", 4.4704, 0, -1, -1, -1, -1},
	}
	known := func(v float64) float64 {
		if math.IsNaN(v) {
			return -1
		}
		return math.Round(v*1e6) / 1e6
	}
	for _, c := range cases {
		p := decode(t, "QX1ABC>APZ001:"+c.info)
		w := p.Weather
		got := [...]float64{known(w.Wind), known(w.Temperature), known(w.Humidity), known(w.Luminosity), known(w.Rain), known(w.Pressure)}
		want := [...]float64{c.wind, c.temperature, c.humidity, c.luminosity, c.rain, c.pressure}
		if got != want || string(p.Comment) != c.comment || !math.IsNaN(p.Speed) || !math.IsNaN(p.Course) {
			t.Errorf("%q: %v, want %v; comment %q", c.info, got, want, p.Comment)
		}
	}
}

func TestStatus(t *testing.T) {
	cases := []struct {
		info, text, locator string
		heading, power      float64
	}{
		{"text", "text", "", -1, -1},
		{"IO91/- text", "text", "IO91", -1, -1},
		{"IO91SX/Gtext", "IO91SX/Gtext", "", -1, -1},
		{"text^17", "text", "", 10, 490},
		{"text^x7", "text^x7", "", -1, -1},
	}
	for _, c := range cases {
		p := decode(t, "QX1ABC>APZ001:>"+c.info)
		h, w := p.Status.Heading, p.Status.Power
		if c.heading < 0 && !(math.IsNaN(h) && math.IsNaN(w)) || c.heading >= 0 && (h != c.heading || w != c.power) ||
			string(p.Comment) != c.text || string(p.Status.Locator) != c.locator {
			t.Errorf("%q: text %q, locator %q, %v degrees, %v W", c.info, p.Comment, p.Status.Locator, h, w)
		}
	}
}

func TestQuantityOfUnit(t *testing.T) {
	cases := []struct {
		unit string
		v    float64
		want string
	}{
		{"Volts", 7.4, "voltage channel 1 7.4"}, {"mV", 7400, "voltage channel 1 7.4"}, {"V/10", 74, "voltage channel 1 7.4"},
		{"%", 83, "charge channel 1 83"}, {"deg.C", 21, "temperature channel 1 21"}, {"\u00b0F", 50, "temperature channel 1 10"},
		{"mA", 7, "current channel 1 7"}, {"A", 0.25, "current channel 1 250"}, {"mAh", 7, "untold channel 1 7"}, {"", 7, "untold channel 1 7"},
	}
	for _, c := range cases {
		d := aprs.Definitions{Units: [13]string{c.unit}}
		if got := readings(d.AppendReadings(nil, aprs.Channels{N: 1, Values: [5]float64{c.v}})); got != c.want {
			t.Errorf("%v %s: %q, want %q", c.v, c.unit, got, c.want)
		}
	}
}
