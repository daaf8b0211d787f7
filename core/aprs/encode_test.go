package aprs_test

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/geo"
)

const knot = 1852.0 / 3600

func report() aprs.Report {
	return aprs.Report{
		Place: geo.Place{Lat: 49 + 3.50/60, Lon: -(72 + 1.75/60)}, Symbol: [2]byte{'/', '>'},
		Course: math.NaN(), Speed: math.NaN(), Altitude: math.NaN(),
	}
}

// Examples that 1.0.1 prints in ch.8 and ch.9.
func TestEncodesAsPrinted(t *testing.T) {
	moving := report()
	moving.Course, moving.Speed = 88, 36*knot
	moving.Stamp, moving.Messaging = aprs.Stamp{Kind: aprs.DayLocal, Day: 9, Hour: 23, Minute: 45}, true
	high := report()
	high.Symbol, high.Comment, high.Altitude = [2]byte{'/', '-'}, "", 1234*0.3048
	vague := report()
	vague.Ambiguity, vague.Symbol = 4, [2]byte{'/', '-'}
	pressed := report()
	pressed.Place, pressed.Messaging, pressed.Comment = geo.Place{Lat: 49.5, Lon: -72.75}, true, "Comment"
	fast := pressed
	fast.Course, fast.Speed, fast.Comment = 88, 36.2*knot, ""
	cases := []struct {
		name, got, want string
	}{
		{"course and speed", string(aprs.AppendPlain(nil, moving)), "@092345/4903.50N/07201.75W>088/036"},
		{"altitude", string(aprs.AppendPlain(nil, high)), "!4903.50N/07201.75W-/A=001234"},
		{"nearest degree", string(aprs.AppendPlain(nil, vague)), "!49  .  N/072  .  W-"},
		{"compressed", string(aprs.AppendCompressed(nil, pressed)), "=/5L!!<*e7> sTComment"},
		{"compressed course and speed", string(aprs.AppendCompressed(nil, fast)), "=/5L!!<*e7>7P["},
	}
	for _, c := range cases {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

// Base-91 example: 1.0.1 ch.5 p.20, 12345678 is 1Cmi.
func TestEncodesBase91AsPrinted(t *testing.T) {
	r := report()
	r.Place.Lon = -180 + 12345678.5/190463
	if got := string(aprs.AppendCompressed(nil, r)[6:10]); got != "1Cmi" {
		t.Errorf("12345678 is %q, want 1Cmi", got)
	}
}

// Mic-E examples: 1.0.1 p.44 (destination), p.52 (86 knots, 194 degrees: t or $, ] or Y, z), p.56 (61 m is "4T}).
func TestEncodesMicEAsPrinted(t *testing.T) {
	r := report()
	r.Place = geo.Place{Lat: 33 + 25.64/60, Lon: -(12 + 7.74/60)}
	r.Status, r.Course, r.Speed, r.Altitude = "Returning", 194, 86*knot, 61
	info, to := aprs.AppendMicE(nil, r)
	if to.String() != "S32U6T" {
		t.Errorf("destination %v, want S32U6T", to)
	}
	sp, dc, se := info[4], info[5], info[6]
	if sp != 't' && sp != '$' || dc != ']' && dc != 'Y' || se != 'z' {
		t.Errorf("speed and course are %q", info[4:7])
	}
	if got := string(info[9:]); got != "\"4T}" {
		t.Errorf("61 m is %q", got)
	}
}

// TestWhatIsSentIsRead sends reports from places all over the globe and its edges in every encoding and reads them again.
func TestWhatIsSentIsRead(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 91))
	edges := []geo.Place{{Lat: 90, Lon: 180}, {Lat: -90, Lon: -180}, {}, {Lat: -1e-4, Lon: -1e-4}, {Lat: 10.5 / 60, Lon: 179.9999999}}
	for n := range 3000 {
		r := randomReport(rnd)
		if n < len(edges) {
			r.Place = edges[n]
		}
		plain := aprs.AppendPlain(nil, r)
		compressed := aprs.AppendCompressed(nil, r)
		micE, to := aprs.AppendMicE(nil, r)
		check(t, r, aprs.PlainText, ax25.Call{}, plain)
		check(t, r, aprs.Base91, ax25.Call{}, compressed)
		check(t, r, aprs.MicEncoder, to, micE)
	}
}

func randomReport(rnd *rand.Rand) aprs.Report {
	r := report()
	r.Place = geo.Place{Lat: rnd.Float64()*180 - 90, Lon: rnd.Float64()*360 - 180}
	r.Symbol = [2]byte{[]byte(`/\A9`)[rnd.IntN(4)], []byte(`>[k`)[rnd.IntN(3)]}
	r.Comment = []string{"", "on the road", "7.8V /A=12345", "a|b"}[rnd.IntN(4)]
	r.Ambiguity = max(0, rnd.IntN(8)-3)
	r.Digits = rnd.IntN(2) == 0
	if rnd.IntN(2) == 0 {
		r.Course, r.Speed = float64(1+rnd.IntN(360)), float64(rnd.IntN(700))*knot
	}
	if rnd.IntN(2) == 0 {
		r.Altitude = float64(rnd.IntN(9000) - 400)
	}
	if rnd.IntN(2) == 0 {
		r.Stamp = aprs.Stamp{Kind: aprs.ClockUTC, Hour: uint8(rnd.IntN(24)), Minute: uint8(rnd.IntN(60)), Second: uint8(rnd.IntN(60))}
	}
	r.OldFix = rnd.IntN(2) == 0
	if rnd.IntN(2) == 0 {
		r.TypeFirst, r.TypeLast = '\'', "|3"
	}
	r.Status = []aprs.MicEStatus{"", "Emergency", "En Route", "Custom-0", "Custom-6"}[rnd.IntN(5)]
	return r
}

func check(t *testing.T, r aprs.Report, encoding aprs.Encoding, to ax25.Call, info []byte) {
	t.Helper()
	var p aprs.Packet
	aprs.Decode(to, info, &p)
	if !p.Placed || p.Flaw != "" || p.Encoding != encoding {
		t.Fatalf("%q to %v: placed %v, flaw %q, encoding %q", info, to, p.Placed, p.Flaw, p.Encoding)
	}
	const rounding = 1e-9
	south, west := math.Abs(r.Place.Lat)-math.Abs(p.Place.Lat), math.Abs(r.Place.Lon)-math.Abs(p.Place.Lon)
	if encoding == aprs.Base91 { // cut towards the north and the west
		south, west = p.Place.Lat-r.Place.Lat, r.Place.Lon-p.Place.Lon
	}
	if south < -rounding || south > p.Cell.Lat+rounding || west < -rounding || west > p.Cell.Lon+rounding {
		t.Errorf("%q: place %v, sent %v, cell %v", info, p.Place, r.Place, p.Cell)
	}
	if string(p.Comment) != r.Comment || p.Symbol != r.Symbol {
		t.Errorf("%q: comment %q, symbol %q", info, p.Comment, p.Symbol)
	}
	checkMotion(t, r, &p, info)
	if encoding == aprs.MicEncoder {
		checkMicE(t, r, &p, info)
	} else if p.Stamp != r.Stamp || p.Messaging != r.Messaging {
		t.Errorf("%q: stamp %+v", info, p.Stamp)
	}
}

// A compressed course of 0 is unknown, as it is in every other form; north is written as the step beside it. Source: 1.0.1 ch.7
// p.27, ch.9 p.39.
func TestCompressedCourseOfZeroIsUnknown(t *testing.T) {
	var p aprs.Packet
	aprs.Decode(ax25.Call{}, []byte("!/5L!!<*e7>!2["), &p)
	if !p.Placed || !math.IsNaN(p.Course) || math.Abs(p.Speed-(math.Pow(1.08, 17)-1)*knot) > 1e-9 {
		t.Errorf("course %v, speed %v", p.Course, p.Speed)
	}
	for _, course := range []float64{360, 0.2, 3, 358, math.NaN()} {
		r := report()
		r.Course, r.Speed = course, 5
		aprs.Decode(ax25.Call{}, aprs.AppendCompressed(nil, r), &p)
		if off := math.Abs(p.Course - course); math.IsNaN(course) != math.IsNaN(p.Course) || math.Min(off, 360-off) > 4.5 {
			t.Errorf("course %v was read as %v", course, p.Course)
		}
	}
}

// checkMotion compares with the step of the encoding: a degree and a knot, 4 degrees and 8 per cent when compressed.
func checkMotion(t *testing.T, r aprs.Report, p *aprs.Packet, info []byte) {
	t.Helper()
	degrees, share := 1e-9, 1e-9
	if p.Encoding == aprs.Base91 {
		degrees, share = 4, 0.04
	}
	off := math.Abs(p.Course - r.Course)
	if math.IsNaN(p.Course) != math.IsNaN(r.Course) || math.Min(off, 360-off) > degrees {
		t.Errorf("%q: course %v, sent %v", info, p.Course, r.Course)
	}
	switch {
	case math.IsNaN(r.Speed) && p.Encoding == aprs.MicEncoder:
		if p.Speed != 0 {
			t.Errorf("%q: speed %v, sent none", info, p.Speed)
		}
	case math.IsNaN(p.Speed) != math.IsNaN(r.Speed), math.Abs(p.Speed-r.Speed) > share*(r.Speed+knot):
		t.Errorf("%q: speed %v, sent %v", info, p.Speed, r.Speed)
	}
	if math.IsNaN(p.Altitude) != math.IsNaN(r.Altitude) || math.Abs(p.Altitude-r.Altitude) > 0.1525 {
		t.Errorf("%q: altitude %v, sent %v", info, p.Altitude, r.Altitude)
	}
}

func checkMicE(t *testing.T, r aprs.Report, p *aprs.Packet, info []byte) {
	t.Helper()
	status := r.Status
	if status == "" {
		status = "Off Duty"
	}
	if p.MicE != status || (p.Fix == aprs.FixOld) != r.OldFix || p.TypeFirst != r.TypeFirst || string(p.TypeLast) != r.TypeLast {
		t.Errorf("%q: %q, fix %q, types %q %q; sent %+v", info, p.MicE, p.Fix, p.TypeFirst, p.TypeLast, r)
	}
}

func TestAppendKeepsWhatIsThere(t *testing.T) {
	r := report()
	for name, got := range map[string][]byte{
		"plain": aprs.AppendPlain([]byte("x"), r), "compressed": aprs.AppendCompressed([]byte("x"), r), "Mic-E": first(aprs.AppendMicE([]byte("x"), r)),
	} {
		if !bytes.HasPrefix(got, []byte("x")) || len(got) < 10 {
			t.Errorf("%s: %q", name, got)
		}
	}
}

func first(b []byte, _ ax25.Call) []byte { return b }
