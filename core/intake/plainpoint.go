package intake

import "bytes"

// Most points of a GPX track are written plainly: <trkpt lat="62.1" lon="9.6"><time>...</time></trkpt>, in ASCII, with no
// attributes beside these two, and within it elements that hold text alone. Those are read here, several times as fast as
// token by token. A point that is in any way different, or not whole in the buffer, is left to the decoder.

var (
	pointBegin, pointEnd = []byte("<trkpt "), []byte("</trkpt>")
	lineEnd              = []byte{'\n'}
)

// plainPoints reads the plain points behind an element.
func (g *gpx) plainPoints() {
	for {
		buf := g.bytes.buf
		start := len(buf) - len(bytes.TrimLeft(buf, " \t\r\n"))
		if !bytes.HasPrefix(buf[start:], pointBegin) {
			return
		}
		size := bytes.Index(buf[start:], pointEnd)
		if size < 0 {
			return
		}
		p, ok := plainPointIn(buf[start : start+size])
		if !ok {
			return
		}
		g.point, g.badTime = noPoint(), false
		g.lineNo = g.line() + bytes.Count(buf[:start+p.tag], lineEnd)
		g.point.lat, g.point.lon = number(string(p.lat)), number(string(p.lon))
		for i, name := range plainNames {
			if p.text[i] != nil {
				g.text, g.want = append(g.text[:0], p.text[i][:min(len(p.text[i]), maxExcerpt)]...), true
				g.shut(name)
			}
		}
		g.pass(start + size + len(pointEnd))
		g.keep()
	}
}

// plainNames are the elements of a point whose text matters.
var plainNames = [...]string{"time", "speed", "course"}

// plainPoint is one point as it is written.
type plainPoint struct {
	tag      int // length of its first tag
	lat, lon []byte
	text     [len(plainNames)][]byte
}

// plainPointIn parts a point, without its end; ok is false when it is not plain.
func plainPointIn(b []byte) (p plainPoint, ok bool) {
	p.tag = bytes.IndexByte(b, '>') + 1
	if p.tag == 0 || !plain(b) || !p.attributes(b[len(pointBegin):p.tag-1]) {
		return p, false
	}
	for rest := b[p.tag:]; ; {
		_, inner, more := bytes.Cut(rest, []byte{'<'})
		if !more {
			return p, true
		}
		name, inner, _ := bytes.Cut(inner, []byte{'>'})
		text, inner, _ := bytes.Cut(inner, []byte{'<'})
		end, after, closed := bytes.Cut(inner, []byte{'>'})
		if !closed || len(end) == 0 || end[0] != '/' || !bytes.Equal(end[1:], name) || !p.element(name, text) {
			return p, false
		}
		rest = after
	}
}

// element takes the text of an element within the point.
func (p *plainPoint) element(name, text []byte) bool {
	switch string(name) {
	case "trk", "trkpt", "wpt", "rtept":
		return false
	}
	for i, known := range plainNames {
		if string(name) == known {
			first := p.text[i] == nil
			p.text[i] = text
			return first
		}
	}
	return letters(name)
}

// attributes takes lat="..." and lon="...", in either order, and nothing else.
func (p *plainPoint) attributes(b []byte) bool {
	for len(b) > 5 && b[3] == '=' && b[4] == '"' {
		value, rest, closed := bytes.Cut(b[5:], []byte{'"'})
		switch {
		case !closed || bytes.IndexByte(value, '<') >= 0: // which XML allows in no attribute
			return false
		case string(b[:3]) == "lat" && p.lat == nil:
			p.lat = value
		case string(b[:3]) == "lon" && p.lon == nil:
			p.lon = value
		default:
			return false
		}
		if len(rest) == 0 {
			return p.lat != nil && p.lon != nil
		}
		if rest[0] != ' ' {
			return false
		}
		b = rest[1:]
	}
	return false
}

// plain tells whether the bytes are printed ASCII or white space, with nothing that means more than a tag to XML.
func plain(b []byte) bool {
	for _, c := range b {
		if c >= 0x7f || c == '&' || c == ']' || c == '!' || c < ' ' && c != '\n' && c != '\r' && c != '\t' {
			return false
		}
	}
	return true
}

func letters(name []byte) bool {
	for _, c := range name {
		if c|0x20 < 'a' || c|0x20 > 'z' {
			return false
		}
	}
	return len(name) > 0
}
