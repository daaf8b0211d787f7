package intake

import (
	"bufio"
	"bytes"
	"slices"
	"strconv"
	"strings"

	"lastbeacon/core/evidence"
)

// Tables: CSV as RFC 4180 says, also with semicolons, tabs or bars between the columns and a decimal comma. Columns are told
// by their headers, or by the settings. A table holds packets, places of stations, fixes of a track, or meter readings.
func csvTable() Format {
	return Format{Name: "table (CSV)", Lacks: "no row of known headers such as time, latitude, longitude or time, volts, amps", Mapped: true, Sniff: sniffCSV, read: readCSV}
}

// sniffCSV believes in a header row; rows of many columns of numbers are a table whose columns must be asked.
func sniffCSV(head []byte) Confidence {
	if begin := bytes.TrimSpace(head); len(begin) == 0 || begin[0] == '{' || begin[0] == '[' || begin[0] == '<' {
		return 0
	}
	rows := 0
	for line := range headLines(head) {
		if len(bytes.TrimSpace(line)) == 0 || isComment(line) {
			continue
		}
		if d := delimiterOf(line); d != 0 && enoughColumns(columnsOf(fieldsOf(nil, line, d), nil)) {
			return 95
		}
		if rows++; rows > 30 {
			break
		}
	}
	if d := evenDelimiter(head); d != 0 {
		return 10
	}
	return 0
}

var delimiters = []byte{'\t', ';', ',', '|'}

// delimiterOf gives what parts the columns of a header row: the delimiter that occurs most.
func delimiterOf(line []byte) byte {
	best, most := byte(0), 0
	for _, d := range delimiters {
		if n := bytes.Count(line, []byte{d}); n > most {
			best, most = d, n
		}
	}
	return best
}

// evenDelimiter gives the delimiter that parts each of at least three lines into the same number of columns, three or more,
// of which two hold numbers.
func evenDelimiter(head []byte) byte {
	for _, d := range delimiters {
		columns, rows := 0, 0
		for line := range headLines(head[:bytes.LastIndexByte(head, '\n')+1]) {
			if len(bytes.TrimSpace(line)) == 0 || isComment(line) {
				continue
			}
			f := fieldsOf(nil, line, d)
			numbers := 0
			for _, v := range f {
				if _, ok := amount(v, d != ','); ok && len(v) > 0 {
					numbers++
				}
			}
			if columns == 0 {
				columns = len(f)
			}
			if len(f) != columns || columns < 3 || (numbers < 2 && rows > 0) {
				rows = 0
				break
			}
			rows++
		}
		if rows >= 3 {
			return d
		}
	}
	return 0
}

// fieldsOf parts a row. Quoted fields are unquoted; the others keep their blanks.
func fieldsOf(dst [][]byte, line []byte, delimiter byte) [][]byte {
	for {
		var field []byte
		var more bool
		if trimmed := bytes.TrimLeft(line, " "); len(trimmed) > 0 && trimmed[0] == '"' {
			field, line, more = quoted(trimmed, delimiter)
		} else {
			field, line, more = bytes.Cut(line, []byte{delimiter})
		}
		dst = append(dst, field)
		if !more {
			return dst
		}
	}
}

// quoted reads a field in quotes, in which two quotes stand for one.
func quoted(line []byte, delimiter byte) (field, rest []byte, more bool) {
	i := 1
	double := false
	for ; i < len(line); i++ {
		if line[i] != '"' {
			continue
		}
		if i+1 < len(line) && line[i+1] == '"' {
			double = true
			i++
			continue
		}
		break
	}
	field = line[1:min(i, len(line))]
	if double {
		field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	}
	_, rest, more = bytes.Cut(line[min(i+1, len(line)):], []byte{delimiter})
	return field, rest, more
}

// columnsOf tells what each header means. set names meanings by header or by number from 1, and wins.
func columnsOf(row [][]byte, set map[string]string) []column {
	out := make([]column, len(row))
	for i := range out {
		out[i].meaning = meanings
		if c, ok := columnOf(string(row[i])); ok && !slices.ContainsFunc(out[:i], func(o column) bool { return o.meaning == c.meaning }) {
			out[i] = c
		}
	}
	for m, name := range meaningNames {
		want, ok := set[name]
		if !ok {
			continue
		}
		for i := range out {
			if out[i].meaning == meaning(m) {
				out[i].meaning = meanings
			}
			if strconv.Itoa(i+1) == want || strings.EqualFold(strings.TrimSpace(string(row[i])), strings.TrimSpace(want)) {
				_, unit := nameAndUnit(string(row[i]))
				out[i] = column{meaning(m), scaleOf(meaning(m), "", unit)}
			}
		}
	}
	return out
}

// enoughColumns tells whether the columns known give evidence.
func enoughColumns(columns []column) bool {
	var has [meanings + 1]bool
	for _, c := range columns {
		has[c.meaning] = true
	}
	timed := has[mTime] || has[mDate]
	return has[mPacket] || has[mFrom] && has[mInfo] || timed && (has[mLat] && has[mLon] || has[mVolts] || has[mAmps])
}

// table reads one CSV file.
type table struct {
	records
	delimiter byte
	columns   []column
	fields    [][]byte
	rowNo     int
	early     samples // rows before the columns were known
}

func readCSV(rd *reading, r *bufio.Reader) error {
	t := &table{records: records{reading: rd}}
	head, _ := r.Peek(headSize)
	t.numbered(head)
	whole, _ := r.Peek(maxLine)
	t.learn(whole)
	in := newLines(r, head)
	f := &rd.src.File
	for b, long, ok := in.next(); ok; b, long, ok = in.next() {
		f.Lines++
		rec := record{line: in.no, text: b}
		switch {
		case long:
			t.refuse(&rec, "line.too-long")
		case len(bytes.TrimSpace(b)) == 0:
			f.Empty++
		case isComment(b):
		default:
			if err := t.row(&rec); err != nil {
				return err
			}
		}
	}
	rd.addTrack(t.track)
	if t.columns == nil {
		f.Ask = append(f.Ask, t.early.ask("columns", nil, "", "the columns could not be told by their headers"))
	}
	return nil
}

// numbered takes the columns from settings that give them by number, for tables without a header row.
func (t *table) numbered(head []byte) {
	d := evenDelimiter(head)
	for line := range headLines(head) {
		if d == 0 || len(t.set.Columns) == 0 {
			return
		}
		if len(bytes.TrimSpace(line)) == 0 || isComment(line) {
			continue
		}
		row := fieldsOf(nil, line, d)
		if _, ok := t.asHeaders(row); ok {
			return // there is a header row
		}
		if c := columnsOf(make([][]byte, len(row)), t.set.Columns); enoughColumns(c) {
			t.delimiter, t.columns = d, c
		}
		return
	}
}

// asHeaders tells whether a row is a header row, which has no numbers and gives enough columns.
func (t *table) asHeaders(row [][]byte) ([]column, bool) {
	for _, v := range row {
		if _, err := strconv.ParseFloat(strings.TrimSpace(string(v)), 64); err == nil {
			return nil, false
		}
	}
	c := columnsOf(row, t.set.Columns)
	return c, enoughColumns(c)
}

// learn shows the stamps of the first rows to the dating.
func (t *table) learn(head []byte) {
	delimiter, columns := t.delimiter, t.columns
	var first []seenStamp
	for line := range headLines(head) {
		if len(first) == 500 || len(bytes.TrimSpace(line)) == 0 || isComment(line) {
			continue
		}
		rec := record{text: line}
		if t.fill(&rec) {
			if s, _, ok := t.stampOf(&rec); ok {
				first = append(first, seenStamp{stamp: s, packet: true})
			}
		}
	}
	t.dates.learn(first, len(first))
	t.delimiter, t.columns = delimiter, columns // the reading itself begins anew
}

// fill puts the fields of a row into the record; false for rows before and of the headers.
func (t *table) fill(rec *record) bool {
	if t.columns == nil {
		if d := delimiterOf(rec.text); d != 0 {
			if c, ok := t.asHeaders(fieldsOf(nil, rec.text, d)); ok {
				t.delimiter, t.columns = d, c
			}
		}
		return false
	}
	t.fields = fieldsOf(t.fields[:0], rec.text, t.delimiter)
	rec.comma = t.delimiter != ','
	for i, v := range t.fields {
		if i < len(t.columns) && t.columns[i].meaning < meanings {
			rec.value[t.columns[i].meaning], rec.scale[t.columns[i].meaning] = v, t.columns[i].scale
		}
	}
	return true
}

func (t *table) row(rec *record) error {
	known := t.columns != nil
	if t.fill(rec) {
		return t.take(rec)
	}
	if !known && t.columns == nil {
		t.early.add(evidence.Line{File: t.src.File.ID, No: t.line(rec.line).No}, rec.text)
		t.refuse(rec, "csv.columns")
	}
	return nil
}
