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

// gathered is what follows from the files and the units' rules alone. It is the same after an edit of anything else, and is
// kept for that; nothing may change it.
type gathered struct {
	sources     []*evidence.Source
	rules       digest
	evidence    *evidence.Evidence
	units       []traffic.Unit
	proposed    []traffic.Proposal
	unrepeated  []evidence.FileID
	ours        map[evidence.Line]bool       // lines that a unit counts
	definitions map[string]*aprs.Definitions // of telemetry, by the station that sends it

	habits map[digest]habits // by unit and modem
	lived  lived
}

// lived is what follows from the runs, which rest on what was noted of them too.
type lived struct {
	told     digest // what was noted
	runs     [][]endurance.Run
	busy     map[*endurance.Run]estimate.Estimate
	series   map[*endurance.Run][]report.Series
	observed map[*endurance.Run]observed
}

// gather joins the sources and finds the units' transmissions, unless that was just done.
func (s *Session) gather(sources []*evidence.Source, set traffic.Settings) *gathered {
	rules := contentOf(set)
	if g := s.memory.gathered; g != nil && g.rules == rules && slices.Equal(g.sources, sources) {
		return g
	}
	g := &gathered{sources: sources, rules: rules, ours: map[evidence.Line]bool{}, habits: map[digest]habits{}}
	g.evidence = evidence.Gather(inTime(sources))
	g.units = traffic.Units(g.evidence, set)
	g.proposed = traffic.Propose(g.evidence)
	g.unrepeated = traffic.Unrepeated(g.evidence)
	g.definitions = definitionsIn(g.evidence)
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
		g.lived = lived{told: key, runs: endurance.Of(subjects, watch), busy: map[*endurance.Run]estimate.Estimate{},
			series: map[*endurance.Run][]report.Series{}, observed: map[*endurance.Run]observed{}}
	}
	return g.lived.runs
}
