package schedule

import (
	"math"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// A way is a timeline prepared for rules: stretches of movement, and speed and course on an even grid, which is laid when a
// rule asks for it. Times are seconds since the origin of a series. Before the first and after the last thing known, that
// thing is taken to hold.
type way struct {
	moves   []stretch
	near    int // the last of them that was asked for
	origin  clock.Instant
	samples []motion.Sample

	asked  bool // whether the rest was laid
	start  float64
	step   float64
	speed  []float64 // m/s, median of three cells; 0 where nothing is known
	course []float64 // degrees, noCourse where not known
	awake  []int32   // for each cell the first one from it on that is faster than resting
	known  bool      // speeds are known at all
	sparse bool      // they are known at the beacons only
}

// A stretch of movement, with the standard errors of its ends.
type stretch struct{ from, to, onset, stop float64 }

const (
	resting   = 0.5   // m/s; below it no adaptive schedule looks at the speed
	gridStep  = 5.0   // s
	mostCells = 40000 // longer spans get a wider step
)

// newWay prepares the timeline from the origin of s on.
func newWay(s *series, m motion.Timeline) *way {
	w := &way{origin: s.origin, samples: m.Samples, step: gridStep, sparse: !m.Dense}
	for _, p := range m.Periods {
		if p.State != motion.Moving {
			continue
		}
		move := stretch{s.second(p.Start.Best), s.second(p.End.Best), spread(p.Start), spread(p.End)}
		if n := len(w.moves); n > 0 && w.moves[n-1].to >= move.from {
			w.moves[n-1].to, w.moves[n-1].stop = move.to, move.stop
			continue
		}
		w.moves = append(w.moves, move)
	}
	return w
}

// laid lays the grid when it is first asked for, and tells whether speeds are known at all.
func (w *way) laid() bool {
	if !w.asked {
		w.asked = true
		w.lay(&series{origin: w.origin})
	}
	return w.known
}

// prepared is a way kept with what tells the timeline that it was made of, so that it need not be made for every question.
type prepared struct {
	made   *way
	origin clock.Instant
	of     outline
}

// An outline tells one timeline from another: counts, ends, a sample in the middle and the sum of all bounds of periods.
type outline struct {
	periods, samples    int
	first, middle, last clock.Instant
	bounds              clock.Instant
	dense               bool
}

func outlineOf(m motion.Timeline) outline {
	o := outline{periods: len(m.Periods), samples: len(m.Samples), dense: m.Dense}
	if n := len(m.Samples); n > 0 {
		o.first, o.middle, o.last = m.Samples[0].At, m.Samples[n/2].At, m.Samples[n-1].At
	}
	for i, p := range m.Periods {
		o.bounds += clock.Instant(i+1) * (p.Start.Best + clock.Instant(p.State))
	}
	return o
}

// way gives a way of the timeline and its origin: the one kept, or a new one that begins at after.
func (p prepared) way(after clock.Instant, m motion.Timeline) (*way, clock.Instant) {
	if p.made != nil && after >= p.origin && p.of == outlineOf(m) {
		return p.made, p.origin
	}
	return newWay(&series{origin: after}, m), after
}

// spread gives the standard error of a time known between bounds, s.
func spread(b clock.Between) float64 {
	width, ok := b.Width()
	if !ok {
		return 0
	}
	return width.Seconds() / 4
}

// lay fills the grid.
func (w *way) lay(s *series) {
	if len(w.samples) < 2 {
		return
	}
	first, last := s.second(w.samples[0].At), s.second(w.samples[len(w.samples)-1].At)
	w.start = max(first, -gridStep)
	if last <= w.start {
		return
	}
	w.step = max(gridStep, math.Ceil((last-w.start)/mostCells))
	cells := int((last-w.start)/w.step) + 1
	w.known = true
	raw := make([]float64, cells)
	w.course = make([]float64, cells)
	next := 0
	for i := range raw {
		t := w.start + (float64(i)+0.5)*w.step
		for next < len(w.samples)-1 && s.second(w.samples[next].At) < t {
			next++
		}
		raw[i], w.course[i] = between(s, w.samples, next, t)
	}
	w.speed = medians(raw)
	w.holdCourse()
	w.awake = make([]int32, cells)
	next = cells
	for i := cells - 1; i >= 0; i-- {
		if w.speed[i] >= resting {
			next = i
		}
		w.awake[i] = int32(next)
	}
}

// between reads speed and course at t; samples[next] is the first at or after t. Course is that of the sample before.
func between(s *series, samples []motion.Sample, next int, t float64) (speed, course float64) {
	b := samples[next]
	if next == 0 {
		return b.Speed, b.Course
	}
	a := samples[next-1]
	ta, tb := s.second(a.At), s.second(b.At)
	part := clamp((t-ta)/max(tb-ta, 1e-3), 0, 1)
	switch {
	case math.IsNaN(a.Speed):
		return b.Speed, b.Course
	case math.IsNaN(b.Speed):
		return a.Speed, a.Course
	}
	course = b.Course
	if part < 0.5 || math.IsNaN(course) {
		course = a.Course
	}
	return a.Speed + part*(b.Speed-a.Speed), course
}

// medians gives the median of three neighbours, with unknown speeds as 0.
func medians(raw []float64) []float64 {
	for i, v := range raw {
		if math.IsNaN(v) {
			raw[i] = 0
		}
	}
	smooth := make([]float64, len(raw))
	for i, v := range raw {
		a, b := raw[max(i-1, 0)], raw[min(i+1, len(raw)-1)]
		smooth[i] = max(min(a, v), min(max(a, v), b))
	}
	return smooth
}

// noCourse stands for a course that is not known.
const noCourse = -1.0

// holdCourse lets a course hold until the next one known: a unit that stands still has no course of its own.
func (w *way) holdCourse() {
	held := noCourse
	for i, c := range w.course {
		if math.IsNaN(c) {
			w.course[i] = held
			continue
		}
		held = c
	}
}

// cell gives the cell of the grid that holds t.
func (w *way) cell(t float64) int {
	return int(clamp(math.Floor((t-w.start)/w.step), 0, float64(len(w.speed)-1)))
}

// movement gives the first stretch of movement that ends after t, nil when there is none.
func (w *way) movement(t float64) *stretch {
	if i := w.ending(t); i < len(w.moves) {
		return &w.moves[i]
	}
	return nil
}

// ending gives the place of the first stretch of movement that ends after t. Hot: rules ask for one time soon after the other, so that
// the last answer mostly holds.
func (w *way) ending(t float64) int {
	i := w.near
	if (i == len(w.moves) || w.moves[i].to > t) && (i == 0 || w.moves[i-1].to <= t) {
		return i
	}
	w.near = sort.Search(len(w.moves), func(i int) bool { return w.moves[i].to > t })
	return w.near
}

// stopped tells whether a movement may have ended at t: within so many seconds of it, or within the error of its end.
func (w *way) stopped(t, within float64) bool {
	i := w.ending(t)
	for k := max(i-1, 0); k <= i && k < len(w.moves); k++ {
		if math.Abs(w.moves[k].to-t) <= max(within, 2*w.moves[k].stop) {
			return true
		}
	}
	return false
}

// movingTime gives the seconds of movement between two times.
func (w *way) movingTime(from, to float64) float64 {
	sum := 0.0
	for _, m := range w.moves {
		sum += max(0, min(m.to, to)-max(m.from, from))
	}
	return sum
}

// longestRest gives the longest time without movement between two times, s.
func (w *way) longestRest(from, to float64) float64 {
	longest := 0.0
	for _, m := range w.moves {
		longest = max(longest, min(m.from, to)-from)
		from = max(from, m.to)
	}
	return max(longest, to-from)
}

// restingFor gives how long the unit had rested at t, counted from the origin at most, s.
func (w *way) restingFor(t float64) float64 {
	since := 0.0
	for _, m := range w.moves {
		if m.from < t {
			since = max(since, min(m.to, t))
		}
	}
	return t - since
}
