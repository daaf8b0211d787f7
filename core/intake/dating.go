package intake

import (
	"cmp"
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// dating turns the stamps of one file into instants. It settles once, from the first lines, what stamps leave open (order
// of day and month, the day itself, whether the list runs backwards), and then follows the lines.
type dating struct {
	notes *notes
	set   Settings

	zone      *clock.Zone
	zoneBasis string
	stated    string // the zone that the first stamp with one states
	places    map[string]*clock.Zone

	order      clock.DateOrder // of open dates
	orders     clock.DateOrder // those that fit every open date so far
	likely     clock.DateOrder // of the first open date
	orderBasis basis
	open       samples     // lines whose date fits several orders
	opened     clock.Stamp // of the last of them

	dayOf [3]int // year, month and day whose midnight is day
	day   clock.Instant

	today     clock.Instant // wall time of the stamp before, or midnight of the first day; None while unknown
	dateBasis basis
	undated   samples // lines without a date or a year
	placed    string  // the date that was taken

	started   bool          // a stamp was read
	backwards bool          // newest first
	last      clock.Instant // of the line before
	lastLine  evidence.Line
	lastText  []byte
	usual     time.Duration // what usually lies between two lines
	shift     time.Duration // added after a jump back of an hour without zone
	jump      samples
	pastes    pastes

	dial         dial
	steps        steps
	fromComments bool
	lastComment  clock.Instant
	commentGaps  []time.Duration
	carried      clock.Instant // of a line that held nothing but a stamp
}

// A basis says where a decision comes from.
type basis uint8

const (
	assumed basis = iota
	fromName
	decided // by the content
	setByUser
)

// samples are the first two lines of a kind.
type samples struct {
	n    int
	line [2]evidence.Line
	text [2][]byte
}

func (s *samples) add(line evidence.Line, text []byte) {
	if s.n < 2 {
		s.line[s.n], s.text[s.n] = line, slices.Clone(text[:min(len(text), maxExcerpt)])
	}
	s.n++
}

// steps finds the step of the stamps: the coarsest written, and coarser where the places behind never change.
type steps struct {
	n                   int
	coarsest            time.Duration
	secondsMove, msMove bool
}

func (s *steps) add(step, of time.Duration) {
	s.n++
	s.coarsest = max(s.coarsest, step)
	s.secondsMove = s.secondsMove || of%time.Minute != 0
	s.msMove = s.msMove || of%time.Second != 0
}

// enough is how many stamps it takes to believe that seconds which are always :00 are none.
const enough = 20

func (s *steps) seconds() float64 {
	switch {
	case s.n >= enough && !s.secondsMove:
		return max(s.coarsest, time.Minute).Seconds()
	case s.n >= enough && !s.msMove:
		return max(s.coarsest, time.Second).Seconds()
	}
	return s.coarsest.Seconds()
}

func newDating(name string, set Settings, n *notes) dating {
	d := dating{notes: n, set: set, zoneBasis: "assumed", today: clock.None, last: clock.None, lastComment: clock.None, carried: clock.None,
		order: clock.DayFirst, orders: clock.DayFirst | clock.MonthFirst | clock.YearFirst, places: map[string]*clock.Zone{}}
	d.zone = clock.FixedZone("UTC", 0)
	if set.Zone != "" {
		if z, err := clock.ZoneNamed(set.Zone); err == nil {
			d.zone, d.zoneBasis = z, "set by you"
		} else {
			n.add(note{code: "time.bad-zone", text: err.Error() + "; UTC is taken"})
		}
	}
	switch {
	case set.Half != "" && set.HalfDay == NoHalves:
		d.set.HalfDay = FromNoon
	case set.Half != "" && set.HalfDay == AllHours:
		n.add(note{code: "time.half-day-set"})
	}
	if order := orderNamed(set.DayOrder); order != 0 {
		d.order, d.orderBasis = order, setByUser
	}
	d.firstDay(name)
	return d
}

// firstDay takes the day of the first line from the settings, else from the file's name.
func (d *dating) firstDay(name string) {
	if d.set.Date != "" {
		if t, err := time.Parse(time.DateOnly, d.set.Date); err == nil {
			d.today, d.dateBasis, d.placed = clock.At(t), setByUser, d.set.Date
			return
		}
		d.notes.add(note{code: "time.bad-date"})
	}
	if t, ok := dateInName(name); ok {
		d.today, d.dateBasis, d.placed = clock.At(t), fromName, t.Format(time.DateOnly)
	}
}

// NoDay is the date taken while nothing tells the day: spans come out right, dates do not.
const NoDay = "2000-01-01"

// dateInName finds 2031-05-02, 20310502 or 2031_05_02 in a file's name.
func dateInName(name string) (time.Time, bool) {
	for i := 0; i+8 <= len(name); i++ {
		if i > 0 && digit(name[i-1]) {
			continue
		}
		for _, layout := range []string{"2006-01-02", "2006_01_02", "2006.01.02", "20060102"} {
			end := i + len(layout)
			if end > len(name) || (end < len(name) && digit(name[end])) {
				continue
			}
			if t, err := time.Parse(layout, name[i:end]); err == nil && t.Year() >= 1990 && t.Year() < 2100 {
				return t, true
			}
		}
	}
	return time.Time{}, false
}

func digit(c byte) bool { return c-'0' < 10 }

// A seenStamp is one stamp of the first lines.
type seenStamp struct {
	stamp   clock.Stamp
	comment bool
	packet  bool // false with comment false: a stamp that stands alone on its line
}

// learn settles the order of open dates, the direction of the list, the first day and the source of times from the
// stamps of the first lines. packets is how many packet lines there were, with stamps or without.
func (d *dating) learn(first []seenStamp, packets int) {
	stamped, comments := 0, 0
	for i := range first {
		if first[i].comment {
			comments++
		} else {
			stamped++
		}
		if s := &first[i].stamp; s.Date == clock.OpenDate && d.orders&s.Orders != 0 {
			d.orders, d.likely = d.orders&s.Orders, cmp.Or(d.likely, s.Likely)
		}
	}
	d.settleOrder(d.orders)
	d.fromComments = packets > 0 && stamped == 0 && comments >= 2
	d.learnOrderAtMidnight(first)
	d.learnDirection(first)
	d.learnDay(first)
}

// settleOrder takes one of the orders that open dates leave: it is decided where they leave only one.
func (d *dating) settleOrder(orders clock.DateOrder) {
	if d.orderBasis >= decided {
		return
	}
	d.orders, d.order = orders, orders&-orders
	if orders&d.likely != 0 {
		d.order = d.likely
	}
	if orders == d.order {
		d.orderBasis = decided
	}
}

// learnOrderAtMidnight decides the order of open dates by two lines that follow one another over the end of a day.
func (d *dating) learnOrderAtMidnight(first []seenStamp) {
	for i := 1; i < len(first) && d.orderBasis < decided; i++ {
		if near := d.overMidnight(&first[i-1].stamp, &first[i].stamp); near != 0 {
			d.settleOrder(near)
		}
	}
}

// overMidnight gives the orders that let less than half a day pass between two open dates that differ.
func (d *dating) overMidnight(a, b *clock.Stamp) (near clock.DateOrder) {
	if a.Date != clock.OpenDate || b.Date != clock.OpenDate || (a.Year == b.Year && a.Month == b.Month && a.Day == b.Day) {
		return 0
	}
	for order := clock.DayFirst; order <= clock.YearFirst; order <<= 1 {
		if d.orders&a.Orders&b.Orders&order != 0 && d.in(a, order).Sub(d.in(b, order)).Abs() < 12*time.Hour {
			near |= order
		}
	}
	return near
}

// learnDirection finds lists that run from the newest line to the oldest.
func (d *dating) learnDirection(first []seenStamp) {
	up, down := 0, 0
	for i := 1; i < len(first); i++ {
		a, b := first[i-1].stamp, first[i].stamp
		delta := time.Duration(0)
		wa, oka := d.wall(&a)
		wb, okb := d.wall(&b)
		switch {
		case a.Date == clock.UnixTime && b.Date == clock.UnixTime:
			delta = b.At.Sub(a.At)
		case oka && okb:
			delta = wb.Sub(wa)
		case a.Date == clock.NoDate && b.Date == clock.NoDate:
			delta = nearest(b.Of - a.Of)
		}
		if delta > 0 {
			up++
		}
		if delta < 0 {
			down++
		}
	}
	d.backwards = down >= 3 && down > 2*up
}

// nearest puts a difference of two times of day between -12 h and 12 h.
func nearest(delta time.Duration) time.Duration {
	const day = 24 * time.Hour
	switch {
	case delta > day/2:
		return delta - day
	case delta < -day/2:
		return delta + day
	}
	return delta
}

// learnDay takes the day of stamps without one from the first stamp that has one, and goes back to the first line from there.
func (d *dating) learnDay(first []seenStamp) {
	if d.dateBasis >= decided {
		return
	}
	at := slices.IndexFunc(first, func(s seenStamp) bool { _, ok := d.wall(&s.stamp); return ok })
	if at < 0 {
		return
	}
	wall, _ := d.wall(&first[at].stamp)
	for i := at - 1; i >= 0; i-- {
		if s := first[i].stamp; s.Date == clock.NoDate {
			wall = d.near(wall, s.Of, !d.backwards)
		}
	}
	d.today, d.dateBasis = wall, decided
}

// wall gives date and time of day of a stamp that tells both, an open date in the order in use where its values allow it.
func (d *dating) wall(s *clock.Stamp) (clock.Instant, bool) {
	switch {
	case s.Date == clock.FullDate:
		return d.midnight(s.Year, s.Month, s.Day).Add(s.Of), true
	case s.Date != clock.OpenDate:
		return clock.None, false
	case s.Orders&d.order != 0:
		return d.in(s, d.order), true
	}
	return d.in(s, s.Likely), true
}

// in gives date and time of day of an open date in one of its orders.
func (d *dating) in(s *clock.Stamp, order clock.DateOrder) clock.Instant {
	return d.midnight(s.In(order)).Add(s.Of)
}

// midnight gives the beginning of a day. Most lines stand on the day of the line before.
func (d *dating) midnight(year, month, day int) clock.Instant {
	if of := [3]int{year, month, day}; of != d.dayOf {
		d.dayOf, d.day = of, clock.At(time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC))
	}
	return d.day
}

// near gives the wall time with the time of day of that lies nearest to wall: up to 2 h against the run of the list, up to
// 22 h with it.
func (d *dating) near(wall clock.Instant, of time.Duration, backwards bool) clock.Instant {
	return nearIn(24*time.Hour, wall, of, backwards)
}

// nearIn does so on a dial that begins again after round.
func nearIn(round time.Duration, wall clock.Instant, of time.Duration, backwards bool) clock.Instant {
	const against = 2 * time.Hour
	t := clock.At(wall.Time().Truncate(round)).Add(of)
	switch delta := t.Sub(wall); {
	case !backwards && delta <= -against:
		t = t.Add(round)
	case !backwards && delta > round-against:
		t = t.Add(-round)
	case backwards && delta >= against:
		t = t.Add(-round)
	case backwards && delta < against-round:
		t = t.Add(round)
	}
	return t
}
