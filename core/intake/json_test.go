package intake_test

import (
	"fmt"
	"strings"
	"testing"

	"lastbeacon/core/intake"
)

// Objects hold their records at any depth: no record of a list is lost, none of a receiver is taken for one, and each counts as
// its own line. Names are common practice, no source.
func TestObjectsWithinObjects(t *testing.T) {
	points := func(joint string) string {
		return strings.Join([]string{
			`{"time":1935466812,"lat":62.0651,"lng":"9.635"}`, `{"time":1935466872,"lat":62.0661,"lng":"9.635"}`, `{"time":1935466932,"lat":62.0671,"lng":"9.635"}`,
		}, joint)
	}
	station := strings.ReplaceAll(points(",\n"), `{"time"`, `{"call":"QX1ABC-7","time"`)
	cases := []struct {
		name, text     string
		packets, fixes int
		unused         int
		where          string // line and time of what was read last
	}{
		{"a list within an object", `{"result":"ok","entries":[` + points(",") + `]}`, 0, 3, 0, "1 2031-05-02T05:42:12Z"},
		{"over several lines", "{\n\"result\": \"ok\",\n\"entries\": [\n" + points(",\n") + "\n]}\n", 0, 3, 0, "6 2031-05-02T05:42:12Z"},
		{"stations over several lines", "{\n\"entries\": [\n" + station + "\n]}\n", 3, 0, 0, "5 2031-05-02T05:42:12Z"},
		{"what stands around belongs to each", `{"call":"QX1ABC-7","track":{"points":[` + points(",") + `]}}`, 3, 0, 0, "1 2031-05-02T05:42:12Z"},
		{"one such object a line", `{"call":"QX1ABC-7","points":[` + points(",") + "]}\n" + `{"call":"QX1ABC-7","points":[` + points(",") + "]}\n", 6, 0, 0, "2 2031-05-02T05:42:12Z"},
		{"an object that has a place, and receivers in a list", `{"call":"QX1ABC-7","time":1935466812,"lat":62,"lon":9,"heard by":[{"lat":1,"lon":2},{"lat":3,"lon":4}]}`, 1, 0, 0, "1 2031-05-02T05:40:12Z"},
		{"entries that have receivers in lists", `{"entries":[{"call":"QX1ABC-7","time":1935466812,"gateways":[{"lat":1,"lon":2}],"lat":62,"lon":9}]}`, 1, 0, 0, "1 2031-05-02T05:40:12Z"},
		{"coordinates, longitude first", `{"call":"QX1ABC-7","time":1935466812,"loc":{"type":"Point","coordinates":[9.635,62.065,12]}}`, 1, 0, 0, "1 2031-05-02T05:40:12Z"},
		{"a time of one letter", `{"t":"2031-05-02T05:40:12Z","raw":"QX1ABC-7>APZ001:>a"}`, 1, 0, 0, "1 2031-05-02T05:40:12Z"},
		{"a temperature of one letter", `{"t":21.5,"time":"2031-05-02T05:40:12Z","raw":"QX1ABC-7>APZ001:>a"}`, 1, 0, 0, "1 2031-05-02T05:40:12Z"},
		{"a sender by number", `{"from":2882345678,"time":1935466812,"lat":62,"lon":9}`, 0, 1, 0, "1 2031-05-02T05:40:12Z"},
		{"a list of nothing", `{"entries":[{"a":1},{"b":2}]}`, 0, 0, 1, ""},
		{"one entry that cannot be used", `{"entries":[{"time":1935466812,"lat":62,"lon":9},{"time":1935466812,"lat":162,"lon":9}]}`, 0, 1, 0, "1 2031-05-02T05:40:12Z"},
		{"cut off", "{\n\"entries\": [\n" + points(",\n") + ",\n{\"time\":19", 0, 0, 0, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := read(t, c.text, intake.Settings{})
			f, where := s.File, ""
			if n := len(s.Receptions); n > 0 {
				where = fmt.Sprint(s.Receptions[n-1].Line.No, s.Receptions[n-1].At)
			} else if len(s.Tracks) > 0 {
				last := s.Tracks[0].Fixes[len(s.Tracks[0].Fixes)-1]
				where = fmt.Sprint(last.Line.No, last.At)
			}
			if f.Format != "JSON objects" || f.Packets != c.packets || f.Fixes != c.fixes || f.NotUsed != c.unused || where != c.where {
				t.Errorf("%s, %d packets, %d fixes, %d not used, last %q; notes %+v", f.Format, f.Packets, f.Fixes, f.NotUsed, where, s.Notes)
			}
			if c.packets+c.fixes == 0 && len(s.Notes) == 0 {
				t.Error("nothing says why nothing was read")
			}
		})
	}
}

// An object of many megabytes in one line is read, and one of more than 16 MB noted.
func TestLongObjects(t *testing.T) {
	for _, c := range []struct{ entries, fixes int }{{3000, 3000}, {40000, 40000}, {900000, 0}} {
		var b strings.Builder
		b.WriteString(`{"entries":[`)
		pad := strings.Repeat(" ", c.entries/30000)
		for k := range c.entries {
			fmt.Fprintf(&b, `{"time":%d,"lat":62.0651,"lon":9.635,"n":0%s},`, 1935466812+k, pad)
		}
		s := read(t, strings.TrimSuffix(b.String(), ",")+"]}\n", intake.Settings{})
		if s.File.Fixes != c.fixes || (c.fixes == 0) != (len(s.Notes) > 0) {
			t.Errorf("%d entries: %d fixes, notes %+v", c.entries, s.File.Fixes, s.Notes)
		}
	}
}
