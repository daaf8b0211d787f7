package session

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
)

// A row is one line of the packets export: a packet, or a line that was not used. Fields are absent where the packet tells
// nothing. Speeds m/s, altitudes m, courses degrees.
type row struct {
	File         string   `json:"file"`
	Line         int      `json:"line"`
	At           *string  `json:"at,omitempty"`
	Station      string   `json:"station,omitempty"`
	Destination  string   `json:"destination,omitempty"`
	Path         []string `json:"path,omitempty"`
	Receiver     string   `json:"receiver,omitempty"`
	Kind         string   `json:"kind,omitempty"`
	Lat          *float64 `json:"lat,omitempty"`
	Lon          *float64 `json:"lon,omitempty"`
	Ambiguity    *int     `json:"ambiguity,omitempty"`
	CourseDeg    *float64 `json:"course_deg,omitempty"`
	SpeedMPS     *float64 `json:"speed_mps,omitempty"`
	AltitudeM    *float64 `json:"altitude_m,omitempty"`
	Fix          string   `json:"fix,omitempty"`
	Comment      string   `json:"comment,omitempty"`
	Name         string   `json:"name,omitempty"`
	Unit         string   `json:"unit,omitempty"`
	Transmission int      `json:"transmission,omitempty"`
	Note         string   `json:"note,omitempty"`
	Text         string   `json:"text,omitempty"` // the line itself, where it was not used
	Raw          string   `json:"raw,omitempty"`  // the packet as monitor text, so that the export can be read as a log
}

// rows collects the packets export of one file while it is read again.
type rows struct {
	name   string
	offset time.Duration // how far the file's clock is ahead
	claims map[int32]claim
	header ax25.Header
	out    []byte
}

// A claim says which unit counted a line, and as which of its transmissions, from 1.
type claim struct {
	unit         string
	transmission int
}

func newRows(a *analysis, f *file) *rows {
	r := &rows{name: f.name, offset: f.offset, claims: map[int32]claim{}}
	for i := range a.units {
		u := &a.units[i]
		for n := range u.Transmissions {
			for _, heard := range u.Transmissions[n].Heard {
				if heard.Line.File == f.source.File.ID {
					r.claims[heard.Line.No] = claim{u.Name, n + 1}
				}
			}
		}
	}
	return r
}

// packet writes one packet; its decoded form holds only during the call.
func (r *rows) packet(at *evidence.Reception, p *aprs.Packet) {
	claim := r.claims[at.Line.No]
	o := row{File: r.name, Line: int(at.Line.No), At: timeOf(at.At.Add(-r.offset)), Station: at.From.String(), Destination: at.To.String(),
		Receiver: at.Receiver.String(), Kind: string(p.Kind), Comment: textOf(p.Comment), Name: textOf(p.Name),
		Unit: claim.unit, Transmission: claim.transmission, Note: p.Flaw, Fix: string(p.Fix),
		CourseDeg: rounded(p.Course), SpeedMPS: rounded(p.Speed), AltitudeM: rounded(p.Altitude),
		Raw: rawOf(at.Raw)}
	if _, err := ax25.ParseHeader(at.Raw, &r.header); err == nil {
		o.Path = pathOf(&r.header)
	}
	if p.Placed {
		o.Lat, o.Lon, o.Ambiguity = rounded(p.Place.Lat), rounded(p.Place.Lon), &p.Ambiguity
	}
	r.write(&o)
}

// refused writes a line that was not used, with the code that says why and its text.
func (r *rows) refused(line int32, code string, text []byte) {
	r.write(&row{File: r.name, Line: int(line), Note: code, Text: textOf(text)})
}

func (r *rows) write(o *row) {
	text, err := json.Marshal(o)
	if err != nil { // a row holds only texts and finite numbers
		panic(err)
	}
	r.out = append(append(r.out, text...), '\n')
}

// drain gives what was written since the last call; it holds until the next line is read.
func (r *rows) drain() []byte {
	out := r.out
	r.out = r.out[:0]
	return out
}

// pathOf shows the path as monitor text does: a star stands where one stood.
func pathOf(h *ax25.Header) []string {
	var path []string
	for _, hop := range h.Path {
		name := hop.Call.String()
		if hop.Starred {
			name += "*"
		}
		path = append(path, name)
	}
	return path
}

// rawOf gives monitor text byte for byte: where it is no UTF-8, bytes beyond ASCII are written as <0xe9>, as monitors do.
func rawOf(raw []byte) string {
	if utf8.Valid(raw) {
		return string(raw)
	}
	var b strings.Builder
	for _, c := range raw {
		if c < 0x80 {
			b.WriteByte(c)
		} else {
			fmt.Fprintf(&b, "<0x%02x>", c)
		}
	}
	return b.String()
}

// rounded gives v to 1e-8, a millimetre in degrees, or nothing for NaN.
func rounded(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = math.Round(v*1e8) / 1e8
	return &v
}
