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

	units  recall[digest, []traffic.Unit] // by the rules of units that share stations
	habits recall[digest, habits]
	drafts recall[digest, endurance.Drafts]
	lives  recall[digest, *life]
}

// age is as memory's.
func (h *heard) age() {
	h.units.age(mostHuge)
	h.habits.age(mostRemembered)
	h.drafts.age(mostHuge)
	h.lives.age(mostHuge)
}

// gathered is what follows from the files and the units' rules. It serves until one of them changes.
type gathered struct {
	*heard
	rules digest
	units []traffic.Unit
	keys  []digest               // what each unit was found by
	ours  map[evidence.Line]bool // lines that a unit counts
	busy  recall[*endurance.Run, estimate.Estimate]
	fixes [][]evidence.Fix // places that each unit sent
	sent  []digest         // of them
}

// A life is the runs of one unit, and what follows from them; by the run's number.
type life struct {
	runs     []endurance.Run
	series   recall[int, []report.Series]
	observed recall[int, observed]
}

// hear joins the sources, unless that was just done.
func (s *Session) hear(sources []*evidence.Source) *heard {
	if g := s.memory.gathered; g != nil && slices.Equal(g.sources, sources) {
		return g.heard
	}
	ev := evidence.Gather(inTime(sources))
	reg := traffic.NewRegister(ev)
	proposed := reg.Propose()
	return &heard{sources: sources, evidence: ev, proposed: proposed, folded: reg.Folded(), register: reg, unrepeated: traffic.Unrepeated(ev), definitions: definitionsIn(ev)}
}

// gather finds the units' transmissions in the sources, unless that was just done. Units whose rules stand as they did, and those
// of all units that share stations with them, are known.
func (s *Session) gather(sources []*evidence.Source, set traffic.Settings) *gathered {
	h, rules := s.hear(sources), contentOf(set)
	if g := s.memory.gathered; g != nil && g.rules == rules && g.heard == h {
		return g
	}
	g := &gathered{heard: h, rules: rules, ours: map[evidence.Line]bool{}}
	g.units, g.keys = make([]traffic.Unit, len(set.Specs)), make([]digest, len(set.Specs))
	for _, together := range traffic.Apart(set.Specs) {
		part := traffic.Settings{Window: set.Window}
		for _, i := range together {
			part.Specs = append(part.Specs, set.Specs[i])
		}
		key := contentOf(part)
		found := h.units.of(key, func() []traffic.Unit { return h.register.Find(part) })
		for n, i := range together {
			g.units[i], g.keys[i] = found[n], both(key, digest{uint64(n)})
		}
	}
	g.register.Relay(g.units)
	for i := range g.units {
		g.fixes = append(g.fixes, beacons(&g.units[i]))
		g.sent = append(g.sent, fixesOf(g.fixes[i]))
		for k := range g.units[i].Transmissions {
			for _, r := range g.units[i].Transmissions[k].Heard {
				g.ours[r.Line] = true
			}
		}
	}
	s.memory.gathered = g
	return g
}
