package intake

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
)

// Objects: one JSON object a line, or one array of objects. Fields are told by their names, as the columns of a table are,
// in the object itself and in objects inside it. Degrees may be integers of 1e-7.
func jsonObjects() Format {
	return Format{Name: "JSON objects", Lacks: "no JSON object on a line of its own, nor an array of them", Mapped: true, Sniff: sniffJSON, read: readJSON}
}

func sniffJSON(head []byte) Confidence {
	head = bytes.TrimSpace(head)
	switch {
	case len(head) < 2:
		return 0
	case head[0] == '[' && bytes.HasPrefix(bytes.TrimSpace(head[1:]), []byte("{")):
		return 92
	case head[0] != '{':
		return 0
	}
	for line := range headLines(head) {
		if len(line) > 1 && line[0] == '{' && json.Valid(line) {
			return 92 // more than monitor text, which may stand inside the objects
		}
	}
	return 0
}

// maxObject bounds one object of an array, maxDepth the nesting.
const (
	maxObject = 1 << 20
	maxDepth  = 100
)

// objects reads JSON objects.
type objects struct {
	records
	names map[string]column // what was found out about each name
}

func readJSON(rd *reading, r *bufio.Reader) error {
	o := &objects{records: records{reading: rd}, names: map[string]column{}}
	head, _ := r.Peek(maxLine)
	err := error(nil)
	if bytes.HasPrefix(bytes.TrimSpace(head), []byte("[")) {
		err = o.array(r)
	} else {
		err = o.lines(r, head)
	}
	rd.addTrack(o.track)
	return err
}

// lines reads one object a line.
func (o *objects) lines(r *bufio.Reader, head []byte) error {
	o.learn(head)
	in := newLines(r, head)
	f := &o.src.File
	for b, long, ok := in.next(); ok; b, long, ok = in.next() {
		f.Lines++
		rec := record{line: in.no, lines: 1, text: b}
		switch {
		case long:
			o.refuse(&rec, "line.too-long")
		case len(bytes.TrimSpace(b)) == 0:
			f.Empty++
		case isComment(b):
		default:
			if err := o.object(&rec); err != nil {
				return err
			}
		}
	}
	return nil
}

// learn shows the stamps of the first objects to the dating.
func (o *objects) learn(head []byte) {
	var first []seenStamp
	for line := range headLines(head) {
		rec := record{text: line}
		if len(first) < 300 && len(line) > 0 && o.fill(&rec) == "" {
			if s, _, ok := o.stampOf(&rec); ok {
				first = append(first, seenStamp{stamp: s, packet: true})
			}
		}
	}
	o.dates.learn(first, len(first))
}

// array reads an array of objects; each counts as the line it begins on.
func (o *objects) array(r *bufio.Reader) error {
	src := &lineCounter{r: r, limit: maxObject, ahead: o.src.File.Lines}
	dec := json.NewDecoder(src)
	var failed error
	if _, failed = dec.Token(); failed == nil {
		for dec.More() {
			var raw json.RawMessage
			if failed = dec.Decode(&raw); failed != nil {
				break
			}
			src.release(dec.InputOffset())
			o.src.File.Lines = src.ahead + src.passed
			rec := record{line: src.lineAt(dec.InputOffset() - int64(len(raw))), lines: 1, text: raw}
			if err := o.object(&rec); err != nil {
				return err
			}
		}
	}
	o.endJSON(src, failed)
	return nil
}

// endJSON counts the lines of a file that is one JSON text, and notes where it is damaged.
func (rd *reading) endJSON(src *lineCounter, failed error) {
	src.limit = 1 << 62
	io.Copy(io.Discard, src)
	lines := src.count()
	at := note{code: "json.damaged", line: rd.line(src.lineAt(src.released)).No, unused: true}
	if failed != nil && failed != io.EOF {
		if errors.Is(failed, io.ErrUnexpectedEOF) {
			at.code, at.unused = "file.cut", false
		}
		rd.notes.add(at)
	}
	rd.src.File.Lines = src.ahead + lines
	rd.src.File.NotUsed = min(rd.src.File.NotUsed, rd.src.File.Lines) // several objects may share a line
	if at.unused && failed != nil && failed != io.EOF {
		rd.src.File.NotUsed = min(rd.src.File.NotUsed+1, rd.src.File.Lines)
	}
}

func (o *objects) object(rec *record) error {
	if code := o.fill(rec); code != "" {
		o.refuse(rec, code)
		return nil
	}
	return o.take(rec)
}

// fill puts the fields of an object into the record and gives the code of what is wrong with it.
func (o *objects) fill(rec *record) string {
	dec := json.NewDecoder(bytes.NewReader(rec.text))
	dec.UseNumber()
	var levels []level
	for {
		tok, err := dec.Token()
		switch {
		case err == io.EOF && len(levels) == 0:
			return ""
		case err != nil:
			return "json.line"
		}
		d, isDelim := tok.(json.Delim)
		switch {
		case isDelim && (d == '{' || d == '['):
			if len(levels) == maxDepth {
				return "json.deep"
			}
			levels = append(levels, level{list: d == '['})
		case isDelim:
			levels = levels[:len(levels)-1]
			if n := len(levels); n > 0 {
				levels[n-1].named = false
			}
		case len(levels) > 0:
			o.token(rec, &levels[len(levels)-1], tok)
		}
	}
}

// level is one object or list that is open, and the name whose value comes next.
type level struct {
	list, named bool
	name        string
}

// token takes a name, or the value of the name before it. Values in lists have no name and mean nothing.
func (o *objects) token(rec *record, l *level, tok json.Token) {
	text, isText := tok.(string)
	switch {
	case l.list:
	case !l.named:
		l.name, l.named = text, true
	default:
		l.named = false
		if n, isNumber := tok.(json.Number); isNumber {
			o.field(rec, l.name, []byte(n))
		} else if isText {
			o.field(rec, l.name, []byte(text))
		}
	}
}

// field keeps the value of a named field, the first of each meaning.
func (o *objects) field(rec *record, name string, value []byte) {
	c, known := o.names[name]
	if !known {
		c = fieldOf(name, o.set.Columns)
		if len(o.names) < 10000 {
			o.names[name] = c
			o.showColumn(len(o.names), []byte(name), value, c)
		}
	}
	if c.meaning < meanings && rec.value[c.meaning] == nil {
		rec.value[c.meaning], rec.scale[c.meaning] = value, c.scale
		rec.utc = rec.utc || c.meaning == mTime && saysUTC([]byte(name))
	}
}

// lineCounter counts lines under a decoder, and fails where the decoder would hold more than limit bytes at once.
type lineCounter struct {
	r        io.Reader
	read     int64
	released int64
	limit    int64
	ends     []int64 // offsets of line ends not yet passed
	passed   int     // line ends before those
	ahead    int     // lines of the file ahead of this text
	last     byte
}

var errTooLong = errors.New("one value is too long")

func (l *lineCounter) Read(p []byte) (int, error) {
	if l.read-l.released > l.limit {
		return 0, errTooLong
	}
	n, err := l.r.Read(p)
	for i, c := range p[:n] {
		if c == '\n' {
			l.ends = append(l.ends, l.read+int64(i))
		}
	}
	if n > 0 {
		l.last = p[n-1]
	}
	l.read += int64(n)
	if l.limit == 1<<62 {
		l.passed, l.ends = l.passed+len(l.ends), l.ends[:0]
	}
	return n, err
}

// release says that all before offset was taken.
func (l *lineCounter) release(offset int64) { l.released = offset }

// lineAt gives the line of an offset; offsets must not go back.
func (l *lineCounter) lineAt(offset int64) int {
	n := 0
	for n < len(l.ends) && l.ends[n] < offset {
		n++
	}
	l.passed += n
	l.ends = append(l.ends[:0], l.ends[n:]...)
	return l.passed + 1
}

// count gives the number of lines once everything was read.
func (l *lineCounter) count() int {
	n := l.passed + len(l.ends)
	if l.read > 0 && l.last != '\n' {
		n++
	}
	return n
}
