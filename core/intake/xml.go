package intake

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
)

// xmlText walks over the elements of an XML file without holding more than one token. Entities of the file's own are not
// expanded, so they cannot grow; nesting costs no memory.
type xmlText struct {
	rd    *reading
	bytes *byteSource
	dec   *xml.Decoder
	depth int
	tally tally
	ahead int // lines of the file ahead of this text

	passed   int // line ends that the decoder did not see
	passedTo int // the line on which they ended
}

func newXML(rd *reading, r *bufio.Reader) *xmlText {
	x := &xmlText{rd: rd, bytes: &byteSource{r: r}, ahead: rd.src.File.Lines}
	x.dec = xml.NewDecoder(x.bytes)
	x.dec.Strict = false // a name with a bare '&' must not cost the track; entities stay as they are
	x.dec.CharsetReader = func(charset string, input io.Reader) (io.Reader, error) {
		switch strings.ToLower(charset) {
		case "iso-8859-1", "iso8859-1", "latin1", "windows-1252", "us-ascii":
			return &latin{r: bufio.NewReader(input)}, nil
		}
		return input, nil // UTF-16 was undone already
	}
	return x
}

// next gives the next token, nil at the end or where the text is damaged, which is noted.
func (x *xmlText) next() xml.Token {
	t, err := x.dec.RawToken()
	if err != nil {
		x.end(err)
		return nil
	}
	switch t.(type) {
	case xml.StartElement:
		x.depth++
		x.rd.src.File.Lines = x.ahead + x.line() - 1 // so that a host can tell how far the reading is
	case xml.EndElement:
		x.depth--
	}
	return t
}

// line gives the line that the walk has reached.
func (x *xmlText) line() int {
	n, _ := x.dec.InputPos()
	return n + x.passed
}

// pass skips n bytes behind an element, which the decoder never sees.
func (x *xmlText) pass(n int) {
	x.passed += bytes.Count(x.bytes.buf[:n], []byte{'\n'})
	x.passedTo = x.line()
	x.bytes.buf = x.bytes.buf[n:]
}

// end counts the lines of the file and notes how it ended.
func (x *xmlText) end(err error) {
	line, column := x.dec.InputPos()
	line += x.passed
	if line == x.passedTo {
		column = 0 // the decoder did not see all of this line
	}
	f := &x.rd.src.File
	counted := x.tally.line == line && (x.tally.used || x.tally.bad)
	x.tally.close()
	f.NotUsed += x.tally.notUsed
	total := x.bytes.lines()
	f.Lines = x.ahead + total
	var syntax *xml.SyntaxError
	switch {
	case err == io.EOF && x.depth <= 0:
	case err == io.EOF, errors.As(err, &syntax) && strings.Contains(syntax.Msg, "unexpected EOF"):
		x.rd.notes.add(note{code: "file.cut", line: int32(x.rd.base + line)})
	default:
		lost := total - line
		if !counted {
			lost++
		}
		f.NotUsed += max(lost, 0)
		x.rd.notes.add(note{code: "xml.damaged", line: int32(x.rd.base + line), column: column, unused: true, count: lost,
			text: "the XML is not well formed here: " + plainXMLError(err) + "; what stands before was read"})
	}
}

func plainXMLError(err error) string {
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		return syntax.Msg
	}
	return err.Error()
}

// byteSource gives the decoder its bytes out of the reader's buffer, without copying, and counts line ends.
type byteSource struct {
	r    *bufio.Reader
	buf  []byte // what is left of the buffer
	ends int
	open bool // the last byte is no line end
	err  error
}

func (s *byteSource) ReadByte() (byte, error) {
	if len(s.buf) == 0 && !s.fill() {
		return 0, s.err
	}
	c := s.buf[0]
	s.buf = s.buf[1:]
	return c, nil
}

func (s *byteSource) Read(p []byte) (int, error) {
	if len(s.buf) == 0 && !s.fill() {
		return 0, s.err
	}
	n := copy(p, s.buf)
	s.buf = s.buf[n:]
	return n, nil
}

func (s *byteSource) fill() bool {
	if _, s.err = s.r.Peek(1); s.err != nil {
		return false
	}
	n := s.r.Buffered()
	s.buf, _ = s.r.Peek(n)
	s.r.Discard(n) // the bytes stay until the reader is asked again
	s.ends += bytes.Count(s.buf, []byte{'\n'})
	s.open = s.buf[n-1] != '\n'
	return true
}

// lines reads the rest and gives how many lines the text has.
func (s *byteSource) lines() int {
	for s.fill() {
	}
	if s.open {
		return s.ends + 1
	}
	return s.ends
}

// attribute gives the value of an attribute by its local name.
func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// latin turns ISO 8859-1 into UTF-8.
type latin struct {
	r    *bufio.Reader
	half byte // the second byte of a character that did not fit
}

func (l *latin) ReadByte() (byte, error) {
	if l.half != 0 {
		c := l.half
		l.half = 0
		return c, nil
	}
	c, err := l.r.ReadByte()
	if err == nil && c >= 0x80 {
		l.half = 0x80 | c&0x3f
		return 0xc0 | c>>6, nil
	}
	return c, err
}

func (l *latin) Read(p []byte) (int, error) {
	for i := range p {
		c, err := l.ReadByte()
		if err != nil {
			if i > 0 {
				err = nil
			}
			return i, err
		}
		p[i] = c
	}
	return len(p), nil
}
