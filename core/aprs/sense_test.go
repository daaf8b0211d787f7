package aprs_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/aprs"
)

// The forms are common practice, no source: the standard has no field for a battery.
func TestReadingsInFreeText(t *testing.T) {
	cases := []struct{ text, want string }{
		{"7.8V", "voltage 7.8"},
		{"Bat=4.01", "voltage Bat 4.01"},
		{"batt: 83%", "charge batt 83"},
		{"U=7,82V", "voltage U 7.82"},
		{"Bat=4,01 21,5\u00b0C", "voltage Bat 4.01, temperature 21.5"},
		{"7.8V,83%,21C", "voltage 7.8, charge 83, temperature 21"},
		{"12.6,21C", "temperature 21"},
		{"99,7.8V", "voltage 7.8"},
		{"83,21C", ""},
		{"5,83%", ""},
		{"1,2,3V", ""},
		{"bat 7.4V 12C", "voltage bat 7.4, temperature 12"},
		{"BAT7.8V", "voltage BAT 7.8"},
		{"-3.5 C 3950mV", "temperature -3.5, voltage 3.95"},
		{"21\u00b0C", "temperature 21"},
		{"50F", "temperature 10"},
		{"U=12.6V T=21C", "voltage U 12.6, temperature T 21"},
		{"146.520MHz T100 +060", ""},
		{"12/34 not a speed", ""},
		{"QRV 145.500", ""},
		{"I=120mA 7.4V", "current I 120, voltage 7.4"},
		{"2000mAh pack", ""},
		{"hum 83%", ""},
		{"/A=001234", ""},
		{"A=001234 is no altitude", ""},
		{"C4FM 2.4GHz 70cm 5W", ""},
		{"Bat 4", ""},
		{"230V mains", ""},
		{"101%", ""},
		{"v1.2.3", ""},
		{"1.2.3V", ""},
		{"-97dBm", ""},
		{"10-12V", ""},
		{"", ""},
	}
	for _, c := range cases {
		if got := readings(aprs.AppendReadings(nil, []byte(c.text))); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}

func readings(all []aprs.Reading) string {
	var parts []string
	for _, r := range all {
		s := string(r.Quantity)
		if r.Quantity == aprs.Untold {
			s = "untold"
		}
		if r.Label != "" {
			s += " " + r.Label
		}
		parts = append(parts, fmt.Sprintf("%s %v", s, math.Round(r.Value*1e6)/1e6))
	}
	return strings.Join(parts, ", ")
}

// The definitions and the value 1034.8 are those of 1.0.1 ch.13 p.69-70, calls replaced.
func TestDefinitions(t *testing.T) {
	var d aprs.Definitions
	for _, text := range []string{
		"PARM.Battery,Btemp,ATemp,Pres,Alt,Camra,Chut,Sun,10m,ATV",
		"UNIT.v/100,deg.F,deg.F,Mbar,Kft,Click,OPEN,on,on,hi",
		"EQNS.0,5.2,0,0,.53,-32,3,4.39,49,-32,3,18,1,2,3",
		"BITS.10110000,Q0QBF Big Balloon",
	} {
		m := decode(t, "Q0QBF-11>APZ001::Q0QBF-11 :"+text).Message
		if !d.Learn(&m) {
			t.Fatalf("%q is not taken", text)
		}
	}
	if got := d.Equations[0].Of(199); math.Abs(got-1034.8) > 1e-9 {
		t.Errorf("equation 1 of 199 = %v, want 1034.8", got)
	}
	if got, want := d.Equations[2], (aprs.Equation{A: 3, B: 4.39, C: 49}); got != want {
		t.Errorf("equation 3 = %v, want %v", got, want)
	}
	if d.True != 0b00001101 || d.Title != "Q0QBF Big Balloon" || d.Names[5] != "Camra" || d.Units[4] != "Kft" {
		t.Errorf("bits %b, title %q, names %q, units %q", d.True, d.Title, d.Names, d.Units)
	}
	sample := decode(t, "Q0QBF-11>APZ001:T#005,199,180,,073,123,01101001").Telemetry
	if got, want := readings(d.AppendReadings(nil, sample)), "voltage Battery 10.348, temperature Btemp 17.444444, untold Pres -170291, untold Alt 15378"; got != want {
		t.Errorf("readings %q, want %q", got, want)
	}
}

func TestWhatIsNoDefinition(t *testing.T) {
	var d aprs.Definitions
	for _, text := range []string{"Hello", "PARM", "BITS.1011", "parm.a,b"} {
		m := decode(t, "QX1ABC>APZ001::QX1ABC   :"+text).Message
		if d.Learn(&m) {
			t.Errorf("%q is taken", text)
		}
	}
	m := decode(t, "QX1ABC>APZ001::QX1ABC   :EQNS.0,1,0,x,2,3,0,2").Message
	if !d.Learn(&m) || d.Equations[0].B != 1 || d.Equations[1] != (aprs.Equation{}) || d.Equations[2] != (aprs.Equation{}) {
		t.Errorf("equations %v: one that is not whole must be left out", d.Equations)
	}
	if got := (aprs.Equation{}).Of(7); got != 7 {
		t.Errorf("without an equation 7 is %v", got)
	}
}

func TestTelemetryAsFoundInPractice(t *testing.T) {
	cases := []struct {
		text, values, comment, flaw string
	}{
		{"T#1,2,3", "2 3", "", ""},
		{"T#001,,3", "NaN 3", "", ""},
		{"T#001,1,2,3,4,5,01101001,seen today", "1 2 3 4 5", "seen today", ""},
		{"T#001,1,2,3,4,5,01101001seen today", "1 2 3 4 5", "seen today", ""},
		{"T#001,-1.5,.5,007", "-1.5 0.5 7", "", ""},
		{"T#001", "", "", aprs.FlawTelemetry},
		{"T#001,text", "", "", aprs.FlawTelemetry},
	}
	for _, c := range cases {
		p := decode(t, "QX1ABC>APZ001:"+c.text)
		got := strings.Trim(fmt.Sprint(p.Telemetry.Values[:p.Telemetry.N]), "[]")
		if got != c.values || string(p.Comment) != c.comment || p.Flaw != c.flaw {
			t.Errorf("%q: values %q, comment %q, flaw %q", c.text, got, p.Comment, p.Flaw)
		}
	}
}

func TestStampNear(t *testing.T) {
	at := func(s string) time.Time {
		x, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	cases := []struct {
		name  string
		stamp aprs.Stamp
		near  string
		want  string // "" when it cannot be said
	}{
		{"clock behind midnight", aprs.Stamp{Kind: aprs.ClockUTC, Hour: 0, Minute: 1}, "2031-05-02T23:59:00Z", "2031-05-03T00:01:00Z"},
		{"clock ahead of midnight", aprs.Stamp{Kind: aprs.ClockUTC, Hour: 23, Minute: 59}, "2031-05-02T00:01:00Z", "2031-05-01T23:59:00Z"},
		{"day of the month before", aprs.Stamp{Kind: aprs.DayUTC, Day: 31, Hour: 12}, "2031-02-01T00:00:00Z", "2031-01-31T12:00:00Z"},
		{"day that the month does not have", aprs.Stamp{Kind: aprs.DayUTC, Day: 31, Hour: 12}, "2031-02-15T00:00:00Z", "2031-01-31T12:00:00Z"},
		{"month across the year", aprs.Stamp{Kind: aprs.MonthUTC, Month: 12, Day: 31}, "2031-01-02T00:00:00Z", "2030-12-31T00:00:00Z"},
		{"whole date", aprs.Stamp{Kind: aprs.DateUTC, Year: 1999, Month: 10, Day: 29, Hour: 6}, "2031-01-02T00:00:00Z", "1999-10-29T06:00:00Z"},
		{"sender's own zone", aprs.Stamp{Kind: aprs.DayLocal, Day: 2}, "2031-01-02T00:00:00Z", ""},
		{"none", aprs.Stamp{}, "2031-01-02T00:00:00Z", ""},
	}
	for _, c := range cases {
		got, ok := c.stamp.Near(at(c.near))
		if ok != (c.want != "") || ok && !got.Equal(at(c.want)) {
			t.Errorf("%s: %v, %v", c.name, got, ok)
		}
	}
}
