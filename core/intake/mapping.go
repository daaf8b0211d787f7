package intake

import (
	"bytes"
	"strconv"
	"strings"

	"lastbeacon/core/evidence"
)

// columnsOf tells what each column of a row of headers holds: what was said of it, else what its header means. Of several
// columns of one meaning the first counts, of those that were said before the others.
func columnsOf(row [][]byte, set []Column) []column {
	out := make([]column, len(row))
	var taken [meanings + 1]bool
	for i := range out {
		out[i].meaning = meanings
		if c, ok := saidOf(row[i], i+1, set); ok && !taken[c.meaning] {
			out[i] = c
			taken[c.meaning] = c.meaning < meanings
		}
	}
	for i := range out {
		if _, ok := saidOf(row[i], i+1, set); ok {
			continue
		}
		if c, ok := columnOf(string(row[i])); ok && !taken[c.meaning] {
			out[i] = c
			taken[c.meaning] = true
		}
	}
	return out
}

// saidOf gives what was said of a column by its header or its number.
func saidOf(header []byte, no int, set []Column) (column, bool) {
	name := strings.TrimSpace(string(header))
	for _, s := range set {
		if name != "" && strings.EqualFold(name, strings.TrimSpace(s.Header)) || no > 0 && strconv.Itoa(no) == s.Header {
			return said(s.Meaning, name)
		}
	}
	return column{}, false
}

// fieldOf tells what a field of an object holds. What was said of one name is taken from all others.
func fieldOf(name string, set []Column) column {
	if c, ok := saidOf([]byte(name), 0, set); ok {
		return c
	}
	c, ok := columnOf(name)
	if !ok {
		return column{meaning: meanings}
	}
	for _, s := range set {
		if other, ok := said(s.Meaning, s.Header); ok && other.meaning == c.meaning {
			return column{meaning: meanings}
		}
	}
	return c
}

// mostColumns bounds how many columns of one file are shown.
const mostColumns = 64

// showColumn adds a column to those that the file's description shows, once for each header.
func (rd *reading) showColumn(no int, header, sample []byte, c column) {
	f := &rd.src.File
	name := strings.TrimSpace(string(header))
	for i := range f.Columns {
		if f.Columns[i].Header == name && (name != "" || f.Columns[i].No == no) {
			return
		}
	}
	if len(f.Columns) == mostColumns {
		return
	}
	_, set := saidOf(header, no, rd.set.Columns)
	if unit, _ := nameAndUnit(name); c.word() == "amps A" && !set && (unit == "current" || unit == "i" || unit == "strom") && !rd.unitsBelow {
		rd.notes.add(note{code: "csv.amps-taken", excerpt: header})
	}
	f.Columns = append(f.Columns, evidence.Column{No: no, Header: name, Sample: excerptOf(sample), Meaning: c.word(), Said: set})
}

// showColumns adds the columns of a table. Without headers and known meanings they are those of the first row.
func (rd *reading) showColumns(headers, first [][]byte, columns []column) {
	for i := range max(len(headers), len(first)) {
		c := column{meaning: meanings}
		if i < len(columns) {
			c = columns[i]
		}
		rd.showColumn(i+1, at(headers, i), at(first, i), c)
	}
}

func at(row [][]byte, i int) []byte {
	if i < len(row) {
		return row[i]
	}
	return nil
}

// excerptOf copies the beginning of a value.
func excerptOf(value []byte) []byte {
	return bytes.Clone(bytes.TrimSpace(value[:min(len(value), 40)]))
}
