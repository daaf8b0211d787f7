package motion

import (
	"math"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
)

// A Sample is the speed (m/s) and course (degrees, NaN when unknown) at a moment.
type Sample struct {
	At            clock.Instant
	Speed, Course float64
}

const walking = 0.5 // m/s: below it a course means nothing

// SpeedAt gives the speed in m/s at a moment: from the samples, with straight interpolation between them; 0 where the unit
// stood. It is not known outside the time seen and in unknown periods.
func (t Timeline) SpeedAt(at clock.Instant) (mps float64, known bool) {
	switch t.StateAt(at) {
	case Stationary:
		return 0, true
	case Unknown:
		return 0, false
	}
	a, b, f, ok := t.around(at)
	if !ok {
		return 0, false
	}
	return a.Speed + f*(b.Speed-a.Speed), true
}

// CourseAt gives the course in degrees (0 <= course < 360) at a moment, turning the shorter way between two samples. It is
// known only while the unit moves.
func (t Timeline) CourseAt(at clock.Instant) (degrees float64, known bool) {
	if t.StateAt(at) != Moving {
		return 0, false
	}
	a, b, f, ok := t.around(at)
	if !ok || (math.IsNaN(a.Course) && math.IsNaN(b.Course)) {
		return 0, false
	}
	from, to := a.Course, b.Course
	if math.IsNaN(from) {
		from = to
	}
	if math.IsNaN(to) {
		to = from
	}
	return full(from + f*math.Remainder(to-from, 360)), true
}

// around gives the two samples that at lies between and the share of the way from the first to the second.
func (t Timeline) around(at clock.Instant) (a, b Sample, share float64, ok bool) {
	next := sort.Search(len(t.Samples), func(i int) bool { return t.Samples[i].At >= at })
	if next == len(t.Samples) {
		next--
	}
	if next < 0 {
		return a, b, 0, false
	}
	b = t.Samples[next]
	a = b
	if next > 0 && b.At > at {
		a = t.Samples[next-1]
	}
	if width := b.At - a.At; width > 0 {
		share = float64(at-a.At) / float64(width)
	}
	return a, b, share, true
}

// full brings degrees to 0 <= d < 360.
func full(d float64) float64 {
	d = math.Mod(d, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 {
		return 0
	}
	return d
}

// samples gives speed and course at each look: as reported, else from the way between its neighbours. On a track each is the
// median of three.
func samples(looks []sight, origin clock.Instant, dense bool) []Sample {
	if len(looks) == 0 {
		return nil
	}
	speeds := make([]float64, len(looks))
	out := make([]Sample, len(looks))
	for i := range looks {
		speeds[i], out[i].Course = velocity(looks, i)
		out[i].At = origin.Add(clock.Seconds(looks[i].at))
	}
	for i := range out {
		out[i].Speed = speeds[i]
		if dense && i > 0 && i+1 < len(out) {
			three := [3]float64{speeds[i-1], speeds[i], speeds[i+1]}
			out[i].Speed = median(three[:])
		}
		if out[i].Speed < walking {
			out[i].Course = math.NaN()
		}
	}
	return out
}

// velocity gives speed and course at look i.
func velocity(looks []sight, i int) (speed, course float64) {
	before, after := looks[max(i-1, 0)], looks[min(i+1, len(looks)-1)]
	way := after.place.Sub(before.place)
	speed, course = looks[i].speed, looks[i].course
	if math.IsNaN(speed) {
		speed = 0
		if dt := after.at - before.at; dt > 0 {
			speed = way.Length() / dt
		}
	}
	if !(course >= 0 && course <= 360) {
		course = heading(before.place, after.place)
	}
	return speed, full(course)
}

// heading gives the course from one place to another, NaN when they coincide.
func heading(from, to geo.Vector) float64 {
	course, defined := geo.Course(from.Place(), to.Place())
	if !defined {
		return math.NaN()
	}
	return course
}
