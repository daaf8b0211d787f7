package intake_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// pouring gives a text in pieces and looks at the file's counts before each.
type pouring struct {
	rest string
	look func(left int)
}

func (p *pouring) Read(b []byte) (int, error) {
	p.look(len(p.rest))
	n, err := strings.NewReader(p.rest).Read(b[:min(len(b), 16<<10)])
	p.rest = p.rest[n:]
	return n, err
}

// The counts grow while a file is read, so that a host can show how far it is: at any moment they lag behind what was given
// by no more than the buffers hold.
func TestCountsGrowWhileReading(t *testing.T) {
	const rows = 20_000
	for _, c := range []struct{ name, head, row, foot string }{
		{"GPX", "<gpx><trk><trkseg>\n", "<trkpt lat=\"62\" lon=\"9\"><time>%s</time></trkpt>\n", "</trkseg></trk></gpx>\n"},
		{"KML", "<kml><Document>\n", "<Placemark><TimeStamp><when>%s</when></TimeStamp><Point><coordinates>9,62</coordinates></Point></Placemark>\n", "</Document></kml>\n"},
		{"GeoJSON", "{\"type\":\"FeatureCollection\",\"features\":[\n", "{\"type\":\"Feature\",\"geometry\":{\"type\":\"Point\",\"coordinates\":[9,62]},\"properties\":{\"time\":\"%s\"}},\n",
			"{\"type\":\"Feature\",\"geometry\":{\"type\":\"Point\",\"coordinates\":[9,62]},\"properties\":{\"time\":\"2031-05-03T06:00:00Z\"}}]}\n"},
		{"CSV", "time,lat,lon\n", "%s,62,9\n", ""},
		{"JSON lines", "", "{\"time\":\"%s\",\"lat\":62,\"lon\":9}\n", ""},
		{"JSON array", "[{\"a\":1}\n", ",{\"time\":\"%s\",\"lat\":62,\"lon\":9}\n", "]\n"},
		{"monitor text", "", "%s QX1ABC-7>APZ001:!6203.90N/00938.10E[a\n", ""},
	} {
		var b strings.Builder
		b.WriteString(c.head)
		for k := range rows {
			fmt.Fprintf(&b, c.row, time.Date(2031, 5, 2, 6, 0, k, 0, time.UTC).Format(time.RFC3339))
		}
		b.WriteString(c.foot)
		var file *evidence.File
		whole, worst, before := b.Len(), 0.0, 0
		p := &pouring{rest: b.String()}
		p.look = func(left int) {
			if file == nil {
				return
			}
			if file.Lines < before {
				t.Errorf("%s: from %d back to %d lines", c.name, before, file.Lines)
			}
			before = file.Lines
			worst = max(worst, float64(whole-left)-float64(file.Lines)/rows*float64(whole))
		}
		s, err := intake.Read(p, "a", 0, intake.Settings{}, intake.Keep{Budget: 1 << 30, Begin: func(f *evidence.File) { file = f }})
		if err != nil || s.File.Lines < rows || s.File.Packets+s.File.Fixes < rows {
			t.Errorf("%s: %v, %+v", c.name, err, s.File)
		}
		if worst > 300<<10 {
			t.Errorf("%s: the lines lag behind by %.0f KB of %d", c.name, worst/1024, whole>>10)
		}
	}
}
