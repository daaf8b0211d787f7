package motion

import (
	"math"
	"slices"

	"lastbeacon/core/geo"
)

// The tracker places changes at steps of its own, each where the whole story is likeliest. When one of them was, given the looks on
// both sides of it, is asked anew: from the stop outward, so that an arrival is a departure with time reversed, which the ways
// units travel and receivers err allow. The median of all moments by their likelihood leaves the fewest seconds labelled wrong.

// A watch follows a unit from a stop outward.
type watch struct {
	*model
	edge
	low, high float64       // s: where the stop and the trip begin and end
	mode      mode          // of the trip
	dt        float64       // s: of the last prediction
	ways      [2]transition // at rest and under way, over dt
}

// pin gives the median of when the change at e can have been, from low to high; that of the tracker where a pause or a trip of less
// than two looks tells no more.
func (m *model) pin(e edge, low, high float64) float64 {
	i, j := e.around()
	w := watch{model: m, edge: e, low: low, high: high}
	first, last, end := w.span(i, j)
	if e.looks[j].at-e.looks[i].at > m.pinned || len(w.trip()) < 2 {
		return e.best
	}
	rest := w.stand(first)
	w.mode = w.likelierPace(rest, first, end)
	var at, fit []float64
	for k := first; k != last; k += w.towards {
		from, way := w.looks[k].at, w.looks[k+w.towards].at-w.looks[k].at
		n := math.Ceil(min(max(math.Abs(way)/m.fine, 1), 12))
		for part := 0.5; part < n; part++ {
			if t := from + way*part/n; t >= low && t <= high {
				at = append(at, t)
				fit = append(fit, w.leaving(rest, k, t, end)+math.Log(math.Abs(way)/n))
			}
		}
		w.next(&rest, from, k+w.towards)
	}
	if len(at) == 0 {
		return e.best
	}
	return at[middleOf(fit)] - float64(w.towards)*speedUp*w.mode.pace().speed
}

// trip gives the looks within the trip, not those at its ends.
func (w *watch) trip() []sight {
	const instant = 0.001
	if w.towards > 0 {
		return part(w.looks, w.best+instant, w.high-instant)
	}
	return part(w.looks, w.low+instant, w.best-instant)
}

// speedUp is how much later (s for each m/s of pace) a unit left that gains 1.25 m/s each second than one that is fast at once.
const speedUp = 0.4

// middleOf gives the index at which half the weight is reached, of logs of weights.
func middleOf(logs []float64) int {
	top, sum, part := slices.Max(logs), 0.0, 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	for i, l := range logs {
		if part += math.Exp(l - top); part >= sum/2 {
			return i
		}
	}
	return len(logs) - 1
}

// span gives the looks between the first and the last of which the change can be, and the last that tells of it, of a change that
// is between looks i and j.
func (w *watch) span(i, j int) (first, last, end int) {
	const beyond = 12
	if w.towards < 0 {
		i, j = j, i
	}
	last = w.reach(j, w.towards, w.doubts)
	return w.reach(i, -w.towards, w.doubts), last, w.reach(last, w.towards, beyond)
}

// reach goes from look i a number of looks one way, as far as the stop and the trip go and no pause is too long.
func (w *watch) reach(i, by, looks int) int {
	for range looks {
		k := i + by
		if !w.inside(k) || w.looks[k].at < w.low || w.looks[k].at > w.high || math.Abs(w.looks[k].at-w.looks[i].at) > w.pinned {
			break
		}
		i = k
	}
	return i
}

// stand gives the unit at rest at look k, known by the looks of the stop up to it.
func (w *watch) stand(k int) hypothesis {
	const memory = 30
	i := w.reach(k, -w.towards, memory)
	h := resting(w.looks[i].place, w.wander, w.variance(w.looks[i]))
	for ; i != k; i += w.towards {
		w.next(&h, w.looks[i].at, i+w.towards)
	}
	h.score = 0
	return h
}

// likelierPace gives the pace that makes the looks up to look end likeliest, if the unit at rest at look k left when the tracker says.
func (w *watch) likelierPace(h hypothesis, k, end int) mode {
	ahead := func(t float64) bool { return (w.best-t)*float64(w.towards) > 0 }
	for k != end && ahead(w.looks[k+w.towards].at) {
		w.next(&h, w.looks[k].at, k+w.towards)
		k += w.towards
	}
	t := w.best
	if !ahead(w.looks[k].at) {
		t = w.looks[k].at
	}
	best, top := standing+1, math.Inf(-1)
	for m := standing + 1; m.travels(); m++ {
		w.mode, w.dt = m, -1
		if fit := m.usual() + w.leaving(h, k, t, end); fit > top {
			best, top = m, fit
		}
	}
	w.dt = -1
	return best
}

// leaving gives the log likelihood that the unit, at rest at look k, left at t, up to look end.
func (w *watch) leaving(h hypothesis, k int, t float64, end int) float64 {
	w.predict(&h, math.Abs(t-w.looks[k].at))
	h.mode = w.mode
	h.cov[3] = w.mode.pace().speed * w.mode.pace().speed
	for from := t; k != end; from = w.looks[k].at {
		k += w.towards
		w.next(&h, from, k)
	}
	return h.score
}

// next carries h from a time to look k and weighs it by that.
func (w *watch) next(h *hypothesis, from float64, k int) {
	s := w.looks[k]
	w.predict(h, math.Abs(s.at-from))
	h.observe(s.place, w.variance(s))
	if !math.IsNaN(s.speed) {
		h.score += w.speedWeight * speedFit(h.mode, s.speed, w.speedStep)
	}
}

func (w *watch) predict(h *hypothesis, dt float64) {
	if dt != w.dt {
		w.dt, w.ways = dt, [2]transition{w.transition(standing, dt), w.transition(max(w.mode, standing+1), dt)}
	}
	if h.mode == standing {
		h.predict(&w.ways[0])
	} else {
		h.predict(&w.ways[1])
	}
}

// resting gives a unit at rest at a place seen once.
func resting(place geo.Vector, wander, variance float64) hypothesis {
	slow := wander * wander
	return hypothesis{mean: [3]geo.Vector{place}, cov: [6]float64{slow + variance, 0, -slow, 0, 0, slow}}
}
