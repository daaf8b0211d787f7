package intake

import (
	"bytes"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// found is what one line of a packet log holds. Raw is the packet in monitor form; all of it and the header hold until the
// next line. Being of some size it is filled in place and passed by pointer where that happens for every line.
type found struct {
	text    []byte // the line, its entities undone
	stamp   clock.Stamp
	stampAt int // where the stamp begins in the line
	stamped bool
	raw     []byte
	info    int
	open    bool // the information stands on the next line
	column  int  // of what is wrong, from 1
	fault   string
}

// splitter takes lines of packet logs apart. Its buffers are reused from line to line.
type splitter struct {
	header ax25.Header
	found  found
	plain  []byte // a line whose entities are undone
	raw    []byte // a packet put together
}

// split finds the stamp and the packet of a line. fault is "" when there is a packet.
func (s *splitter) split(line []byte) *found {
	f := &s.found
	if !s.quick(line, f) {
		if escapedArrow(line) {
			s.plain = appendPlain(s.plain[:0], line)
			line = s.plain
		}
		*f = s.search(line)
	}
	if f.fault == "" && !f.stamped && f.info < len(f.raw) && beginsTag(f.raw[f.info]) {
		s.trailing(line, f)
	}
	f.text = line
	return f
}

// beginsTag tells what a stamp behind a header begins with, which no information that says a place does.
func beginsTag(c byte) bool { return c == ' ' || c == '[' || c == '<' || c == '(' || c-'0' < 10 }

// trailing takes information that is nothing but a stamp among tags for the end of a header: the information itself stands on
// the next line.
func (s *splitter) trailing(line []byte, f *found) {
	info := f.raw[f.info:]
	var tagged found
	end, _ := s.tags(info, 0, &tagged)
	if !tagged.stamped || len(bytes.Trim(info[end:], ": \t\r")) > 0 {
		return
	}
	f.stamp, f.stamped, f.stampAt = tagged.stamp, true, max(0, bytes.LastIndex(line, info))+tagged.stampAt
	f.raw, f.open = f.raw[:f.info], true
}

// escapedArrow tells whether a line holds the entity of '>'.
func escapedArrow(line []byte) bool {
	at := bytes.IndexByte(line, '&')
	if at < 0 {
		return false
	}
	for _, entity := range [...]string{"&gt;", "&#62;", "&#x3e;", "&#x3E;"} {
		if bytes.Contains(line[at:], []byte(entity)) {
			return true
		}
	}
	return false
}

// quick takes the common form: blanks or an opening bracket, a stamp or none, closing marks, the packet.
func (s *splitter) quick(line []byte, f *found) bool {
	at, n := opening(line), 0
	f.stamp, n = clock.ScanStamp(line[at:])
	f.stampAt, f.stamped, f.open, f.column, f.fault = at, n > 0, false, 0, ""
	if n > 0 {
		at += n
		at += closing(line[at:])
	}
	if at == len(line) || !callByte(line[at]) {
		return false
	}
	info, err := ax25.ParseHeader(line[at:], &s.header)
	if err != nil || info == len(line[at:]) || !plainCall(line[at:]) {
		return false
	}
	f.raw, f.info = s.unescape(line[at:], info)
	return true
}

// behindStamp gives where a packet is expected: behind the stamp that the line begins with.
func behindStamp(line []byte) int {
	at := opening(line)
	if _, n := clock.ScanStamp(line[at:]); n > 0 {
		at += n
		at += closing(line[at:])
	}
	return min(at, max(0, len(line)-1))
}

// opening counts the bytes ahead of a stamp: blanks, quote marks of mail, one kind of bracket.
func opening(b []byte) int {
	i := 0
	for i < len(b) && (b[i] == ' ' || b[i] == '\t' || b[i] == '>' || b[i] == '[' || b[i] == '(' || b[i] == '{') {
		i++
	}
	return i
}

// closing counts the bytes between a stamp and what follows.
func closing(b []byte) int {
	i := 0
	for i < len(b) {
		switch b[i] {
		case ' ', '\t', ']', ')', '}', ':', ',', ';', '|', '-':
			i++
			continue
		}
		if bytes.HasPrefix(b[i:], noBreak) {
			i += 2
			continue
		}
		break
	}
	return i
}

var noBreak = []byte{0xc2, 0xa0}

// callByte tells what a call sign is looked for with. The internet side allows more, but then the line begins with it.
func callByte(c byte) bool {
	return c-'0' < 10 || c|0x20 >= 'a' && c|0x20 <= 'z'
}

// plainCall tells whether b begins with letters, digits and dashes up to its '>'.
func plainCall(b []byte) bool {
	for i, c := range b {
		if c == '>' {
			return i > 0
		}
		if !callByte(c) && c != '-' {
			return false
		}
	}
	return false
}

const (
	maxTries  = 8   // '>' at which a header is looked for
	maxPrefix = 400 // bytes ahead of a packet
)

// search finds a packet anywhere in the line, with tags ahead of it or inside its header.
func (s *splitter) search(line []byte) found {
	best := found{fault: "header.no-arrow", column: behindStamp(line) + 1}
	if f, ok := s.spelled(line); ok {
		return f
	}
	from := 0
	for range maxTries {
		i := bytes.IndexByte(line[from:min(len(line), maxPrefix)], '>')
		if i < 0 {
			break
		}
		arrow := from + i
		from = arrow + 1
		f := s.around(line, arrow)
		if f.fault == "" {
			return f
		}
		if best.fault == "header.no-arrow" || (best.fault == "header.no-source" && f.fault != "header.no-source") {
			best = f
		}
	}
	best.stamp, best.stampAt, best.stamped = s.stampIn(line[:min(len(line), maxPrefix)])
	return best
}

// around reads the packet whose first '>' stands at arrow.
func (s *splitter) around(line []byte, arrow int) found {
	at := arrow
	for at > 0 && (callByte(line[at-1]) || line[at-1] == '-') {
		at--
	}
	thirdParty := at > 0 && line[at-1] == '}' // what a packet wraps was not sent by the one named in it
	if at == arrow || arrow-at > 9 || thirdParty {
		return found{fault: "header.no-source", column: arrow + 1}
	}
	f := s.packet(line, at)
	if f.fault != "" {
		return f
	}
	if !f.stamped {
		f.stamp, f.stampAt, f.stamped = s.stampIn(line[:at])
	}
	return f
}

// packet reads the packet that begins at at: plain, or with tags in its header.
func (s *splitter) packet(line []byte, at int) found {
	text := unquoted(line, at)
	info, err := ax25.ParseHeader(text, &s.header)
	if err == nil {
		f := found{open: info == len(text)}
		f.raw, f.info = s.unescape(text, info)
		return f
	}
	if f, ok := s.tagged(line, at); ok {
		return f
	}
	fault := err.(ax25.Fault)
	return found{fault: string(fault), column: at + 1 + faultAt(text, fault)}
}

// unquoted gives the text from at: where it stands in quotes, up to the end of them, which is that of the line, or of a field that
// the same mark parts from the next as from the one before.
func unquoted(line []byte, at int) []byte {
	text := line[at:]
	if at == 0 || line[at-1] != '"' && line[at-1] != '\'' && line[at-1] != '`' {
		return text
	}
	if at > 1 && bytes.IndexByte(delimiters, line[at-2]) >= 0 {
		if field, _, more := bytes.Cut(text, []byte{line[at-1], line[at-2]}); more {
			return field
		}
	}
	return bytes.TrimSuffix(text, line[at-1:at])
}

// faultAt gives where in the text the fault of a header lies.
func faultAt(text []byte, fault ax25.Fault) int {
	arrow := bytes.IndexByte(text, '>')
	switch fault {
	case ax25.BadTo:
		return arrow + 1
	case ax25.NoEnd:
		return len(text)
	case ax25.BadHop, ax25.LongPath:
		return badHopAt(text, arrow)
	}
	return 0
}

func badHopAt(text []byte, arrow int) int {
	end := bytes.IndexByte(text, ':')
	at := arrow + 1
	for hops := 0; ; hops++ {
		entry, _, more := bytes.Cut(text[at:end], []byte{','})
		call := bytes.TrimSuffix(entry, []byte{'*'})
		if _, ok := ax25.ParseCall(call); (!ok && hops > 0) || hops > ax25.MaxPath || !more {
			return at
		}
		at += len(entry) + 1
	}
}

// stampIn finds the stamp among tags: the first complete one, else the first time of day.
func (s *splitter) stampIn(b []byte) (best clock.Stamp, at int, ok bool) {
	for i := 0; i < len(b); i++ {
		if !callByte(b[i]) || (i > 0 && (callByte(b[i-1]) || b[i-1] == '.' || b[i-1] == ':' || b[i-1] == '-')) {
			continue
		}
		st, n := clock.ScanStamp(b[i:])
		if n == 0 || (ok && st.Date == clock.NoDate) {
			continue
		}
		best, at, ok = st, i, true
		if st.Date != clock.NoDate {
			return best, at, true
		}
	}
	return best, at, ok
}

// tagged reads a header that is followed by tags such as <UI> or [07:40:12] before its ':' or the end of the line.
func (s *splitter) tagged(line []byte, at int) (found, bool) {
	end := at
	for end < len(line) && line[end] != ' ' && line[end] != '[' && line[end] != '<' && line[end] != '(' && line[end] != ':' {
		end++
	}
	if end == len(line) {
		return found{}, false
	}
	s.raw = append(append(s.raw[:0], line[at:end]...), ':')
	if _, err := ax25.ParseHeader(s.raw, &s.header); err != nil {
		return found{}, false
	}
	f := found{info: len(s.raw)}
	i, tags := s.tags(line, end, &f)
	if tags == 0 && (i >= len(line) || line[i] != ':') {
		return found{}, false
	}
	if i < len(line) && line[i] == ':' {
		i++
	}
	f.open = i >= len(line)
	s.raw = append(s.raw, line[min(i, len(line)):]...)
	s.raw = undoEscapes(s.raw, f.info)
	f.raw = s.raw
	return f, true
}

// tags steps over brackets and stamps from at on, up to the ':' that ends the header or to the end of the line.
func (s *splitter) tags(line []byte, at int, f *found) (end, count int) {
	for at < len(line) && line[at] != ':' {
		switch line[at] {
		case ' ', '\t':
			at++
			continue
		case '[', '<', '(':
			from := at
			at = closingOf(line, at)
			if at == 0 {
				return from, 0
			}
			if st, n := clock.ScanStamp(line[from+1:]); n > 0 {
				f.stamp, f.stampAt, f.stamped = st, from+1, true
			}
			count++
			continue
		}
		st, n := clock.ScanStamp(line[at:])
		if n == 0 {
			return at, 0
		}
		f.stamp, f.stampAt, f.stamped = st, at, true
		at += n
		count++
	}
	return at, count
}

// closingOf gives what follows the bracket that opens at at, 0 when it is never closed. << >> counts as one.
func closingOf(line []byte, at int) int {
	closes := map[byte]byte{'[': ']', '<': '>', '(': ')'}[line[at]]
	i := bytes.IndexByte(line[at:], closes)
	if i < 0 {
		return 0
	}
	i += at + 1
	for i < len(line) && line[i] == closes {
		i++
	}
	return i
}

// spelled reads the older monitor form of packet modems, fm SRC to DST via HOP,HOP* and tags; the information follows on the
// next line.
func (s *splitter) spelled(line []byte) (found, bool) {
	at := wordAt(line, "fm")
	if at < 0 {
		return found{}, false
	}
	words := bytes.Fields(line[at:])
	if len(words) < 4 || !bytes.EqualFold(words[2], []byte("to")) {
		return found{}, false
	}
	s.raw = append(append(append(s.raw[:0], words[1]...), '>'), words[3]...)
	rest := words[4:]
	if len(rest) > 1 && bytes.EqualFold(rest[0], []byte("via")) {
		for rest = rest[1:]; len(rest) > 0 && !endsPath(rest[0]); rest = rest[1:] {
			s.raw = append(append(s.raw, ','), bytes.Trim(rest[0], ",")...)
		}
	}
	s.raw = append(s.raw, ':')
	info, err := ax25.ParseHeader(s.raw, &s.header)
	if err != nil {
		return found{}, false
	}
	f := found{raw: s.raw, info: info, open: true}
	f.stamp, f.stampAt, f.stamped = s.stampIn(line)
	return f, true
}

// endsPath tells whether a word of the spelled form belongs to the frame's type and no longer to the path.
func endsPath(word []byte) bool {
	return word[0] == '<' || word[0] == '[' || bytes.EqualFold(word, []byte("ctl")) || bytes.EqualFold(word, []byte("UI"))
}

// wordAt finds a word, in any case, that stands by itself among the first maxPrefix bytes; -1 when there is none.
func wordAt(line []byte, word string) int {
	for i := 0; i+len(word) < min(len(line), maxPrefix); i++ {
		if bytes.EqualFold(line[i:i+len(word)], []byte(word)) && line[i+len(word)] == ' ' && (i == 0 || !callByte(line[i-1])) {
			return i
		}
	}
	return -1
}
