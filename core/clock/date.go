package clock

import "time"

// date reads a date and tells whether there was one; without one the scanner has not moved.
func (p *scanner) date(s *Stamp, digits int) bool {
	from := p.i
	ok := false
	switch {
	case digits == 8:
		ok = p.compactDate(s)
	case digits == 4:
		ok = p.yearFirst(s)
	case digits == 1 || digits == 2:
		ok = p.numbers(s, digits) || p.dayThenName(s, digits)
	case isLetter(p.at(0)):
		ok = p.nameThenDay(s)
	}
	if !ok {
		p.i = from
		*s = Stamp{}
	}
	return ok
}

func (p *scanner) compactDate(s *Stamp) bool {
	s.Date, s.Year, s.Month, s.Day = FullDate, int(p.number(4)), int(p.number(2)), int(p.number(2))
	return validDate(s)
}

// yearFirst reads 2031-05-02, also with '/' or '.', and 2031-May-02.
func (p *scanner) yearFirst(s *Stamp) bool {
	s.Date, s.Year = FullDate, int(p.number(4))
	sep := p.at(0)
	if sep != '-' && sep != '/' && sep != '.' {
		return false
	}
	p.i++
	if p.run(0) == 3 && sep != '/' {
		return p.dayOfYear(s)
	}
	if p.at(0) == 'W' && sep == '-' {
		return p.week(s)
	}
	if isLetter(p.at(0)) {
		s.Month = p.month()
	} else {
		s.Month = p.upTo2()
	}
	if p.at(0) != sep {
		return false
	}
	p.i++
	s.Day = p.upTo2()
	return !isDigit(p.at(0)) && validDate(s)
}

// dayOfYear reads the rest of 2031-122.
func (p *scanner) dayOfYear(s *Stamp) bool {
	n := int(p.number(3))
	return n > 0 && p.setDay(s, time.Date(s.Year, 1, n, 0, 0, 0, 0, time.UTC), s.Year)
}

// week reads the rest of 2031-W18-5: the week that holds 4 January is the first, Monday is 1. Source: ISO 8601:2019 5.2.3.
func (p *scanner) week(s *Stamp) bool {
	p.i++
	if p.run(0) != 2 || p.at(2) != '-' || p.run(3) != 1 {
		return false
	}
	week := int(p.number(2))
	p.i++
	day := int(p.number(1))
	fourth := time.Date(s.Year, 1, 4, 0, 0, 0, 0, time.UTC)
	monday := fourth.AddDate(0, 0, -(int(fourth.Weekday())+6)%7)
	at := monday.AddDate(0, 0, 7*(week-1)+day-1)
	year, _ := at.ISOWeek()
	return week > 0 && day > 0 && day < 8 && year == s.Year && p.setDay(s, at, at.Year())
}

// setDay takes a day that must lie in the year given.
func (p *scanner) setDay(s *Stamp, at time.Time, year int) bool {
	s.Year, s.Month, s.Day = at.Year(), int(at.Month()), at.Day()
	return at.Year() == year && validDate(s)
}

// dateLast reads the date of 07:40:12 02/05/2031, which stands behind the time of day and is not that of another stamp.
func (p *scanner) dateLast(s *Stamp) {
	from := p.i
	if p.at(0) == ',' {
		p.i++
	}
	var d Stamp
	digits := 0
	if p.blanks() > 0 {
		p.weekday()
		digits = p.run(0)
	}
	if (digits == 1 || digits == 2 || digits == 4) && p.date(&d, digits) && d.Year > 0 && !isLetterOrDigit(p.at(0)) && p.at(0) != '-' && p.at(0) != '>' {
		behind := *p
		if t := d; !behind.joint() || !behind.time(&t, true) {
			s.Date, s.Orders, s.Likely, s.Year, s.Month, s.Day = d.Date, d.Orders, d.Likely, d.Year, d.Month, d.Day
			return
		}
	}
	p.i = from
}

// numbers reads 02/05/2031, 2.5.31 and 31-05-02: three numbers whose order the values may tell.
func (p *scanner) numbers(s *Stamp, digits int) bool {
	from := p.i
	first := int(p.number(digits))
	sep := p.at(0)
	if sep != '/' && sep != '.' && sep != '-' {
		p.i = from
		return false
	}
	p.i++
	short := digits == 2 && p.run(0) == 2 && p.run(3) == 2 && sep != '.'
	second := p.upTo2()
	same := p.at(0) == sep && second > 0
	p.i++
	year, ok := p.year()
	s.Date, s.Year, s.Month, s.Day = OpenDate, year, first, second
	s.Orders = ordersOf(s, sep, short)
	if s.Likely = s.Orders & -s.Orders; sep == '-' && s.Orders&YearFirst != 0 {
		s.Likely = YearFirst // source: ISO 8601:2000 5.2.1.3, from memory; later editions want four figures
	}
	if !ok || !same || s.Orders == 0 {
		p.i = from
		return false
	}
	if first == second && s.Orders&YearFirst == 0 {
		s.Date, s.Orders, s.Likely = FullDate, 0, 0
	}
	return true
}

// ordersOf gives the orders in which the numbers of s are a date. Between full stops the day stands first where it can; the year
// stands first only where each number has two figures.
func ordersOf(s *Stamp, sep byte, short bool) (orders DateOrder) {
	for _, order := range [...]DateOrder{DayFirst, MonthFirst, YearFirst} {
		year, month, day := s.In(order)
		if order == YearFirst && !short || !validDate(&Stamp{Year: year, Month: month, Day: day}) {
			continue
		}
		if orders |= order; sep == '.' {
			break
		}
	}
	return orders
}

// dayThenName reads 2 May 2031, 02-May-2031, 2. Mai 2031, 2 de mayo de 2031 and 2 May.
func (p *scanner) dayThenName(s *Stamp, digits int) bool {
	s.Date, s.Day = FullDate, int(p.number(digits))
	if c := p.at(0); c != ' ' && c != '-' && c != '/' && c != '.' {
		return false
	}
	p.i++
	p.blanks()
	p.of()
	if s.Month = p.month(); s.Month == 0 {
		s.Month = p.foreignMonth()
	}
	if s.Month == 0 {
		return false
	}
	p.of()
	return p.yearAfterName(s)
}

// of steps over the de of 2 de mayo de 2031, and the blanks around it.
func (p *scanner) of() {
	from := p.i
	p.blanks()
	if p.at(0) != 'd' || p.at(1) != 'e' || p.at(2) != ' ' {
		p.i = from
		return
	}
	p.i += 3
}

// nameThenDay reads May 2 2031, May 2, 2031 and May  2.
func (p *scanner) nameThenDay(s *Stamp) bool {
	s.Date = FullDate
	if s.Month = p.month(); s.Month == 0 {
		return false
	}
	if p.blanks() == 0 && p.at(0) != '-' {
		return false
	}
	if p.at(0) == '-' {
		p.i++
	}
	if s.Day = p.upTo2(); s.Day == 0 || isDigit(p.at(0)) {
		return false // of 30 Feb 2031, which is none, Feb 20
	}
	return p.yearAfterName(s)
}

// yearAfterName reads the year that follows a day and a month in letters, where there is one.
func (p *scanner) yearAfterName(s *Stamp) bool {
	from := p.i
	for c := p.at(0); c == ',' || c == '-' || c == '/' || c == '.' || c == ' '; c = p.at(0) {
		p.i++
	}
	if digits := p.run(0); digits == 4 || digits == 2 && p.at(digits) != ':' {
		s.Year, _ = p.year()
		return validDate(s)
	}
	p.i = from
	s.Date, s.Year = NoYear, 0
	return validPairless(s)
}

// yearLast reads the year of Fri May  2 07:40:12 2031.
func (p *scanner) yearLast(s *Stamp) {
	from := p.i
	if p.blanks() > 0 && p.run(0) == 4 {
		year := int(p.number(4))
		if year >= 1970 && year < 2200 && !isLetterOrDigit(p.at(0)) && p.at(0) != '-' {
			s.Date, s.Year = FullDate, year
			if validDate(s) {
				return
			}
			s.Date, s.Year = NoYear, 0
		}
	}
	p.i = from
}

// year reads four digits, or two for 1970 to 2069.
func (p *scanner) year() (int, bool) {
	switch p.run(0) {
	case 4:
		return int(p.number(4)), true
	case 2:
		return fullYear(int(p.number(2))), true
	}
	return 0, false
}

// fullYear gives the year that two figures stand for.
func fullYear(figures int) int {
	if figures < 70 {
		return 2000 + figures
	}
	return 1900 + figures
}
