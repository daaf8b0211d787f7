package intake_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lastbeacon/core/intake"
)

// said pairs headers with what they mean.
func said(pairs ...string) (columns []intake.Column) {
	for i := 0; i < len(pairs); i += 2 {
		columns = append(columns, intake.Column{Header: pairs[i], Meaning: pairs[i+1]})
	}
	return columns
}

func TestTablesByHeader(t *testing.T) {
	cases := []struct {
		name, text, want string
		set              intake.Settings
	}{
		{"speed in km/h", "time,lat,lon,speed (km/h)\n2031-05-02T05:40:12Z,60.5,10.25,36\n", "60.5 10.25 10 NaN", intake.Settings{}},
		{"speed in knots, underscores", "utc_time,LATITUDE,LONGITUDE,speed_kn,course\n2031-05-02T05:40:12Z,60.5,10.25,10,90\n", "60.5 10.25 5.144444 90", intake.Settings{}},
		{"speed without unit is left out", "time,lat,lon,speed\n2031-05-02T05:40:12Z,60.5,10.25,36\n", "60.5 10.25 NaN NaN", intake.Settings{}},
		{"hemispheres", "time;lat;lon\n2031-05-02T05:40:12Z;60,5°S;10,25W\n", "-60.5 -10.25 NaN NaN", intake.Settings{}},
		{"degrees, minutes and seconds", "time,lat,lon\n2031-05-02T05:40:12Z,60°30'00.0\"N,10°15'00\"W\n", "60.5 -10.25 NaN NaN", intake.Settings{}},
		{"degrees and minutes", "time;lat;lon\n2031-05-02T05:40:12Z;60 30,00 S;10°15,0'E\n", "-60.5 10.25 NaN NaN", intake.Settings{}},
		{"degrees and minutes in one", "time,lat,lon\n2031-05-02T05:40:12Z,6030.00N,01015.00W\n", "60.5 -10.25 NaN NaN", intake.Settings{}},
		{"a row of units below the headers", "Time,Lat,Lon,Speed\nUTC,deg,deg,km/h\n2031-05-02T05:40:12Z,60.5,10.25,36\n", "60.5 10.25 10 NaN", intake.Settings{}},
		{"integers of 1e-7 degrees", "time,lat,lon\n2031-05-02T05:40:12Z,605000000,-102500000\n", "60.5 -10.25 NaN NaN", intake.Settings{}},
		{"date and time apart", "date,time,lat,lon\n2031-05-02,05:40:12Z,60.5,10.25\n", "60.5 10.25 NaN NaN", intake.Settings{}},
		{"tabs and blanks", "Time\tLat\tLon \n2031-05-02T05:40:12Z\t 60.5\t10.25\n", "60.5 10.25 NaN NaN", intake.Settings{}},
		{"words ahead", "my track\nfrom the hill\ntime,lat,lon\n2031-05-02T05:40:12Z,60.5,10.25\n", "60.5 10.25 NaN NaN", intake.Settings{}},
		{"a hemisphere and its sign", "time,lat,lon\n2031-05-02T05:40:12Z,-60.5S,-10°15'W\n", "-60.5 -10.25 NaN NaN", intake.Settings{}},
		{"a place that is the object's own, others within", `{"time":"2031-05-02T05:40:12Z","home":{"lat":1,"lon":2,"at":{"lat":3}},"lat":60.5,"lon":10.25,"via":{"lat":4,"lon":5}}` + "\n", "60.5 10.25 NaN NaN", intake.Settings{}},
		{"columns set by header", "wann,nord,ost\n2031-05-02T05:40:12Z,60.5,10.25\n2031-05-02T05:40:13Z,60.5,10.25\n2031-05-02T05:40:14Z,60.5,10.25\n", "60.5 10.25 NaN NaN",
			intake.Settings{Columns: said("wann", "time", "Nord", "lat", "ost", "lon")}},
		{"columns set by number", "1,2031-05-02T05:40:12Z,60.5,10.25\n2,2031-05-02T05:40:12Z,60.5,10.25\n3,2031-05-02T05:40:12Z,60.5,10.25\n", "60.5 10.25 NaN NaN",
			intake.Settings{Columns: said("2", "time", "3", "lat", "4", "lon")}},
		{"columns that were told wrongly, corrected", "time,lat,lon,east\n2031-05-02T05:40:12Z,60.5,0,10.25\n", "60.5 10.25 NaN NaN",
			intake.Settings{Columns: said("east", "lon")}},
		{"fields of an object set by name", `{"zeitpunkt":"2031-05-02T05:40:12Z","pos":{"n":60.5,"e":10.25}}` + "\n", "60.5 10.25 NaN NaN",
			intake.Settings{Columns: said("zeitpunkt", "time", "n", "lat", "e", "lon")}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := read(t, c.text, c.set)
			if len(s.Tracks) != 1 {
				t.Fatalf("%d tracks, %+v, notes %+v", len(s.Tracks), s.File, s.Notes)
			}
			x := s.Tracks[0].Fixes[0]
			if got := fmt.Sprintf("%.7g %.7g %.7g %.7g", x.Place.Lat, x.Place.Lon, x.Speed, x.Course); got != c.want || !strings.HasPrefix(x.At.String(), "2031-05-02T05:40:12") {
				t.Errorf("got %s at %v, want %s", got, x.At, c.want)
			}
		})
	}
}

// What each column was taken for is told, and stays what somebody says.
func TestColumnsAreShown(t *testing.T) {
	meter := "Zeit;Spannung (mV);I;Bemerkung;v\n2031-05-02T06:00:00Z;7400;0,25;kalt;1\n"
	for _, c := range []struct {
		name, text, want string
		set              []intake.Column
		readings         string
	}{
		{"by their headers", meter, `1 "Zeit" time; 2 "Spannung (mV)" volts mV; 3 "I" amps A; 4 "Bemerkung" none; 5 "v" none`, nil, "7.4 0.25"},
		{"a unit that was said", meter, `1 "Zeit" time; 2 "Spannung (mV)" volts mV; 3 "I" amps mA said; 4 "Bemerkung" none; 5 "v" none`, said("I", "amps mA"), "7.4 0.00025"},
		{"a unit that was left to the header", meter, `1 "Zeit" time; 2 "Spannung (mV)" volts mV said; 3 "I" amps A; 4 "Bemerkung" none; 5 "v" none`, said("spannung (mv)", "volts"), "7.4 0.25"},
		{"a column that is not to be used", meter, `1 "Zeit" time; 2 "Spannung (mV)" none said; 3 "I" amps A; 4 "Bemerkung" none; 5 "v" volts V`, said("2", "none"), "1 0.25"},
		{"another column of the same meaning", meter, `1 "Zeit" time; 2 "Spannung (mV)" none; 3 "I" amps A; 4 "Bemerkung" none; 5 "v" volts V said`, said("v", "volts V"), "1 0.25"},
		{"units in a row below", "Time,Voltage,Current\nhh:mm:ss,V,mA\n2031-05-02T06:00:00Z,7.4,250\n", `1 "Time" time; 2 "Voltage" volts V; 3 "Current" amps mA`, nil, "7.4 0.25"},
		{"a unit that was said against a row below", "Time,Voltage,Current\n,V,mA\n2031-05-02T06:00:00Z,7.4,0.25\n", `1 "Time" time; 2 "Voltage" volts V; 3 "Current" amps A said`, said("Current", "amps A"), "7.4 0.25"},
		{"two columns, one of them known", "Uhrzeit;U\n02.05.2031 06:00:00;7,4\n", `1 "Uhrzeit" time; 2 "U" volts V`, nil, "7.4 NaN"},
		{"two columns that nobody knows", "wann;was\n02.05.2031 06:00:00;7,4\n02.05.2031 06:00:10;7,4\n", `1 "wann" none; 2 "was" none`, nil, ""},
		{"a column that is named like times and holds none", "heard,noted,U\nQX1ABC,2031-05-02T06:00:00Z,7.4\n", `1 "heard" none; 2 "noted" time; 3 "U" volts V`, nil, "7.4 NaN"},
		{"two columns of times, the first of words", "when,ts,U\nearly,1935295200,7.4\n", `1 "when" none; 2 "ts" time; 3 "U" volts V`, nil, "7.4 NaN"},
		{"a column of times that somebody said", "heard,noted,U\nQX1ABC,2031-05-02T06:00:00Z,7.4\n", `1 "heard" time said; 2 "noted" none; 3 "U" volts V`, said("heard", "time"), ""},
		{"fields of objects", `{"ts":1935295200,"bat":{"voltage":7.4,"i":250}}` + "\n", `1 "ts" time; 2 "voltage" volts V; 3 "i" amps mA said`, said("i", "amps mA"), "7.4 0.25"},
		{"another field of the same meaning", `{"ts":1935295200,"voltage":1,"cell":7.4}` + "\n", `1 "ts" time; 2 "voltage" none; 3 "cell" volts V said`, said("cell", "volts V"), "7.4 NaN"},
		{"none by their headers", "wann;wieviel;was\n2031-05-02T06:00:00Z;7,4;1\n2031-05-02T06:00:10Z;7,4;1\n", `1 "wann" none; 2 "wieviel" none; 3 "was" none`, nil, ""},
		{"without headers", "2031-05-02T06:00:00Z;7,4;1\n2031-05-02T06:00:10Z;7,4;1\n2031-05-02T06:00:20Z;7,4;1\n", `1 "" time said; 2 "" volts V said; 3 "" none`, said("1", "time", "2", "volts V"), "7.4 NaN"},
	} {
		s := read(t, c.text, intake.Settings{Columns: c.set})
		var shown []string
		for _, x := range s.File.Columns {
			one := fmt.Sprintf("%d %q %s", x.No, x.Header, x.Meaning)
			if x.Said {
				one += " said"
			}
			shown = append(shown, one)
		}
		if got := strings.Join(shown, "; "); got != c.want {
			t.Errorf("%s: columns\n%s\nwant\n%s", c.name, got, c.want)
		}
		readings := ""
		if len(s.Readings) > 0 {
			readings = fmt.Sprintf("%.6g %.6g", s.Readings[0].Volts, s.Readings[0].Amps)
		}
		if readings != c.readings {
			t.Errorf("%s: reads %q, want %q; %+v", c.name, readings, c.readings, s.Notes)
		}
	}
}

// A field in quotes may hold line ends; its lines are counted, and a quote that nothing closes costs no other row.
func TestRowsOverSeveralLines(t *testing.T) {
	const p = "QX1ABC-7>APZ001:!6203.90N/00938.10E[a"
	row := func(second int, packet string) string {
		return fmt.Sprintf("2031-05-02T06:00:%02dZ,%s,x\n", second, packet)
	}
	for _, c := range []struct {
		name, text             string
		packets, lines, unused int
		code                   string
		raw                    string // of the first packet
	}{
		{"a packet with a line end", "time,packet,remark\n" + row(1, `"`+p+"\nb\"") + row(2, p), 2, 4, 0, "", p + "\nb"},
		{"CR LF and a blank line within", "time,packet,remark\r\n2031-05-02T06:00:01Z,\"" + p + "\"\"\r\n\r\nb\",\r\n", 1, 4, 0, "", p + "\"\n\nb"},
		{"a header with a line end", "\"time\n(UTC)\",packet,\"a\nremark\"\n" + row(1, p), 1, 4, 0, "", p},
		{"a row of several lines that gives nothing", "time,packet,remark\n" + row(1, "\"no packet\n\nat all\"") + row(2, p), 1, 5, 3, "header.no-arrow", p},
		{"more fields than headers", "time,packet,remark\n" + row(1, p) + row(2, p+",WIDE1-1:!6203.90N/00938.10E[a"), 2, 3, 0, "csv.more", p},
		{"a quote that nothing closes", "time,packet,remark\n" + row(1, `"`+p) + strings.Repeat(row(2, p), 200), 201, 202, 0, "csv.quote", p + ",x"},
		{"a quote that closes amid a word", "time,packet,remark\n" + row(1, `"`+p) + row(2, p+`"b`), 2, 3, 0, "csv.quote", p + ",x"},
		{"a quote that a stray one closes rows later", "time,packet,remark\n" + row(1, `"`+p) + strings.Repeat(row(2, p), 5) + row(3, p+`"`), 7, 8, 0, "csv.quote", p + ",x"},
		{"words behind a closing quote", "time,packet,remark\n" + row(1, `"`+p+`" hill`), 1, 2, 0, "", p + " hill"},
		{"a quote in words ahead of the header", "\"my notes\nfrom the hill\ntime,packet,remark\n" + row(1, p), 1, 4, 2, "csv.columns", p},
	} {
		s := read(t, c.text, intake.Settings{})
		addsUp(t, s)
		if f := s.File; f.Packets != c.packets || f.Lines != c.lines || f.NotUsed != c.unused || f.Empty != 0 {
			t.Errorf("%s: %d packets, %d lines, %d not used, %d empty: %+v", c.name, f.Packets, f.Lines, f.NotUsed, f.Empty, s.Notes)
		}
		if len(s.Receptions) > 0 && string(s.Receptions[0].Raw) != c.raw {
			t.Errorf("%s: %q, want %q", c.name, s.Receptions[0].Raw, c.raw)
		}
		if c.code != "" && noteOf(s, c.code) == nil || c.code == "" && len(s.Notes) > 0 {
			t.Errorf("%s: notes %+v, want %q", c.name, s.Notes, c.code)
		}
	}
}

// The name of a column may state the zone; a zone that somebody set wins.
func TestZoneInTheHeader(t *testing.T) {
	for _, c := range []struct{ text, zone, at, basis string }{
		{"Time (UTC),lat,lon\n2031-05-02 06:00:00,62,9\n", "", "2031-05-02T06:00:00Z", "stated in the file"},
		{"utc_time,lat,lon\n2031-05-02 06:00:00,62,9\n", "Europe/Oslo", "2031-05-02T04:00:00Z", "set by you"},
		{"date,utc time,lat,lon\n2031-05-02,06:00:00+02:00,62,9\n", "", "2031-05-02T04:00:00Z", "stated in the file"},
		{"Time,lat,lon\n2031-05-02 06:00:00,62,9\n", "", "2031-05-02T06:00:00Z", "assumed"},
		{`{"utc":"2031-05-02 06:00:00","lat":62,"lon":9}` + "\n", "", "2031-05-02T06:00:00Z", "stated in the file"},
	} {
		s := read(t, c.text, intake.Settings{Zone: c.zone})
		if s.File.First.String() != c.at || s.File.ZoneBasis != c.basis {
			t.Errorf("%q: %v, %s; want %s, %s", c.text, s.File.First, s.File.ZoneBasis, c.at, c.basis)
		}
	}
}

// What a language takes for a number and a person does not is none, and no hemisphere goes with the sign of the other.
func TestPlacesThatAreNone(t *testing.T) {
	for _, lat := range []string{"0x1p5", "6_2", "Infinity", "-62.1N", "-62°6'N", "62.1.2", "６２"} {
		s := read(t, "time,lat,lon\n2031-05-02T05:40:12Z,"+lat+",9\n", intake.Settings{})
		if s.File.Fixes != 0 || noteOf(s, "fix.range") == nil {
			t.Errorf("%s: %+v, notes %+v", lat, s.Tracks, s.Notes)
		}
	}
}

// A date apart that is no day of the calendar is said.
func TestDateApartThatIsNone(t *testing.T) {
	s := read(t, "date,time,lat,lon\n2031-02-28,05:40:12Z,60.5,10.25\n2031-02-30,05:41:12Z,60.5,10.25\n", intake.Settings{})
	if n := noteOf(s, "time.no-such-day"); n == nil || n.Line.No != 3 || s.File.Fixes != 2 {
		t.Errorf("%+v, notes %+v", s.File, s.Notes)
	}
}

func TestMeters(t *testing.T) {
	for _, c := range []struct{ name, header, row, want string }{
		{"plain", "time,volts,amps", "2031-05-02T05:40:12Z,7.4,0.25", "7.4 0.25"},
		{"milli", "Time,U (mV),I [mA]", "2031-05-02T05:40:12Z,7400,250", "7.4 0.25"},
		{"underscores", "timestamp;battery_voltage_v;current_mA", "2031-05-02 05:40:12Z;7,4;250", "7.4 0.25"},
		{"a discharge counts negative", "time,voltage,current (A)", "2031-05-02T05:40:12Z,7.4,-0.25", "7.4 -0.25"},
		{"volts alone", "time,voltage", "2031-05-02T05:40:12Z,7.4", "7.4 NaN"},
		{"an unknown unit is no guess", "time,voltage,current (digits)", "2031-05-02T05:40:12Z,7.4,25", "7.4 NaN"},
	} {
		s := read(t, c.header+"\n"+c.row+"\n", intake.Settings{})
		if len(s.Readings) != 1 {
			t.Errorf("%s: %+v", c.name, s.Notes)
			continue
		}
		if got := fmt.Sprintf("%.6g %.6g", s.Readings[0].Volts, s.Readings[0].Amps); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

// Tables whose headers say nothing that is known, told by their rows. Quotes are those of RFC 4180.
func TestTablesByTheirRows(t *testing.T) {
	const packet, quoted = "QX1ABC-7>APZ001,WIDE1-1:!6123.45N/00812.30E[hill pack", `"QX1ABC-7>APZ001,WIDE1-1:!6123.45N/00812.30E[hill ""A"" pack"`
	for _, c := range []struct{ name, head, row, format, at, comment string }{
		{"unknown headers", "wann;was;wie laut", "2031-05-02T05:40:12Z;" + packet + ";-90", "table (CSV)", "2031-05-02T05:40:12Z", "hill pack"},
		{"in quotes", "no,where from,what", "1,2031-05-02T05:40:12Z," + quoted, "table (CSV)", "2031-05-02T05:40:12Z", `hill "A" pack`},
		{"tabs and another order of the date", "a\tb\tc\td", "1\t45-05-02 05:40:12\t" + packet + "\t-90", "table (CSV)", "2045-05-02T05:40:12Z", "hill pack"},
		{"a header that says packet, none that says time", "nr;stempel;raw", "1;2031-05-02T05:40:12Z;" + packet, "table (CSV)", "2031-05-02T05:40:12Z", "hill pack"},
		{"a time of day may be a duration", "nr;laufzeit;raw", "1;00:40:12;" + packet, "table (CSV)", "", "hill pack"},
		{"no headers, in quotes", `1,2031-05-02T05:40:12Z,"` + packet + `",-90`, `2,2031-05-02T05:41:12Z,"` + packet + `",-91`, "monitor text", "2031-05-02T05:40:12Z", "hill pack"},
		{"words above monitor text", "Heard on the hill; by me", "2031-05-02T05:40:12Z " + packet, "monitor text", "2031-05-02T05:40:12Z", "hill pack"},
	} {
		s := read(t, c.head+"\n"+c.row+"\n", intake.Settings{Zone: "UTC"})
		if len(s.Receptions) == 0 {
			t.Errorf("%s: %s, nothing heard, notes %+v", c.name, s.File.Format, s.Notes)
			continue
		}
		r := s.Receptions[0]
		at := ""
		if r.At.Known() {
			at = r.At.String()
		}
		if _, comment, _ := strings.Cut(string(r.Raw), "["); s.File.Format != c.format || at != c.at || comment != c.comment {
			t.Errorf("%s: %s at %q, comment %q", c.name, s.File.Format, at, comment)
		}
	}
}

func TestTableWithOpenColumnsIsAsked(t *testing.T) {
	s := read(t, "a,b,c\n1,60.1,10\n2,60.2,10\n3,60.3,10\n", intake.Settings{})
	if len(s.File.Ask) != 1 || s.File.Ask[0].Field != "columns" || len(s.File.Ask[0].Samples) != 2 {
		t.Errorf("%+v", s.File)
	}
}

// Sentences with their published checksums: the first two stand in a library's tests on docs.rs, the third in the
// documentation of an R package, the fourth is a recorded line in an npm package's samples.
func TestNMEASentences(t *testing.T) {
	for _, c := range []struct {
		sentence string
		lat, lon float64
		of       string
	}{
		{"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", 48 + 7.038/60, 11 + 31.0/60, "12:35:19"},
		{"$GPGLL,5057.970,N,00146.110,E,142451,A*27", 50 + 57.97/60, 1 + 46.11/60, "14:24:51"},
		{"$GPGGA,015808.00,2726.53758,S,15126.05255,E,1,08,1.0,365.1,M,39.5,M,,*79", -(27 + 26.53758/60), 151 + 26.05255/60, "01:58:08"},
		{"$GPGLL,6005.071,N,02332.346,E,095559,A,D*43", 60 + 5.071/60, 23 + 32.346/60, "09:55:59"},
	} {
		s := read(t, c.sentence+"\r\n", intake.Settings{Date: "2031-05-02"})
		if len(s.Tracks) != 1 {
			t.Errorf("%s: %+v", c.sentence, s.Notes)
			continue
		}
		x := s.Tracks[0].Fixes[0]
		if math.Abs(x.Place.Lat-c.lat) > 1e-9 || math.Abs(x.Place.Lon-c.lon) > 1e-9 || x.At.String() != "2031-05-02T"+c.of+"Z" {
			t.Errorf("%s: got %+v", c.sentence, x)
		}
		spoilt := strings.Replace(c.sentence, "0", "1", 1)
		if s := read(t, spoilt+"\r\n"+c.sentence+"\r\n", intake.Settings{Date: "2031-05-02"}); noteOf(s, "nmea.checksum") == nil || s.File.Fixes != 1 {
			t.Errorf("%s is taken: %+v", spoilt, s.Notes)
		}
	}
}
