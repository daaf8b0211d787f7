package schedule

import "math"

// adaptRule lets the interval follow the speed: slow below slowSpeed, fast at or above fastSpeed, and fast*fastSpeed/speed
// between, so that the distance between beacons is constant. It is applied anew at every moment, so a stop stretches the
// interval that runs and an acceleration cuts it. A corner beacon is due when the course has changed since the last beacon
// by more than turnMin + turnSlope/speed, and turnTime has passed.
type adaptRule struct {
	slow, fast           float64 // s
	slowSpeed, fastSpeed float64 // m/s
	uncapped             bool    // between the speeds the interval may exceed slow
	delay                float64 // s by which a beacon goes out late on average, for which the clock waits
	blur                 float64 // share of an interval set by the speed by which the speed's own error moves it
	corner               corner
	way                  *way
}

// A corner is the part of an adaptive rule that turns make.
type corner struct {
	on       bool
	min      float64 // degrees
	slope    float64 // degrees times m/s
	holdback float64 // s
}

// cutError: the moment at which an acceleration or a turn makes a beacon due is known to half a cell of the grid.
const cutError = 2.0

// cornerShare: the share of beacons after a turn that the turn sent, as a guess where nothing tells.
const cornerShare = 0.4

func (r *adaptRule) interval(speed float64) float64 {
	switch {
	case speed < r.slowSpeed:
		return r.slow
	case speed >= r.fastSpeed:
		return r.fast
	}
	between := r.fast * r.fastSpeed / speed
	if !r.uncapped {
		return min(between, r.slow)
	}
	return between
}

func (r *adaptRule) next(from float64, rung int) (float64, int, float64) {
	due, sd := r.due(from)
	return due + r.delay, rung, sd
}

// due walks the grid from a beacon on, until the rule makes the next one due.
func (r *adaptRule) due(from float64) (due, sd float64) {
	w := r.way
	i := w.cell(from)
	// A corner beacon is heard in the very cell in which the course changes, and its heading is the new one.
	heading := w.course[min(i+1, len(w.course)-1)]
	if i = int(w.awake[i]); w.start+float64(i)*w.step > from+r.slow && r.slowSpeed > resting {
		return from + r.slow, 0
	}
	i = max(i, w.cell(from+r.soonest()-1e-3)) // what is due on a border belongs to the cell before it
	begin := w.start + float64(i)*w.step
	for ; i < len(w.speed); i++ {
		end := begin + w.step
		speed := w.speed[i]
		if r.reached(speed, end-from+1e-6) {
			due := from + r.interval(speed)
			if due < begin {
				return max(begin, from+1), cutError
			}
			return due, r.blurred(speed, due-from)
		}
		if r.turned(heading, w.course[i], speed) && from+r.corner.holdback < end {
			if due := from + r.corner.holdback; due > begin {
				return due, 1
			}
			return begin + w.step/2, cutError
		}
		begin = end
	}
	return max(from+1, from+r.interval(w.speed[len(w.speed)-1])), 0
}

// soonest gives the time within which nothing can be due.
func (r *adaptRule) soonest() float64 {
	least := min(r.fast, r.slow)
	if r.corner.on {
		return min(least, r.corner.holdback)
	}
	return least
}

// reached tells whether a beacon is due at a speed when so much time has passed: interval(speed) <= passed, without a
// division.
func (r *adaptRule) reached(speed, passed float64) bool {
	switch {
	case speed < r.slowSpeed:
		return passed >= r.slow
	case speed >= r.fastSpeed:
		return passed >= r.fast
	}
	return speed*passed >= r.fast*r.fastSpeed || !r.uncapped && passed >= r.slow
}

// blurred gives the error of an interval that the speed has set.
func (r *adaptRule) blurred(speed, interval float64) float64 {
	if speed < r.slowSpeed || speed > 1.2*r.fastSpeed {
		return 0
	}
	return r.blur * interval
}

func (r *adaptRule) turned(from, to, speed float64) bool {
	if !r.corner.on || r.way.sparse || speed < r.slowSpeed || from == noCourse {
		return false
	}
	return r.sharp(from, to, speed)
}

// sharp tells whether a change of course is one that the corner rule looks for.
func (r *adaptRule) sharp(from, to, speed float64) bool {
	change := math.Abs(from - to)
	if change > 180 {
		change = 360 - change
	}
	return change > r.corner.min+r.corner.slope/speed
}

// early gives the density, per second, of a beacon before its due time when the course is known at the beacons only: when
// it turned since the beacon at from, a corner somewhere between may have sent it.
func (r *adaptRule) early(from, at, due float64) float64 {
	w := r.way
	if !w.sparse || !r.corner.on || at-from < r.corner.holdback-2 {
		return 0
	}
	before, now := w.course[w.cell(from)], w.course[w.cell(at)]
	if before == noCourse || now == noCourse || !r.sharp(before, now, max(w.speed[w.cell(at)], r.slowSpeed)) {
		return 0
	}
	return cornerShare / (due - from)
}

func (r *adaptRule) leap(from float64, rung int, _ float64) (float64, int, int) { return from, rung, 0 }

func (r *adaptRule) briefest() float64 { return r.fast }

func (r *adaptRule) starts() []float64 { return []float64{1} }
