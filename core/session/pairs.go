package session

import (
	"slices"
	"strings"

	"lastbeacon/core/clock"
	"lastbeacon/core/compare"
	"lastbeacon/core/motion"
	"lastbeacon/core/report"
	"lastbeacon/core/schedule"
	"lastbeacon/core/sentence"
	"lastbeacon/core/traffic"
)

// A worded comparison is one in words, and the same as JSON.
type worded struct {
	report.Comparison
	text []byte
	err  error
}

// wording gives the i-th comparison in words. It is known while both units are what they were, and so is what depends on others:
// the judgement of all pairs together, and how alike the two beacon in words of the zone shown.
func (a *analysis) wording(i int, memory *memory) worded {
	c := &a.comparisons[i]
	alikes := []report.Alike{a.alike(c, memory)}
	for k := range c.Groups {
		alikes = append(alikes, a.alike(&c.Groups[k], memory))
	}
	key := both(a.pairs[i], contentOf(c.Runtime.Code, c.Runtime.Holm, c.Runtime.Stands, c.Draw.Code, c.Draw.Holm, c.Draw.Stands, alikes))
	return memory.worded.of(key, func() worded {
		w := worded{Comparison: compared(c, memory)}
		w.Alike = alikes[0]
		for k := range c.Groups {
			g := compared(&c.Groups[k], memory)
			g.Alike = alikes[k+1]
			w.Groups = append(w.Groups, g)
		}
		w.text, w.err = report.JSON(&w.Comparison)
		return w
	})
}

// compared words a comparison as far as its own values tell.
func compared(c *compare.Comparison, memory *memory) report.Comparison {
	o := report.Comparison{A: c.A, B: c.B, Label: c.Label, RateRatio: estimateOf(c.RateRatio)}
	if !c.Draw.Energy {
		o.RateExplainsMA = estimateOf(c.Explains)
	}
	words := make([]sentence.Condition, len(c.Conditions))
	o.Conditions = make([]report.Condition, len(c.Conditions))
	for i := range c.Conditions {
		k := memory.said.of(c.Conditions[i], func() said { return wordsOf(&c.Conditions[i]) })
		words[i], o.Conditions[i] = k.words, k.listed
	}
	if len(words) > 0 {
		o.LikeForLike = sentence.Likeness{Conditions: words, SetUp: c.SetUpUnlike(), Ranked: c.Draw.Code != compare.CannotRank}.Fair()
		o.Fairness = sentence.Fairness(words)
	}
	runtime, draw := verdictWords(c, &c.Runtime, words, memory), verdictWords(c, &c.Draw, words, memory)
	o.Runtime = report.Verdict{Ratio: estimateOf(c.Runtime.Ratio), Verdict: string(c.Runtime.Code), Text: runtime.Runtime(),
		Basis: together(runtime.RuntimeBasis(), exchangeWords(c)), A: estimateOf(c.Runtime.A), B: estimateOf(c.Runtime.B)}
	if e := c.Exchanged; e != nil {
		o.Exchanged = &report.Exchanged{Unit: estimateOf(e.Unit), Pack: estimateOf(e.Pack), First: e.First, Second: e.Second}
	}
	o.Draw = report.Verdict{Ratio: estimateOf(c.Draw.Ratio), Verdict: string(c.Draw.Code), Text: draw.Draw(),
		Basis: together(draw.DrawBasis(), draw.RateExplains(c.Explains),
			draw.SplitRatios(c.IdleRatio, c.BeaconRatio)),
		A: estimateOf(c.Draw.A), B: estimateOf(c.Draw.B)}
	if c.AtOneRate != nil {
		o.AtEqualRate = &report.EqualRate{RatePerH: c.AtOneRate.PerHour, Ratio: estimateOf(c.AtOneRate.Ratio)}
	}
	return o
}

// A said condition is one in words, and as a report lists it. Most of a comparison's are those of others too.
type said struct {
	words  sentence.Condition
	listed report.Condition
}

func wordsOf(k *compare.Condition) said {
	w := sentence.Condition{Check: k.Check, State: string(k.State), Reason: k.Reason, A: sentence.Value(k.A), B: sentence.Value(k.B),
		Gap: k.Gap, GapUnit: k.GapUnit}
	a, b := w.Sides()
	return said{w, report.Condition{Check: k.Check, Name: w.Name(), State: string(k.State), A: a, B: b, Text: w.Text()}}
}

// exchangeWords says what exchanged packs tell, "" where none were.
func exchangeWords(c *compare.Comparison) string {
	e := c.Exchanged
	if e == nil {
		return ""
	}
	return sentence.Exchanged(sentence.Exchange{A: c.A, B: c.B, First: e.First, Second: e.Second, Unit: e.Unit, Pack: e.Pack})
}

// together joins sentences, of which some may be empty.
func together(sentences ...string) string {
	return strings.Join(slices.DeleteFunc(sentences, func(s string) bool { return s == "" }), " ")
}

func verdictWords(c *compare.Comparison, v *compare.Verdict, conditions []sentence.Condition, memory *memory) sentence.Verdict {
	w := sentence.Verdict{A: c.A, B: c.B, ValueA: v.A, ValueB: v.B, Ratio: v.Ratio, Code: string(v.Code), Reason: v.Reason,
		RunsA: v.RunsA, RunsB: v.RunsB, Tests: v.Tests, Spread: v.Spread, Assumed: v.Assumed, Stands: v.Stands, Smallest: v.Smallest,
		RepeatsFor: compare.PlannedDifference, Holm: v.Holm, Unit: "mA", Inferred: v.Inferred,
		Exchanged: v.Exchanged, OneMeter: v.OneMeter, InOrder: v.InOrder,
		SamePack: v.SamePack, AsStated: v.AsStated, SpecimensA: v.SpecimensA, SpecimensB: v.SpecimensB, EqualRate: v.EqualRate, Margin: v.Margin, Unknowns: v.Unknowns, Splits: v.Splits,
		WhyA: v.WhyA, WhyB: v.WhyB, Banks: v.Banks, SetUp: len(c.SetUpUnlike()) > 0}
	if v.Code == compare.NoDifferenceShown {
		w.Repeats = memory.repeats.of(v.Spread, v.Repeats)
	}
	if v.Energy {
		w.Unit = "mW"
	}
	w.EqualAir, w.Judged, w.JudgedA, w.JudgedB = v.EqualAir, v.Judged, v.JudgedA, v.JudgedB
	if c.AtOneRate != nil {
		w.PerHour = c.AtOneRate.PerHour
	}
	for _, check := range v.Mismatches {
		if at := slices.IndexFunc(conditions, func(c sentence.Condition) bool { return c.Check == check }); at >= 0 {
			w.Mismatches = append(w.Mismatches, conditions[at])
		}
	}
	return w
}

// alike says whether the two units beacon alike, by the runs of the test that the comparison is about, and the schedules in
// force at their ends.
func (a *analysis) alike(c *compare.Comparison, memory *memory) report.Alike {
	likeness := schedule.Likeness{Verdict: schedule.TooEarly, CertainAt: clock.None, Waiting: schedule.WaitGaps}
	words := sentence.Alike{A: c.A, B: c.B}
	if i, k, j, l, ok := a.sideBySide(c); ok {
		likeness = memory.alike(a.observedIn(i, k, memory), a.observedIn(j, l, memory))
		words.SlowsA, words.SlowsB = a.slows(i, k), a.slows(j, l)
		words.Running = a.goesOn(i, k) && a.goesOn(j, l)
	}
	words.Verdict, words.Waiting, words.When = likeness.Verdict.String(), likeness.Waiting, a.zone().Show(likeness.CertainAt)
	words.IntervalA, words.IntervalB = likeness.A, likeness.B
	return report.Alike{Verdict: words.Verdict, CertainAt: timeOf(likeness.CertainAt), Text: sentence.AlikeOf(words)}
}

// sideBySide gives the latest runs (k of unit i, l of unit j) that belong to one test of the pair and were heard.
func (a *analysis) sideBySide(c *compare.Comparison) (i, k, j, l int, ok bool) {
	i = slices.IndexFunc(a.units, func(u traffic.Unit) bool { return u.Name == c.A })
	j = slices.IndexFunc(a.units, func(u traffic.Unit) bool { return u.Name == c.B })
	for k = len(a.runs[i]) - 1; k >= 0; k-- {
		for l = len(a.runs[j]) - 1; l >= 0; l-- {
			x, y := &a.runs[i][k], &a.runs[j][l]
			if x.Label == y.Label && (c.Label == "" || x.Label == c.Label) && len(x.Parts) > 0 && len(y.Parts) > 0 {
				return i, k, j, l, true
			}
		}
	}
	return 0, 0, 0, 0, false
}

// slows tells whether a run lengthened its interval at rest.
func (a *analysis) slows(unit, run int) bool {
	return a.runs[unit][run].Schedule.Kind == schedule.Decaying
}

// observed is what was heard under the last schedule of a run; key is the digest of it.
type observed struct {
	schedule.Observed
	key digest
}

// observedIn gives the beacons heard under the last schedule of a run, which is compared with many others.
func (a *analysis) observedIn(unit, run int, memory *memory) observed {
	return a.lives[unit].observed.of(run, func() observed { return a.observe(unit, run, memory) })
}

func (a *analysis) observe(unit, run int, memory *memory) observed {
	parts := a.runs[unit][run].Parts
	last := &parts[len(parts)-1]
	o := observed{Observed: schedule.Observed{Motion: a.timelines[unit], Fitted: &last.Schedule}}
	for _, t := range last.Beacons {
		sent := &a.units[unit].Transmissions[t]
		o.Times = append(o.Times, sent.At)
		o.Resolution = max(o.Resolution, clock.Seconds(a.evidence.Files[sent.Heard[0].Line.File].Resolution))
	}
	o.key = digestOf(heardUnder(o.Times, o.Resolution, o.Motion))
	heard := digestOf(heardUnder(o.Times, o.Resolution, motion.Timeline{})) // how the unit moved has no part in its periods
	o.Read = func() []schedule.Reading { return memory.readings.of(heard, o.Periods) }
	return o
}
