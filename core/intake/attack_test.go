package intake_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"lastbeacon/core/intake"
)

// Each input once made a reader lose what it holds, or lose it without a word.
func TestNothingIsLostInSilence(t *testing.T) {
	line := "2031-05-02T05:40:12Z " + packet + "\n"
	xmlHead := `<kml><Placemark><TimeStamp><when>2031-05-02T06:00:00Z</when></TimeStamp><Point><coordinates>`
	for _, c := range []struct {
		name, content string
		code          string // of a note; empty when none is due
		packets       int
		fixes         int
		readings      int
		notUsed       int
	}{
		{"a mail with 8 KB of headers", strings.Repeat("X-Way: through one host after another\n", 220) + "\n" + line, "header.no-arrow", 1, 0, 0, 220},
		{"8 KB of comments ahead of a log", strings.Repeat("# written by the recorder of the ridge\n", 220) + line, "", 1, 0, 0, 0},
		{"8 KB of comments ahead of a table", strings.Repeat("# written by the recorder of the ridge\n", 220) + "time,lat,lon\n2031-05-02T06:00:00Z,62,9\n", "", 0, 1, 0, 0},
		{"a first line too long", strings.Repeat("x", 70_000) + "\n" + line, "line.too-long", 1, 0, 0, 1},
		{"nothing but line ends", strings.Repeat("\r", 50), "file.blank", 0, 0, 0, 0},
		{"UTF-16 without a mark, big end first", wide(line, true), "", 1, 0, 0, 0},
		{"UTF-16 without a mark, little end first", wide(line, false), "", 1, 0, 0, 0},
		{"gzip in gzip", string(gzipped(string(gzipped(line, 1)), 1)), "file.packed", 0, 0, 0, 0},
		{"gzip with other bytes behind it", string(gzipped(line, 1)) + "and words behind it", "gzip.trailing", 1, 0, 0, 0},
		{"a gzip of nothing", string(gzipped("", 1)), "file.empty", 0, 0, 0, 0},
		{"a zip whose comment forges the end of an empty list", commented(line, "PK\x05\x06"+strings.Repeat("\x00", 18)), "", 1, 0, 0, 0},
		{"a zip whose comment holds another zip", commented(line, string(zipped("b.log", line+line, 1))), "", 1, 0, 0, 0},
		{"a zip with a list of nothing", "PK\x03\x04" + strings.Repeat("\x00", 26) + "PK\x05\x06" + strings.Repeat("\x00", 18), "zip.damaged", 0, 0, 0, 0},
		{"zip in zip", string(zipped("a.zip", string(zipped("a.log", line, 1)), 1)), "file.packed", 0, 0, 0, 0},
		{"a zip of an empty file", string(zipped("a.log", "", 1)), "file.empty", 0, 0, 0, 0},
		{"a saved page without its figures", `<!doctype html>` + "\n" + `<meta name="generator" content="Lastbeacon report">` + "\n\n", "report.empty", 0, 0, 0, 3},
		{"a saved report beyond all measure", `{"schema":"lastbeacon.report/1",` + strings.Repeat("\n", 17<<20) + "}", "report.too-large", 0, 0, 0, 17<<20 + 1},
		{"a first object that is none", `{"time":NaN,"lat":62,"lon":9}` + "\n" + `{"time":1935300300,"lat":62,"lon":9}` + "\n", "json.line", 0, 1, 0, 1},
		{"numbers beyond all numbers in objects", `{"time":1935300300,"lat":62,"lon":9}` + "\n" + `{"time":1935300300,"lat":1e400,"lon":9}` + "\n", "fix.range", 0, 1, 0, 1},
		{"a placemark whose place is no number", xmlHead + `NaN,1e400</coordinates></Point></Placemark></kml>`, "fix.range", 0, 0, 0, 1},
		{"a placemark whose place is empty", xmlHead + `</coordinates></Point></Placemark></kml>`, "fix.range", 0, 0, 0, 1},
		{"a current beyond all meters", "time,volts,amps\n2031-05-02T06:00:00Z,7.4,1e308\n2031-05-02T06:00:10Z,7.4,0.1\n", "meter.range", 0, 0, 1, 1},
		{"years that no clock shows", "0000-01-01T00:00:00Z " + packet + "\n9999-12-31T23:59:59Z " + packet + "\n", "time.missing", 2, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := read(t, c.content, intake.Settings{})
			addsUp(t, s)
			f := s.File
			if f.Packets != c.packets || f.Fixes != c.fixes || f.Readings != c.readings || f.NotUsed != c.notUsed {
				t.Errorf("%d packets, %d fixes, %d readings, %d not used: %+v", f.Packets, f.Fixes, f.Readings, f.NotUsed, s.Notes)
			}
			if c.code != "" && noteOf(s, c.code) == nil {
				t.Errorf("no note %s among %+v", c.code, s.Notes)
			}
			if c.code == "" && len(s.Notes) > 0 {
				t.Errorf("notes %+v", s.Notes)
			}
		})
	}
}

// commented gives an archive of one log with a comment.
func commented(log, comment string) string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, _ := z.Create("a.log")
	io.WriteString(w, log)
	z.SetComment(comment)
	z.Close()
	return b.String()
}

func wide(text string, big bool) string {
	var b []byte
	for _, u := range utf16.Encode([]rune(text)) {
		if big {
			u = u<<8 | u>>8
		}
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

// An archive's other members keep their lines when a saved report comes after them.
func TestReportWithinAnArchive(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{"a.log": "2031-05-02T05:40:12Z " + packet + "\nno packet\n", "b.html": "<!doctype html>\n<meta name=\"generator\" content=\"Lastbeacon report\">\n"} {
		w, _ := z.Create(name)
		io.WriteString(w, text)
	}
	z.Close()
	s := read(t, b.String(), intake.Settings{})
	addsUp(t, s)
	if f := s.File; f.Lines != 4 || f.NotUsed != 3 || f.Packets != 1 {
		t.Errorf("%d lines, %d not used, %d packets", f.Lines, f.NotUsed, f.Packets)
	}
}

// The second 60 of a leap second and the hour 24 are moments; what lies beyond is none.
func TestEdgesOfTheDay(t *testing.T) {
	for _, c := range []struct{ stamp, want string }{
		{"2016-12-31T23:59:60Z", "2017-01-01T00:00:00Z"},
		{"2017-01-01T24:00:00Z", "2017-01-02T00:00:00Z"},
		{"2016-02-29T12:00:00Z", "2016-02-29T12:00:00Z"},
		{"2017-01-01T24:00:01Z", ""},
		{"2017-01-01T23:60:00Z", ""},
		{"2017-01-01T23:59:61Z", ""},
		{"2017-02-29T12:00:00Z", ""},
		{"10000-01-01T00:00:00Z", ""},
	} {
		s := read(t, c.stamp+" "+packet+"\n", intake.Settings{})
		if len(s.Receptions) != 1 {
			t.Errorf("%s: %d receptions", c.stamp, len(s.Receptions))
			continue
		}
		if at := s.Receptions[0].At; at.Known() != (c.want != "") || at.Known() && at.String() != c.want {
			t.Errorf("%s is read as %v, want %q", c.stamp, at, c.want)
		}
	}
}

// A list that shows the newest first and times of day only goes back over midnight as often as it must.
func TestNewestFirstOverSeveralMidnights(t *testing.T) {
	for _, form := range []string{"15:04:05", "03:04:05 PM", "15:04"} {
		var b strings.Builder
		for k := range 60 {
			at := time.Date(2031, 5, 3, 3, 0, 0, 0, time.UTC).Add(time.Duration(-50*k) * time.Minute)
			fmt.Fprintf(&b, "%s %sn%d\n", at.Format(form), packet, k)
		}
		s := read(t, b.String(), intake.Settings{Date: "2031-05-03"})
		if first, last := s.File.First.String(), s.File.Last.String(); first != "2031-05-01T01:50:00Z" || last != "2031-05-03T03:00:00Z" {
			t.Errorf("%s: from %s to %s", form, first, last)
		}
	}
}
