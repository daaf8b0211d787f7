package session

import (
	"slices"
	"strings"

	"lastbeacon/core/clock"
	"lastbeacon/core/compare"
	"lastbeacon/core/report"
	"lastbeacon/core/sentence"
	"lastbeacon/core/traffic"
)

func (a *analysis) comparison(c *compare.Comparison, memory *memory) report.Comparison {
	o := report.Comparison{A: c.A, B: c.B, Label: c.Label, RateRatio: estimateOf(c.RateRatio), RateExplainsMA: estimateOf(c.ExplainsMA)}
	words := map[string]sentence.Condition{}
	for _, k := range c.Conditions {
		w := sentence.Condition{Check: k.Check, State: string(k.State), Reason: k.Reason, A: sentence.Value(k.A), B: sentence.Value(k.B),
			Gap: k.Gap, GapUnit: k.GapUnit}
		words[k.Check] = w
		o.Conditions = append(o.Conditions, report.Condition{Check: k.Check, Name: w.Name(), State: string(k.State),
			A: w.A.String(), B: w.B.String(), Text: w.Text()})
	}
	o.Fairness = fairness(c.Conditions, words)
	runtime, draw := verdictWords(c, &c.Runtime, words), verdictWords(c, &c.Draw, words)
	o.Runtime = report.Verdict{Ratio: estimateOf(c.Runtime.Ratio), Verdict: string(c.Runtime.Code), Text: runtime.Runtime(),
		Basis: runtime.RuntimeBasis(), A: estimateOf(c.Runtime.A), B: estimateOf(c.Runtime.B)}
	o.Draw = report.Verdict{Ratio: estimateOf(c.Draw.Ratio), Verdict: string(c.Draw.Code), Text: draw.Draw(),
		Basis: together(draw.DrawBasis(), sentence.RateExplains(c.ExplainsMA, c.Draw.A, c.Draw.B),
			sentence.SplitRatios(c.A, c.B, c.IdleRatio, c.BeaconRatio)),
		A: estimateOf(c.Draw.A), B: estimateOf(c.Draw.B)}
	if c.AtOneRate != nil {
		o.AtEqualRate = &report.EqualRate{RatePerH: c.AtOneRate.PerHour, Ratio: estimateOf(c.AtOneRate.Ratio)}
	}
	o.Alike = a.alike(c, memory)
	for i := range c.Groups {
		o.Groups = append(o.Groups, a.comparison(&c.Groups[i], memory))
	}
	return o
}

// together joins sentences, of which some may be empty.
func together(sentences ...string) string {
	return strings.Join(slices.DeleteFunc(sentences, func(s string) bool { return s == "" }), " ")
}

func fairness(conditions []compare.Condition, words map[string]sentence.Condition) string {
	var list []sentence.Condition
	for _, k := range conditions {
		list = append(list, words[k.Check])
	}
	if len(list) == 0 {
		return ""
	}
	return sentence.Fairness(list)
}

func verdictWords(c *compare.Comparison, v *compare.Verdict, conditions map[string]sentence.Condition) sentence.Verdict {
	w := sentence.Verdict{A: c.A, B: c.B, ValueA: v.A, ValueB: v.B, Ratio: v.Ratio, Code: string(v.Code), Reason: v.Reason,
		RunsA: v.RunsA, RunsB: v.RunsB, Tests: v.Tests, Spread: v.Spread, Assumed: v.Assumed, Smallest: v.Smallest,
		Repeats: c.Repeats.Runs, RepeatsFor: compare.PlannedDifference, Holm: v.Holm, Unit: "mA", Inferred: v.Inferred,
		SamePack: v.SamePack, EqualRate: v.EqualRate, Margin: v.Margin, Unknowns: v.Unknowns}
	if v.Energy {
		w.Unit = "mW"
	}
	w.EqualAir, w.Judged, w.JudgedA, w.JudgedB = v.EqualAir, v.Judged, v.JudgedA, v.JudgedB
	if c.AtOneRate != nil {
		w.PerHour = c.AtOneRate.PerHour
	}
	for _, check := range v.Mismatches {
		w.Mismatches = append(w.Mismatches, conditions[check])
	}
	return w
}

// alike says whether the two units beacon alike, by the runs of the test that the comparison is about.
func (a *analysis) alike(c *compare.Comparison, memory *memory) report.Alike {
	x, y, ok := a.sideBySide(c)
	verdict := compare.Alike{Verdict: compare.TooEarly, CertainAt: clock.None}
	if ok {
		verdict = compare.AlikeOf(x, y, memory.fit)
	}
	o := report.Alike{Verdict: verdict.Verdict, Text: sentence.AlikeOf(verdict.Verdict, a.zone().Show(verdict.CertainAt))}
	o.CertainAt = timeOf(verdict.CertainAt)
	return o
}

// sideBySide gives the beacons of the latest runs of both units that belong to one test.
func (a *analysis) sideBySide(c *compare.Comparison) (x, y compare.Beacons, ok bool) {
	i := slices.IndexFunc(a.units, func(u traffic.Unit) bool { return u.Name == c.A })
	j := slices.IndexFunc(a.units, func(u traffic.Unit) bool { return u.Name == c.B })
	for k := len(a.runs[i]) - 1; k >= 0; k-- {
		for l := len(a.runs[j]) - 1; l >= 0; l-- {
			if a.runs[i][k].Label == a.runs[j][l].Label && (c.Label == "" || a.runs[i][k].Label == c.Label) {
				return a.beaconsOf(i, k), a.beaconsOf(j, l), true
			}
		}
	}
	return x, y, false
}

// beaconsOf gives the heard times of a run.
func (a *analysis) beaconsOf(unit, run int) compare.Beacons {
	b := compare.Beacons{Timeline: a.timelines[unit]}
	for _, t := range a.runs[unit][run].Transmissions {
		sent := &a.units[unit].Transmissions[t]
		b.Times = append(b.Times, sent.At)
		step := clock.Seconds(a.evidence.Files[sent.Heard[0].Line.File].Resolution)
		b.Resolution = max(b.Resolution, step)
	}
	return b
}
