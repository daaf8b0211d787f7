package session

import (
	"slices"
	"sort"

	"lastbeacon/core/bench"
	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/report"
	"lastbeacon/core/skew"
)

// An analysis is what all stages made of the evidence under one bench, stage by stage.
type analysis struct {
	*gathered
	bench       *bench.Bench
	watch       endurance.Watch
	timelines   []motion.Timeline
	habits      []habits
	lives       []*life
	lived       []digest          // what they follow from
	runs        [][]endurance.Run // of the lives
	loads       [][]draw.Load
	draws       [][]draw.Draw
	splits      []draw.Split
	finished    [][]finished // runs of saved reports, unit by unit
	subjects    []compare.Subject
	about       []digest // of each subject and the settings of the comparison
	comparisons []compare.Comparison
	pairs       []digest // what each comparison was made of
	kinds       []compare.Comparison
	offsets     []skew.Offset
	partial     bool // some file holds more packets than were kept
	notes       []report.Note
	report      *report.Report
	spoken      []spoken // its units
	words       []worded // its comparisons
}

func (s *Session) analyse(files []*file) *analysis {
	a := &analysis{bench: s.joined(files)}
	for _, f := range files {
		a.partial = a.partial || !f.source.Whole
	}
	a.gathered = s.gather(files, a.bench.Traffic())
	a.watch = a.watching()
	a.offsets = a.clocks(&s.memory)
	a.endure(&s.memory)
	a.cost(&s.memory)
	a.comparisons, a.pairs = s.memory.comparisons(a.subjects, a.about, a.bench.Settings())
	a.kinds = compare.Kinds(a.subjects, a.kindSettings())
	a.report = a.compose(s.version, &s.memory)
	return a
}

// watching gives when somebody or something listened.
func (a *analysis) watching() endurance.Watch {
	w := endurance.Watch{Files: a.evidence.Files, Presence: a.evidence.Presence, Unrepeated: a.unrepeated}
	for _, f := range a.evidence.Files {
		if known := a.bench.FileOf(f.Name, f.SHA256); known != nil {
			w.Stated = append(w.Stated, known.Stated(f.ID)...)
		}
	}
	return w
}

// endure finds how each unit moved, and its runs.
func (a *analysis) endure(memory *memory) {
	drafts, keys := make([]endurance.Drafts, len(a.units)), make([]digest, len(a.units))
	for i := range a.units {
		notes := a.bench.Units[i].Notes()
		track, alive := a.track(&a.bench.Units[i])
		way := both(fixesOf(track), a.found[i].sent)
		t := memory.timeline(track, a.found[i].fixes, way)
		a.timelines = append(a.timelines, t)
		keys[i] = both(both(a.keys[i], way), contentOf(notes, alive, a.watch.Stated))
		drafts[i] = a.drafts.of(keys[i], func() endurance.Drafts {
			return endurance.Draft(&endurance.Subject{Unit: &a.units[i], Timeline: t, Notes: notes, Alive: alive, Schedules: memory}, a.watch)
		})
	}
	for i, doubted := range endurance.Doubted(drafts, a.watch) {
		key := both(keys[i], contentOf(doubted))
		l := a.heard.lives.of(key, func() *life { return &life{runs: drafts[i].Runs(doubted)} })
		a.lives, a.runs, a.lived = append(a.lives, l), append(a.runs, l.runs), append(a.lived, key)
	}
}

// track gives the fixes of the tracks that travelled with a unit, in order of time, and the stretches in which its own log
// proves that it was on.
func (a *analysis) track(u *bench.Unit) (fixes []evidence.Fix, alive []evidence.Span) {
	for _, t := range a.evidence.Tracks {
		f := &a.evidence.Files[t.File]
		if !slices.Contains(u.Tracks, f.Name) || len(t.Fixes) == 0 {
			continue
		}
		fixes = append(fixes, t.Fixes...)
		if known := a.bench.FileOf(f.Name, f.SHA256); known != nil && known.RecordedBy == "unit" {
			alive = append(alive, evidence.Span{Start: t.Fixes[0].At, End: t.Fixes[len(t.Fixes)-1].At})
		}
	}
	sort.SliceStable(fixes, func(i, j int) bool { return fixes[i].At < fixes[j].At })
	return fixes, alive
}

// cost works out draw, split and what the comparison needs of every unit.
func (a *analysis) cost(memory *memory) {
	for i := range a.units {
		u := &a.bench.Units[i]
		tx := u.Transmit()
		a.habits = append(a.habits, a.habitsOf(i, u))
		var loads []draw.Load
		var draws []draw.Draw
		var points []draw.Point
		for k := range a.runs[i] {
			run := &a.runs[i][k]
			set := u.Draw(run.Noted)
			set.Meter = a.meter(u, run)
			load := a.load(i, run)
			d := memory.draw(load, set)
			loads, draws = append(loads, load), append(draws, d)
			points = append(points, draw.Point{Load: load, Draw: d, Pack: set.Battery.Pack})
		}
		a.finish(i)
		for _, f := range a.finished[i] {
			points = append(points, draw.Point{Load: f.load, Draw: f.draw, Pack: f.pack()})
		}
		a.loads, a.draws = append(a.loads, loads), append(a.draws, draws)
		a.splits = append(a.splits, draw.SplitOf(points, tx, a.repeatability()))
		a.subjects = append(a.subjects, a.subject(i))
		a.about = append(a.about, contentOf(a.subjects[i], a.bench.Settings()))
	}
}

// kindSettings gives what was stated for comparing kinds: the spread between specimens stands with the shift.
func (a *analysis) kindSettings() compare.Settings {
	set := a.bench.Settings()
	if o := a.bench.Outlook; o != nil && o.Shift != nil {
		set.SpecimenCV = o.Shift.SpreadPct / 100
	}
	return set
}

func (a *analysis) repeatability() float64 {
	if cv := a.bench.Settings().CV; cv > 0 {
		return cv
	}
	return compare.DefaultCV
}

// meter integrates the meter logs of a unit over a run.
func (a *analysis) meter(u *bench.Unit, run *endurance.Run) draw.Meter {
	var readings []evidence.Reading
	for _, r := range a.evidence.Readings {
		if slices.Contains(u.Meters, a.evidence.Files[r.Line.File].Name) {
			readings = append(readings, r)
		}
	}
	from, to := run.Start.Best, run.End.Best
	if len(readings) == 0 || !from.Known() || !to.Known() {
		return draw.Meter{}
	}
	return draw.Integrate(readings, from, to)
}
