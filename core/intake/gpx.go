package intake

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"strings"

	"lastbeacon/core/evidence"
)

// GPX 1.0 and 1.1 (topografix.com/GPX): tracks with times. Speed (m/s) and course stand beside the time in 1.0, in
// extensions of any name space in 1.1. Times are UTC. The segments of a track are joined: what lies between them shows as
// time without fixes.
func gpxTrack() Format {
	return Format{Name: "GPX track", Lacks: "no gpx element", Sniff: sniffGPX, read: readGPX}
}

func sniffGPX(head []byte) Confidence { return rootElement(head, "gpx") }

// rootElement is sure when the first element of an XML text has the name.
func rootElement(head []byte, name string) Confidence {
	head = bytes.TrimLeft(head, " \t\r\n")
	for len(head) > 1 && head[0] == '<' && (head[1] == '?' || head[1] == '!') {
		end := bytes.IndexByte(head, '>')
		if bytes.HasPrefix(head, []byte("<!--")) {
			if end = bytes.Index(head, []byte("-->")); end >= 0 {
				end += 2
			}
		}
		if i := bytes.Index(head, []byte("]>")); bytes.HasPrefix(head, []byte("<!DOCTYPE")) && i >= 0 {
			end = i + 1
		}
		if end < 0 {
			return 0
		}
		head = bytes.TrimLeft(head[end+1:], " \t\r\n")
	}
	if len(head) == 0 || head[0] != '<' {
		return 0
	}
	tag := head[1:]
	if i := bytes.IndexAny(tag, " \t\r\n/>"); i >= 0 {
		tag = tag[:i]
	}
	if i := bytes.IndexByte(tag, ':'); i >= 0 {
		tag = tag[i+1:]
	}
	if string(tag) == name {
		return 100
	}
	return 0
}

// gpx reads one GPX file.
type gpx struct {
	*xmlText
	track   evidence.Track
	point   trackPoint
	inPoint bool
	lineNo  int
	badTime bool
	others  int // waypoints and route points
	text    []byte
	want    bool // text is wanted
}

func readGPX(rd *reading, r *bufio.Reader) error {
	g := &gpx{xmlText: newXML(rd, r)}
	for t := g.next(); t != nil; t = g.next() {
		switch t := t.(type) {
		case xml.StartElement:
			g.open(t)
		case xml.CharData:
			if g.want {
				g.text = append(g.text, t[:min(len(t), maxExcerpt)]...)
			}
		case xml.EndElement:
			g.shut(t.Name.Local)
			if t.Name.Local == "trkpt" {
				g.plainPoints()
			}
		}
	}
	rd.addTrack(g.track)
	if g.others > 0 {
		rd.notes.add(note{code: "fix.not-track", count: g.others})
	}
	return nil
}

func (g *gpx) open(e xml.StartElement) {
	g.text, g.want = g.text[:0], false
	switch e.Name.Local {
	case "trk":
		g.rd.addTrack(g.track)
		g.track = evidence.Track{}
	case "trkpt":
		g.inPoint, g.point, g.lineNo, g.badTime = true, noPoint(), g.line(), false
		g.point.lat, g.point.lon = number(attribute(e, "lat")), number(attribute(e, "lon"))
	case "wpt", "rtept":
		g.others++
	case "time", "speed", "course":
		g.want = g.inPoint
	case "name":
		g.want = !g.inPoint && g.track.Name == "" && len(g.track.Fixes) == 0
	}
}

func (g *gpx) shut(name string) {
	text := bytes.TrimSpace(g.text)
	switch {
	case name == "trkpt" && g.inPoint:
		g.inPoint = false
		g.keep()
	case !g.want:
	case name == "time":
		g.point.at = g.rd.isoTime(text)
		g.badTime = !g.point.at.Known()
	case name == "speed":
		g.point.speed = number(string(text))
	case name == "course":
		g.point.course = number(string(text))
	case name == "name":
		g.track.Name = string(text)
	}
	g.want = false
}

// keep takes the point that ends here.
func (g *gpx) keep() {
	fault := g.rd.fix(&g.track, g.point, g.lineNo)
	if fault == "fix.no-time" && g.badTime {
		fault = "fix.bad-time"
	}
	g.tally.mark(g.lineNo, fault == "")
	if fault != "" {
		g.rd.notes.add(note{code: fault, line: g.rd.line(g.lineNo).No, unused: true})
	}
}

// number reads a decimal number, NaN when it is none.
func number(s string) float64 {
	v, _ := decimal(strings.TrimSpace(s))
	return v
}
