package schedule

import "math"

// decayRule doubles the interval while the position holds, after hold intervals at the base, up to longest; movement brings
// it back to the base, at once or as soon as the base has passed. The rung counts the beacons since the last movement.
type decayRule struct {
	base    float64
	hold    int
	longest float64
	way     *way
	ladder  []float64
}

const growth = 2 // the usual factor of decaying schedules; public protocol discussion 2006: 1, 2, 4, 8, 16, 32 min

// onsetError: the moment at which a unit itself notices that it moves is known to some seconds.
const onsetError = 4.0

// stopError: a stop is known to so many seconds.
const stopError = 8.0

func newDecay(base float64, hold int, longest float64, w *way) *decayRule {
	r := &decayRule{base: base, hold: hold, longest: longest, way: w}
	for range hold {
		r.ladder = append(r.ladder, base)
	}
	for next := base * growth; next < longest*0.999; next *= growth {
		r.ladder = append(r.ladder, next)
	}
	r.ladder = append(r.ladder, longest)
	return r
}

func (r *decayRule) next(from float64, rung int) (float64, int, float64) {
	due := from + r.ladder[rung]
	move, ok := r.way.movement(from)
	switch {
	case !ok || move.from >= due:
		return due, min(rung+1, len(r.ladder)-1), 0
	case move.from > from+r.base:
		return move.from, 0, onsetError
	}
	return from + r.base, 0, 0
}

// otherwise gives the other rung that the beacon after the one at from may be on: when a movement ended about the time of
// that one, the unit may have counted it as the last in movement or as the first at rest.
func (r *decayRule) otherwise(from float64, rung int) (other int, doubtful bool) {
	if rung > 1 || len(r.ladder) < 2 || !r.way.stopped(from, stopError) {
		return 0, false
	}
	return 1 - rung, true
}

// leap steps along the longest interval while nothing moves.
func (r *decayRule) leap(from float64, rung int, to float64) (float64, int, int) {
	if rung < len(r.ladder)-1 || to-from < 2*r.longest {
		return from, rung, 0
	}
	if move, ok := r.way.movement(from); ok && move.from < to {
		return from, rung, 0
	}
	steps := math.Floor((to-from)/r.longest) - 1
	return from + steps*r.longest, rung, int(steps)
}

// starts: a log usually begins when a unit is switched on, so the first rung is the likelier one.
func (r *decayRule) starts() []float64 {
	chances := make([]float64, len(r.ladder))
	for i := range chances {
		chances[i] = 0.4 / float64(len(r.ladder)-1)
	}
	chances[0] = 0.6
	return chances
}

// scaled keeps the longest interval when it is a round figure of its own and no multiple of the base.
func (r *decayRule) scaled(by float64) rule {
	longest := r.longest
	if r.doubled() {
		longest *= by
	}
	return newDecay(r.base*by, r.hold, longest, r.way)
}

// doubled tells whether the longest interval is the base times a power of two.
func (r *decayRule) doubled() bool {
	steps := math.Log2(r.longest / r.base)
	return math.Abs(steps-math.Round(steps)) < 0.002
}
