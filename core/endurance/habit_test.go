package endurance

import (
	"testing"

	"lastbeacon/core/traffic"
)

// A run whose begin nobody noted goes by the habit that the unit's noted runs show, if they show one.
func TestHabitIsLearnedFromNotedRuns(t *testing.T) {
	const apart = 100_000.0 // s from one run to the next
	for _, c := range []struct {
		name  string
		waits []float64 // s from each noted power-on to the first beacon heard
		habit FirstBeacon
	}{
		{"after one interval, twice", []float64{302, 300}, NotKnown},
		{"at once", []float64{4, 20, 304}, AtOnce},
		{"after one interval", []float64{302, 300, 310}, AfterInterval},
		{"two runs, in one of which the first at once was lost", []float64{5, 305}, NotKnown},
		{"after a fix", []float64{65, 130, 90}, NotKnown},
		{"one run only", []float64{5}, NotKnown},
	} {
		u := &traffic.Unit{Name: "Heron"}
		notes := Notes{Runs: []NotedRun{{}}}
		for run := range len(c.waits) + 1 {
			first := 300.0
			if run > 0 {
				notes.Runs = append(notes.Runs, NotedRun{PowerOn: at(apart * float64(run))})
				first = c.waits[run-1]
			}
			for i := range 70 {
				if i%9 != 4 {
					u.Transmissions = append(u.Transmissions, heardAt(second(apart*float64(run)+first+300*float64(i)), int32(100*run+i+1)))
				}
			}
		}
		watch := (&trial{step: 1, listened: apart * float64(len(c.waits)+1)}).watch()
		r := Of([]Subject{{Unit: u, Timeline: standing(u), Notes: notes}}, watch)[0][0]
		if flagged(r, FlagHabitLearned) != (c.habit != NotKnown) || r.Start.Earliest.Known() != (c.habit != NotKnown) {
			t.Errorf("%s: start %v, flags %v", c.name, r.Start, r.Flags)
		}
		for _, f := range r.Flags {
			if f.Code == FlagHabitLearned && FirstBeacon(f.Number) != c.habit {
				t.Errorf("%s: learned %v, want %v", c.name, f.Number, c.habit)
			}
		}
	}
}
