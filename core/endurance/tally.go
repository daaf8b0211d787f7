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
		if s := d.walk.step(b.due); s > 0 && (i == 0 || len(d.Expected) == 0 || math.Abs(s-d.Expected[len(d.Expected)-1].Interval) > 0.001*s) {
			d.Expected = append(d.Expected, Expectation{b.due, s})
		}
	}
	heard := len(d.Transmissions)
	d.Rate = d.rate(d.FirstHeard, d.LastHeard, heard, d.Missed, true)
	if d.Missed.Known {
		ends := estimate.Of(0, d.beyond(0.5), d.beyond(0.975))
		d.Sent = estimate.Of(float64(heard)+d.Missed.Low, float64(heard)+d.Missed.Best+ends.Best, float64(heard)+d.Missed.High+ends.High)
	}
	d.periods()
}

// beyond gives how many beacons were sent after the last one heard, at a share of chance; 0 where the run is open.
func (d *draft) beyond(share float64) float64 {
	if !d.State.Closed() || len(d.after) == 0 {
		return 0
	}
	i, _ := d.after.find(share)
	return float64(i)
}

// rate gives transmissions sent per hour between two moments. With due times counted, a chain of n beacons spans n-1
// intervals when it begins and ends with one of them; elsewhere a beacon more or less may fall inside. Without a rule only
// those heard are known: the limits below are those of a count, and the rate is open above.
func (d *draft) rate(from, to clock.Instant, heard int, missed estimate.Estimate, chain bool) estimate.Estimate {
	hours := to.Sub(from).Hours()
	if hours <= 0 {
		return estimate.Unknown
	}
	if !missed.Known {
		e := estimate.Rate(heard, hours)
		e.High = math.Inf(1)
		return e
	}
	low, best, high := float64(heard)+missed.Low, float64(heard)+missed.Best, float64(heard)+missed.High
	if chain {
		if heard < 2 {
			return estimate.Unknown
		}
		jitter := 2 * 1.96 * d.Schedule.Jitter / to.Sub(from).Seconds()
		return estimate.Of((low-1)/hours*(1-jitter), (best-1)/hours, (high-1)/hours*(1+jitter))
	}
	return estimate.Of(max(0, low-1)/hours, best/hours, (high+1)/hours)
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
	if head := all[0].End.Best.Sub(all[0].Start.Best).Seconds(); head <= 2*d.walk.step(d.FirstHeard) {
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
	if d.Missed.Known {
		lost := 0
		for _, at := range d.MissedAt {
			if in(at) {
				lost++
			}
		}
		share := 0.0
		if n := float64(len(d.MissedAt)); n > 0 {
			share = float64(lost) / n
		}
		t.Missed = estimate.Of(d.Missed.Low*share, float64(lost), d.Missed.High*share)
	}
	t.Rate = d.rate(t.Start.Best, t.End.Best, t.Transmissions, t.Missed, false)
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
