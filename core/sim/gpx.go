package sim

import (
	"bytes"
	"strconv"
)

// A Tracker records the way of one station as GPX 1.1.
type Tracker struct {
	File        string
	Station     string // its name
	Every       float64
	From, Until float64 // seconds after the begin
	GPS         GPS
	Gaps        []Outage // it records nothing in them, and begins a new segment behind each
}

func (t Tracker) record(seed uint64, l *Life) File {
	s := t.GPS.follow(stream(seed, "track "+t.File, 0), l.Way, t.Until)
	var b bytes.Buffer
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" +
		"<gpx version=\"1.1\" creator=\"logger\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n<trk><name>")
	b.WriteString(t.Station)
	b.WriteString("</name><trkseg>\n")
	gap := false
	for at := t.From; at <= t.Until; at += t.Every {
		if out(t.Gaps, at) {
			gap = true
			continue
		}
		if gap {
			b.WriteString("</trkseg><trkseg>\n")
			gap = false
		}
		b.Write(appendPoint(b.AvailableBuffer(), s.at(at), l.At(at).AppendTo(nil)))
	}
	b.WriteString("</trkseg></trk>\n</gpx>\n")
	return File{Name: t.File, Bytes: b.Bytes()}
}

func appendPoint(b []byte, f fix, time []byte) []byte {
	b = strconv.AppendFloat(append(b, `<trkpt lat="`...), f.place.Lat, 'f', 6, 64)
	b = strconv.AppendFloat(append(b, `" lon="`...), f.place.Lon, 'f', 6, 64)
	b = strconv.AppendFloat(append(b, `"><ele>`...), f.altitude, 'f', 0, 64)
	b = append(append(b, `</ele><time>`...), time...)
	return append(b, "</time></trkpt>\n"...)
}
