package motion

import "math"

// A pause is a stretch without looks, between two neighbouring ones. What the unit did in it was not seen; it is concluded
// where the places and the states at both ends leave one answer, and unknown where they do not.

// doubt replaces what the spells say of each pause longer than the given time (s), except where a hidden stop is certain enough.
func doubt(spells []spell, looks []sight, long float64) []spell {
	for i := 1; i < len(looks); i++ {
		if looks[i].at-looks[i-1].at <= long || hidesStop(looks, i) {
			continue
		}
		spells = overlay(spells, across(spells, looks[i-1], looks[i]))
	}
	spells = joined(spells)
	for i := range spells {
		spells[i].inferred = 2*unseenPart(spells[i], looks, long) > spells[i].end.best-spells[i].start.best
	}
	return spells
}

// hidesStop tells whether the unit must have rested on its way to look i: it was seen under way at one end at least, and at
// that speed a quarter of the time would have done.
func hidesStop(looks []sight, i int) bool {
	const share, walk, shortest = 0.2, 1, 120 // m/s, s
	a, b := looks[i-1], looks[i]
	speed := max(speedOr(a, looks, i-1, -1), speedOr(b, looks, i, 1))
	need := b.place.Sub(a.place).Length() / speed
	return speed >= walk && need < share*(b.at-a.at) && b.at-a.at-need > shortest
}

// speedOr gives the speed reported with look s, else that of its hop to the neighbour on the far side.
func speedOr(s sight, looks []sight, i, side int) float64 {
	if !math.IsNaN(s.speed) {
		return s.speed
	}
	if k := i + side; k >= 0 && k < len(looks) {
		return math.Abs(hop(s, looks[k]))
	}
	return 0
}

// across concludes what a unit did from look a to look b.
func across(spells []spell, a, b sight) spell {
	const still, crawl = 50, 0.5 // m, m/s
	s := spell{state: Unknown, start: within(a.at), end: within(b.at)}
	way := b.place.Sub(a.place).Length()
	before, after := stateAt(spells, a.at), stateAt(spells, b.at)
	switch {
	case way <= max(still, tolerance(max(a.cell, b.cell))):
		s.state = Stationary
	case before == Moving && after == Moving && way > crawl*(b.at-a.at):
		s.state = Moving
	}
	return s
}

// stateAt gives the state at a time; a boundary counts to the later spell.
func stateAt(spells []spell, at float64) State {
	for i := len(spells) - 1; i >= 0; i-- {
		if spells[i].start.best <= at {
			return spells[i].state
		}
	}
	return Unknown
}

// overlay puts s over what the spells say of its time.
func overlay(spells []spell, s spell) []spell {
	var out []spell
	for _, o := range spells {
		if o.end.best <= s.start.best || o.start.best >= s.end.best {
			out = append(out, o)
			continue
		}
		left, right := o, o
		left.end, right.start = s.start, s.end
		if o.start.best < s.start.best {
			out = append(out, left)
		}
		if o.start.best <= s.start.best {
			out = append(out, s)
		}
		if o.end.best > s.end.best {
			out = append(out, right)
		}
	}
	return out
}

// joined joins neighbours of one state and makes the end of each the start of the next. Where knowledge ends is known exactly.
func joined(spells []spell) []spell {
	end := spells[len(spells)-1].end
	out := make([]spell, 0, len(spells))
	for _, s := range spells {
		n := len(out)
		if s.end.best-s.start.best < 0.001 {
			continue // shorter than an instant is long
		}
		if n > 0 && out[n-1].state == s.state {
			out[n-1].end = s.end
			continue
		}
		if n > 0 {
			a, b := out[n-1].end, s.start
			s.start = moment{min(a.earliest, b.earliest), a.best, max(a.latest, b.latest)}
			if out[n-1].state == Unknown || s.state == Unknown {
				s.start = within(a.best)
			}
			out[n-1].end = s.start
		}
		out = append(out, s)
	}
	out[0].start, out[len(out)-1].end = within(0), end
	return out
}

// unseenPart gives how many seconds of s lie in pauses; all of it when no look falls into it.
func unseenPart(s spell, looks []sight, long float64) float64 {
	from, to := s.start.best, s.end.best
	first := trail{looks: looks}.after(from)
	if first == len(looks) || looks[first].at > to {
		return to - from
	}
	sum := 0.0
	for i := max(first, 1); i < len(looks) && looks[i-1].at < to; i++ {
		if looks[i].at-looks[i-1].at > long {
			sum += min(looks[i].at, to) - max(looks[i-1].at, from)
		}
	}
	return sum
}
