package session

import (
	"slices"

	"lastbeacon/core/aprs"
	"lastbeacon/core/endurance"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
	"lastbeacon/core/traffic"
)

// heard is what follows from the files alone. Nothing may change it, since it serves until the files change.
type heard struct {
	sources     []*evidence.Source
	evidence    *evidence.Evidence
	proposed    []traffic.Proposal
	unrepeated  []evidence.FileID
	definitions map[string]*aprs.Definitions // of telemetry, by the station that sends it
}

// gathered is what follows from the files and the units' rules. It serves until one of them changes.
type gathered struct {
	*heard
	rules digest
	units []traffic.Unit
	ours  map[evidence.Line]bool // lines that a unit counts

	habits recall[digest, habits] // by unit and modem
	lived  lived
}

// lived is what follows from the runs, which rest on what was noted of them too.
type lived struct {
	told     digest // what was noted
	runs     [][]endurance.Run
	busy     recall[*endurance.Run, estimate.Estimate]
	series   recall[*endurance.Run, []report.Series]
	observed recall[*endurance.Run, observed]
}

// hear joins the sources, unless that was just done.
func (s *Session) hear(sources []*evidence.Source) *heard {
	if g := s.memory.gathered; g != nil && slices.Equal(g.sources, sources) {
		return g.heard
	}
	ev := evidence.Gather(inTime(sources))
	return &heard{sources, ev, traffic.Propose(ev), traffic.Unrepeated(ev), definitionsIn(ev)}
}

// gather finds the units' transmissions in the sources, unless that was just done.
func (s *Session) gather(sources []*evidence.Source, set traffic.Settings) *gathered {
	h, rules := s.hear(sources), contentOf(set)
	if g := s.memory.gathered; g != nil && g.rules == rules && g.heard == h {
		return g
	}
	g := &gathered{heard: h, rules: rules, ours: map[evidence.Line]bool{}}
	g.units = traffic.Units(g.evidence, set)
	for i := range g.units {
		for k := range g.units[i].Transmissions {
			for _, r := range g.units[i].Transmissions[k].Heard {
				g.ours[r.Line] = true
			}
		}
	}
	s.memory.gathered = g
	return g
}

// runsOf gives the runs of the units, unless what was noted of them is as it was.
func (g *gathered) runsOf(subjects []endurance.Subject, watch endurance.Watch, tracks [][]string) [][]endurance.Run {
	told := []any{watch.Stated, tracks}
	for i := range subjects {
		told = append(told, subjects[i].Notes, subjects[i].Alive)
	}
	if key := contentOf(told...); g.lived.runs == nil || g.lived.told != key {
		g.lived = lived{told: key, runs: endurance.Of(subjects, watch)}
	}
	return g.lived.runs
}
