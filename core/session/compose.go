package session

import (
	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/motion"
	"lastbeacon/core/report"
	"lastbeacon/core/schedule"
	"lastbeacon/core/sentence"
	"lastbeacon/core/skew"
)

// mostStations is how many stations a report lists, the most heard first; StationsAll counts all.
const mostStations = 200

// compose puts what the stages found into the shape of the answer.
func (a *analysis) compose(version string, memory *memory) *report.Report {
	r := &report.Report{Schema: report.Schema, Version: version, Title: a.bench.Title, DisplayZone: a.zone().Name(),
		StationsAll: len(a.evidence.Stations)}
	for i := range a.evidence.Files {
		f := fileOf(i, &a.evidence.Files[i], a.evidence.Again[i])
		f.Watched = a.watched(i)
		for _, o := range a.offsets {
			if int(o.File) == i && f.SuggestedOffset == nil {
				f.SuggestedOffset, f.OffsetBasis = estimateOf(o.Seconds), string(o.Basis)
				f.OffsetEither, f.SuggestedZone = o.Either, o.Zone
				if o.Basis == skew.TwoLogs {
					f.OffsetAgainst = a.evidence.Files[o.Against].Name
				}
			}
		}
		r.Evidence = append(r.Evidence, f)
	}
	for i := range a.evidence.Notes {
		r.Notes = append(r.Notes, noteOf(a.evidence, &a.evidence.Notes[i]))
	}
	r.Notes = append(r.Notes, a.notes...)
	r.Stations = a.stations()
	r.Proposals = a.proposals()
	r.Tracks = a.tracks(memory)
	for i := range a.units {
		a.spoken = append(a.spoken, a.tell(i))
		r.Units = append(r.Units, a.spoken[i].Unit)
	}
	for i := range a.comparisons {
		a.words = append(a.words, a.wording(i, memory))
		r.Comparisons = append(r.Comparisons, a.words[i].Comparison)
	}
	for i := range a.kinds {
		r.Kinds = append(r.Kinds, compared(&a.kinds[i], memory))
	}
	r.Outlook = a.outlook()
	r.NextTest = a.nextTest()
	r.Questions = a.questions()
	if len(a.units) > 0 {
		for _, c := range sentence.Cautions() {
			r.Cautions = append(r.Cautions, report.Caution{Topic: c.Topic, Text: c.Text})
		}
	}
	return r
}

// zone gives the zone in which moments are worded.
func (a *analysis) zone() *clock.Zone {
	z, err := clock.ZoneNamed(a.bench.DisplayZone)
	if err != nil || a.bench.DisplayZone == "" {
		z, _ = clock.ZoneNamed("UTC")
	}
	return z
}

// watched lists when the recorder of a file was known to listen: as stated, and by the signs of life of the file itself.
func (a *analysis) watched(i int) []report.Watch {
	var out []report.Watch
	f := &a.evidence.Files[i]
	for _, s := range a.watch.Stated {
		if s.File != f.ID {
			continue
		}
		from, until := s.Span.Start, s.Span.End
		if !from.Known() {
			from = f.First
		}
		if !until.Known() {
			until = f.Last
		}
		out = append(out, report.Watch{From: from.String(), Until: until.String(), Basis: "stated"})
	}
	return out
}

func (a *analysis) stations() []report.Station {
	claimed := map[string][]string{}
	for i := range a.units {
		for _, call := range a.found[i].calls {
			claimed[call] = append(claimed[call], a.units[i].Name)
		}
	}
	var out []report.Station
	for i := range a.evidence.Stations[:min(mostStations, len(a.evidence.Stations))] {
		s := a.evidence.Stations[i]
		// the sum over files knows no copies from one file to another, and no more than the last gaps
		if f := a.folded[s.Call]; f.Heard == s.Heard-s.Internet && f.Heard > 0 {
			s.Duplicates = f.Heard - f.Transmissions
			s.Typical = f.Typical
		}
		out = append(out, stationOf(&s, claimed[s.Call.String()]))
	}
	return out
}

// Proposals are the strong ones, and others that were heard often enough to be anything at all.
const (
	mostProposals      = 40
	fewestTransmission = 3
)

func (a *analysis) proposals() []report.Proposal {
	var out []report.Proposal
	for _, p := range a.proposed {
		if len(out) == mostProposals || !p.Strong && p.Transmissions < fewestTransmission {
			continue
		}
		o := report.Proposal{Name: p.Spec.Name, Transmissions: p.Transmissions, Strong: p.Strong, Text: sentence.Proposed(p.Transmissions, p.Typical, p.Direct)}
		for _, m := range p.Spec.Rules {
			o.Match = append(o.Match, report.Match{Station: m.Station, Comment: m.Comment, Destination: m.Destination,
				Symbol: m.Symbol, Encoding: m.Encoding, From: timeOf(m.From), Until: timeOf(m.Until)})
		}
		out = append(out, o)
	}
	return out
}

func (a *analysis) tracks(memory *memory) []report.Track {
	var out []report.Track
	for _, t := range a.evidence.Tracks {
		f := &a.evidence.Files[t.File]
		line := memory.timeline(t.Fixes, nil, both(fixesOf(t.Fixes), fixesOf(nil)))
		o := report.Track{File: f.Name, Name: t.Name, Fixes: len(t.Fixes)}
		for i := range a.bench.Units {
			for _, name := range a.bench.Units[i].Tracks {
				if name == f.Name {
					o.Unit = a.bench.Units[i].Name
				}
			}
		}
		for _, p := range line.Periods {
			if p.Distance.Known {
				o.DistanceM += p.Distance.Best
			}
			o.Periods = append(o.Periods, periodOf(p))
		}
		out = append(out, o)
	}
	return out
}

func periodOf(p motion.Period) report.Period {
	return report.Period{State: p.State.String(), Start: p.Start.Best.String(), End: p.End.Best.String(),
		StartBetween: [2]*string{timeOf(p.Start.Earliest), timeOf(p.Start.Latest)},
		EndBetween:   [2]*string{timeOf(p.End.Earliest), timeOf(p.End.Latest)},
		Inferred:     p.Inferred, Distance: estimateOf(p.Distance), MeanSpeed: numberOf(p.MeanSpeed), MaxSpeed: numberOf(p.MaxSpeed)}
}

// A spoken unit is one with its runs, and the same as JSON.
type spoken struct {
	report.Unit
	text []byte
	err  error
}

// tell gives the i-th unit with its runs. It is known while that follows from what it did: its life, what is compared of it, what the
// bench says of it, and what its packets told beside these, in words of the zone shown.
func (a *analysis) tell(i int) spoken {
	u := a.units[i]
	u.Transmissions, u.Aside = nil, nil
	key := both(both(a.lived[i], a.about[i]), contentOf(u, a.bench.Units[i], a.habits[i], a.splits[i], a.zone().Name()))
	return a.heard.spoken.of(key, func() spoken {
		t := spoken{Unit: a.unit(i)}
		t.text, t.err = report.JSON(&t.Unit)
		return t
	})
}

func (a *analysis) unit(i int) report.Unit {
	u, known := &a.units[i], &a.bench.Units[i]
	o := report.Unit{Kind: known.Kind, Counts: countsOf(u),
		Acknowledged: a.habits[i].answers, ForOthersS: estimateOf(a.habits[i].forOthers), CurrentFixPct: numberOf(u.CurrentFixPct)}
	for k := range a.runs[i] {
		o.Runs = append(o.Runs, a.run(i, k))
	}
	for k := range a.finished[i] {
		o.Runs = append(o.Runs, a.reported(&a.finished[i][k]))
	}
	s := a.splits[i]
	o.IdleAndBeacon = &report.IdleAndBeacon{IdleMA: estimateOf(s.IdleMA), MAhPerBeacon: estimateOf(s.MAhPerBeacon), Basis: s.Basis,
		Runs: s.Runs, Resolved: s.Resolved, Text: sentence.IdleAndBeacon(sentence.Split{IdleMA: s.IdleMA, MAhPerBeacon: s.MAhPerBeacon,
			Basis: s.Basis, Reason: s.Reason, Runs: s.Runs, Resolved: s.Resolved, Low: s.Low, High: s.High})}
	return o
}

func (a *analysis) run(i, k int) report.Run {
	run := &a.runs[i][k]
	o := report.Run{Label: run.Label, Noted: run.Noted, FirstHeard: timeOf(run.FirstHeard), LastHeard: timeOf(run.LastHeard),
		Runtime: estimateOf(run.Runtime), Rankable: run.Rankable, Transmissions: len(run.Transmissions),
		Missed: estimateOf(run.Missed), ShareHeard: estimateOf(run.ShareHeard), Sent: estimateOf(run.Sent), Rate: estimateOf(run.Rate),
		Schedule: scheduleOf(run.Schedule), Airtime: estimateOf(a.habits[i].airtime)}
	if f := &a.subjects[i].Runs[k].Facts; f.PathKnown {
		o.Path = &f.Path
	}
	o.BusyPct = exactOf(a.subjects[i].Runs[k].Facts.BusyPct)
	o.Start = report.Start{Earliest: timeOf(run.Start.Earliest), Best: timeOf(run.Start.Best), Latest: timeOf(run.Start.Latest),
		Basis: string(run.Basis), Law: lawOf(run.StartLaw)}
	z := a.zone()
	o.End = report.End{Earliest: timeOf(run.End.Earliest), Best: timeOf(run.End.Best), Latest: timeOf(run.End.Latest),
		State: string(run.State), Reason: sentence.EndReason(string(run.State)), Law: lawOf(run.EndLaw), Text: sentence.EndOf(sentence.End{State: string(run.State),
			LastHeard: z.Show(run.LastHeard), Earliest: z.Show(run.End.Earliest), Latest: z.ShowBy(run.End.Latest)})}
	for _, t := range run.Periods {
		o.Periods = append(o.Periods, tallyOf(t))
	}
	for _, e := range run.Events {
		o.Events = append(o.Events, report.Event{At: e.At.String(), PrecisionS: e.Precision.Seconds(), What: string(e.What),
			Basis: string(e.Basis), Text: e.Text})
	}
	for _, f := range run.Flags {
		if f.Code == endurance.FlagAsFarAsHeard {
			continue // the schedule itself says so
		}
		o.Flags = append(o.Flags, report.Flag{Code: f.Code, Text: sentence.FlagOf(sentence.Flag{Code: f.Code, Number: f.Number, When: z.Show(f.At)})})
	}
	for _, p := range run.Parts {
		if len(run.Parts) > 1 {
			o.Schedules = append(o.Schedules, report.Scheduled{From: p.From.String(), Until: p.Until.String(), Schedule: scheduleOf(p.Schedule)})
		}
	}
	o.Now = a.now(i, k)
	o.Series = a.lives[i].series.of(k, func() []report.Series { return a.series(i, run) })
	addDraw(&o, &a.draws[i][k])
	return o
}

func addDraw(o *report.Run, d *draw.Draw) {
	if d.Charge.MAh.Known {
		o.Charge = &report.Charge{MAh: estimateOf(d.Charge.MAh), Basis: string(d.Charge.Basis)}
	}
	o.Draw = &report.Draw{MeanMA: estimateOf(d.MeanMA), MAhPerMin: estimateOf(d.MAhPerMin), MeanMW: estimateOf(d.MeanMW),
		EnergyMWh: estimateOf(d.EnergyMWh), CRate: estimateOf(d.CRate), MAhPerTransmission: estimateOf(d.MAhPerTransmission),
		Text: sentence.RunDraw(sentence.Draw{MeanMA: d.MeanMA, Charge: d.Charge.MAh, Basis: string(d.Charge.Basis),
			Inferred: d.Charge.Inferred, Refused: d.Refused, Supply: string(d.Supply)})}
	for _, p := range d.Budget {
		o.Budget = append(o.Budget, report.Part{Source: p.Source, Name: sentence.Source(p.Source), Type: string(p.Type),
			RelativePct: 100 * p.Relative, Assumed: p.Assumed})
	}
}

func lawOf(points []endurance.LawPoint) []report.LawPoint {
	var out []report.LawPoint
	for _, p := range points {
		out = append(out, report.LawPoint{At: p.At.String(), P: p.P})
	}
	return out
}

func tallyOf(t endurance.Tally) report.Period {
	o := periodOf(t.Period)
	o.Transmissions, o.Missed, o.Rate = t.Transmissions, estimateOf(t.Missed), estimateOf(t.Rate)
	if t.Interval.Max > 0 {
		o.Interval = &report.Interval{Min: t.Interval.Min, Median: t.Interval.Median, Mean: t.Interval.Mean, Max: t.Interval.Max}
	}
	return o
}

func scheduleOf(s schedule.Schedule) report.Schedule {
	o := report.Schedule{Kind: s.Kind.String(), Interval: estimateOf(s.Interval), Jitter: positive(s.Jitter), Resolved: s.Resolved,
		AsFarAsHeard: s.AsFarAsHeard, Growth: positive(s.Growth), Longest: positive(s.Longest), SlowInterval: positive(s.Slow),
		FastInterval: positive(s.Fast), SlowSpeed: positive(s.SlowSpeed), FastSpeed: positive(s.FastSpeed),
		MetresBetweenBeacons: positive(s.MetresBetween())}
	if s.Kind == schedule.Decaying && s.BeaconsBeforeDecay > 0 {
		n := s.BeaconsBeforeDecay
		o.BeaconsBeforeDecay = &n
	}
	o.Text = sentence.ScheduleOf(sentence.Schedule{Kind: o.Kind, Interval: s.Interval, BeaconsBeforeDecay: s.BeaconsBeforeDecay,
		Growth: s.Growth, Longest: s.Longest, SlowInterval: s.Slow, Fast: s.Fast, SlowSpeed: s.SlowSpeed, FastSpeed: s.FastSpeed,
		Corners: s.Corners, AsFarAsHeard: s.AsFarAsHeard, Resolved: s.Resolved, Reason: s.Reason, MetresBetween: s.MetresBetween(),
		Received: s.Received})
	return o
}
