package session

import (
	"fmt"
	"math"
	"slices"

	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/report"
	"lastbeacon/core/sentence"
)

// questions asks what is missing, most useful first; each goes into one place of the bench file.
func (a *analysis) questions() []report.Question {
	var q asking
	for i := range a.evidence.Files {
		for _, ask := range a.evidence.Files[i].Ask {
			q.ask(ask.Field, report.Question{File: a.evidence.Files[i].Name}, sentence.Asked{})
		}
	}
	for _, o := range a.offsets {
		code, asked := "clock_offset", sentence.Asked{Seconds: math.Abs(o.Seconds.Best), When: "ahead"}
		if o.Either {
			code, asked.Other, asked.When = "clock_either", a.evidence.Files[o.Against].Name, "ahead of"
		}
		if o.Seconds.Best < 0 {
			asked.When = "behind"
		}
		if o.Zone != "" {
			code, asked.Zone = "clock_zone", o.Zone
		}
		q.ask(code, report.Question{File: a.evidence.Files[o.File].Name}, asked)
	}
	for i := range a.units {
		for k := range a.runs[i] {
			a.askAboutRun(&q, i, k)
		}
	}
	for i := range a.units {
		a.askAboutCurrent(&q, i)
	}
	for i := range a.units {
		a.askAboutUnit(&q, i)
	}
	return q.list
}

// asking collects questions without asking one twice.
type asking struct {
	list []report.Question
	seen map[string]bool
}

func (q *asking) ask(code string, about report.Question, a sentence.Asked) {
	id := fmt.Sprintf("%s/%s/%s/%d", code, about.File, about.Unit, about.Run)
	if q.seen[id] {
		return
	}
	if q.seen == nil {
		q.seen = map[string]bool{}
	}
	q.seen[id] = true
	a.Unit, a.File = about.Unit, about.File
	words, ok := sentence.Ask(code, a)
	if !ok {
		return
	}
	about.ID, about.Code, about.Ask, about.Why = id, code, words.Ask, words.Why
	q.list = append(q.list, about)
}

// askAboutRun asks for what bounds a run.
func (a *analysis) askAboutRun(q *asking, i, k int) {
	run := &a.runs[i][k]
	about := report.Question{Unit: a.units[i].Name, Run: k}
	if run.State == endurance.OnAirAtLogEnd && len(run.Transmissions) > 0 {
		t := a.units[i].Transmissions[run.Transmissions[len(run.Transmissions)-1]]
		file := a.evidence.Files[t.Heard[0].Line.File].Name
		about.File = file
		q.ask("watched_until", about, sentence.Asked{})
		about.File = ""
	}
	if run.Basis == endurance.FirstHeard && run.FirstHeard.Known() {
		asked := sentence.Asked{When: a.zone().Show(run.FirstHeard)}
		if width, closed := run.Start.Width(); closed {
			asked.Seconds = width.Seconds() / 2
			q.ask("power_on", about, asked)
		} else {
			q.ask("power_on_open", about, asked)
		}
	}
	for _, f := range run.Flags {
		switch f.Code {
		case endurance.FlagPowerOnLate, endurance.FlagPowerOnEarly, endurance.FlagPowerOnZone:
			a.askPowerOnAgain(q, i, k)
		}
		if f.Code == endurance.FlagHabitUnknown {
			q.ask("first_beacon", report.Question{Unit: a.units[i].Name}, sentence.Asked{})
		}
	}
	if a.draws[i][k].Refused == "no_capacity" {
		q.ask("capacity", report.Question{Unit: a.units[i].Name}, sentence.Asked{})
	}
}

// askPowerOnAgain asks for a power-on that does not fit the packets.
func (a *analysis) askPowerOnAgain(q *asking, i, k int) {
	run := &a.runs[i][k]
	noted := a.bench.Units[i].Notes().Runs
	if run.Noted < 0 || run.Noted >= len(noted) || noted[run.Noted].PowerOn == nil {
		return
	}
	at := noted[run.Noted].PowerOn.At
	q.ask("power_on_zone", report.Question{Unit: a.units[i].Name, Run: k},
		sentence.Asked{When: a.zone().Show(at), Seconds: math.Abs(run.FirstHeard.Sub(at).Seconds())})
}

// askAboutCurrent asks for what gives the transmit current of a unit, where idle current and charge per beacon hang on it and
// are needed: two units sent unlike, or a projection wants them.
func (a *analysis) askAboutCurrent(q *asking, i int) {
	if !a.splits[i].WantsCurrent() || !a.needsSplit(i) {
		return
	}
	about := report.Question{Unit: a.units[i].Name}
	if a.bench.Units[i].Transmit().PowerW == 0 {
		q.ask("rf_power", about, sentence.Asked{})
	}
	if !slices.ContainsFunc(a.draws[i], func(d draw.Draw) bool { return d.Volts > 0 }) {
		q.ask("nominal_v", about, sentence.Asked{})
	}
}

// needsSplit tells whether something that is to be answered hangs on the split of a unit.
func (a *analysis) needsSplit(i int) bool {
	if o := a.bench.Outlook; o != nil && (len(o.IntervalsS) > 0 || len(o.Routes) > 0 || o.Shift != nil) {
		return true
	}
	return slices.ContainsFunc(a.comparisons, func(c compare.Comparison) bool {
		return slices.Contains(c.SplitsWanted(), a.units[i].Name)
	})
}

// askAboutUnit asks for the conditions that decide whether draw may be ranked.
func (a *analysis) askAboutUnit(q *asking, i int) {
	if len(a.units) < 2 || len(a.runs[i]) == 0 {
		return
	}
	u := &a.bench.Units[i]
	about := report.Question{Unit: u.Name}
	if tx := u.Transmit(); tx.PowerW == 0 || tx.PowerBasis != "measured" {
		q.ask("rf_power", about, sentence.Asked{})
	}
	for _, c := range []struct {
		code  string
		known bool
	}{
		{"second_receiver", u.Conditions != nil && u.Conditions.SecondReceiver != ""},
		{"fix", u.Conditions != nil && u.Conditions.Fix != ""},
		{"audio", u.Conditions != nil && u.Conditions.Audio != ""},
		{"temperature", u.Conditions != nil && u.Conditions.TemperatureC != nil},
	} {
		if !c.known {
			q.ask(c.code, about, sentence.Asked{})
		}
	}
}
