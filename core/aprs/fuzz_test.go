package aprs_test

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
)

func FuzzDecode(f *testing.F) {
	for _, line := range []string{
		micE + "'\"4T}text|ss11|!w#f!|3", "QX1ABC>APZ001:@092345z4903.5 N/07201.75W>088/036/A=001000|ss1122|!W23!",
		"QX1ABC>APZ001:=/5L!!<*e7>7P[text", "QX1ABC>APZ001:}QX2ABC>S32UVT,TCPIP*:`(_fn\"Oj/", "QX1ABC>APZ001:T#MIC1,-2,.5",
		"QX1ABC>APZ001:_10090556c220s004g005t-07h00b0990l123", "QX1ABC>APZ001:$GPRMC,1,A,9000,N,18000,E,1,0,010199",
		"QX1ABC>APZ001:>IO91SX/- ^B7", "QX1ABC>APZ001::QX2ABC   :ack1}2", "QX1ABC>APZ001:;LEADER   *092345z4903.50N/07201.75W>PHG51324/",
	} {
		n := strings.IndexByte(line, ':')
		f.Add(line[7:n], []byte(line[n+1:]))
	}
	f.Fuzz(func(t *testing.T, to string, info []byte) {
		call, _ := ax25.ParseCall([]byte(to))
		before := string(info)
		var p, again aprs.Packet
		aprs.Decode(call, info, &p)
		if string(info) != before {
			t.Fatal("the information was changed")
		}
		checkPacket(t, &p)
		first := facts(&p)
		aprs.Decode(call, []byte("!4903.50N/07201.75W>one/A=001000two!W23!|ss11|"), &again)
		aprs.Decode(call, info, &again)
		for key, v := range facts(&again) {
			if !agree(first[key], v) {
				t.Fatalf("%s: first %v, then %v", key, first[key], v)
			}
		}
		checkReadings(t, &p)
	})
}

// checkPacket holds what is true of every packet.
func checkPacket(t *testing.T, p *aprs.Packet) {
	t.Helper()
	const past = 0.0002 // !DAO! digits behind a pole or the date line
	switch {
	case p.Placed && !(math.Abs(p.Place.Lat) <= 90+past && math.Abs(p.Place.Lon) <= 180+past):
		t.Fatalf("place %v", p.Place)
	case p.Placed && !(p.Cell.Lat > 0 && p.Cell.Lat <= 1 && p.Cell.Lon > 0 && p.Cell.Lon <= 1):
		t.Fatalf("cell %v", p.Cell)
	case p.Placed && p.Encoding == "":
		t.Fatal("a place without an encoding")
	case !p.Placed && (p.Place.Lat != 0 || p.Place.Lon != 0):
		t.Fatalf("not placed, at %v", p.Place)
	case p.Course <= 0 || p.Course > 360:
		t.Fatalf("course %v", p.Course)
	case p.Speed < 0 || math.IsInf(p.Speed, 0) || math.IsInf(p.Altitude, 0):
		t.Fatalf("speed %v, altitude %v", p.Speed, p.Altitude)
	case p.Kind == "" || p.Telemetry.N < 0 || p.Telemetry.N > 5 || p.Ambiguity < 0 || p.Ambiguity > 4:
		t.Fatalf("kind %q, %d values, ambiguity %d", p.Kind, p.Telemetry.N, p.Ambiguity)
	}
}

func checkReadings(t *testing.T, p *aprs.Packet) {
	t.Helper()
	for _, r := range aprs.AppendReadings(nil, p.Comment) {
		if r.Quantity == aprs.Untold || math.IsNaN(r.Value) || math.Abs(r.Value) > 126 && r.Quantity != aprs.Current || math.Abs(r.Value) > 20000 {
			t.Fatalf("%q reads %v", p.Comment, r)
		}
	}
}

func agree(a, b any) bool {
	switch a := a.(type) {
	case float64:
		f, ok := b.(float64)
		return ok && equal(a, f)
	case []float64:
		c, ok := b.([]float64)
		for i := range a {
			ok = ok && i < len(c) && equal(a[i], c[i])
		}
		return ok && len(a) == len(c)
	case map[string]any:
		m, ok := b.(map[string]any)
		for k := range a {
			ok = ok && agree(a[k], m[k])
		}
		return ok
	}
	return a == b
}
