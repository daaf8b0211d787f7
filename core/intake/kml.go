package intake

import (
	"bufio"
	"bytes"
	"encoding/xml"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// KML 2.2 and 2.3 (OGC 12-007): tracks of when and coord elements, and placemarks of a point with a time stamp. Lines
// without times say nothing about when.
func kmlTrack() Format {
	return Format{Name: "KML track", Lacks: "no kml element", Sniff: sniffKML, read: readKML}
}

func sniffKML(head []byte) Confidence { return rootElement(head, "kml") }

// kml reads one KML file. The times of a Track come before its places, so they wait in a queue.
type kml struct {
	*xmlText
	track   evidence.Track
	single  evidence.Track // points of placemarks
	times   []clock.Instant
	taken   int // how many of them have found their place
	inTrack bool
	inPoint bool
	placed  bool // the placemark has a point
	point   trackPoint
	lineNo  int
	text    []byte
	want    bool
}

// maxQueue bounds the times of one Track.
const maxQueue = 2_000_000

func readKML(rd *reading, r *bufio.Reader) error {
	k := &kml{xmlText: newXML(rd, r), point: noPoint()}
	for t := k.next(); t != nil; t = k.next() {
		switch t := t.(type) {
		case xml.StartElement:
			k.open(t.Name.Local)
		case xml.CharData:
			if k.want {
				k.text = append(k.text, t[:min(len(t), maxExcerpt)]...)
			}
		case xml.EndElement:
			k.shut(t.Name.Local, bytes.TrimSpace(k.text))
			k.want = false
		}
	}
	rd.addTrack(k.track)
	rd.addTrack(k.single)
	return nil
}

func (k *kml) open(name string) {
	k.text, k.want = k.text[:0], false
	switch name {
	case "Track":
		k.inTrack, k.times, k.taken = true, k.times[:0], 0
		k.rd.addTrack(k.track)
		k.track = evidence.Track{}
	case "Placemark":
		k.point, k.placed, k.lineNo = noPoint(), false, k.line()
	case "Point":
		k.inPoint = true
		if k.lineNo == 0 { // no placemark is open
			k.lineNo = k.line()
		}
	case "when", "coord", "coordinates":
		k.want = true
	case "LineString", "LinearRing":
		k.rd.notes.add(note{code: "fix.no-time", line: k.rd.line(k.line()).No, unused: true})
		k.tally.mark(k.line(), false)
	}
}

func (k *kml) shut(name string, text []byte) {
	switch name {
	case "Track":
		k.inTrack = false
	case "Point":
		k.inPoint = false
	case "when":
		at := k.rd.isoTime(text)
		if k.inTrack && len(k.times) < maxQueue {
			k.times = append(k.times, at)
		}
		k.point.at = at
	case "coord":
		if k.inTrack {
			p := noPoint()
			p.lon, p.lat = pairOf(bytes.Fields(text))
			if k.taken < len(k.times) {
				p.at = k.times[k.taken]
				k.taken++
			}
			k.add(&k.track, p, k.line())
		}
	case "coordinates":
		if k.inPoint {
			k.placed = true
			k.point.lon, k.point.lat = pairOf(bytes.Split(text, []byte{','}))
		}
	case "Placemark":
		if k.placed {
			k.add(&k.single, k.point, k.lineNo)
		}
		k.placed, k.inPoint, k.lineNo = false, false, 0 // a point that was not shut ends here too
	}
}

// pairOf reads longitude and latitude.
func pairOf(fields [][]byte) (lon, lat float64) {
	if len(fields) < 2 {
		p := noPoint()
		return p.lon, p.lat
	}
	return number(string(fields[0])), number(string(fields[1]))
}

func (k *kml) add(tr *evidence.Track, p trackPoint, line int) {
	fault := k.rd.fix(tr, p, line)
	k.tally.mark(line, fault == "")
	if fault != "" {
		k.rd.notes.add(note{code: fault, line: k.rd.line(line).No, unused: true})
	}
}
