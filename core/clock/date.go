package clock

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
		ok = p.pair(s, digits) || p.dayThenName(s, digits)
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
	s.Date, s.Year, s.Month, s.Day = YearFirst, int(p.number(4)), int(p.number(2)), int(p.number(2))
	return validDate(s)
}

// yearFirst reads 2031-05-02, also with '/' or '.', and 2031-May-02.
func (p *scanner) yearFirst(s *Stamp) bool {
	s.Date, s.Year = YearFirst, int(p.number(4))
	sep := p.at(0)
	if sep != '-' && sep != '/' && sep != '.' {
		return false
	}
	p.i++
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

// pair reads 02/05/2031, 2.5.31 and 02-05-2031: two numbers whose order the values may tell, and a year. Two figures
// between dashes might be a year that stands first, so 02-05-31 is refused.
func (p *scanner) pair(s *Stamp, digits int) bool {
	from := p.i
	first := int(p.number(digits))
	sep := p.at(0)
	if (sep != '/' && sep != '.' && sep != '-') || !isDigit(p.at(1)) {
		p.i = from
		return false
	}
	p.i++
	second := p.upTo2()
	if p.at(0) != sep {
		p.i = from
		return false
	}
	p.i++
	short := p.run(0) == 2
	year, ok := p.year()
	s.Date, s.Year, s.Month, s.Day = orderOf(first, second, sep), year, first, second
	if !ok || (short && sep == '-') || !validPair(s) {
		p.i = from
		return false
	}
	return true
}

// orderOf tells the order of two numbers of a date as far as they tell it themselves.
func orderOf(first, second int, sep byte) DateForm {
	switch {
	case first == second:
		return YearFirst
	case first > 12 || sep == '.':
		return DayFirst
	case second > 12:
		return MonthFirst
	}
	return PairOfDates
}

// dayThenName reads 2 May 2031, 02-May-2031 and 2 May.
func (p *scanner) dayThenName(s *Stamp, digits int) bool {
	s.Date, s.Day = YearFirst, int(p.number(digits))
	if c := p.at(0); c != ' ' && c != '-' && c != '/' && c != '.' {
		return false
	}
	p.i++
	p.blanks()
	if s.Month = p.month(); s.Month == 0 {
		return false
	}
	return p.yearAfterName(s)
}

// nameThenDay reads May 2 2031, May 2, 2031 and May  2.
func (p *scanner) nameThenDay(s *Stamp) bool {
	s.Date = YearFirst
	if s.Month = p.month(); s.Month == 0 {
		return false
	}
	if p.blanks() == 0 && p.at(0) != '-' {
		return false
	}
	if p.at(0) == '-' {
		p.i++
	}
	if s.Day = p.upTo2(); s.Day == 0 {
		return false
	}
	return p.yearAfterName(s)
}

// yearAfterName reads the year that follows a day and a month in letters, where there is one.
func (p *scanner) yearAfterName(s *Stamp) bool {
	from := p.i
	for c := p.at(0); c == ',' || c == '-' || c == '/' || c == '.' || c == ' '; c = p.at(0) {
		p.i++
	}
	if digits := p.run(0); (digits == 4 || digits == 2) && p.at(digits) != ':' {
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
			s.Date, s.Year = YearFirst, year
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
		y := int(p.number(2))
		if y < 70 {
			return 2000 + y, true
		}
		return 1900 + y, true
	}
	return 0, false
}
