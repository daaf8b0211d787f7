package traffic

import (
	"math"
	"slices"

	"lastbeacon/core/aprs"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// A fingerprint is what tells the packets of one radio from those of another under the same call sign. Parts that a packet
// does not show are empty.
type fingerprint struct {
	encoding aprs.Encoding
	symbol   [2]byte
	to       string // destination; empty for Mic-E, which uses it for data
	path     string // as sent; empty when the copies heard do not tell
	placed   bool
	place    geo.Place
}

func (d *reader) fingerprint(g *group) fingerprint {
	r := g.first()
	p := d.read(r)
	f := fingerprint{encoding: p.Encoding, symbol: p.Symbol, placed: p.OwnPlace(), place: p.Place}
	if p.Encoding != aprs.MicEncoder {
		f.to = r.To.String()
	}
	if sent, certain := d.asSent(r); certain && r.Heard == evidence.Direct {
		path := []byte{'>'} // a path of no hops is known too
		for _, hop := range sent.Path {
			path = append(hop.Call.AppendTo(path), ',')
		}
		f.path = string(path)
	}
	return f
}

// A habit is what the packets that a unit's rules claim show: each part's values, and when and where they came.
type habit struct {
	unit   int
	prints []fingerprint
	at     []clock.Instant
}

// shares tells whether every part that f shows is one that the unit has shown.
func (h *habit) shares(f fingerprint) bool {
	return h.shown(f.encoding == "", func(p fingerprint) bool { return p.encoding == f.encoding }) &&
		h.shown(f.symbol == [2]byte{}, func(p fingerprint) bool { return p.symbol == f.symbol }) &&
		h.shown(f.to == "", func(p fingerprint) bool { return p.to == f.to }) &&
		h.shown(f.path == "" || !h.showsPath(), func(p fingerprint) bool { return p.path == f.path })
}

func (h *habit) shown(absent bool, same func(fingerprint) bool) bool {
	return absent || slices.ContainsFunc(h.prints, same)
}

func (h *habit) showsPath() bool {
	return slices.ContainsFunc(h.prints, func(p fingerprint) bool { return p.path != "" })
}

// byFingerprint gives the packets without a comment that no rule claims to the one unit whose fingerprint they share; where
// several units share it, to the one whose place and schedule they continue; else to none.
func (a *assigner) byFingerprint(s *station, claims []claim) {
	habits := a.learn(s, claims)
	var grids []grid
	for i := range claims {
		c := &claims[i]
		if c.unit >= 0 || c.other {
			continue
		}
		var fits []*habit
		for j := range habits {
			if habits[j].shares(c.print) && a.open(habits[j].unit, c) {
				fits = append(fits, &habits[j])
			}
		}
		if len(fits) > 1 {
			if grids == nil {
				grids = gridsOf(habits, claims)
			}
			fits = a.decide(c, fits, grids)
		}
		if len(fits) == 1 {
			c.unit = fits[0].unit
		}
	}
}

func (a *assigner) learn(s *station, claims []claim) []habit {
	habits := make([]habit, 0, len(s.members))
	for _, u := range s.members {
		h := habit{unit: u}
		for _, c := range claims {
			if c.unit == u {
				h.prints = append(h.prints, c.print)
				h.at = append(h.at, c.group.at())
			}
		}
		habits = append(habits, h)
	}
	return habits
}

// open tells whether a rule of the unit would hold for the packet if it carried the rule's comment.
func (a *assigner) open(unit int, c *claim) bool {
	r := c.group.first()
	p := a.read.read(r)
	return slices.ContainsFunc(a.set.Specs[unit].Rules, func(rule Rule) bool {
		if rule.Comment == "" || rule.empty() {
			return false
		}
		rule.Comment = ""
		return rule.matches(r, p)
	})
}

// decide chooses among units with equal fingerprints: by place, then by the phase of the schedule.
func (a *assigner) decide(c *claim, fits []*habit, grids []grid) []*habit {
	at := c.group.at()
	if c.print.placed {
		here := slices.DeleteFunc(slices.Clone(fits), func(h *habit) bool { return !h.near(at, c.print.place) })
		if len(here) == 1 {
			return here
		}
	}
	return slices.DeleteFunc(slices.Clone(fits), func(h *habit) bool {
		i := slices.IndexFunc(grids, func(g grid) bool { return g.unit == h.unit })
		return i < 0 || !grids[i].holds(at)
	})
}

// near tells whether the place continues the unit's own: within 300 m of its nearest claimed place before or after.
func (h *habit) near(at clock.Instant, place geo.Place) bool {
	i, _ := slices.BinarySearch(h.at, at)
	for _, j := range []int{i - 1, i} {
		if j >= 0 && j < len(h.prints) && h.prints[j].placed && geo.Distance(h.prints[j].place, place) <= 300 {
			return true
		}
	}
	return false
}

// A grid is the schedule of a unit as far as its claimed packets anchor it: due times at whole periods from each of them.
type grid struct {
	unit   int
	at     []clock.Instant
	period float64 // s; 0 when none was found
}

// mostBetween bounds how many packets without a comment a radio sends for one with it.
const mostBetween = 10

// gridsOf finds the period of each unit: a whole fraction of the usual gap between its claimed packets on which the
// unclaimed ones fall clearly more often than chance would have it.
func gridsOf(habits []habit, claims []claim) []grid {
	var free []clock.Instant
	for _, c := range claims {
		if c.unit < 0 && !c.other {
			free = append(free, c.group.at())
		}
	}
	grids := make([]grid, 0, len(habits))
	for _, h := range habits {
		grids = append(grids, grid{h.unit, h.at, periodOf(h.at, free)})
	}
	return grids
}

func periodOf(at, free []clock.Instant) float64 {
	if len(at) < 4 || len(free) < 4 {
		return 0
	}
	var gaps []float64
	for i := 1; i < len(at); i++ {
		gaps = append(gaps, at[i].Sub(at[i-1]).Seconds())
	}
	slices.Sort(gaps)
	usual := gaps[len(gaps)/3]
	best, most := 0.0, 4.0
	for n := 1.0; n <= mostBetween; n++ {
		g := grid{at: at, period: usual / n}
		if g.period < 8 {
			break
		}
		hits := 0
		for _, t := range free {
			if g.holds(t) {
				hits++
			}
		}
		chance := 2 * g.tolerance() / g.period
		expected := chance * float64(len(free))
		sd := math.Sqrt(expected * (1 - chance))
		if surplus := (float64(hits) - expected) / max(sd, 0.5); surplus > most {
			best, most = g.period, surplus
		}
	}
	return best
}

func (g *grid) tolerance() float64 { return max(2, 0.04*g.period) }

// holds tells whether t is a whole number of periods, one at least, from the nearest claimed packet, and near enough to it.
func (g *grid) holds(t clock.Instant) bool {
	if g.period == 0 {
		return false
	}
	i, _ := slices.BinarySearch(g.at, t)
	for _, j := range []int{i - 1, i} {
		if j < 0 || j >= len(g.at) {
			continue
		}
		since := math.Abs(t.Sub(g.at[j]).Seconds())
		if n := math.Round(since / g.period); n >= 1 && n <= 2*mostBetween && math.Abs(since-n*g.period) <= g.tolerance() {
			return true
		}
	}
	return false
}
