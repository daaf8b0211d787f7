package motion

import (
	"math"
	"sort"

	"lastbeacon/core/clock"
)

// A moment is a time in seconds after the origin, known within bounds.
type moment struct{ earliest, best, latest float64 }

func within(t float64) moment { return moment{t, t, t} }

// inside gives m with its best value from low to high and its limits around that, within the time seen.
func (m moment) inside(low, high, last float64) moment {
	best := min(max(m.best, low), high)
	return moment{max(min(m.earliest, best), 0), best, min(max(m.latest, best), last)}
}

func (m moment) between(origin clock.Instant) clock.Between {
	at := func(t float64) clock.Instant { return origin.Add(clock.Seconds(t)) }
	return clock.Between{Earliest: at(m.earliest), Best: at(m.best), Latest: at(m.latest)}
}

// A spell is a period in the making.
type spell struct {
	state      State
	start, end moment
	inferred   bool
}

// period gives s as a period that is still to be measured.
func (s spell) period(origin clock.Instant) Period {
	p := blank(s.state, s.start.between(origin), s.end.between(origin))
	p.Inferred = s.inferred
	return p
}

// spellsOf joins the changes of a story into stretches of one state.
func spellsOf(story []change, end float64) []spell {
	var spells []spell
	for _, c := range story {
		state := Moving
		if c.mode == standing {
			state = Stationary
		}
		if n := len(spells); n > 0 && spells[n-1].state == state {
			continue
		}
		spells = append(spells, spell{state: state, start: within(c.at)})
	}
	return chain(spells, end)
}

// chain joins neighbours of one state and sets each end to the next start.
func chain(spells []spell, end float64) []spell {
	out := spells[:0]
	for _, s := range spells {
		if n := len(out); n == 0 || out[n-1].state != s.state {
			out = append(out, s)
		}
	}
	out[0].start = within(0)
	for i := range out {
		out[i].end = within(end)
		if i+1 < len(out) {
			out[i].end = out[i+1].start
		}
	}
	return out
}

// jitter is how far (m) a unit must get from where it stood to have moved at all.
const jitter = 40

// settle takes back movements that never led away from the place before and after them.
func settle(spells []spell, looks []sight) []spell {
	for i := range spells {
		if spells[i].state == Moving && strayed(spells, i, looks) < jitter {
			spells[i].state = Stationary
		}
	}
	return chain(spells, spells[len(spells)-1].end.best)
}

// strayed gives how far the unit got from the stops beside spell i; endless when there is none.
func strayed(spells []spell, i int, looks []sight) float64 {
	const memory = 300 // s of a stop that tell its place
	far, stops := 0.0, 0
	trip := part(looks, spells[i].start.best, spells[i].end.best)
	for _, k := range []int{i - 1, i + 1} {
		if k < 0 || k >= len(spells) {
			continue
		}
		from, to := max(spells[k].start.best, spells[i].start.best-memory), spells[k].end.best
		if k > i {
			from, to = spells[k].start.best, min(spells[k].end.best, spells[i].end.best+memory)
		}
		stop := part(looks, from, to)
		if len(stop) == 0 {
			continue
		}
		stops++
		centre := medianPlace(stop)
		for j := range trip {
			near := trip[max(j-1, 0):min(j+2, len(trip))]
			far = max(far, medianPlace(near).Sub(centre).Length())
		}
	}
	if stops == 0 {
		return math.Inf(1)
	}
	return far
}

// part gives the looks from one time to another.
func part(looks []sight, from, to float64) []sight {
	i := sort.Search(len(looks), func(i int) bool { return looks[i].at >= from })
	j := sort.Search(len(looks), func(i int) bool { return looks[i].at > to })
	return looks[i:max(i, j)]
}
