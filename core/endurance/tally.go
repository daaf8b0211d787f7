package endurance

import (
	"math"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/motion"
)

// count fills in what the run sent: missed beacons, the total, the rate, and the same for each period.
func (d *draft) count() {
	for i, b := range d.beats {
		if !b.heard() {
			d.MissedAt = append(d.MissedAt, b.due)
			continue
		}
		if s := d.stepAt(b.due); s > 0 && (i == 0 || len(d.Expected) == 0 || math.Abs(s-d.Expected[len(d.Expected)-1].Interval) > 0.001*s) {
			d.Expected = append(d.Expected, Expectation{b.due, s})
		}
	}
	heard := len(d.useful())
	if d.Rate = d.overRun(heard); d.dropped {
		d.Rate = estimate.Unknown
	}
	if d.Missed.Known {
		ends := estimate.Of(0, d.beyond(0.5)+d.early(0.5), d.beyond(0.975)+d.early(0.975))
		d.Sent = estimate.Of(float64(heard-len(d.doubted))+d.Missed.Low, float64(heard)+d.Missed.Best+ends.Best, float64(heard)+d.Missed.High+ends.High)
		if !d.State.Closed() && d.State != Stopped {
			d.Sent.High = math.Inf(1)
		}
	}
	d.periods()
}

// beyond gives how many beacons were sent after the last one heard, at a share of chance; 0 where the run is open. Of a run
// that was stopped on purpose, as many as were due until then.
func (d *draft) beyond(share float64) float64 {
	if step := d.step(); d.State == Stopped && step > 0 && share > 0.5 {
		return math.Floor(max(0, d.End.Latest.Sub(d.alive).Seconds()) / step)
	}
	if !d.State.Closed() || len(d.after) == 0 {
		return 0
	}
	i, _ := d.after.find(share)
	return float64(i)
}

// early gives how many beacons were sent before the first one heard, at a share of chance. After a noted power-on they are
// the due times in between, of which the unit may have let any pass while it looked for its place, unless its habit is known.
func (d *draft) early(share float64) float64 {
	if len(d.before) > 0 {
		i, _ := d.before.find(share)
		return float64(i)
	}
	step := d.stepAt(d.FirstHeard)
	if d.Basis != PowerOn || step == 0 {
		return 0
	}
	due := func(from clock.Instant) float64 { return max(0, math.Floor(d.FirstHeard.Sub(from).Seconds()/step)) }
	switch habit := d.habit; {
	case share > 0.5:
		return due(d.Start.Earliest)
	case habit == AtOnce:
		return due(d.Start.Latest)
	case habit == AfterInterval:
		return max(0, due(d.Start.Latest)-1)
	}
	return 0
}

// overRun gives the rate over the whole run: what was sent over how long it lasted. Whichever gap the unit fell silent in,
// both the beacons and the time up to it are known, so the limits are the extremes over the gaps that the claim spans. When
// the begin is not known the rate is that of the chain of beacons heard.
func (d *draft) overRun(heard int) estimate.Estimate {
	if !d.Missed.Known || d.Basis != PowerOn || len(d.Transmissions) < 2 {
		return d.chained(heard)
	}
	onAir := func(start clock.Instant) float64 { return d.alive.Sub(start).Hours() }
	most, least := onAir(d.Start.Earliest), onAir(d.Start.Latest)
	last := 0
	if d.State.Closed() && len(d.after) > 0 {
		last, _ = d.after.find(0.975)
	}
	e := estimate.Of(math.Inf(1), 0, 0)
	for k := 0; k <= last; k++ {
		from, to := 0.0, d.step()/3600
		if len(d.after) > k {
			from, to = d.after[k].from/3600, (d.after[k].to+d.after[k].slack)/3600
		}
		e.Low = min(e.Low, (float64(heard+k)+d.Missed.Low)/(most+to))
		e.High = max(e.High, (float64(heard+k)+d.Missed.High+d.early(0.975))/(least+from))
	}
	sent, hours := float64(heard)+d.Missed.Best+d.early(0.5), onAir(d.Start.Best)
	if d.State.Closed() {
		sent, hours = sent+d.beyond(0.5), d.Runtime.Best/3600
	}
	if least <= 0 || hours <= 0 {
		return d.chained(heard)
	}
	e.Best = min(max(sent/hours, e.Low), e.High)
	return e
}

// chained gives the rate of the beacons from the first heard to the last: n of them span n-1 intervals. Over the whole run,
// whose begin nobody noted, it may be that of a beacon more or less, and the unit may have been silent at first.
func (d *draft) chained(heard int) estimate.Estimate {
	span := d.LastHeard.Sub(d.FirstHeard)
	if !d.Missed.Known {
		return d.rate(span.Hours(), heard, d.Missed)
	}
	if heard < 2 || span <= 0 {
		return estimate.Unknown
	}
	jitter := 2 * 1.96 * d.Schedule.Jitter / span.Seconds()
	n := float64(heard-1) / span.Hours()
	lost := d.Missed.Scale(1 / span.Hours())
	edge, silent := 1/span.Hours(), 1.0
	if d.Start.Earliest.Known() {
		silent = span.Seconds() / d.LastHeard.Sub(d.Start.Earliest).Seconds()
	}
	return estimate.Of(max(0, n+lost.Low-edge)*(1-jitter)*silent, n+lost.Best, (n+lost.High+edge)*(1+jitter))
}

// rate gives transmissions sent per hour in a stretch: a beacon more or less may fall inside. Without a rule only those
// heard are known: the limits below are those of a count, and the rate is open above.
func (d *draft) rate(hours float64, heard int, missed estimate.Estimate) estimate.Estimate {
	if hours <= 0 {
		return estimate.Unknown
	}
	if !missed.Known {
		e := estimate.Rate(heard, hours)
		e.High = math.Inf(1)
		return e
	}
	n := float64(heard)
	return estimate.Of(max(0, n+missed.Low-1)/hours, (n+missed.Best)/hours, (n+missed.High+1)/hours)
}

// periods tallies what the unit did while it stood and while it moved; they tile the run from its best start to its best
// end, or as far as it is known to have been on.
func (d *draft) periods() {
	start, end := d.Start.Best, d.End.Best
	if !start.Known() {
		start = d.FirstHeard
	}
	if !end.Known() {
		end = max(d.alive, d.LastHeard)
	}
	all := d.settledEnds(d.subject.Timeline.Clip(start, end))
	for i, p := range all {
		t := Tally{Period: p, Missed: estimate.Unknown}
		last := i == len(all)-1
		in := func(at clock.Instant) bool { return at >= p.Start.Best && (at < p.End.Best || last && at == end) }
		d.tally(&t, in)
		d.Periods = append(d.Periods, t)
	}
}

// settledEnds lets a unit that stood at its first fix have stood since power-on, when that is within two intervals, and one
// that stood at its last packet stand until the end.
func (d *draft) settledEnds(all []motion.Period) []motion.Period {
	if n := len(all); n > 1 && all[n-1].State == motion.Unknown && all[n-2].State == motion.Stationary && d.State.Closed() {
		all[n-2].End = all[n-1].End
		all = all[:n-1]
	}
	if len(all) < 2 || all[0].State != motion.Unknown || all[1].State != motion.Stationary {
		return all
	}
	if head := all[0].End.Best.Sub(all[0].Start.Best).Seconds(); head <= 2*d.stepAt(d.FirstHeard) {
		all[1].Start = all[0].Start
		all = all[1:]
	}
	return all
}

// tally counts what lies in a period.
func (d *draft) tally(t *Tally, in func(clock.Instant) bool) {
	var gaps []float64
	previous := clock.None
	for _, i := range d.Transmissions {
		if in(d.subject.Unit.Transmissions[i].At) {
			t.Transmissions++
		}
	}
	for _, b := range d.beacons {
		at := d.subject.Unit.Transmissions[b].At
		if !in(at) {
			previous = clock.None
			continue
		}
		if previous.Known() {
			gaps = append(gaps, at.Sub(previous).Seconds())
		}
		previous = at
	}
	t.Interval = intervalOf(gaps)
	if d.dropped && t.State != motion.Moving {
		return
	}
	t.Missed = d.missedIn(in)
	until := t.End.Best
	if !d.State.Closed() { // what was sent after the last packet heard is not known
		until = min(until, d.LastHeard)
	}
	lost := t.Missed
	if until > d.LastHeard && lost.Known { // up to the best end some were due after the last one heard
		after := d.beyond(0.5)
		lost = estimate.Of(lost.Low, lost.Best+after, lost.High+after)
	}
	t.Rate = d.rate(until.Sub(t.Start.Best).Hours(), t.Transmissions, lost)
}

// missedIn counts the beacons missed in a period. How many more or fewer there were in the run is shared out: what is not
// sure about one gap is so whatever happened in the others, so that a part of the due times has the root of that part of it.
func (d *draft) missedIn(in func(clock.Instant) bool) estimate.Estimate {
	all := d.Missed
	if d.dropped {
		all = d.spread
	}
	if !all.Known {
		return estimate.Unknown
	}
	due, lost := 0.0, 0.0
	for _, b := range d.beats {
		if !in(b.due) {
			continue
		}
		due++
		if !b.heard() {
			lost++
		}
	}
	part := math.Sqrt(due / float64(max(1, len(d.beats))))
	fewer, more := part*(all.Best-all.Low), part*max(0, all.High-all.Best-float64(len(d.unsure)))
	for _, due := range d.unsure {
		if in(due) {
			more++
		}
	}
	return estimate.Of(max(0, lost-fewer), lost, lost+more)
}

// intervalOf sums up gaps.
func intervalOf(gaps []float64) Interval {
	if len(gaps) == 0 {
		return Interval{}
	}
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	sum := 0.0
	for _, g := range sorted {
		sum += g
	}
	n := len(sorted)
	return Interval{
		Min: sorted[0], Median: (sorted[(n-1)/2] + sorted[n/2]) / 2, Mean: sum / float64(n), Max: sorted[n-1],
	}
}
