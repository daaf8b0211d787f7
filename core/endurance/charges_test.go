package endurance

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestNotedEventsSplit(t *testing.T) {
	for _, c := range []struct {
		name  string
		notes Notes
		runs  int
		basis []StartBasis
	}{
		{"silence alone splits nothing", Notes{}, 1, []StartBasis{FirstHeard}},
		{"a pack changed", Notes{Runs: []NotedRun{{PowerOn: at(0), Events: []Event{{Moment: *at(10000), What: PackChanged}}}}}, 2, []StartBasis{PowerOn, Restart}},
		{"a second power-on", Notes{Runs: []NotedRun{{PowerOn: at(0)}, {PowerOn: at(10000)}}}, 2, []StartBasis{PowerOn, PowerOn}},
		{"a pack changed and the power-on after it are one", Notes{Runs: []NotedRun{
			{PowerOn: at(0), Events: []Event{{Moment: *at(9980), What: PackChanged}}}, {PowerOn: at(10040)}}}, 2, []StartBasis{PowerOn, PowerOn}},
		{"a low battery splits nothing", Notes{Runs: []NotedRun{{PowerOn: at(0), Events: []Event{{Moment: *at(10000), What: LowBattery}}}}}, 1, []StartBasis{PowerOn}},
		{"a label for what the event began", Notes{Runs: []NotedRun{
			{Label: "first", PowerOn: at(0), Events: []Event{{Moment: *at(10000), What: Charging}}}, {Label: "second"}}}, 2, []StartBasis{PowerOn, Restart}},
	} {
		s, w, _ := steady()
		s.Notes = c.notes
		runs := Of([]Subject{s}, w)[0]
		if len(runs) != c.runs {
			t.Errorf("%s: %d runs, want %d", c.name, len(runs), c.runs)
			continue
		}
		total := 0
		for i, r := range runs {
			total += len(r.Transmissions)
			if r.Basis != c.basis[i] {
				t.Errorf("%s: run %d begins by %s, want %s", c.name, i+1, r.Basis, c.basis[i])
			}
			if i+1 < len(runs) && r.State != Stopped {
				t.Errorf("%s: run %d is %s, want stopped", c.name, i+1, r.State)
			}
		}
		if total != len(s.Unit.Transmissions) {
			t.Errorf("%s: runs hold %d transmissions of %d", c.name, total, len(s.Unit.Transmissions))
		}
		if c.runs == 2 && len(c.notes.Runs) == 2 && runs[1].Noted != 1 {
			t.Errorf("%s: the second run is noted run %d, want 1", c.name, runs[1].Noted)
		}
	}
}

// Events stand in the charge in whose time they lie, and there in order of time, however they were noted.
func TestEventsComeInOrderOfTime(t *testing.T) {
	var events []Event
	for _, at := range []float64{130, 10, 110, 120, 5} {
		events = append(events, Event{Moment: Moment{At: second(at)}, What: SeenOn})
	}
	all := make([]charge, 2)
	shareEvents(all, []cut{{at: second(0)}, {at: second(100)}}, Notes{Runs: []NotedRun{{Events: events}}})
	for i, want := range [][]float64{{5, 10}, {110, 120, 130}} {
		var got []float64
		for _, e := range all[i].events {
			got = append(got, e.At.Sub(epoch).Seconds())
		}
		if !slices.Equal(got, want) {
			t.Errorf("charge %d has events at %v, want %v", i, got, want)
		}
	}
}

// What is noted of one run is said of no other: every run has its own place among the noted ones, or none.
func TestEveryRunHasItsOwnNote(t *testing.T) {
	swap := func(s float64) Event { return Event{Moment: *at(s), What: PackChanged} }
	for _, c := range []struct {
		name  string
		notes []NotedRun
		want  []int
	}{
		{"nobody noted what the event began", []NotedRun{{PowerOn: at(0), Events: []Event{swap(10000)}}}, []int{0, -1}},
		{"two events in one run", []NotedRun{{PowerOn: at(0), Events: []Event{swap(8000), swap(16000)}}}, []int{0, -1, -1}},
		{"two events in one run, both noted", []NotedRun{{PowerOn: at(0), Events: []Event{swap(8000), swap(16000)}}, {}, {}}, []int{0, 1, 2}},
		{"each event in the run that it ends", []NotedRun{{PowerOn: at(0), Events: []Event{swap(8000)}}, {Events: []Event{swap(16000)}}, {}}, []int{0, 1, 2}},
		{"no power-on at all", []NotedRun{{Events: []Event{swap(8000)}}, {}}, []int{0, 1}},
		{"a power-on after one that is not noted", []NotedRun{{PowerOn: at(0), Events: []Event{swap(8000)}}, {PowerOn: at(16000)}}, []int{0, -1, 1}},
		{"a power-on after one that is", []NotedRun{{PowerOn: at(0), Events: []Event{swap(8000)}}, {}, {PowerOn: at(16000)}}, []int{0, 1, 2}},
	} {
		s, w, _ := steady()
		s.Notes.Runs = c.notes
		var got []int
		for _, r := range Of([]Subject{s}, w)[0] {
			got = append(got, r.Noted)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: noted runs %v, want %v", c.name, got, c.want)
		}
	}
}

// A power cycle starts the schedule anew but not the charge: neither part can be ranked.
func TestPowerCycleKeepsTheCharge(t *testing.T) {
	s, w, _ := steady()
	s.Notes.Runs[0].Events = []Event{{Moment: *at(10000), What: PowerCycled}}
	runs := Of([]Subject{s}, w)[0]
	if len(runs) != 2 || runs[0].Rankable || runs[1].Rankable || !flagged(runs[1], FlagSameCharge) {
		t.Errorf("runs %d, rankable %v %v, flags %v", len(runs), runs[0].Rankable, runs[1].Rankable, runs[1].Flags)
	}
}

// After a noted change of settings the run goes on under another schedule; nothing is missed by the old one.
func TestSettingsChanged(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	tr := &trial{on: 0, off: 40000, step: 1, listened: 60000}
	tr.sent = append(parked(r, 0, 10000, 0.5, 60), parked(r, 10000, 40000, 0.5, 600)...)
	u := tr.hear(r, func(int) float64 { return 0.95 })
	s := tr.subject(u)
	s.Notes.Runs[0].Events = []Event{{Moment: *at(10000), What: SettingsChanged}}
	run := one(s, tr.watch())
	close(t, "interval at the end", run.Schedule.Interval.Best, 600, 5)
	if got, want := float64(len(u.Transmissions))+run.Missed.Best, float64(len(tr.sent)); math.Abs(got-want) > 1 {
		t.Errorf("heard and missed make %v, want %v", got, want)
	}
	if run.End.Latest < second(40000) || run.Expected[0].Interval > 70 {
		t.Errorf("end by %v s, first interval %v s", run.End.Latest.Sub(epoch).Seconds(), run.Expected[0].Interval)
	}
}

func TestTypedRun(t *testing.T) {
	s, w, _ := steady()
	s.Notes.Runs = append(s.Notes.Runs, NotedRun{Label: "typed", PowerOn: at(100000), Typed: &Typed{Off: *at(136000), Transmissions: 100}})
	runs := Of([]Subject{s}, w)[0]
	if len(runs) != 2 {
		t.Fatalf("%d runs, want 2", len(runs))
	}
	r := runs[1]
	if r.Basis != TypedIn || r.State != NotedEnd || !r.Rankable || r.Sent.Best != 100 {
		t.Errorf("basis %s, state %s, rankable %v, sent %v", r.Basis, r.State, r.Rankable, r.Sent)
	}
	close(t, "typed run time", r.Runtime.Best, 36000, 1)
	if r.Runtime.Low < 36000-60 || r.Runtime.High > 36000+60 || r.Runtime.Low == r.Runtime.High {
		t.Errorf("limits %v, want within a minute", r.Runtime)
	}
}

func TestTypedRunSwitchedOffOnPurposeIsALeastTime(t *testing.T) {
	s, w, _ := steady()
	s.Notes.Runs = append(s.Notes.Runs, NotedRun{PowerOn: at(100000), Typed: &Typed{Off: *at(136000), Transmissions: -1},
		Events: []Event{{Moment: *at(136010), What: SwitchedOff}}})
	r := Of([]Subject{s}, w)[0][1]
	if r.State != Stopped || r.Rankable || !math.IsInf(r.Runtime.High, 1) || math.Abs(r.Runtime.Low-36000) > 60 {
		t.Errorf("state %s, rankable %v, %v", r.State, r.Rankable, r.Runtime)
	}
}
