package traffic

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
)

// A Register holds what was heard by station, so that units can be found in it under one set of rules after another.
type Register struct {
	ev       *evidence.Evidence
	stations []station // in the order in which they were first heard
}

// NewRegister sorts receptions by station. They must stay as they are.
func NewRegister(ev *evidence.Evidence) *Register {
	reg := &Register{ev: ev}
	index := map[ax25.Call]int{}
	for i := range ev.Receptions {
		r := &ev.Receptions[i]
		at, known := index[r.From]
		if !known {
			at = len(reg.stations)
			index[r.From] = at
			reg.stations = append(reg.stations, station{call: r.From})
		}
		s := &reg.stations[at]
		if r.Heard == evidence.Internet || !r.At.Known() {
			s.aside = append(s.aside, r)
		} else {
			s.air = append(s.air, r)
		}
	}
	return reg
}

// Find gives what was heard of each unit of the settings, in their order, but for what they relayed.
func (reg *Register) Find(set Settings) []Unit {
	a := newAssigner(reg, set)
	for i := range a.stations {
		a.station(&a.stations[i])
	}
	for i := range a.units {
		a.finish(&a.units[i])
	}
	return a.units
}

// Units gives what was heard of each unit that the settings name, in their order. ev's receptions must stay as they are.
func Units(ev *evidence.Evidence, set Settings) []Unit {
	reg := NewRegister(ev)
	units := reg.Find(set)
	reg.Relay(units)
	return units
}

// Apart parts specs whose rules name no station in common: their units are found independently of each other. A rule that
// names none may claim packets of any station. It gives indexes, in order within each part.
func Apart(specs []Spec) [][]int {
	var parts [][]int
	holder := map[string]int{} // which part a station belongs to
	for i, s := range specs {
		mine := []int{i}
		for _, r := range s.Rules {
			if !r.empty() && r.Station == "" {
				return [][]int{indexes(len(specs))}
			}
			if at, held := holder[r.Station]; held && parts[at] != nil {
				mine = append(parts[at], mine...)
				parts[at] = nil
			}
		}
		slices.Sort(mine)
		for _, k := range mine {
			for _, r := range specs[k].Rules {
				holder[r.Station] = len(parts)
			}
		}
		parts = append(parts, mine)
	}
	return slices.DeleteFunc(parts, func(p []int) bool { return p == nil })
}

func indexes(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// An assigner gives transmissions to units.
type assigner struct {
	set      Settings
	units    []Unit
	read     reader
	stations []station
}

// A station is one call sign that some rule may claim, with its receptions on the air in order of time.
type station struct {
	call    ax25.Call
	air     []*evidence.Reception
	aside   []*evidence.Reception // never on the air, or without a time
	members []int                 // units that have claimed something of it
	sent    int                   // transmissions on the air, copies folded, once units were proposed
	typical float64               // seconds between them, median
}

// A claim is a transmission of a station with the unit that it goes to, -1 when none.
type claim struct {
	group *group
	print fingerprint
	unit  int
	other bool // it has a comment that no rule knows
	// contested: rules of more than one unit hold for it.
	contested bool
}

func newAssigner(reg *Register, set Settings) *assigner {
	if set.Window == 0 {
		set.Window = usualWindow
	}
	a := &assigner{set: set, units: make([]Unit, len(set.Specs))}
	for i, s := range set.Specs {
		a.units[i].Name = s.Name
	}
	for _, s := range reg.stations {
		if a.wanted(s.call) {
			a.stations = append(a.stations, s)
		}
	}
	return a
}

// wanted tells whether some rule may claim packets of the call.
func (a *assigner) wanted(c ax25.Call) bool {
	name := c.String()
	for _, s := range a.set.Specs {
		for i := range s.Rules {
			if r := &s.Rules[i]; !r.empty() && (r.Station == "" || r.Station == name) {
				return true
			}
		}
	}
	return false
}

// station gives the transmissions of one station to the units: first by rules, then by fingerprint.
func (a *assigner) station(s *station) {
	f := folder{window: a.set.Window}
	claims := make([]claim, 0, len(s.air))
	for _, g := range f.fold(s.air) {
		c := a.claim(g)
		if c.unit >= 0 && !slices.Contains(s.members, c.unit) {
			s.members = append(s.members, c.unit)
		}
		claims = append(claims, c)
	}
	slices.Sort(s.members)
	a.byFingerprint(s, claims)
	unassigned := 0
	for _, c := range claims {
		if c.unit < 0 {
			unassigned++
			continue
		}
		t := c.group.transmission()
		t.Contested = c.contested
		a.units[c.unit].Transmissions = append(a.units[c.unit].Transmissions, t)
	}
	for _, r := range s.aside {
		unassigned += a.setAside(s, r)
	}
	for _, u := range s.members {
		a.units[u].calls = append(a.units[u].calls, s.call)
	}
	for u := range a.units {
		if slices.Contains(s.members, u) || a.names(u, s.call) {
			a.units[u].Unassigned += unassigned
		}
	}
}

// names tells whether a rule of the unit names the station.
func (a *assigner) names(unit int, c ax25.Call) bool {
	name := c.String()
	return slices.ContainsFunc(a.set.Specs[unit].Rules, func(r Rule) bool { return r.Station == name })
}

// claim finds the first unit one of whose rules holds for any copy of the transmission.
func (a *assigner) claim(g *group) claim {
	c := claim{group: g, unit: -1}
	for _, r := range g.heard {
		p := a.read.read(r)
		c.other = c.other || len(p.Comment) > 0
		for i := range a.set.Specs {
			if c.unit == i || !a.fits(i, r, p) {
				continue
			}
			if c.unit < 0 {
				c.unit = i
				continue
			}
			c.unit, c.contested = min(c.unit, i), true
			break
		}
	}
	c.print = a.read.fingerprint(g)
	return c
}

func (a *assigner) fits(unit int, r *evidence.Reception, p *aprs.Packet) bool {
	return slices.ContainsFunc(a.set.Specs[unit].Rules, func(rule Rule) bool { return !rule.empty() && rule.matches(r, p) })
}

// setAside counts a reception that cannot be a transmission for the unit it belongs to; 1 when no unit claims it.
func (a *assigner) setAside(s *station, r *evidence.Reception) int {
	p := a.read.read(r)
	for i := range a.set.Specs {
		if !a.fits(i, r, p) {
			continue
		}
		if !slices.Contains(s.members, i) {
			s.members = append(s.members, i)
		}
		a.units[i].Heard++
		a.units[i].Aside = append(a.units[i].Aside, r.Line)
		if r.Heard == evidence.Internet {
			a.units[i].Internet++
		} else {
			a.units[i].Untimed++
		}
		return 0
	}
	return 1
}

// finish orders and describes the transmissions of a unit, folds late copies, and counts.
func (a *assigner) finish(u *Unit) {
	sort.SliceStable(u.Transmissions, func(i, j int) bool {
		x, y := &u.Transmissions[i], &u.Transmissions[j]
		return cmp.Or(cmp.Compare(x.At, y.At), compareLines(x.Heard[0].Line, y.Heard[0].Line)) < 0
	})
	for i := range u.Transmissions {
		a.read.describe(&u.Transmissions[i])
	}
	u.Transmissions = foldLate(u.Transmissions)
	current, told := 0, 0
	for i := range u.Transmissions {
		t := &u.Transmissions[i]
		u.Heard += len(t.Heard)
		u.Duplicates += len(t.Heard) - 1
		if t.Contested {
			u.Contested++
		}
		if t.FixState != "" {
			told++
		}
		if t.FixState == aprs.FixCurrent {
			current++
		}
	}
	u.CurrentFixPct = math.NaN()
	if told > 0 {
		u.CurrentFixPct = 100 * float64(current) / float64(told)
	}
}

func compareLines(a, b evidence.Line) int {
	return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.No, b.No))
}
