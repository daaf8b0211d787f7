package session

import (
	"encoding/json"
	"fmt"
	"slices"

	"lastbeacon/core/bench"
	"lastbeacon/core/clock"
	"lastbeacon/core/endurance"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/report"
)

// A savedUnit is one unit of a saved report with its finished runs.
type savedUnit struct {
	unit bench.Unit // name, kind, battery and settings, without rules and runs of its own
	runs []bench.Saved
}

// mostText bounds names and labels that come from a saved report, in bytes; no disk knows longer names of files.
const mostText = 255

// savedIn reads the units and runs out of a saved report. What is not sound is left out and noted: the text comes from a file
// that anybody may have edited.
func savedIn(f *evidence.File, text []byte) ([]savedUnit, []evidence.Note) {
	var r struct {
		report.Report
		Bench json.RawMessage `json:"bench"`
	}
	var notes []evidence.Note
	note := func(code, text, help string) {
		notes = append(notes, evidence.Note{Line: evidence.Line{File: f.ID}, Code: code, Text: text, Help: help, Count: 1})
	}
	if err := json.Unmarshal(text, &r); err != nil {
		note("report.damaged", bench.Explain("the saved report", text, err).Error(), "save it again, or drop the logs themselves")
		return nil, notes
	}
	if r.Schema != report.Schema {
		note("report.schema", fmt.Sprintf("the report has the schema %q; this program reads %q", cut(r.Schema), report.Schema),
			"save it again with this version")
		return nil, notes
	}
	under, err := bench.Parse(r.Bench)
	if err != nil {
		under = &bench.Bench{}
		note("report.bench", "the saved report does not say what was known of its units: "+err.Error(),
			"its run times count; draws and conditions do not")
	}
	var units []savedUnit
	for i := range r.Units[:min(len(r.Units), bench.MostUnits)] {
		u := savedUnitOf(&r.Units[i], under)
		for k := range r.Units[i].Runs[:min(len(r.Units[i].Runs), bench.MostRuns)] {
			run := &r.Units[i].Runs[k]
			if run.Saved != nil || run.Runtime == nil {
				continue // it stands in the report's bench as it was first saved; or nothing was known of it
			}
			s := savedRun(&r.Units[i], run, &u.unit, under)
			s.From = bench.Origin{File: cut(f.Name), SHA256: f.SHA256, Version: cut(r.Version), Unit: u.unit.Name, Run: k + 1}
			if err := s.Check("run"); err != nil {
				note("report.run", fmt.Sprintf("run %d of %s in the saved report is left out: %v", k+1, u.unit.Name, err), "drop its log instead")
				continue
			}
			u.runs = append(u.runs, s)
		}
		units = append(units, u)
	}
	return units, notes
}

func cut(s string) string {
	if len(s) > mostText {
		return s[:mostText]
	}
	return s
}

// savedUnitOf gives what a saved report knew of a unit, with the runs that it had itself from saved reports.
func savedUnitOf(r *report.Unit, under *bench.Bench) savedUnit {
	u := savedUnit{unit: bench.Unit{Name: cut(r.Name), Kind: cut(r.Kind)}}
	if k := slices.IndexFunc(under.Units, func(b bench.Unit) bool { return b.Name == r.Name }); k >= 0 {
		known := &under.Units[k]
		u.unit.Battery, u.unit.TX, u.unit.Conditions, u.unit.FirstBeacon = known.Battery, known.TX, known.Conditions, known.FirstBeacon
		u.runs = slices.Clone(known.Saved)
	}
	return u
}

// savedRun takes over what a report claimed of one run, and what its bench noted about it.
func savedRun(u *report.Unit, run *report.Run, known *bench.Unit, under *bench.Bench) bench.Saved {
	s := bench.Saved{Label: cut(run.Label), Start: run.Start.Best, End: run.End.Best, EndEarliest: run.End.Earliest, EndLatest: run.End.Latest, State: run.End.State, Rankable: run.Rankable,
		OneCharge: !slices.ContainsFunc(run.Flags, func(f report.Flag) bool { return endurance.DoubtsCharge(f.Code) }), Transmitted: run.Transmissions, Sent: boundsOf(run.Sent), RatePerH: boundsOf(run.Rate),
		AirtimeS: boundsOf(run.Airtime), Schedule: run.Schedule.Kind, FixPct: u.CurrentFixPct, MovingPct: movingOf(run.Periods),
		Battery: known.Battery, TX: known.TX, Conditions: known.Conditions}
	if b := boundsOf(run.Runtime); b != nil {
		s.RuntimeS = *b
	}
	if len(u.Runs) == 1 {
		s.Relayed = u.Relayed
	}
	s.RelaysKnown = u.Heard > 0 && (u.Relayed == 0 || len(u.Runs) == 1)
	s.Missed, s.ShareHeard, s.LastHeard = plainBounds(run.Missed), plainBounds(run.ShareHeard), run.LastHeard
	s.BusyPct = run.BusyPct
	if run.Path != nil {
		path := cut(*run.Path)
		s.Path = &path
	}
	if run.Charge != nil && run.Charge.MAh != nil && run.Charge.Basis == "meter" {
		s.ChargeMAh, s.ChargeBasis = run.Charge.MAh.Best, "meter"
	}
	if noted := notedRun(under, u.Name, run.Noted); noted != nil {
		s.Take(noted)
	}
	return s
}

// notedRun finds what the bench of a saved report noted about a run.
func notedRun(b *bench.Bench, unit string, run int) *bench.Run {
	for i := range b.Units {
		if u := &b.Units[i]; u.Name == unit && run >= 0 && run < len(u.Runs) {
			return &u.Runs[run]
		}
	}
	return nil
}

// plainBounds gives a figure of a report as the bench keeps it, which may be 0.
func plainBounds(e *report.Estimate) *bench.Bounds {
	if e == nil || e.Low == nil && e.Best == nil {
		return nil
	}
	return &bench.Bounds{Low: e.Low, Best: e.Best, High: e.High}
}

// boundsOf gives a figure of a report as the bench keeps it; one without a lower limit above 0 tells nothing.
func boundsOf(e *report.Estimate) *bench.Bounds {
	if e == nil || e.Low == nil || !(*e.Low > 0) {
		return nil
	}
	return plainBounds(e)
}

// movingOf gives the percentage of the known time of a saved run's periods that it spent moving, nil when not known.
func movingOf(periods []report.Period) *float64 {
	moving, all := 0.0, 0.0
	for i := range periods {
		p := &periods[i]
		from, err := clock.Parse(p.Start)
		until, err2 := clock.Parse(p.End)
		if err != nil || err2 != nil || p.State == motion.Unknown.String() {
			continue
		}
		s := until.Sub(from).Seconds()
		if all += s; p.State == motion.Moving.String() {
			moving += s
		}
	}
	if !(all > 0) || !(moving >= 0 && moving <= all) {
		return nil
	}
	pct := 100 * moving / all
	return &pct
}
