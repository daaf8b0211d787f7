package session

import (
	"slices"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/endurance"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
	"lastbeacon/core/traffic"
)

// heard is what follows from the files alone, which serves until they change, and what was found in them.
type heard struct {
	sources     []*evidence.Source
	evidence    *evidence.Evidence
	proposed    []traffic.Proposal
	folded      map[ax25.Call]traffic.Folded
	register    *traffic.Register
	unrepeated  []evidence.FileID
	definitions map[string]*aprs.Definitions // of telemetry, by the station that sends it
	header      ax25.Header                  // for airtime
	onAir       []float64                    // by reception, what airtime gave before; 0 where it was not asked

	units  recall[digest, []found] // by the rules of units that share stations
	habits recall[digest, habits]
	drafts recall[digest, endurance.Drafts]
	lives  recall[digest, *life]
	spoken recall[digest, spoken]
}

// age is as memory's.
func (h *heard) age() {
	h.units.age(mostHuge)
	h.habits.age(mostRemembered)
	h.drafts.age(mostHuge)
	h.lives.age(mostHuge)
	h.spoken.age(mostHuge)
}

// gathered is what follows from the files and the units' rules. It serves until one of them changes.
type gathered struct {
	*heard
	rules digest
	units []traffic.Unit
	found []found
	keys  []digest // what each unit was found by
	ours  lines    // that a unit counts
	busy  recall[*endurance.Run, estimate.Estimate]
}

// lines are some of the lines of files, a bit for each.
type lines [][]uint64

func (s *lines) add(l evidence.Line) {
	file, at := int(l.File), int(l.No/64)
	for len(*s) <= file {
		*s = append(*s, nil)
	}
	of := &(*s)[file]
	for len(*of) <= at {
		*of = append(*of, 0)
	}
	(*of)[at] |= 1 << (l.No % 64)
}

func (s lines) have(l evidence.Line) bool {
	file, at := int(l.File), int(l.No/64)
	return file < len(s) && at < len(s[file]) && s[file][at]>>(l.No%64)&1 == 1
}

// A found unit is what one sent, with what follows from that alone.
type found struct {
	unit  traffic.Unit
	fixes []evidence.Fix // places that it sent
	sent  digest         // of them
	calls []string       // stations under which it was heard, in order of time
}

func foundAs(units []traffic.Unit) []found {
	all := make([]found, len(units))
	for i := range units {
		fixes := beacons(&units[i])
		all[i] = found{units[i], fixes, fixesOf(fixes), calls(&units[i])}
	}
	return all
}

// beacons gives the places that a unit sent.
func beacons(u *traffic.Unit) []evidence.Fix {
	fixes := make([]evidence.Fix, 0, len(u.Transmissions))
	for i := range u.Transmissions {
		if f := u.Transmissions[i].Fix; f != nil {
			fixes = append(fixes, *f)
		}
	}
	return fixes
}

// calls lists the stations under which a unit was heard, in order of time.
func calls(u *traffic.Unit) []string {
	var calls []string
	seen := map[ax25.Call]bool{}
	for i := range u.Transmissions {
		call := u.Transmissions[i].Heard[0].From
		if !seen[call] {
			seen[call] = true
			calls = append(calls, call.String())
		}
	}
	return calls
}

// A life is the runs of one unit, and what follows from them; by the run's number.
type life struct {
	runs     []endurance.Run
	series   recall[int, []report.Series]
	observed recall[int, observed]
}

// hear joins what the files hold, unless that was just done.
func (s *Session) hear(files []*file) *heard {
	sources := make([]*evidence.Source, len(files))
	for i, f := range files {
		sources[i] = f.source
	}
	if g := s.memory.gathered; g != nil && slices.Equal(g.sources, sources) {
		return g.heard
	}
	ev := evidence.Gather(inTime(sources))
	reg := traffic.NewRegister(ev)
	proposed := reg.Propose()
	return &heard{sources: sources, evidence: ev, proposed: proposed, folded: reg.Folded(), register: reg, unrepeated: traffic.Unrepeated(ev), definitions: definitionsIn(ev)}
}

// gather finds the units' transmissions in the files, unless that was just done. Units whose rules stand as they did, and those
// of all units that share stations with them, are known.
func (s *Session) gather(files []*file, set traffic.Settings) *gathered {
	h, rules := s.hear(files), contentOf(set)
	if g := s.memory.gathered; g != nil && g.rules == rules && g.heard == h {
		return g
	}
	g := &gathered{heard: h, rules: rules}
	g.units, g.found, g.keys = make([]traffic.Unit, len(set.Specs)), make([]found, len(set.Specs)), make([]digest, len(set.Specs))
	for _, together := range traffic.Apart(set.Specs) {
		part := traffic.Settings{Window: set.Window}
		for _, i := range together {
			part.Specs = append(part.Specs, set.Specs[i])
		}
		key := contentOf(part)
		own := h.units.of(key, func() []found { return foundAs(h.register.Find(part)) })
		for n, i := range together {
			g.units[i], g.found[i], g.keys[i] = own[n].unit, own[n], both(key, digest{uint64(n)})
		}
	}
	g.register.Relay(g.units)
	for i := range g.units {
		for k := range g.units[i].Transmissions {
			for _, r := range g.units[i].Transmissions[k].Heard {
				g.ours.add(r.Line)
			}
		}
	}
	s.memory.gathered = g
	return g
}
