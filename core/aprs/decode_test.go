package aprs_test

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
)

const micE = "QX1ABC>S32UVT:`(_fn\"Oj/"

// TestInputsThatBrokeParsers holds what public issue threads of parser libraries report.
func TestInputsThatBrokeParsers(t *testing.T) {
	nan := math.NaN()
	cases := []struct {
		name, line string
		placed     bool
		flaw       string
		comment    string
		altitude   float64
	}{
		{"bit-damaged Mic-E destination with _", "QX1ABC>S32_VT:`(_fn\"Oj/", false, aprs.FlawDestination, "", nan},
		{"bit-damaged Mic-E destination with ?", "QX1ABC>S3?UVT:`(_fn\"Oj/", false, aprs.FlawDestination, "", nan},
		{"Mic-E information of 8 bytes", "QX1ABC>S32UVT:`(_fn\"Oj", false, aprs.FlawShort, "", nan},
		{"Mic-E without a fix", "QX1ABC>S32UVT:`   l\x1c\x1cj/", false, aprs.FlawNoFix, "", nan},
		{"Mic-E speed bytes below 0x26", "QX1ABC>S32UVT:`(_f\x1c\x1c\x1cj/", true, "", "", nan},
		{"Mic-E with the apostrophe", "QX1ABC>S32UVT:'(_fn\"Oj/", true, "", "", nan},
		{"Mic-E longitude byte DEL", "QX1ABC>S32U64:`\x7f_fn\"Oj/", true, "", "", nan},
		{"Mic-E longitude byte written as a letter of two bytes", "QX1ABC>S32UVT:`\xc2\x7f_fn\"Oj/", false, aprs.FlawMicE, "", nan},
		{"grave accent and a comment that is no telemetry", micE + "`10-12/145.450MHz", true, "", "10-12/145.450MHz", nan},
		{"time unknown as underscores", "QX1ABC>APZ001:@______h4903.50N/07201.75W>", true, aprs.FlawTime, "", nan},
		{"negative speed", "QX1ABC>APZ001:!4903.50N/07201.75W>088/-02text", true, "", "text", nan},
		{"altitude behind a type byte ]", micE + "]\"4^}=", true, "", "", 71},
		{"altitude behind a type byte '", micE + "'\"4^}|3", true, "", "", 71},
		{"overlay I", "QX1ABC>APZ001:!4903.50NI07201.75W>", true, "", "", nan},
		{"overlay a in a plain position", "QX1ABC>APZ001:!4903.50Na07201.75W>", true, "", "", nan},
		{"overlay digit sent as a letter", "QX1ABC>APZ001:=b5L!!<*e7>7P[", true, "", "", nan},
		{"unusual T byte", "QX1ABC>APZ001:=/5L!!<*e7>7P{", true, "", "", nan},
		{"PHG ahead of digits", "QX1ABC>APZ001:!4903.50N/07201.75W#PHG5132123 W3", true, "", "123 W3", nan},
		{"no altitude and no other option", "QX1ABC>APZ001:!4903.50N/07201.75W-", true, "", "", nan},
		{"text added by a gateway", "QX1ABC>APZ001:!4903.50N/07201.75W-on SNR: 7.2dB err: -12", true, "", "on SNR: 7.2dB err: -12", nan},
		{"capabilities", "QX1ABC>APZ001:<IGATE,MSG_CNT=0", false, "", "", nan},
		{"empty information", "QX1ABC>APZ001:", false, aprs.FlawEmpty, "", nan},
		{"carriage return alone", "QX1ABC>APZ001:\r", false, aprs.FlawEmpty, "", nan},
		{"third party within third party", "QX1ABC>APZ001:}QX2ABC>APZ001,TCPIP,QX1ABC*:}QX3ABC>APZ001,TCPIP,QX2ABC*:!4903.50N/07201.75W-", true, "", "", nan},
		{"third party without end", "QX1ABC>APZ001:" + strings.Repeat("}Q1>Q2:", 5000), false, aprs.FlawNested, "", nan},
		{"third party of nothing", "QX1ABC>APZ001:}", false, aprs.FlawInner, "", nan},
		{"third party with an empty packet", "QX1ABC>APZ001:}QX2ABC>APZ001:", false, aprs.FlawEmpty, "", nan},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := decode(t, c.line)
			if p.Placed != c.placed || p.Flaw != c.flaw || string(p.Comment) != c.comment || !equal(p.Altitude, c.altitude) {
				t.Errorf("placed %v, flaw %q, comment %q, altitude %v", p.Placed, p.Flaw, p.Comment, p.Altitude)
			}
		})
	}
}

func equal(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

func TestReplyAcknowledgement(t *testing.T) {
	m := decode(t, "QX1ABC>APZ001::QX2ABC   :Hello{12}34").Message
	if string(m.Text) != "Hello" || string(m.ID) != "12" || string(m.Reply) != "34" {
		t.Errorf("text %q, number %q, reply %q", m.Text, m.ID, m.Reply)
	}
	m = decode(t, "QX1ABC>APZ001::QX2ABC   :Hello{4}").Message
	if string(m.Text) != "Hello" || string(m.ID) != "4" {
		t.Errorf("text %q, number %q", m.Text, m.ID)
	}
}

// TestNoPlaceFromDamage: what is not a position as the standard says gives no place. Each case changes one sound packet.
func TestNoPlaceFromDamage(t *testing.T) {
	cases := []struct{ name, line, flaw string }{
		{"letter in the latitude", "QX1ABC>APZ001:!49O3.50N/07201.75W-", aprs.FlawDigits},
		{"letter as the first digit", "QX1ABC>APZ001:!I903.50N/07201.75W-", aprs.FlawDigits},
		{"no point", "QX1ABC>APZ001:!4903,50N/07201.75W-", aprs.FlawDigits},
		{"60 minutes", "QX1ABC>APZ001:!4960.00N/07201.75W-", aprs.FlawRange},
		{"91 degrees north", "QX1ABC>APZ001:!9100.00N/07201.75W-", aprs.FlawRange},
		{"past the pole", "QX1ABC>APZ001:!9000.01N/07201.75W-", aprs.FlawRange},
		{"past the date line", "QX1ABC>APZ001:!4903.50N/18000.01W-", aprs.FlawRange},
		{"no north or south", "QX1ABC>APZ001:!4903.50X/07201.75W-", aprs.FlawHemisphere},
		{"no east or west", "QX1ABC>APZ001:!4903.50N/07201.750-", aprs.FlawHemisphere},
		{"blank inside the digits", "QX1ABC>APZ001:!49 3.50N/07201.75W-", aprs.FlawAmbiguity},
		{"blanks in the longitude alone", "QX1ABC>APZ001:!4903.50N/07201.7 W-", aprs.FlawAmbiguity},
		{"no such symbol table", "QX1ABC>APZ001:!4903.50N.07201.75W-", aprs.FlawSymbol},
		{"cut off", "QX1ABC>APZ001:!4903.50N/07201.75W", aprs.FlawShort},
		{"NUL inside", "QX1ABC>APZ001:!4903.\x000N/07201.75W-", aprs.FlawDigits},
		{"null position", "QX1ABC>APZ001:!0000.00N\\00000.00W.", aprs.FlawNull},
		{"compressed byte outside base 91", "QX1ABC>APZ001:!/5L!\x1f<*e7>7P[", aprs.FlawDigits},
		{"compressed and past the pole", "QX1ABC>APZ001:!/{{{{<*e7>7P[", aprs.FlawRange},
		{"compressed and cut off", "QX1ABC>APZ001:!/5L!!<*e7>7P", aprs.FlawShort},
		{"neither plain nor compressed", "QX1ABC>APZ001:!hello there", aprs.FlawShort},
		{"Mic-E minute byte out of range", "QX1ABC>S32UVT:`(bfn\"Oj/", aprs.FlawMicE},
		{"Mic-E degree byte out of range", "QX1ABC>S32UVT:`%_fn\"Oj/", aprs.FlawMicE},
		{"Mic-E destination with letters A to K at its end", "QX1ABC>S32AVT:`(_fn\"Oj/", aprs.FlawDestination},
		{"Mic-E destination too short", "QX1ABC>S32UV:`(_fn\"Oj/", aprs.FlawDestination},
		{"Mic-E latitude past the pole", "QX1ABC>YPPUVT:`(_fn\"Oj/", aprs.FlawRange},
		{"Mic-E blank that is not a tail", "QX1ABC>S3ZUVT:`(_fn\"Oj/", aprs.FlawAmbiguity},
		{"NMEA checksum", "QX1ABC>APZ001:$GPRMC,063909,A,3349.4302,N,11700.3721,W,43.022,89.3,291099,13.6,E*53", aprs.FlawChecksum},
		{"NMEA fix not valid", "QX1ABC>APZ001:$GPRMC,063909,V,3349.4302,N,11700.3721,W,43.022,89.3,291099,13.6,E", aprs.FlawInvalid},
		{"NMEA quality 0", "QX1ABC>APZ001:$GPGGA,102705,5157.9762,N,00029.3256,W,0,04,2.0,75.7,M,47.6,M,,", aprs.FlawInvalid},
		{"NMEA cut off in the checksum", "QX1ABC>APZ001:$GPGLL,2554.459,N,08020.187,W,154027.281,A*", aprs.FlawChecksum},
		{"NMEA minutes past 59", "QX1ABC>APZ001:$GPGLL,2560.459,N,08020.187,W,154027.281,A", aprs.FlawDigits},
		{"object without live or withdrawn", "QX1ABC>APZ001:;LEADER   +092345z4903.50N/07201.75W>", aprs.FlawName},
		{"item whose name has no end", "QX1ABC>APZ001:)LEADERLEADER4903.50N/07201.75W>", aprs.FlawName},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if p := decode(t, c.line); p.Placed || p.Flaw != c.flaw || math.Abs(p.Place.Lat) > 0 {
				t.Errorf("%q: placed %v, flaw %q, want %q", c.line, p.Placed, p.Flaw, c.flaw)
			}
		})
	}
}

// TestFreeText: what stands in the comment and looks like a field is told from one.
func TestFreeText(t *testing.T) {
	const plain = "QX1ABC>APZ001:!4903.50N/07201.75W>"
	cases := []struct {
		name, line, comment string
		altitude            float64 // feet; -1 for none
		datum               byte
		sequence            int
	}{
		{"altitude of five digits is text", plain + "/A=12345 short", "/A=12345 short", -1, 0, -1},
		{"altitude behind such text", plain + "/A=12345 short/A=042516", "/A=12345 short", 42516, 0, -1},
		{"altitude in the middle", plain + "one /A=001000two", "one two", 1000, 0, -1},
		{"altitude without its slash", plain + "A=001234", "A=001234", -1, 0, -1},
		{"digits of a datum", plain + "on the road!W23!", "on the road", -1, 'W', -1},
		{"datum in the middle", plain + "on!W23!the road", "onthe road", -1, 'W', -1},
		{"datum alone", plain + "!W  !", "", -1, 'W', -1},
		{"exclamation marks", plain + "!no dao!", "!no dao!", -1, 0, -1},
		{"capital with base-91 digits", plain + "!Wab!", "!Wab!", -1, 0, -1},
		{"telemetry that holds a datum", plain + "text|ss!W23!1|", "text", -1, 0, 7544},
		{"telemetry, then a datum", plain + "text|ss11|!W23!", "text", -1, 'W', 7544},
		{"telemetry ahead of a gateway's text", plain + "a|b|ss11| -97dBm", "a|b -97dBm", -1, 0, 7544},
		{"telemetry of an odd length", plain + "text|ss111|", "text|ss111|", -1, 0, -1},
		{"telemetry without a value", plain + "text|ss|", "text|ss|", -1, 0, -1},
		{"all of them", plain + "a/A=001000b|ss11|!W23!", "ab", 1000, 'W', 7544},
		{"blanks are kept", plain + " text ", " text ", -1, 0, -1},
		{"Mic-E with all of them", micE + "'\"4T}text|ss11|!w#f!|3", "text", math.Round(61 / 0.3048), 'W', 7544},
		{"Mic-E of another maker keeps its end", micE + "]text^", "text^", -1, 0, -1},
		{"compressed positions need no digits", "QX1ABC>APZ001:=/5L!!<*e7>7P[text!W23!", "text!W23!", -1, 0, -1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := decode(t, c.line)
			feet := math.Round(p.Altitude / 0.3048)
			if math.IsNaN(feet) {
				feet = -1
			}
			if string(p.Comment) != c.comment || feet != c.altitude || p.Datum != c.datum || p.Telemetry.Sequence != c.sequence {
				t.Errorf("comment %q, %v ft, datum %q, sequence %d", p.Comment, feet, p.Datum, p.Telemetry.Sequence)
			}
		})
	}
}

// Digits of !DAO! extend what is written, so south and west of zero they lead away from it.
func TestDatumDigitsLeadAwayFromZero(t *testing.T) {
	p := decode(t, "QX1ABC>APZ001:!0000.00S/00000.00W>!W55!")
	if want := -0.005 / 60; math.Abs(p.Place.Lat-want) > 1e-15 || math.Abs(p.Place.Lon-want) > 1e-15 {
		t.Errorf("place = %v, want %v twice", p.Place, want)
	}
	p = decode(t, "QX1ABC>APZ001:!0000.0 S/00000.0 W>!W55!")
	if p.Place.Lat != 0 || p.Place.Lon != 0 || math.Signbit(p.Place.Lat) {
		t.Errorf("an ambiguous place took digits: %v", p.Place)
	}
}

// Steps in metres of latitude, 1' = 1852 m.
func TestCell(t *testing.T) {
	cases := []struct {
		line   string
		metres float64
	}{
		{"QX1ABC>APZ001:!4903.50N/07201.75W>", 18.52},
		{"QX1ABC>APZ001:!4903.50N/07201.75W>!W23!", 1.852},
		{"QX1ABC>APZ001:!4903.50N/07201.75W>!wab!", 0.2037},
		{"QX1ABC>APZ001:!4903.5 N/07201.75W>", 185.2},
		{"QX1ABC>APZ001:!4903.  N/07201.75W>", 1852},
		{"QX1ABC>APZ001:!490 .  N/07201.75W>", 18520},
		{"QX1ABC>APZ001:!49  .  N/07201.75W>", 111120},
		{"QX1ABC>APZ001:=/5L!!<*e7>7P[", 0.2917},
		{"QX1ABC>APZ001:$GPGLL,2554.4590,N,08020.1870,W,154027.281,A", 0.1852},
		{micE, 18.52},
	}
	for _, c := range cases {
		if got := decode(t, c.line).Cell.Lat * 60 * 1852; math.Abs(got/c.metres-1) > 1e-3 {
			t.Errorf("%s: %v m, want %v", c.line, got, c.metres)
		}
	}
}

func TestFix(t *testing.T) {
	cases := map[string]aprs.FixState{
		"QX1ABC>S32UVT:`(_fn\"Oj/":                                 aprs.FixCurrent,
		"QX1ABC>S32UVT:'(_fn\"Oj/":                                 aprs.FixOld,
		"QX1ABC>S32UVT:`   n\"Oj/":                                 aprs.FixNone,
		"QX1ABC>APZ001:=/5L!!<*e7>7P[":                             aprs.FixCurrent, // T = 58: current, RMC
		"QX1ABC>APZ001:=/5L!!<*e7>7P!":                             aprs.FixOld,
		"QX1ABC>APZ001:=/5L!!<*e7> sT":                             "",
		"QX1ABC>APZ001:!4903.50N/07201.75W>":                       "",
		"QX1ABC>APZ001:!0000.00N\\00000.00W.":                      aprs.FixNone,
		"QX1ABC>APZ001:$GPGLL,2554.459,N,08020.187,W,154027.281,A": aprs.FixCurrent,
	}
	for line, want := range cases {
		if got := decode(t, line).Fix; got != want {
			t.Errorf("%s: fix %q, want %q", line, got, want)
		}
	}
}

func TestOwnPlace(t *testing.T) {
	cases := map[string]bool{
		"QX1ABC>APZ001:!4903.50N/07201.75W>":                              true,
		"QX1ABC>APZ001:!4903.50N/07201.75W_220/004g005":                   true,
		"QX1ABC>APZ001:;LEADER   *092345z4903.50N/07201.75W>":             false,
		"QX1ABC>APZ001:)AID!4903.50N/07201.75W>":                          false,
		"QX1ABC>APZ001:$GPWPL,4917.16,N,12310.64,W,":                      false,
		"QX1ABC>APZ001:$GPWPL,4917.16,N,12310.64,W,003":                   false,
		"QX1ABC>APZ001:}QX2ABC>APZ001,TCPIP,QX1ABC*:!4903.50N/07201.75W>": false,
		"QX1ABC>APZ001:>status":                                           false,
	}
	for line, want := range cases {
		if got := decode(t, line).OwnPlace(); got != want {
			t.Errorf("%s: own place %v, want %v", line, got, want)
		}
	}
}

func TestRouting(t *testing.T) {
	cases := []struct {
		name, line string
		heard      aprs.Heard
		gateway    string
	}{
		{"no path", "QX1ABC>APZ001:", aprs.Direct, ""},
		{"no star", "QX1ABC>APZ001,WIDE1-1,WIDE2-1:", aprs.Direct, ""},
		{"repeated", "QX1ABC>APZ001,QD1A*,WIDE2-1:", aprs.Repeated, ""},
		{"heard direct by a gateway", "QX1ABC>APZ001,WIDE1-1,qAR,QG1AAA:", aprs.Direct, "QG1AAA"},
		{"repeated, then a receive-only gateway", "QX1ABC>APZ001,QD1A,WIDE1*,qAO,QG1AAA-10:", aprs.Repeated, "QG1AAA-10"},
		{"small letters count", "QX1ABC>APZ001,qAo,QG1AAA:", aprs.Direct, "QG1AAA"},
		{"server of unknown kind", "QX1ABC>APZ001,WIDE1-1,qAS,QG1AAA:", aprs.Direct, "QG1AAA"},
		{"from the internet", "QX1ABC>APZ001,TCPIP*,qAC,QSRV:", aprs.Internet, ""},
		{"own login", "QX1ABC>APZ001,WIDE1-1,qAC,QSRV:", aprs.Internet, ""},
		{"not verified", "QX1ABC>APZ001,qAX,QSRV:", aprs.Internet, ""},
		{"by datagram", "QX1ABC>APZ001,qAU,QSRV:", aprs.Internet, ""},
		{"TCPIP and no construct", "QX1ABC>APZ001,TCPIP*:", aprs.Internet, ""},
		{"TCPXX", "QX1ABC>APZ001,TCPXX*,qAX,QSRV:", aprs.Internet, ""},
		{"older form", "QX1ABC>APZ001,WIDE2-2,QG1AAA,I:", aprs.Direct, "QG1AAA"},
		{"older form with a star behind the gateway", "QX1ABC>APZ001,WIDE2-2,QG1AAA*,I:", aprs.Direct, "QG1AAA"},
		{"older form, repeated", "QX1ABC>APZ001,QD1A*,WIDE2-1,QG1AAA,I:", aprs.Repeated, "QG1AAA"},
		{"construct without a call", "QX1ABC>APZ001,QD1A*,qAR:", aprs.Repeated, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var h ax25.Header
			if _, err := ax25.ParseHeader([]byte(c.line), &h); err != nil {
				t.Fatal(err)
			}
			if heard, gateway := aprs.Routing(&h); heard != c.heard || gateway.String() != c.gateway {
				t.Errorf("heard %d, gateway %q; want %d, %q", heard, gateway, c.heard, c.gateway)
			}
		})
	}
}

func TestRoutingOfAFrame(t *testing.T) {
	call, _ := ax25.ParseCall([]byte("QD1A"))
	h := ax25.Header{Path: []ax25.Hop{{Call: call, Used: true}}}
	if heard, _ := aprs.Routing(&h); heard != aprs.Repeated {
		t.Errorf("a used hop of a frame is not seen: %d", heard)
	}
}

func TestDecodeCostsNoMemory(t *testing.T) {
	lines := []string{
		"QX1ABC>APZ001:@092345z4903.50N/07201.75W>088/036one/A=001000 two|ss1122|!W23!",
		"QX1ABC>APZ001:=/5L!!<*e7>7P[text", micE + "'\"4T}text|ss11|!w#f!|3",
		"QX1ABC>APZ001:}QX2ABC>APZ001,TCPIP,QX1ABC*::QX3ABC   :Hi{1", "QX1ABC>APZ001:T#005,199,000,255,073,123,01101001",
		"QX1ABC>APZ001:_10090556c220s004g005t077r000p000P000h50b09900wRSW",
		"QX1ABC>APZ001:$GPRMC,063909,A,3349.4302,N,11700.3721,W,43.022,89.3,291099,13.6,E*52",
	}
	var p aprs.Packet
	for _, line := range lines {
		var h ax25.Header
		info, err := ax25.ParseHeader([]byte(line), &h)
		if err != nil {
			t.Fatal(err)
		}
		body := []byte(line)[info:]
		aprs.Decode(h.To, body, &p)
		if n := testing.AllocsPerRun(50, func() { aprs.Decode(h.To, body, &p) }); n != 0 {
			t.Errorf("%q costs %v allocations, want 0", line, n)
		}
	}
}

// TestLongRubbishIsReadAtOnce: nothing that Decode looks for takes longer than in proportion to the text.
func TestLongRubbishIsReadAtOnce(t *testing.T) {
	for _, part := range []string{"|", "!", "!W", "/A=", "/A=12345", "|ss11", "1 ", "a", "=", "1V"} {
		var p aprs.Packet
		text := []byte(strings.Repeat(part, 1<<20/len(part)))
		aprs.Decode(ax25.Call{}, append([]byte("!4903.50N/07201.75W>"), text...), &p)
		if !p.Placed || len(p.Comment) < len(text)-20 {
			t.Errorf("%q: placed %v, %d bytes of %d", part, p.Placed, len(p.Comment), len(text))
		}
		aprs.AppendReadings(nil, p.Comment)
	}
}

// BenchmarkDecode decodes the packets that decoders by other authors are timed on.
func BenchmarkDecode(b *testing.B) {
	var lines [][]byte
	for _, row := range peerCorpus(b) {
		lines = append(lines, []byte(row.Line))
	}
	var h ax25.Header
	var p aprs.Packet
	b.ReportAllocs()
	for b.Loop() {
		for _, line := range lines {
			n, err := ax25.ParseHeader(line, &h)
			if err != nil {
				b.Fatal(err)
			}
			aprs.Decode(h.To, line[n:], &p)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(lines)), "ns/packet")
}
