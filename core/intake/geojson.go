package intake

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"math"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// GeoJSON (RFC 7946): points with a time among their properties, and lines whose properties hold a list of times
// (coordTimes, times; common practice, no source). Coordinates are longitude first.
func geoJSON() Format {
	return Format{Name: "GeoJSON", Lacks: "no GeoJSON type", Sniff: sniffGeoJSON, read: readGeoJSON}
}

func sniffGeoJSON(head []byte) Confidence {
	if !bytes.HasPrefix(bytes.TrimSpace(head), []byte("{")) {
		return 0
	}
	for _, kind := range []string{`"FeatureCollection"`, `"Feature"`} {
		if bytes.Contains(head, []byte(kind)) && bytes.Contains(head, []byte(`"type"`)) {
			return 95
		}
	}
	return 0
}

// maxFeature bounds one feature: a line of some 300,000 points.
const maxFeature = 24 << 20

// A feature is what of a GeoJSON feature counts.
type feature struct {
	Geometry struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	} `json:"geometry"`
	Properties map[string]json.RawMessage `json:"properties"`
}

// geo reads one GeoJSON file.
type geoReader struct {
	*reading
	points evidence.Track // single points make one track
	tally  tally
}

func readGeoJSON(rd *reading, r *bufio.Reader) error {
	g := &geoReader{reading: rd}
	src := &lineCounter{r: r, limit: maxFeature, ahead: rd.src.File.Lines}
	err := g.walk(json.NewDecoder(src), src)
	rd.addTrack(g.points)
	g.tally.close()
	rd.src.File.NotUsed += g.tally.notUsed
	rd.endJSON(src, err)
	return nil
}

// walk goes to the list of features and reads one after the other; a lone feature counts as a list of one.
func (g *geoReader) walk(dec *json.Decoder, src *lineCounter) error {
	if _, err := dec.Token(); err != nil {
		return err
	}
	var lone feature
	for dec.More() {
		key, err := dec.Token()
		if err != nil {
			return err
		}
		switch key {
		case "features":
			err = g.features(dec, src)
		case "geometry":
			err = dec.Decode(&lone.Geometry)
		case "properties":
			err = dec.Decode(&lone.Properties)
		default:
			var skip json.RawMessage
			err = dec.Decode(&skip)
		}
		if err != nil && !isTypeError(err) {
			return err
		}
		src.release(dec.InputOffset())
	}
	if lone.Geometry.Type != "" {
		g.feature(&lone, src.lineAt(0))
	}
	_, err := dec.Token()
	return err
}

func (g *geoReader) features(dec *json.Decoder, src *lineCounter) error {
	if t, err := dec.Token(); err != nil || t != json.Delim('[') {
		return errors.Join(err, errNoList)
	}
	for dec.More() {
		src.release(dec.InputOffset())
		line := src.lineAt(dec.InputOffset() + 1)
		g.src.File.Lines = src.ahead + src.passed
		var f feature
		if err := dec.Decode(&f); err != nil && !isTypeError(err) {
			return err
		}
		g.feature(&f, line)
	}
	_, err := dec.Token()
	return err
}

var errNoList = errors.New("features is no list")

// isTypeError tells a value of another type than expected, behind which the text goes on, from damage.
func isTypeError(err error) bool {
	var t *json.UnmarshalTypeError
	return errors.As(err, &t)
}

func (g *geoReader) feature(f *feature, line int) {
	name := text(f.Properties["name"])
	switch f.Geometry.Type {
	case "Point":
		var c []float64
		json.Unmarshal(f.Geometry.Coordinates, &c)
		g.point(&g.points, c, g.timeOf(f.Properties), line)
	case "LineString":
		var c [][]float64
		json.Unmarshal(f.Geometry.Coordinates, &c)
		g.lineString(name, c, timesOf(f.Properties), line)
	case "MultiLineString":
		var parts [][][]float64
		json.Unmarshal(f.Geometry.Coordinates, &parts)
		times := timesOf(f.Properties)
		var lists [][]string
		json.Unmarshal(times, &lists)
		for i, c := range parts {
			own := json.RawMessage(nil)
			if i < len(lists) {
				own, _ = json.Marshal(lists[i])
			}
			g.lineString(name, c, own, line)
		}
	default:
		g.refuseFix("fix.not-track", line)
	}
}

// lineString adds one line string as a track.
func (g *geoReader) lineString(name string, c [][]float64, times json.RawMessage, line int) {
	var list []json.RawMessage
	json.Unmarshal(times, &list)
	track := evidence.Track{Name: name}
	for i := range c {
		at := clock.None
		if i < len(list) {
			at = g.instant(list[i])
		}
		g.point(&track, c[i], at, line)
	}
	g.addTrack(track)
}

func (g *geoReader) point(tr *evidence.Track, c []float64, at clock.Instant, line int) {
	p := noPoint()
	p.at = at
	if len(c) >= 2 {
		p.lon, p.lat = c[0], c[1]
	}
	if fault := g.fix(tr, p, line); fault != "" {
		g.refuseFix(fault, line)
		return
	}
	g.tally.mark(line, true)
}

func (g *geoReader) refuseFix(code string, line int) {
	g.tally.mark(line, false)
	g.notes.add(note{code: code, line: g.reading.line(line).No, unused: true})
}

// timeOf finds the time of a point among its properties.
func (g *geoReader) timeOf(p map[string]json.RawMessage) clock.Instant {
	for _, name := range headers[mTime] {
		for _, key := range []string{name, spacedBack(name)} {
			if v, ok := p[key]; ok {
				if at := g.instant(v); at.Known() {
					return at
				}
			}
		}
	}
	return clock.None
}

func spacedBack(s string) string {
	return string(bytes.ReplaceAll([]byte(s), []byte(" "), []byte("_")))
}

// timesOf finds the list of times of a line among its properties.
func timesOf(p map[string]json.RawMessage) json.RawMessage {
	for _, key := range []string{"coordTimes", "times", "coordinateTimes"} {
		if v, ok := p[key]; ok {
			return v
		}
	}
	var nested struct {
		Times json.RawMessage `json:"times"`
	}
	if json.Unmarshal(p["coordinateProperties"], &nested) == nil {
		return nested.Times
	}
	return nil
}

// instant reads an ISO 8601 text, or seconds or milliseconds since 1970.
func (g *geoReader) instant(v json.RawMessage) clock.Instant {
	if s := text(v); s != "" {
		return g.isoTime([]byte(s))
	}
	var f float64
	if json.Unmarshal(v, &f) != nil || !(f > 1e8 && f < 1e13) {
		return clock.None
	}
	if f < 1e11 {
		f *= 1000
	}
	g.dates.state(utc)
	return clock.Instant(math.Round(f))
}

// text gives a JSON string, "" for anything else.
func text(v json.RawMessage) string {
	var s string
	json.Unmarshal(v, &s)
	return s
}
