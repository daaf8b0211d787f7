package endurance

// A gap is one stretch between due times after (or before) the last beacon heard, in seconds from it. Weight is the chance
// that nothing was heard up to its opening though the unit sent: with no reason to prefer any moment, the unit went silent
// in it with a chance proportional to length times weight. Slack is how much later than to the due time may lie.
type gap struct{ from, to, weight, slack float64 }

func (g gap) mass() float64 { return (g.to - g.from) * g.weight }

// A law says when a unit went silent, in seconds after the last beacon heard: a chain of gaps from 0 on. Within a gap
// nothing can be known, so a quantile within one is only good for showing; claims are rounded out to due times.
type law []gap

const (
	leastWeight = 1e-9
	mostGaps    = 20000
)

func (l law) total() float64 {
	sum := 0.0
	for _, g := range l {
		sum += g.mass()
	}
	return sum
}

// until cuts the law at w: the unit is known to be silent from there on.
func (l law) until(w float64) law {
	var cut law
	for _, g := range l {
		if g.from >= w {
			break
		}
		g.to = min(g.to, w)
		cut = append(cut, g)
	}
	return cut
}

// find gives the gap in which the share of the whole is reached, and how far into it, 0 to 1.
func (l law) find(share float64) (index int, into float64) {
	rest := share * l.total()
	for i, g := range l {
		if m := g.mass(); rest <= m || i == len(l)-1 {
			if m == 0 {
				return i, 0
			}
			return i, min(1, rest/m)
		}
		rest -= g.mass()
	}
	return 0, 0
}

// quantile gives the time by which the unit had gone silent with that chance, taking all moments of a gap as equal.
func (l law) quantile(share float64) float64 {
	if len(l) == 0 {
		return 0
	}
	i, into := l.find(share)
	return l[i].from + into*(l[i].to-l[i].from)
}

// curve gives the chance of still being on at each due time, as points for drawing, down to one in a thousand.
func (l law) curve() (at, chance []float64) {
	left, total := 1.0, l.total()
	if total == 0 {
		return nil, nil
	}
	for _, g := range l {
		at, chance = append(at, g.from), append(chance, left)
		left = max(0, left-g.mass()/total)
		if left < 0.001 || len(at) == mostCurve {
			return append(at, g.to), append(chance, 0)
		}
	}
	return append(at, l[len(l)-1].to), append(chance, 0)
}

const mostCurve = 60
