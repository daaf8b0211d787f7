package intake

import (
	"bufio"
	"bytes"
	"slices"
	"strings"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// Tables: CSV as RFC 4180 says, also with semicolons, tabs or bars between the columns and a decimal comma. Columns are told
// by their headers, by their rows or by the settings. A table holds packets, places of stations, fixes of a track, or meter readings.
func csvTable() Format {
	return Format{Name: "table (CSV)", Lacks: "no row of known headers such as time, latitude, longitude or time, volts, amps", Mapped: true, Sniff: sniffCSV, read: readCSV}
}

// sniffCSV believes in a header row; rows of many columns of numbers are a table whose columns must be asked.
func sniffCSV(head []byte) Confidence {
	if begin := bytes.TrimSpace(head); len(begin) == 0 || begin[0] == '{' || begin[0] == '[' || begin[0] == '<' {
		return 0
	}
	seen, rows := 0, rowsOf(head)
	for row, ok := rows.next(0, isHeader); ok && seen < 30; row, ok = rows.next(0, isHeader) {
		if isHeader(row.text) {
			return 95
		}
		if len(bytes.TrimSpace(row.text)) > 0 && !isComment(row.text) {
			seen++
		}
	}
	if _, at := packetColumn(head); at >= 0 {
		return 91
	}
	if d := evenDelimiter(head); d != 0 {
		return 10
	}
	return 0
}

// table reads one CSV file.
type table struct {
	records
	delimiter byte
	columns   []column
	headers   [][]byte // of the columns; nil where the table has none
	shown     bool     // the columns are in the file's description
	fields    [][]byte
	early     samples // rows before the columns were known
	second    bool    // the row behind the headers was looked at: it may give their units
	unproved  bool    // no row has shown yet which column holds times
	first     []byte  // the first row, where the column packets holds packets by what stands below
	packets   int
}

func readCSV(rd *reading, r *bufio.Reader) error {
	t := &table{records: records{reading: rd}}
	head, _ := r.Peek(headSize)
	t.first, t.packets = packetColumn(head)
	t.first = bytes.Clone(t.first)
	t.numbered(head)
	whole, _ := r.Peek(maxLine)
	t.learn(whole)
	rows := &tableRows{in: newLines(r, head)}
	for row, ok := rows.next(t.delimiter, t.whole); ok; row, ok = rows.next(t.delimiter, t.whole) {
		rd.src.File.Lines += row.lines
		rec := record{line: row.line, lines: row.lines, text: row.text}
		switch {
		case row.long:
			t.refuse(&rec, "line.too-long")
		case len(bytes.TrimSpace(row.text)) == 0:
			rd.src.File.Empty++
		case isComment(row.text):
		default:
			if row.open && t.columns != nil {
				rd.notes.add(note{code: "csv.quote", line: rd.line(row.line).No, excerpt: row.text})
			}
			if err := t.row(&rec); err != nil {
				return err
			}
		}
	}
	rd.addTrack(t.track)
	if t.columns == nil {
		t.askColumns()
	}
	return nil
}

// whole tells whether lines that a quoted field joins are a row of this table: no more columns than it has, and behind the
// first no line that is a row by itself.
func (t *table) whole(joined []byte) bool {
	if t.columns == nil {
		return isHeader(joined)
	}
	if t.fields = fieldsOf(t.fields[:0], joined, t.delimiter); len(t.fields) > len(t.columns) {
		return false
	}
	_, behind, _ := bytes.Cut(joined, []byte{'\n'})
	for line := range bytes.SplitSeq(behind, []byte{'\n'}) {
		if t.complete(line) {
			return false
		}
	}
	return true
}

// complete tells whether a line has all columns, and a time where the table has one.
func (t *table) complete(line []byte) bool {
	t.fields = fieldsOf(t.fields[:0], line, t.delimiter)
	timed := slices.IndexFunc(t.columns, func(c column) bool { return c.meaning == mTime || c.meaning == mDate })
	return len(t.fields) == len(t.columns) && timed >= 0 && timeIn(t.fields[timed])
}

// askColumns asks what the columns mean, and shows those of the first rows.
func (t *table) askColumns() {
	f := &t.src.File
	f.Ask = append(f.Ask, t.early.ask("columns", nil, "", "the columns could not be told by their headers"))
	var row [2][][]byte
	for i := range min(t.early.n, 2) {
		row[i] = fieldsOf(nil, t.early.text[i], delimiterOf(t.early.text[i]))
	}
	if hasNumber(row[0]) {
		t.showColumns(nil, row[0], columnsOf(make([][]byte, len(row[0])), t.set.Columns))
	} else {
		t.showColumns(row[0], row[1], columnsOf(row[0], t.set.Columns))
	}
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
		if _, ok := t.asHeaders(line, row); ok {
			return // there is a header row
		}
		if c := columnsOf(make([][]byte, len(row)), t.set.Columns); enoughColumns(c) {
			t.delimiter, t.columns = d, c
		}
		return
	}
}

// asHeaders tells whether a row is a header row, which has no numbers and gives enough columns, by itself or by what stands below.
func (t *table) asHeaders(text []byte, row [][]byte) ([]column, bool) {
	if hasNumber(row) {
		return nil, false
	}
	c := columnsOf(row, t.set.Columns)
	if t.packets >= 0 && bytes.Equal(text, t.first) && !enoughColumns(c) {
		if _, said := saidOf(row[t.packets], t.packets+1, t.set.Columns); !said {
			c[t.packets] = column{mPacket, 1}
		}
	}
	return c, enoughColumns(c)
}

// learn shows the stamps of the first rows to the dating.
func (t *table) learn(head []byte) {
	delimiter, columns := t.delimiter, t.columns
	var first []seenStamp
	rows := rowsOf(head)
	for row, ok := rows.next(t.delimiter, t.whole); ok && len(first) < 500; row, ok = rows.next(t.delimiter, t.whole) {
		rec := record{text: row.text}
		if len(bytes.TrimSpace(row.text)) > 0 && !isComment(row.text) && t.fill(&rec) {
			if s, _, ok := t.stampOf(&rec); ok {
				first = append(first, seenStamp{stamp: s, packet: true})
			}
		}
	}
	t.dates.learn(first, len(first))
	t.delimiter, t.columns, t.headers, t.unproved = delimiter, columns, nil, false // the reading itself begins anew
}

// fill puts the fields of a row into the record; false for rows before and of the headers.
func (t *table) fill(rec *record) bool {
	if t.columns == nil {
		if d := delimiterOf(rec.text); d != 0 {
			row := fieldsOf(nil, rec.text, d)
			if c, ok := t.asHeaders(rec.text, row); ok {
				t.delimiter, t.columns, t.headers, t.unproved = d, c, cloned(row), true
			}
		}
		return false
	}
	t.fields = fieldsOf(t.fields[:0], rec.text, t.delimiter)
	if t.unproved {
		t.unproved = false
		t.proveTimes()
	}
	rec.comma = t.delimiter != ','
	for i, v := range t.fields {
		if i < len(t.columns) && t.columns[i].meaning < meanings {
			rec.value[t.columns[i].meaning], rec.scale[t.columns[i].meaning] = v, t.columns[i].scale
			rec.utc = rec.utc || t.columns[i].meaning == mTime && saysUTC(at(t.headers, i))
		}
	}
	return true
}

// proveTimes looks at the first row: where the column of times holds none, the first other one that does, and whose header says
// time too or nothing that is known, takes its place; where there is no column of times, the first one that holds dates with times,
// as a time of day may be a duration. What somebody said stays.
func (t *table) proveTimes() {
	was, better := -1, -1
	for i, v := range t.fields[:min(len(t.fields), len(t.columns))] {
		_, fixed := saidOf(t.headers[i], i+1, t.set.Columns)
		c, known := columnOf(string(t.headers[i]))
		switch {
		case t.columns[i].meaning == mDate, t.columns[i].meaning == mTime && (fixed || timeIn(v)):
			return
		case t.columns[i].meaning == mTime:
			was = i
		case better < 0 && !fixed && t.columns[i].meaning == meanings && (known && c.meaning == mTime || !known && !isNumber(v)) && timeIn(v):
			better = i
		}
	}
	if was >= 0 && better >= 0 {
		t.columns[was].meaning = meanings
	} else if better >= 0 {
		if s, _ := clock.ScanStamp(bytes.TrimSpace(t.fields[better])); s.Date == clock.NoDate {
			better = -1
		}
	}
	if better >= 0 {
		t.columns[better] = column{mTime, 1}
	}
}

func cloned(row [][]byte) [][]byte {
	out := make([][]byte, len(row))
	for i := range row {
		out[i] = bytes.Clone(row[i])
	}
	return out
}

// unitsOf takes a row of nothing but units and blanks behind a header row that has none for what a column holds; false when the row
// is no such one.
func (t *table) unitsOf(row [][]byte) bool {
	known := 0
	for i, v := range row {
		name := strings.ToLower(strings.Trim(strings.TrimSpace(string(v)), "()[]"))
		if isNumber(v) || timeIn(v) {
			return false
		}
		scale, unit := units[name]
		if !unit {
			continue
		}
		known++
		if i < len(t.columns) && i < len(t.headers) {
			_, said := saidOf(t.headers[i], i+1, t.set.Columns)
			if _, own := nameAndUnit(string(t.headers[i])); own == "" && !said && slices.Contains([]meaning{mSpeed, mVolts, mAmps}, t.columns[i].meaning) {
				t.columns[i].scale = scale
			}
		}
	}
	return 2*known >= len(row)
}

func (t *table) row(rec *record) error {
	known := t.columns != nil
	if t.headers != nil && !t.second {
		t.second = true
		if t.unitsOf(fieldsOf(nil, rec.text, t.delimiter)) {
			t.unitsBelow = true
			return nil
		}
	}
	if t.fill(rec) {
		if !t.shown {
			t.showColumns(t.headers, t.fields, t.columns)
			t.shown = true
		}
		if more := t.fields[min(len(t.fields), len(t.columns)):]; len(bytes.TrimSpace(bytes.Join(more, nil))) > 0 {
			t.notes.add(note{code: "csv.more", line: t.line(rec.line).No, excerpt: rec.text})
		}
		return t.take(rec)
	}
	if !known && t.columns == nil {
		t.early.add(evidence.Line{File: t.src.File.ID, No: t.line(rec.line).No}, rec.text)
		t.refuse(rec, "csv.columns")
	}
	return nil
}
