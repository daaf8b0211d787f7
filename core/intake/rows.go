package intake

import (
	"bufio"
	"bytes"
)

// tableRows cuts text into the rows of a table. A row takes several lines where a quoted field holds line ends. A quote that
// nothing closes within mostJoined lines and maxLine bytes, or behind which no row of this table comes out, opens nothing:
// its line stands alone, and the lines behind it are rows of their own.
type tableRows struct {
	in    *lines
	ahead []rowLine // lines that were read before their turn
	no    int       // of the line given last
	text  []byte    // of joined lines
}

// rowLine is one line; long when it was cut off.
type rowLine struct {
	text []byte
	long bool
}

// A tableRow is one row: its text, which holds until the next call, its first line and how many lines it takes.
type tableRow struct {
	rowLine
	line, lines int
	open        bool // a quote opens a field and nothing closes it
}

const mostJoined = 100

// rowsOf gives the rows of a text that is in memory.
func rowsOf(text []byte) *tableRows {
	return &tableRows{in: newLines(bufio.NewReaderSize(bytes.NewReader(text), len(text)+1), text)}
}

func (r *tableRows) take() (rowLine, bool) {
	if len(r.ahead) > 0 {
		l := r.ahead[0]
		r.ahead = r.ahead[1:]
		return l, true
	}
	text, long, ok := r.in.next()
	return rowLine{text, long}, ok
}

// next gives the next row. The delimiter is 0 while nobody knows it; whole tells whether joined lines are a row.
func (r *tableRows) next(delimiter byte, whole func([]byte) bool) (tableRow, bool) {
	l, ok := r.take()
	row := tableRow{rowLine: l, line: r.no + 1, lines: 1}
	if ok && !l.long && bytes.IndexByte(l.text, '"') >= 0 {
		if open, _ := quotesOpen(l.text, delimiter, false); open {
			r.join(&row, delimiter, whole)
		}
	}
	r.no += row.lines
	return row, ok
}

// join adds lines to the row until its quotes are closed, or gives them back.
func (r *tableRows) join(row *tableRow, delimiter byte, whole func([]byte) bool) {
	r.text = append(r.text[:0], row.text...)
	first := len(r.text)
	var taken []rowLine
	for open, sound := true, true; open && sound && len(taken) < mostJoined; {
		l, ok := r.take()
		if !ok {
			break
		}
		taken = append(taken, rowLine{bytes.Clone(l.text), l.long})
		if l.long || len(r.text)+len(l.text) > maxLine {
			break
		}
		r.text = append(append(r.text, '\n'), l.text...)
		if open, sound = r.quotesOpen(l.text, delimiter); !open && sound && whole(r.text) {
			row.text, row.lines = r.text, 1+len(taken)
			return
		}
	}
	r.ahead = append(taken, r.ahead...)
	row.text, row.open = r.text[:first], true
}

// quotesOpen judges the joined lines by the last of them; by all of them while nobody knows the delimiter.
func (r *tableRows) quotesOpen(last []byte, delimiter byte) (open, sound bool) {
	if delimiter == 0 {
		return quotesOpen(r.text, delimiterOf(r.text), false)
	}
	return quotesOpen(last, delimiter, true)
}

// quotesOpen tells whether a line ends within a quoted field, given whether it begins in one, and whether each field that
// closes is followed by the delimiter or the end of the line.
func quotesOpen(line []byte, delimiter byte, open bool) (stillOpen, sound bool) {
	for sound = true; ; {
		if !open {
			line = bytes.TrimLeft(line, " ")
			if open = len(line) > 0 && line[0] == '"'; open {
				line = line[1:]
			}
		}
		if open {
			end := closingQuote(line)
			if end < 0 {
				return true, sound
			}
			line, open = bytes.TrimLeft(line[end+1:], " "), false
			sound = sound && (len(line) == 0 || line[0] == delimiter)
		}
		_, rest, more := bytes.Cut(line, []byte{delimiter})
		if !more {
			return false, sound
		}
		line = rest
	}
}

// closingQuote finds the quote that closes a field, -1 when none does; two quotes stand for one.
func closingQuote(field []byte) int {
	for i := 0; i < len(field); i++ {
		if field[i] != '"' {
			continue
		}
		if i+1 == len(field) || field[i+1] != '"' {
			return i
		}
		i++
	}
	return -1
}
