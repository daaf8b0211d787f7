package session

import (
	"math"
	"slices"

	"lastbeacon/core/bench"
	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
	"lastbeacon/core/sentence"
)

// joined gives the bench with the runs of the saved reports among the files: under the unit of the same name, else under a new
// one. The bench itself is left alone.
func (s *Session) joined(files []*file) *bench.Bench {
	if !slices.ContainsFunc(files, func(f *file) bool { return len(f.saved) > 0 }) {
		return s.bench
	}
	b := *s.bench
	b.Units = slices.Clone(b.Units)
	for _, f := range files {
		for _, u := range f.saved {
			join(&b, u)
		}
	}
	return &b
}

func join(b *bench.Bench, saved savedUnit) {
	saved.runs = slices.DeleteFunc(slices.Clone(saved.runs), func(run bench.Saved) bool { return inBench(b, run.From) })
	if len(saved.runs) == 0 {
		return
	}
	at := slices.IndexFunc(b.Units, func(u bench.Unit) bool { return u.Name == saved.unit.Name })
	if at < 0 {
		if len(b.Units) >= bench.MostUnits || saved.unit.Name == "" {
			return
		}
		at, b.Units = len(b.Units), append(b.Units, saved.unit)
	}
	u := &b.Units[at]
	u.Saved = slices.Clone(u.Saved)
	for _, run := range saved.runs {
		same := slices.ContainsFunc(u.Saved, func(o bench.Saved) bool { return o.Overlaps(&run) })
		if !same && len(u.Saved) < bench.MostRuns {
			run.Battery = apart(b, run.Battery, run.From.File)
			u.Saved = append(u.Saved, run)
		}
	}
}

// inBench tells whether a saved run stands in the bench, be it under a unit that was given another name meanwhile.
func inBench(b *bench.Bench, from bench.Origin) bool {
	return slices.ContainsFunc(b.Units, func(u bench.Unit) bool {
		return slices.ContainsFunc(u.Saved, func(s bench.Saved) bool { return s.From.Same(from) })
	})
}

// apart gives a saved run's battery another name where the bench calls a pack of another capacity so: two benches may both have
// a pack A, and one pack cancels from a comparison where two do not.
func apart(b *bench.Bench, saved *bench.Battery, file string) *bench.Battery {
	if saved == nil || saved.Pack == "" {
		return saved
	}
	other := func(known *bench.Battery) bool {
		return known != nil && known.Pack == saved.Pack && known.CapacityMAh != nil && saved.CapacityMAh != nil && *known.CapacityMAh != *saved.CapacityMAh
	}
	for i := range b.Units {
		u := &b.Units[i]
		if other(u.Battery) || slices.ContainsFunc(u.Runs, func(r bench.Run) bool { return other(r.Battery) }) {
			renamed := *saved
			renamed.Pack = cut(renamed.Pack) + " of " + file
			return &renamed
		}
	}
	return saved
}

// A finished run is one of a saved report, with what follows from it.
type finished struct {
	saved *bench.Saved
	load  draw.Load
	draw  draw.Draw
}

// finish works out the saved runs of a unit, in order. Those whose logs stand on the sheet too are left out.
func (a *analysis) finish(i int) {
	var all []finished
	u := &a.bench.Units[i]
	for k := range u.Saved {
		s := &u.Saved[k]
		if a.heardAgain(i, s) {
			a.notes = append(a.notes, report.Note{File: s.From.File, Code: "report.same-run", Text: "a run of " + u.Name +
				" in the saved report falls into the time of one whose log is here; the log counts", Help: "nothing needs to be done", Count: 1})
			continue
		}
		load, set := s.Draw()
		all = append(all, finished{s, load, draw.Of(load, set)})
	}
	a.finished = append(a.finished, all)
}

// heardAgain tells whether a saved run overlaps a run of the evidence.
func (a *analysis) heardAgain(i int, s *bench.Saved) bool {
	from, until := s.Span()
	for k := range a.runs[i] {
		run := &a.runs[i][k]
		start, end := run.Start.Best, run.End.Best
		if !end.Known() {
			end = run.LastHeard
		}
		if from.Known() && until.Known() && start.Known() && end.Known() && max(from, start) < min(until, end) {
			return true
		}
	}
	return false
}

// pack gives the name of the battery that fed a saved run.
func (f *finished) pack() string { return f.saved.Battery.Battery().Pack }

// compared gives what a comparison needs of a saved run.
func (f *finished) compared() compare.Run {
	s := f.saved
	may := s.Rankable || f.load.Time.Known && math.IsInf(f.load.Time.High, 1) && s.OneCharge
	return compare.Run{Label: s.Label, Rankable: may, Time: f.load.Time, Rate: f.load.Rate, Draw: f.draw, Pack: f.pack(), Facts: f.facts()}
}

func (f *finished) facts() compare.Facts {
	s := f.saved
	u := bench.Unit{TX: s.TX, Conditions: s.Conditions, Battery: s.Battery}
	out := stated(&u)
	out.Start, out.End = s.Span()
	out.AirtimeS, out.Schedule = f.load.AirtimeS, s.Schedule
	out.FixPct, out.MovingPct, out.BusyPct = exactly(s.FixPct), exactly(s.MovingPct), exactly(s.BusyPct)
	out.Relayed, out.RelaysKnown = s.Relayed, s.RelaysKnown
	if s.Path != nil {
		out.Path, out.PathKnown = *s.Path, true
	}
	return out
}

func exactly(v *float64) estimate.Estimate {
	if v == nil {
		return estimate.Unknown
	}
	return estimate.Exact(*v)
}

// reported shows a saved run beside those of the evidence, marked as what it is.
func (a *analysis) reported(f *finished) report.Run {
	s := f.saved
	o := report.Run{Label: s.Label, Noted: -1, Runtime: estimateOf(f.load.Time), Rankable: s.Rankable, Transmissions: s.Transmitted,
		Sent: estimateOf(f.load.Sent), Rate: estimateOf(f.load.Rate), Airtime: estimateOf(f.load.AirtimeS)}
	o.Missed, o.ShareHeard, o.LastHeard = plainly(s.Missed), plainly(s.ShareHeard), s.LastHeard
	o.Path, o.BusyPct = s.Path, s.BusyPct
	o.Start = report.Start{Best: s.Start, Basis: "typed"}
	o.End = report.End{Earliest: s.EndEarliest, Best: s.End, Latest: s.EndLatest, State: s.State}
	o.Schedule.Kind = s.Schedule
	from := s.From
	o.Saved = &report.SavedFrom{File: from.File, SHA256: from.SHA256, Version: from.Version, Unit: from.Unit, Run: from.Run}
	text := sentence.SavedFrom(from.File, from.Version, from.SHA256)
	o.Flags = []report.Flag{{Code: "run.saved", Text: text}}
	addDraw(&o, &f.draw)
	return o
}

// plainly shows bounds of the bench as they are.
func plainly(b *bench.Bounds) *report.Estimate {
	if b == nil {
		return nil
	}
	return &report.Estimate{Low: b.Low, Best: b.Best, High: b.High}
}

// savedOf reads the saved report that a file holds, if it is one; what was wrong joins the file's notes.
func savedOf(source *evidence.Source) []savedUnit {
	if source.Report == nil {
		return nil
	}
	units, notes := savedIn(&source.File, source.Report)
	source.Notes = append(source.Notes, notes...)
	source.Report = nil
	return units
}
