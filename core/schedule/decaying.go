package schedule

import "math"

// decayRule doubles the interval while the position holds, after hold intervals at the base, up to longest; movement brings
// it back to the base, at once or as soon as the base has passed. The rung counts the beacons since the last movement.
type decayRule struct {
	base    float64
	hold    int
	longest float64
	delay   float64 // s by which a beacon goes out late on average, for which the clock waits
	way     *way
	ladder  []float64
}

const growth = 2 // the usual factor of decaying schedules; public protocol discussion 2006: 1, 2, 4, 8, 16, 32 min

// onsetError: the moment at which a unit itself notices that it moves is known to some seconds.
const onsetError = 4.0

// stopError: a stop is known to so many seconds.
const stopError = 8.0

func newDecay(base float64, hold int, longest float64, w *way) *decayRule {
	return (&decayRule{base: base, hold: hold, longest: longest, way: w}).built()
}

// built lays the ladder of intervals, with the delay in every one of them.
func (r *decayRule) built() *decayRule {
	r.ladder = nil
	for range r.hold {
		r.ladder = append(r.ladder, r.base+r.delay)
	}
	for next := r.base * growth; next < r.longest*0.999; next *= growth {
		r.ladder = append(r.ladder, next+r.delay)
	}
	r.ladder = append(r.ladder, r.longest+r.delay)
	return r
}

// but gives a changed copy.
func (r *decayRule) but(change func(c *decayRule)) *decayRule {
	c := *r
	change(&c)
	return c.built()
}

func (r *decayRule) next(from float64, rung int) (float64, int, float64) {
	due := from + r.ladder[rung]
	move := r.way.movement(from)
	if move == nil || move.from >= due {
		return due, min(rung+1, len(r.ladder)-1), 0
	}
	if soonest := from + r.ladder[0]; soonest >= move.from {
		return soonest, 0, 0
	}
	return move.from + r.delay, 0, max(onsetError, move.onset)
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
	if rung < len(r.ladder)-1 || to-from < 2*r.ladder[rung] {
		return from, rung, 0
	}
	if move := r.way.movement(from); move != nil && move.from < to {
		return from, rung, 0
	}
	longest := r.ladder[rung]
	steps := math.Floor((to-from)/longest) - 1
	return from + steps*longest, rung, int(steps)
}

func (r *decayRule) briefest() float64 { return r.base }

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
	return r.but(func(c *decayRule) {
		if c.doubled() {
			c.longest *= by
		}
		c.base *= by
	})
}

// doubled tells whether the longest interval is the base times a power of two.
func (r *decayRule) doubled() bool {
	steps := math.Log2(r.longest / r.base)
	return math.Abs(steps-math.Round(steps)) < 0.002
}
