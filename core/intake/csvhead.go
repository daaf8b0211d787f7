package intake

import (
	"bytes"
	"iter"
	"slices"
	"strconv"
	"strings"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// isHeader tells whether a row holds known headers of enough columns.
func isHeader(row []byte) bool {
	d := delimiterOf(row)
	return d != 0 && !isComment(row) && enoughColumns(columnsOf(fieldsOf(nil, row, d), nil))
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

// wholeRows gives the lines of the beginning of a table that are not cut off, blank or comments.
func wholeRows(head []byte) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		for line := range headLines(head[:bytes.LastIndexByte(head, '\n')+1]) {
			if len(bytes.TrimSpace(line)) > 0 && !isComment(line) && !yield(line) {
				return
			}
		}
	}
}

// packetColumn finds the column of packets in a table whose first row has headers that may say nothing of it: in the rows below,
// of as many columns, one field is a packet by itself. It gives the first row and the column's index, -1 when there is none.
func packetColumn(head []byte) (first []byte, at int) {
	at = -1
	delimiter, columns, rows := byte(0), 0, 0
	for line := range wholeRows(head) {
		if first == nil {
			first, delimiter = line, delimiterOf(line)
			row := fieldsOf(nil, line, delimiter)
			if columns = len(row); columns < 2 || hasNumber(row) || slices.ContainsFunc(row, timeIn) || slices.ContainsFunc(row, isPacket) {
				return nil, -1
			}
			continue
		}
		row := fieldsOf(nil, line, delimiter)
		k := slices.IndexFunc(row, isPacket)
		if k < 0 || len(row) != columns || rows > 0 && k != at {
			return nil, -1
		}
		if at, rows = k, rows+1; rows == 3 {
			break
		}
	}
	return first, at
}

func isPacket(field []byte) bool {
	var h ax25.Header
	_, err := ax25.ParseHeader(field, &h)
	return err == nil
}

func hasNumber(row [][]byte) bool {
	return slices.ContainsFunc(row, isNumber)
}

func isNumber(field []byte) bool {
	_, err := strconv.ParseFloat(strings.TrimSpace(string(field)), 64)
	return err == nil
}

// timeIn tells whether a field holds a time and nothing else.
func timeIn(field []byte) bool {
	field = bytes.TrimSpace(field)
	_, n := clock.ScanStamp(field)
	return n > 0 && n == len(field)
}

// valuesIn counts the fields that hold a number, and one that holds a time of day besides.
func valuesIn(row [][]byte, comma bool) int {
	n, timed := 0, 0
	for _, v := range row {
		if _, ok := amount(v, comma); ok && len(v) > 0 {
			n++
		} else if timeIn(v) {
			timed = 1
		}
	}
	return n + timed
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

// evenDelimiter gives the delimiter that parts each of at least three lines into the same number of columns, two or more, of
// which two hold numbers, or a time and a number.
func evenDelimiter(head []byte) byte {
	for _, d := range delimiters {
		columns, rows := 0, 0
		for line := range wholeRows(head) {
			f := fieldsOf(nil, line, d)
			values := valuesIn(f, d != ',')
			if columns == 0 {
				columns = len(f)
			}
			if len(f) != columns || columns < 2 || (values < 2 && rows > 0) {
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

// quoted reads a field in quotes, in which two quotes stand for one. What stands behind the closing quote belongs to it.
func quoted(line []byte, delimiter byte) (field, rest []byte, more bool) {
	field = line[1:]
	if end := closingQuote(field); end >= 0 {
		field, rest = field[:end], field[end+1:]
	}
	field = bytes.ReplaceAll(field, []byte(`""`), []byte(`"`))
	behind, rest, more := bytes.Cut(rest, []byte{delimiter})
	if len(bytes.TrimSpace(behind)) > 0 {
		field = slices.Concat(field, behind)
	}
	return field, rest, more
}
