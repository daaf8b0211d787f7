package session

import (
	"math"
	"slices"

	"lastbeacon/core/bench"
	"lastbeacon/core/clock"
	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/outlook"
	"lastbeacon/core/report"
	"lastbeacon/core/schedule"
	"lastbeacon/core/sentence"
)

// outlook makes every projection that the bench asks for.
func (a *analysis) outlook() []report.Outlook {
	o := a.bench.Outlook
	if o == nil {
		return nil
	}
	var out []report.Outlook
	for i := range a.units {
		u := a.projected(i)
		for k := range o.Packs {
			pack := o.Packs[k].Battery()
			w := sentence.Projection{CapacityMAh: pack.CapacityMAh, EnergyWh: pack.EnergyWh, Supply: string(pack.Supply)}
			if v := pack.Volts(); v != u.Battery.Volts() {
				w.Volts = v
			}
			out = append(out, projection(u.Name, outlook.Pack(u, pack), w))
		}
		for _, s := range o.IntervalsS {
			w := sentence.Projection{IntervalS: s, PerHour: 3600 / s}
			out = append(out, projection(u.Name, outlook.Schedule(u, 3600/s), w))
		}
		for _, d := range o.Duties {
			w := sentence.Projection{TX: d.TXPct, RX: d.RXPct, Standby: 100 - d.TXPct - d.RXPct}
			out = append(out, projection(u.Name, outlook.Share(duty(d), u.Battery), w))
		}
		for _, r := range o.Routes {
			if r.Unit == "" || r.Unit == u.Name {
				out = append(out, a.route(i, u, r))
			}
		}
	}
	if o.Shift != nil {
		out = append(out, a.shifts(o.Shift)...)
	}
	return out
}

// projected gives what a projection of a unit rests on: its runs that ended.
func (a *analysis) projected(i int) outlook.Unit {
	u := outlook.Unit{Name: a.units[i].Name, Split: a.splits[i], Battery: a.bench.Units[i].Draw(-1).Battery, CV: a.repeatability()}
	for k := range a.runs[i] {
		run := &a.runs[i][k]
		u.Running = a.goesOn(i, k)
		if run.Rankable {
			u.Runs = append(u.Runs, finishedRun(run.Runtime, run.Rate, a.draws[i][k]))
		}
	}
	for _, f := range a.finished[i] {
		if f.saved.Rankable {
			u.Runs = append(u.Runs, finishedRun(f.load.Time, f.load.Rate, f.draw))
		}
	}
	return u
}

// finishedRun is a run to project from. One on an external supply tells what it drew, but not how long a charge lasts.
func finishedRun(time, rate estimate.Estimate, d draw.Draw) outlook.Run {
	if d.Supply == draw.External {
		time = estimate.Unknown
	}
	return outlook.Run{Time: time, Rate: rate, Draw: d}
}

func projection(unit string, p outlook.Projection, w sentence.Projection) report.Outlook {
	w.Unit, w.Kind, w.Of, w.Runtime, w.DrawMA, w.Transmissions = unit, p.Kind, p.Of, p.Runtime, p.DrawMA, p.Transmissions
	w.Share, w.Extrapolated, w.Refused, w.Assumed, w.Spread = p.Share, p.Extrapolated, p.Refused, p.Assumed, p.Spread
	return report.Outlook{Unit: unit, Kind: p.Kind, Of: p.Of, Text: sentence.Outlook(w), Runtime: estimateOf(p.Runtime),
		DrawMA: estimateOf(p.DrawMA), Transmissions: estimateOf(p.Transmissions), Extrapolated: p.Extrapolated, Refused: p.Refused}
}

// currentPct is the half-width, in percent, put to a stated current (common practice, no source).
const currentPct = 10

func duty(d bench.Duty) outlook.Duty {
	stated := func(ma *float64) estimate.Estimate {
		if ma == nil {
			return estimate.Unknown
		}
		return estimate.Of(*ma*(1-currentPct/100.0), *ma, *ma*(1+currentPct/100.0))
	}
	return outlook.Duty{TX: d.TXPct / 100, RX: d.RXPct / 100, Standby: 1 - (d.TXPct+d.RXPct)/100,
		TXmA: stated(d.TXMA), RXmA: stated(d.RXMA), StandbyMA: stated(d.StandbyMA)}
}

// route replays a track against the schedule of a unit's latest run.
func (a *analysis) route(i int, u outlook.Unit, r bench.Route) report.Outlook {
	fixes := a.fixesOf(r.File)
	refused := func(why string) report.Outlook {
		return projection(u.Name, outlook.Projection{Kind: "route", Of: outlook.ThisUnit, Refused: why}, sentence.Projection{})
	}
	rule, ok := a.rule(i)
	switch {
	case len(fixes) < 2:
		return refused("no_track")
	case !ok:
		return refused("no_schedule")
	}
	t := motion.OfTrack(fixes)
	first, last, _ := t.Span()
	sent := rule.Walk(first, last, t)
	n := float64(len(sent))
	plan := outlook.Plan{Seconds: last.Sub(first).Seconds(), Beacons: estimate.Exact(n)}
	if rule.Kind == schedule.Adaptive && !rule.Corners {
		plan.Beacons = estimate.Of(n, n, 2*n) // corner beacons come on top where they are used
	}
	p := outlook.Route(u, plan)
	w := sentence.Projection{}
	if p.Share.Known && p.Share.High > 1 {
		w.EndsS = outlook.Ends(u.Split, p.Share, first, last, sent)
		w.EndsM = along(t, first, w.EndsS)
	}
	out := projection(u.Name, p, w)
	out.EndsAfter, out.EndsAlong = estimateOf(w.EndsS), estimateOf(w.EndsM)
	return out
}

// along gives how far a track has gone after so many seconds, in metres along the way.
func along(t motion.Timeline, first clock.Instant, after estimate.Estimate) estimate.Estimate {
	if !after.Known {
		return estimate.Unknown
	}
	to := func(seconds float64) float64 {
		if math.IsInf(seconds, 1) {
			return seconds
		}
		at, sum := first.Add(clock.Seconds(seconds)), 0.0
		for _, p := range t.Periods {
			whole := p.End.Best.Sub(p.Start.Best).Seconds()
			if part := min(1, at.Sub(p.Start.Best).Seconds()/whole); whole > 0 && part > 0 && p.Distance.Known {
				sum += part * p.Distance.Best
			}
		}
		return sum
	}
	return estimate.Of(to(after.Low), to(after.Best), to(after.High))
}

// rule gives the schedule of a unit's latest run that has one by which beacons fall due.
func (a *analysis) rule(i int) (s schedule.Schedule, ok bool) {
	for k := len(a.runs[i]) - 1; k >= 0; k-- {
		if s := a.runs[i][k].Schedule; s.Kind != schedule.Undecided && s.Kind != schedule.Irregular {
			return s, true
		}
	}
	return s, false
}

func (a *analysis) fixesOf(name string) []evidence.Fix {
	var fixes []evidence.Fix
	for _, t := range a.evidence.Tracks {
		if a.evidence.Files[t.File].Name == name {
			fixes = append(fixes, t.Fixes...)
		}
	}
	return fixes
}

// shifts says, kind by kind, whether further units last a shift. A unit without a kind stands for itself.
func (a *analysis) shifts(s *bench.Shift) []report.Outlook {
	var kinds []string
	members := map[string][]int{}
	for i := range a.units {
		kind := a.bench.Units[i].Kind
		if kind == "" {
			kind = a.units[i].Name
		}
		if !slices.Contains(kinds, kind) {
			kinds = append(kinds, kind)
		}
		members[kind] = append(members[kind], i)
	}
	var out []report.Outlook
	for _, kind := range kinds {
		out = append(out, a.shift(kind, members[kind], s))
	}
	return out
}

func (a *analysis) shift(kind string, members []int, s *bench.Shift) report.Outlook {
	use := outlook.Use{Overs: s.VoicePerH, OverS: s.VoiceS}
	if s.IntervalS > 0 {
		use.PerHour = 3600 / s.IntervalS
	}
	var units []outlook.Unit
	for _, i := range members {
		u := a.projected(i)
		units = append(units, u)
		stated := a.bench.Units[i].Transmit().CurrentMA
		use.TransmitMA = append(use.TransmitMA, outlook.TransmitCurrent(stated, u, a.habits[i].airtime))
	}
	answer := outlook.Kind(units, use, outlook.Shift{Seconds: s.Hours * 3600, Reserve: s.ReservePct / 100, Spread: s.SpreadPct / 100, Units: s.Units})
	w := sentence.Projection{HoursS: s.Hours * 3600, ReservePct: s.ReservePct, NeedS: answer.Need,
		ReachS: answer.Reach, SparePacks: answer.SparePacks, ShortestS: answer.ShortestS, Specimens: answer.Specimens, Cold: s.Cold}
	a.watchOver(&w, members, s)
	out := projection(kind, answer.Projection, w)
	out.AgeMoving, out.AgeParked = positive(w.AgeMovingS), positive(w.AgeParkedS)
	out.ChannelLoad, out.ChannelLost = positive(w.Load), positive(w.Lost)
	return out
}

// watchOver says what a shift's position reports are worth and cost the channel, by the worst of the kind's units: the least
// share heard, the longest intervals for the age, the shortest and the longest time on the air for the channel. Intervals are
// the one asked for, else those of each unit's latest schedule.
func (a *analysis) watchOver(w *sentence.Projection, members []int, s *bench.Shift) {
	moving, parked, busiest, heard, air := 0.0, 0.0, math.Inf(1), 1.0, 0.0
	for _, i := range members {
		rule, ok := a.rule(i)
		if !ok {
			continue
		}
		for k := range a.runs[i] {
			if run := &a.runs[i][k]; run.ShareHeard.Known && len(run.Transmissions) > 0 {
				heard = min(heard, run.ShareHeard.Best)
			}
		}
		m, p := rule.Steady()
		if s.IntervalS > 0 {
			m, p = s.IntervalS, s.IntervalS
		}
		moving, parked, busiest = max(moving, m), max(parked, p), min(busiest, m)
		if e := a.habits[i].airtime; e.Known {
			air = max(air, e.Best)
		}
	}
	if !(moving > 0) {
		return
	}
	w.AgeMovingS, w.AgeParkedS, w.Heard = outlook.Age(moving, heard, 0.95), outlook.Age(parked, heard, 0.95), heard
	if s.Units > 0 && air > 0 {
		w.Units, w.Repeats = s.Units, s.Repeats
		load, survive := outlook.ChannelLoad(s.Units, busiest, air, s.Repeats)
		w.Load, w.Lost = load, 1-survive
	}
}

// nextTest plans a test that would show the difference that comparisons are planned for; nil while no run has ended.
func (a *analysis) nextTest() *report.NextTest {
	cv, assumed := a.scatter()
	q := outlook.Question{Difference: compare.PlannedDifference, Power: compare.PlannedPower, CV: cv, ShortestS: math.Inf(1), Heard: 1}
	if margin := a.bench.Settings().Margin; margin > 0 {
		q.Difference, q.Margin = margin, true
	}
	for i := range a.runs {
		for k := range a.runs[i] {
			run := &a.runs[i][k]
			if run.Rankable && a.draws[i][k].Supply != draw.External {
				q.ShortestS = min(q.ShortestS, run.Runtime.Best)
				q.LongestS = max(q.LongestS, run.Runtime.Best)
			}
			if run.ShareHeard.Known && run.ShareHeard.Best > 0 {
				q.Heard = min(q.Heard, run.ShareHeard.Best)
			}
		}
	}
	if q.LongestS == 0 {
		return nil
	}
	t := outlook.Next(q)
	return &report.NextTest{DifferencePct: 100 * q.Difference, PowerPct: 100 * q.Power, SpreadPct: 100 * q.CV, Runs: t.Runs, RunsEqual: t.RunsEqual,
		Interval: t.IntervalS, WatchFrom: t.WatchS, Listen: t.ListenS, Text: sentence.NextTest(sentence.Test{Difference: q.Difference, Power: q.Power,
			Spread: q.CV, Assumed: assumed, Runs: t.Runs, RunsEqual: t.RunsEqual, IntervalS: t.IntervalS, WatchS: t.WatchS, DurationS: t.ListenS, Unlike: a.setUnlike()})}
}

// scatter gives the relative spread from run to run that the verdicts on run times rest on, the largest where there are several, and
// whether it is only assumed: one that was seen goes before any that is.
func (a *analysis) scatter() (cv float64, assumed bool) {
	seen, taken := 0.0, 0.0
	for i := range a.comparisons {
		v := &a.comparisons[i].Runtime
		taken = max(taken, v.Spread)
		if !v.Assumed {
			seen = max(seen, v.Spread)
		}
	}
	switch {
	case seen > 0:
		return seen, false
	case taken > 0:
		return taken, true
	}
	return a.repeatability(), true
}

// setUnlike gives the checks of what can be set and was not alike for all units.
func (a *analysis) setUnlike() (checks []string) {
	for _, check := range []string{compare.TransmitRate, compare.RFPower, compare.Path, compare.Fix, compare.SecondReceiver, compare.Audio,
		compare.PowerSaver, compare.AutoPowerOff, compare.Repeating} {
		if slices.ContainsFunc(a.comparisons, func(c compare.Comparison) bool {
			return slices.ContainsFunc(c.Conditions, func(k compare.Condition) bool {
				return k.Check == check && (k.State == compare.Mismatch || k.State == compare.Corrected && k.Reason == "")
			})
		}) {
			checks = append(checks, check)
		}
	}
	return checks
}
