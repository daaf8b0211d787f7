package clock

import (
	"strings"
	"time"
)

// scanZone reads the zone that b begins with and gives its length: Z, UTC, GMT, +02:00, +0200, +02, UTC+2, an abbreviation,
// or an IANA name. alone: the word stands by itself, so that any capitals are meant as a zone.
func scanZone(b []byte, alone bool) (form ZoneForm, off time.Duration, n int) {
	if len(b) == 0 {
		return NoZone, 0, 0
	}
	if b[0] == '+' || b[0] == '-' {
		off, n = scanOffset(b, 2)
		if n == 0 {
			return NoZone, 0, 0
		}
		return ZoneOffset, off, n
	}
	n = letters(b)
	if n == 0 {
		return NoZone, 0, 0
	}
	if n < len(b) && b[n] == '/' {
		return scanPlace(b, n)
	}
	return scanAbbreviation(b, n, alone)
}

func scanAbbreviation(b []byte, n int, alone bool) (ZoneForm, time.Duration, int) {
	word := b[:n]
	if n == 1 && b[0] == 'z' {
		word = []byte("Z")
	}
	minutes, known := abbreviations[string(word)]
	if known && minutes == 0 && n == 3 && n < len(b) && (b[n] == '+' || b[n] == '-') {
		if off, m := scanOffset(b[n:], 1); m > 0 {
			return ZoneOffset, off, n + m
		}
	}
	if n < len(b) && (isDigit(b[n]) || b[n] == '>' || b[n] == '-') {
		return NoZone, 0, 0
	}
	switch {
	case known:
		return ZoneOffset, time.Duration(minutes) * time.Minute, n
	case unsure[string(word)], alone && n >= 2 && n <= 5 && upper(word):
		return ZoneUnsure, 0, n
	}
	return NoZone, 0, 0
}

// scanOffset reads +2, +02, +0200 or +02:00 with at least the given number of digits.
func scanOffset(b []byte, least int) (time.Duration, int) {
	i := 1
	for i < len(b) && isDigit(b[i]) {
		i++
	}
	digits := i - 1
	h, m := 0, 0
	switch {
	case digits < least || digits > 4 || digits == 3:
		return 0, 0
	case digits == 4:
		h, m = two(b[1:]), two(b[3:])
	case digits == 2:
		h = two(b[1:])
	default:
		h = int(b[1] - '0')
	}
	if digits <= 2 && i+2 < len(b) && b[i] == ':' && isDigit(b[i+1]) && isDigit(b[i+2]) {
		m = two(b[i+1:])
		i += 3
	}
	if h > 14 || m > 59 || (i < len(b) && isLetterOrDigit(b[i])) {
		return 0, 0
	}
	off := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute
	if b[0] == '-' {
		off = -off
	}
	return off, i
}

// areas are the first parts of the IANA names of places.
var areas = map[string]bool{"Africa": true, "America": true, "Antarctica": true, "Arctic": true, "Asia": true, "Atlantic": true,
	"Australia": true, "Europe": true, "Indian": true, "Pacific": true, "Etc": true}

// scanPlace reads an IANA name whose area is the first n bytes of b.
func scanPlace(b []byte, n int) (ZoneForm, time.Duration, int) {
	if !areas[string(b[:n])] {
		return NoZone, 0, 0
	}
	i := n + 1
	for i < len(b) && (isLetter(b[i]) || b[i] == '_' || b[i] == '/' || b[i] == '-' || b[i] == '+' || isDigit(b[i])) {
		i++
	}
	if i == n+1 {
		return NoZone, 0, 0
	}
	return ZonePlace, 0, i
}

// weekday steps over the name of a day, its comma and blanks.
func (p *scanner) weekday() {
	n := letters(p.b[p.i:])
	if n < 3 || n > 9 || !isWeekday(p.b[p.i:p.i+n]) {
		return
	}
	behind := n
	for c := p.at(behind); c == ',' || c == '.' || c == ' '; c = p.at(behind) {
		behind++
	}
	if behind > n {
		p.i += behind
	}
}

func isWeekday(word []byte) bool {
	for day := time.Sunday; day <= time.Saturday; day++ {
		if name := day.String(); foldEqual(word, name) || foldEqual(word, name[:3]) {
			return true
		}
	}
	return false
}

// month reads an English month, whole or its first three letters (Sept too); 0 when there is none.
func (p *scanner) month() int {
	n := letters(p.b[p.i:])
	if n < 3 || n > 9 {
		return 0
	}
	word := p.b[p.i : p.i+n]
	for m := time.January; m <= time.December; m++ {
		name := m.String()
		if foldEqual(word, name) || foldEqual(word, name[:3]) || (m == time.September && foldEqual(word, "sept")) {
			p.i += n
			if p.at(0) == '.' {
				p.i++
			}
			return int(m)
		}
	}
	return 0
}

// months are names of months in other languages of Europe, in lower case, with their usual short forms, month by month (from
// memory).
const months = " januar jänner janvier janv enero ene gennaio gen januari janeiro /" +
	" februar février févr fév febrero febbraio februari fevereiro fev /" +
	" märz mär mrz mars marzo maart mrt março /" +
	" avril avr abril abr aprile /" +
	" mai mayo maggio mag mei maio maj /" +
	" juni juin junio giugno giu junho /" +
	" juli juillet juil julio luglio lug julho /" +
	" août agosto ago augustus augusti /" +
	" septembre septiembre settembre setembro set /" +
	" oktober okt octobre octubre ottobre ott outubro out /" +
	" novembre noviembre novembro /" +
	" dezember dez décembre déc diciembre dic dicembre desember des dezembro "

// foreignMonth reads a month in a language other than English; 0 when there is none.
func (p *scanner) foreignMonth() int {
	var word [16]byte
	n := 0
	for c := p.at(0); n < len(word)-2 && (isLetter(c) || c >= 0x80); c = p.at(n) {
		if c < 0x80 {
			c |= 0x20
		}
		n++
		word[n] = c
	}
	word[0], word[n+1] = ' ', ' '
	at := strings.Index(months, string(word[:n+2]))
	if n == 0 || at < 0 {
		return 0
	}
	p.i += n
	if p.at(0) == '.' {
		p.i++
	}
	return 1 + strings.Count(months[:at], "/")
}

// blanks steps over blanks, tabs and no-break blanks (U+00A0, U+202F in UTF-8) and counts their bytes.
//
//go:noinline
func (p *scanner) blanks() int {
	from := p.i
	for {
		switch {
		case p.at(0) == ' ' || p.at(0) == '\t':
			p.i++
		case p.at(0) == 0xc2 && p.at(1) == 0xa0:
			p.i += 2
		case p.at(0) == 0xe2 && p.at(1) == 0x80 && p.at(2) == 0xaf:
			p.i += 3
		default:
			return p.i - from
		}
	}
}

// at gives the byte k behind the scanner, 0 outside the text. Like the others below it is called from everywhere in this package,
// and stands in the page once.
//
//go:noinline
func (p *scanner) at(k int) byte {
	if i := p.i + k; i >= 0 && i < len(p.b) {
		return p.b[i]
	}
	return 0
}

// run counts the digits that stand k bytes ahead, at most 19.
//
//go:noinline
func (p *scanner) run(k int) int {
	n := 0
	for n < 19 && isDigit(p.at(k+n)) {
		n++
	}
	return n
}

// number reads n digits that are known to be there.
//
//go:noinline
func (p *scanner) number(n int) int64 {
	v := int64(0)
	for range n {
		v = v*10 + int64(p.at(0)-'0')
		p.i++
	}
	return v
}

// upTo2 reads one or two digits; 0 when there is none.
//
//go:noinline
func (p *scanner) upTo2() int { return int(p.number(min(p.run(0), 2))) }

func validDate(s *Stamp) bool {
	return s.Year >= 1970 && s.Year < 2200 && s.Month >= 1 && s.Month <= 12 && s.Day >= 1 && s.Day <= daysIn(s.Year, s.Month)
}

func validPairless(s *Stamp) bool {
	return s.Month >= 1 && s.Month <= 12 && s.Day >= 1 && s.Day <= daysIn(2000, s.Month)
}

func daysIn(year, month int) int {
	if month == 2 && year%4 == 0 && (year%100 != 0 || year%400 == 0) {
		return 29
	}
	return [...]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[month-1]
}

// letters counts the letters that b begins with.
func letters(b []byte) int {
	n := 0
	for n < len(b) && isLetter(b[n]) {
		n++
	}
	return n
}

func isDigit(c byte) bool         { return c-'0' < 10 }
func isLetter(c byte) bool        { return c|0x20 >= 'a' && c|0x20 <= 'z' }
func isLetterOrDigit(c byte) bool { return isDigit(c) || isLetter(c) }
func two(b []byte) int            { return int(b[0]-'0')*10 + int(b[1]-'0') }

func upper(b []byte) bool {
	for _, c := range b {
		if c < 'A' || c > 'Z' {
			return false
		}
	}
	return true
}

// foldEqual compares ASCII without regard to case.
func foldEqual(b []byte, s string) bool {
	if len(b) != len(s) {
		return false
	}
	for i := range b {
		if b[i]|0x20 != s[i]|0x20 {
			return false
		}
	}
	return true
}
