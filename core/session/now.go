package session

import (
	"math"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/estimate"
	"lastbeacon/core/outlook"
	"lastbeacon/core/report"
	"lastbeacon/core/sentence"
)

// now describes a run that may still be going on, at the end of the listening, or has ended just before it; nil for any other.
func (a *analysis) now(i, k int) *report.Now {
	n := a.runs[i][k].Now
	if n == nil {
		return nil
	}
	z := a.zone()
	o := &report.Now{ListenedUntil: n.ListenedUntil.String(), SinceLastHeard: n.SinceHeard, SlowingSince: timeOf(n.SlowingSince)}
	w := sentence.Now{Since: n.SinceHeard, ListenedUntil: z.Show(n.ListenedUntil), Missed: n.DueMissed, Chance: n.Chance}
	if n.DueMissed >= 0 {
		missed := n.DueMissed
		o.DueMissed = &missed
	}
	o.ChanceByLossAlone = numberOf(n.Chance)
	if n.SlowingSince.Known() {
		w.SlowingSince = z.Show(n.SlowingSince)
	}
	w.Ended = !a.goesOn(i, k)
	if w.Ended {
		o.Text = sentence.NowOf(w)
		return o
	}
	end, runs, outlasted := a.expectedEnd(i, k)
	w.Runs, w.Outlasted = runs, outlasted
	if end.Best.Known() {
		o.ExpectedEnd = &report.Bounds{Earliest: timeOf(end.Earliest), Best: timeOf(end.Best), Latest: timeOf(end.Latest)}
		w.Earliest, w.Best, w.Latest = z.Show(end.Earliest), z.Show(end.Best), z.ShowBy(end.Latest)
		if !end.Earliest.Known() {
			w.Earliest = ""
		}
	}
	o.Text, o.Outlook = sentence.NowOf(w), sentence.OutlookOf(w)
	return o
}

// goesOn tells whether a run had not ended when the listening did, as far as is known.
func (a *analysis) goesOn(i, k int) bool {
	return a.runs[i][k].Now != nil && a.runs[i][k].State != endurance.Ended
}

// expectedEnd foretells the end of a run from the earlier ones of its unit that are like it, and says how many those are. A
// run that has outlasted what they foretell has no expected end, nor has one of which nobody knows when it began.
func (a *analysis) expectedEnd(i, k int) (end clock.Between, runs int, outlasted bool) {
	run := &a.runs[i][k]
	u := outlook.Unit{CV: a.repeatability()}
	for e := range k {
		if a.likeRun(i, e, k) && a.draws[i][e].Supply != draw.External {
			u.Runs = append(u.Runs, outlook.Run{Time: a.runs[i][e].Runtime})
		}
	}
	for e := range a.finished[i] {
		f := &a.finished[i][e]
		before, _ := f.saved.Span()
		if f.saved.Rankable && before.Known() && before < run.LastHeard && f.draw.Supply != draw.External && a.like(i, k, f.load.Rate, f.saved.Battery.Battery()) {
			u.Runs = append(u.Runs, outlook.Run{Time: f.load.Time})
		}
	}
	if len(u.Runs) == 0 || !run.Start.Best.Known() {
		return clock.AnyTime, len(u.Runs), false
	}
	left := outlook.Again(u, run.LastHeard.Sub(run.Start.Best).Seconds())
	if !left.Known {
		return clock.AnyTime, len(u.Runs), true
	}
	after := func(from clock.Instant, seconds float64) clock.Instant {
		if !from.Known() {
			return clock.None
		}
		return max(run.LastHeard, from.Add(clock.Seconds(seconds)))
	}
	return clock.Between{Earliest: after(run.Start.Earliest, left.Low), Best: after(run.Start.Best, left.Best),
		Latest: after(run.Start.Latest, left.High)}, len(u.Runs), false
}

// likeRate is by how much the beacons per hour of two runs may differ, relative, for one to foretell the other.
const likeRate = 0.1

// likeRun tells whether an ended run of the evidence foretells another of the same unit.
func (a *analysis) likeRun(i, ended, going int) bool {
	x := &a.runs[i][ended]
	return x.Rankable && a.like(i, going, x.Rate, a.bench.Units[i].Draw(x.Noted).Battery)
}

// like tells whether a run goes on a battery of the same charge as an ended one, at about the same rate of beacons.
func (a *analysis) like(i, going int, rate estimate.Estimate, battery draw.Battery) bool {
	run := &a.runs[i][going]
	if !oneCharge(run) || !rate.Positive() || !run.Rate.Positive() {
		return false
	}
	own := a.bench.Units[i].Draw(run.Noted).Battery
	return battery.CapacityMAh == own.CapacityMAh && battery.NominalV == own.NominalV && math.Abs(math.Log(rate.Best/run.Rate.Best)) < likeRate
}
