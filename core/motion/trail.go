package motion

import (
	"math"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/geo"
)

// A trail is the looks a timeline rests on, for places and distances. metered: every look tells a speed.
type trail struct {
	origin  clock.Instant
	looks   []sight
	dense   bool
	metered bool
}

func newTrail(looks []sight, origin clock.Instant, dense bool) trail {
	t := trail{origin: origin, looks: looks, dense: dense, metered: len(looks) > 0}
	for _, s := range looks {
		t.metered = t.metered && !math.IsNaN(s.speed)
	}
	return t
}

// after gives the index of the first look at or after a time.
func (t trail) after(at float64) int {
	return sort.Search(len(t.looks), func(i int) bool { return t.looks[i].at >= at })
}

// placeAt gives the place at a time by straight interpolation between looks.
func (t trail) placeAt(at float64) geo.Vector {
	i := t.after(at)
	if i == 0 {
		return t.looks[0].place
	}
	if i == len(t.looks) {
		return t.looks[i-1].place
	}
	a, b := t.looks[i-1], t.looks[i]
	return a.place.Add(b.place.Sub(a.place).Scale((at - a.at) / (b.at - a.at)))
}

// PlaceAt gives where the unit was at a moment and the radius in metres that holds the true place in 95 of 100 cases: the
// receiver's error and the rounding, and on the move the way it can have gone since the nearest fix. It is not known
// outside the time seen and in unknown periods.
func (t Timeline) PlaceAt(at clock.Instant) (place geo.Place, radius float64, known bool) {
	state := t.StateAt(at)
	if state == Unknown {
		return geo.Place{}, 0, false
	}
	const fixRadius = 13 // m: 2.45 times a standard deviation of 5 m in each of two directions
	s := seconds(at, t.trail.origin)
	i := min(t.trail.after(s), len(t.trail.looks)-1)
	near := t.trail.looks[i]
	if i > 0 && s-t.trail.looks[i-1].at < math.Abs(near.at-s) {
		near = t.trail.looks[i-1]
	}
	radius = math.Hypot(fixRadius, near.cell*0.71)
	if state == Stationary {
		return near.place.Place(), radius, true
	}
	speed, _ := t.SpeedAt(at)
	return t.trail.placeAt(s).Place(), radius + math.Abs(near.at-s)*max(speed, 1), true
}

func blank(state State, start, end clock.Between) Period {
	return Period{State: state, Start: start, End: end, MeanSpeed: math.NaN(), MaxSpeed: math.NaN()}
}

// measure fills in distance and speeds of p from the looks within it.
func (t trail) measure(p Period) Period {
	out := blank(p.State, p.Start, p.End)
	out.Inferred = p.Inferred
	if len(t.looks) == 0 || p.State == Unknown {
		return out
	}
	if p.State == Stationary {
		out.Distance, out.MeanSpeed, out.MaxSpeed = estimate.Exact(0), 0, 0
		return out
	}
	from, to := seconds(p.Start.Best, t.origin), seconds(p.End.Best, t.origin)
	if to <= from {
		return out
	}
	out.Distance = t.way(from, to)
	out.MeanSpeed = out.Distance.Best / (to - from)
	out.MaxSpeed = max(t.highest(from, to), out.MeanSpeed)
	return out
}

// way gives the length in metres of the way from one time to another: speeds added up where every look of a track tells one,
// else the looks joined. The limits were measured on simulated journeys.
func (t trail) way(from, to float64) estimate.Estimate {
	i, j := t.after(from), t.after(to)
	switch {
	case t.dense && t.metered:
		return about(t.addSpeeds(from, to, i, j), 0.04, 20)
	case t.dense:
		return about(t.addSteps(from, to, i, j), 0.08, 30)
	}
	return t.addHops(from, to, i, j)
}

// about gives a length within a share of it and a few metres.
func about(best, share, metres float64) estimate.Estimate {
	return estimate.Of(max(best*(1-share)-metres, 0), best, best*(1+share)+metres)
}

// addSteps joins looks on a track, leaving out steps too short to be told from the receiver's wander.
func (t trail) addSteps(from, to float64, i, j int) float64 {
	const gate = 20
	sum, last := 0.0, t.placeAt(from)
	for ; i < j; i++ {
		if step := arc(last, t.looks[i].place); step >= gate {
			sum, last = sum+step, t.looks[i].place
		}
	}
	return sum + arc(last, t.placeAt(to))
}

// addHops joins beacons. The straight line is the least a unit can have gone; how much more, grows with the time between two
// beacons, by the bends of ordinary ways: directions kept for about 130 s, in the extreme for 30.
func (t trail) addHops(from, to float64, i, j int) estimate.Estimate {
	const usual, winding, wander = 130, 30, 20 // s, s, m
	var low, best, high float64
	place, at := t.placeAt(from), from
	hop := func(next geo.Vector, until float64) {
		d := arc(place, next)
		low, best, high = low+d, best+d/straightness(until-at, usual), high+d/straightness(until-at, winding)
		place, at = next, until
	}
	for ; i < j; i++ {
		hop(t.looks[i].place, t.looks[i].at)
	}
	hop(t.placeAt(to), to)
	return estimate.Of(max(low*0.95-wander, 0), best, high+wander)
}

// straightness gives the straight line over the way for a stretch of time when a direction is kept for turn seconds: the root
// mean square displacement of an Ornstein-Uhlenbeck velocity over that of a constant one.
func straightness(span, turn float64) float64 {
	x := span / turn
	if x < 1e-3 {
		return 1
	}
	return math.Sqrt(2 * (x - 1 + math.Exp(-x)) / (x * x))
}

func (t trail) addSpeeds(from, to float64, i, j int) float64 {
	sum, at := 0.0, from
	speed := t.looks[min(i, len(t.looks)-1)].speed
	for ; i < j; i++ {
		next := t.looks[i]
		sum += (next.at - at) * (speed + next.speed) / 2
		at, speed = next.at, next.speed
	}
	return sum + (to-at)*speed
}

// arc gives the distance between two points of the surface.
func arc(a, b geo.Vector) float64 {
	if d := b.Sub(a).Length(); d < 10_000 {
		return d
	}
	return geo.Distance(a.Place(), b.Place())
}

// highest gives the highest speed within a stretch, the median of each three neighbours so that no spike counts.
func (t trail) highest(from, to float64) float64 {
	top := 0.0
	for i := max(t.after(from), 1); i+1 < len(t.looks) && t.looks[i].at <= to; i++ {
		var three [3]float64
		for k := range three {
			three[k], _ = velocity(t.looks, i-1+k)
		}
		top = max(top, median(three[:]))
	}
	return top
}
