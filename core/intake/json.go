package intake

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"slices"
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
	if oneObject(head) {
		return 91
	}
	return 0
}

// oneObject tells whether the text begins an object that is longer than its first line, or than what is seen of it.
func oneObject(head []byte) bool {
	rest, object := bytes.CutPrefix(bytes.TrimSpace(head), []byte("{"))
	rest = bytes.TrimSpace(rest)
	if !object || len(rest) == 0 || rest[0] != '"' {
		return false
	}
	end := closingQuote(rest[1:])
	return end > 0 && bytes.HasPrefix(bytes.TrimSpace(rest[end+2:]), []byte(":"))
}

// maxObject bounds one object of an array, maxWhole one that is the whole file, maxDepth the nesting.
const (
	maxObject = 1 << 20
	maxWhole  = 16 << 20
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
	switch text := bytes.TrimSpace(head); {
	case bytes.HasPrefix(text, []byte("[")):
		err = o.array(r)
	case linewise(text):
		err = o.lines(r, head)
	default:
		err = o.whole(r)
	}
	rd.addTrack(o.track)
	return err
}

// linewise tells whether each line holds an object: the first does not end amid one.
func linewise(head []byte) bool {
	line, _, more := bytes.Cut(head, []byte("\n"))
	line = bytes.TrimSpace(line)
	return json.Valid(line) || more && len(line) > 0 && bytes.IndexByte([]byte("{[,:"), line[len(line)-1]) < 0 || !oneObject(head)
}

// whole reads objects that take many lines each.
func (o *objects) whole(r *bufio.Reader) error {
	return o.stream(&lineCounter{r: r, limit: maxWhole, ahead: o.src.File.Lines}, false)
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
		if len(first) >= 300 || len(line) == 0 {
			continue
		}
		o.fill(&rec, func(r *record) {
			if s, _, ok := o.stampOf(r); ok {
				first = append(first, seenStamp{stamp: s, packet: true})
			}
		})
	}
	o.dates.learn(first, len(first))
}

// array reads an array of objects; each counts as the line it begins on.
func (o *objects) array(r *bufio.Reader) error {
	return o.stream(&lineCounter{r: r, limit: maxObject, ahead: o.src.File.Lines}, true)
}

// stream reads objects that follow one another, within an array or not.
func (o *objects) stream(src *lineCounter, array bool) error {
	dec := json.NewDecoder(src)
	var failed error
	if array {
		_, failed = dec.Token()
	}
	for failed == nil && dec.More() {
		var raw json.RawMessage
		if failed = dec.Decode(&raw); failed != nil {
			break
		}
		line := src.lineAt(dec.InputOffset() - int64(len(raw)))
		src.release(dec.InputOffset())
		o.src.File.Lines = src.ahead + src.passed
		rec := record{line: line, lines: 1, text: raw}
		if err := o.object(&rec); err != nil {
			return err
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

// object reads one object: it is a record, or, where it tells no place, packet or reading itself, each object in its lists is one,
// with what stands around it. The error is that of a time.
func (o *objects) object(rec *record) error {
	f := &o.src.File
	refused, used := f.NotUsed, f.Packets+f.Fixes+f.Readings
	var failed error
	code := o.fill(rec, func(r *record) {
		if failed == nil {
			failed = o.take(r)
		}
	})
	switch {
	case f.Packets+f.Fixes+f.Readings > used: // records may share a line
		f.NotUsed = refused
		if code != "" {
			o.notes.add(note{code: code, line: o.line(rec.line).No, excerpt: rec.text})
		}
	case code != "":
		o.refuse(rec, code)
		fallthrough
	default:
		f.NotUsed = min(f.NotUsed, refused+1)
	}
	return failed
}

// evident tells whether the record holds a place, a packet or a reading.
func (r *record) evident() bool {
	return r.has(mPacket) || r.has(mInfo) || r.has(mLat) || r.has(mVolts) || r.has(mAmps)
}

// mostInner is how many objects of lists are held until it shows whether the object around them is the record.
const mostInner = 1000

// fill puts the fields of an object into the record, hands over the records that are found, and gives the code of what is wrong.
func (o *objects) fill(rec *record, found func(*record)) (code string) {
	var inner []record
	handed := false
	hand := func() {
		for i := range inner {
			found(&inner[i])
		}
		inner, handed = inner[:0], handed || len(inner) > 0
	}
	dec := json.NewDecoder(bytes.NewReader(rec.text))
	dec.UseNumber()
	var levels []level
	lines := lineCounter{}
	for {
		tok, err := dec.Token()
		switch {
		case err == io.EOF && len(levels) == 0:
			if rec.evident() && !handed || len(inner) == 0 && !handed {
				inner = append(inner[:0], *rec)
			}
			hand()
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
			l := opened(levels, d == '[', rec)
			if l.inner {
				l.from, l.before = dec.InputOffset()-1, len(inner)
				l.rec.line = rec.line + lines.passing(rec.text[:l.from])
			}
			levels = append(levels, l)
		case isDelim:
			top := levels[len(levels)-1]
			levels = levels[:len(levels)-1]
			if top.inner && top.rec.evident() {
				top.rec.text = rec.text[top.from:dec.InputOffset()]
				inner = append(inner[:top.before], *top.rec) // in place of those in its own lists
			}
			if len(inner) >= mostInner && !rec.evident() && !slices.ContainsFunc(levels, func(l level) bool { return l.inner }) {
				hand()
			}
			if n := len(levels); n > 0 {
				levels[n-1].named = false
			}
		case len(levels) > 0:
			o.token(levels, tok)
		}
	}
}

// level is one object or list that is open, the record that its values go to, and the name whose value comes next; of a list
// its own name and how many values it had.
type level struct {
	list, named bool
	name        string
	count       int
	rec         *record
	inner       bool // an object of a list, with a record of its own
	from        int64
	before      int // how many such objects were complete when it began
}

// opened gives the level that opens inside others.
func opened(levels []level, list bool, rec *record) level {
	l := level{list: list, rec: rec}
	if n := len(levels); n > 0 {
		outer := &levels[n-1]
		l.rec = outer.rec
		switch {
		case list && !outer.list:
			l.name = outer.name
		case !list && outer.list:
			l.inner, l.rec = true, l.rec.within()
		}
	}
	return l
}

// within gives a record that begins with the values of r, which its own replace.
func (r *record) within() *record {
	in := *r
	in.told = [meanings]uint8{}
	for _, m := range []meaning{mLat, mLon, mVolts, mAmps, mPacket, mInfo} {
		in.value[m] = nil
	}
	return &in
}

// token takes a name, or the value of the name before it. Values in lists mean nothing, but for coordinates, longitude first.
func (o *objects) token(levels []level, tok json.Token) {
	deep := uint8(len(levels))
	l := &levels[deep-1]
	text, isText := tok.(string)
	number, isNumber := tok.(json.Number)
	switch {
	case l.list:
		if isNumber && l.count < 2 && l.name == "coordinates" {
			l.rec.put([]meaning{mLon, mLat}[l.count], []byte(number), 1, deep)
		}
		l.count++
	case !l.named:
		l.name, l.named = text, true
	default:
		l.named = false
		if isNumber {
			o.field(l.rec, l.name, []byte(number), deep)
		} else if isText {
			o.field(l.rec, l.name, []byte(text), deep)
		}
	}
}

// put keeps the outermost value of a meaning, of several the first.
func (r *record) put(m meaning, value []byte, scale float64, deep uint8) bool {
	if told := r.told[m]; told > 0 && told <= deep {
		return false
	}
	r.told[m], r.value[m], r.scale[m] = deep, value, scale
	return true
}

// field keeps the value of a named field by its meaning; a time must be one.
func (o *objects) field(rec *record, name string, value []byte, deep uint8) {
	c, known := o.names[name]
	if !known {
		c = fieldOf(name, o.set.Columns)
		if len(o.names) < 10000 {
			o.names[name] = c
			o.showColumn(len(o.names), []byte(name), value, c)
		}
	}
	if c.meaning == meanings || c.meaning == mTime && !timeIn(value) {
		return
	}
	if rec.put(c.meaning, value, c.scale, deep) && c.meaning == mTime {
		rec.utc = saysUTC([]byte(name))
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

// passing counts the line ends of a text that begins with those passed before.
func (l *lineCounter) passing(text []byte) int {
	l.passed += bytes.Count(text[l.released:], []byte("\n"))
	l.released = int64(len(text))
	return l.passed
}

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
