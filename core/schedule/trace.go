package schedule

// A mark says what a heard beacon was: steps due times after the anchor before it, off seconds after its due time, on a
// rung. A stray is a beacon beside the rule, whose clock ran on; the first beacon and one where the clock began anew are
// anchors that no due time explains.
type mark struct {
	at    float64
	role  role
	steps int
	off   float64
	rung  int
	shift float64 // of a clock that began anew: s since the last due time of the old clock
}

type role uint8

const (
	anew role = iota
	onTime
	stray
)

// A link leads from an explanation of one beacon to that of the beacon before.
type link struct {
	parent int
	mark   mark
}

// trace gives the likeliest explanation of every beacon, looking at those before and after it.
func (f *filter) trace(b fit) []mark {
	f.links, f.each = f.links[:0], f.each[:0]
	f.tracing = true
	f.over(b.rule, b.noise)
	f.tracing = false
	best := 0
	for i, g := range f.now {
		if g.weight > f.now[best].weight {
			best = i
		}
	}
	marks := make([]mark, len(f.at))
	for i, at := len(marks)-1, f.now[best].link; i >= 0; i-- {
		marks[i] = f.links[at].mark
		at = f.links[at].parent
	}
	f.bridge(b, marks)
	return marks
}

// bridge counts the due times that passed in a gap after which the clock began anew: a long silence through which the rule
// ran on costs more likelihood than a fresh start, but its beacons were due all the same. The beacon itself is the last. So it
// is with a last beacon after a silence: beside the rule only by its price, it is on time when it stands on a due time.
func (f *filter) bridge(b fit, marks []mark) {
	last, lone := marks[0], len(marks)
	for lone > 1 && marks[lone-1].role == stray {
		lone--
	}
	for i := 1; i < len(marks); i++ {
		m := &marks[i]
		if m.role == anew {
			m.cross(b, last, f.gapError(b.noise))
		}
		if i >= lone {
			m.rejoin(b, last, f.gapError(b.noise))
		}
		if m.role != stray {
			last = *m
		}
	}
}

// dear is how many due times in a row may be missed before that explanation of a beacon costs more than any other.
const dear = 3

// rejoin takes a stray for on time when it stands on a due time after a long silence.
func (m *mark) rejoin(b fit, anchor mark, sd float64) {
	crossed := *m
	if crossed.cross(b, anchor, sd); crossed.role == onTime && crossed.steps > dear {
		*m = crossed
	}
}

const mostSteps = 1 << 20

// cross counts the due times from an anchor up to m. When the last of them is within four standard deviations of a gap (or 0.2 % of
// the gap) of m, the clock ran on; else m is one more, and shift tells how long after the last due time it stands.
func (m *mark) cross(b fit, anchor mark, sd float64) {
	tolerance := max(4*sd, 0.002*(m.at-anchor.at))
	from, rung, steps := b.rule.leap(anchor.at, anchor.rung, m.at-tolerance)
	for steps < mostSteps {
		due, next, _ := b.rule.next(from, rung)
		if due > m.at+tolerance {
			m.steps, m.shift = steps+1, m.at-from
			return
		}
		steps++
		if due >= m.at-tolerance {
			m.role, m.steps, m.off, m.rung = onTime, steps, m.at-due, next
			return
		}
		from, rung = due, next
	}
	m.steps = steps
}

// note records how a guess came about and gives its link; 0 when nothing is traced.
func (f *filter) note(parent int, m mark) int {
	if !f.tracing {
		return 0
	}
	f.links = append(f.links, link{parent, m})
	return len(f.links) - 1
}
