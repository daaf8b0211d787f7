package schedule

import "lastbeacon/core/motion"

// A fixed interval that was heard on the way only may be the base of a schedule that slows down at rest: all its longer intervals
// are whole numbers of the base, so that its beacons at rest look like those of the fixed one, most of them lost.

// leastAtRest is the share of single intervals elsewhere that must be heard at rest to show the interval there: a unit that slows
// down has few, as where it leaves.
const leastAtRest = 0.5

// shownAtRest tells whether single intervals were heard after rests in which any hold had ended, about as often as elsewhere; also
// where the unit was not heard after so long a rest.
func shownAtRest(period float64, marks []mark, w *way) bool {
	var rested, elsewhere struct{ gaps, singles int }
	for i := 1; i < len(marks); i++ {
		last, m := marks[i-1].at, marks[i]
		of := &elsewhere
		if w.restingFor(last) > (mostHold+0.5)*period && w.movingTime(last, m.at) == 0 {
			of = &rested
		}
		of.gaps++
		if m.role == onTime && m.steps == 1 {
			of.singles++
		}
	}
	return float64(rested.singles*elsewhere.gaps) >= leastAtRest*float64(elsewhere.singles*rested.gaps)
}

// unshown gives how many of the missed beacons of a fixed interval may not have been sent, since it was not shown at rest.
func (f *filter) unshown(r rule, marks []mark, found Misses, m motion.Timeline) float64 {
	fixed, ok := r.(fixedRule)
	w := newWay(f.s, m)
	if !ok || len(w.moves) == 0 || shownAtRest(fixed.period, marks, w) {
		return 0
	}
	n := 0.0
	for _, due := range found.Due {
		if t := f.s.second(due); w.restingFor(t) > fixed.period && w.movingTime(t, t+0.001) == 0 {
			n++
		}
	}
	return n
}

// shownAtRest tells it of the beacons a schedule was found from.
func (s Schedule) shownAtRest(m motion.Timeline) bool {
	if s.Kind != Fixed || len(s.marks) == 0 {
		return true
	}
	of := &series{origin: s.marks[0].at}
	marks := make([]mark, len(s.marks))
	for i, p := range s.marks {
		marks[i] = mark{at: of.second(p.at), role: p.role, steps: p.steps}
	}
	w := newWay(of, m)
	return len(w.moves) == 0 || shownAtRest(s.Interval.Best, marks, w)
}
