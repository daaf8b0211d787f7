package endurance

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"lastbeacon/core/clock"
	"lastbeacon/core/schedule"
)

// An opening is when a run began: seconds before the first packet heard. open: how early it may have been is not known.
type opening struct {
	triple triple
	open   bool
}

// Habits of units between power-on and the first beacon. Common practice, no source: a radio is up within half a minute;
// a first fix takes two minutes in the middle, 14 with one in forty.
const (
	bootTime  = 30.0
	fixMedian = 120.0
	fixSpread = 1.0 // of the logarithm
)

// begin bounds the start.
func (d *draft) begin() opening {
	if d.charge.powerOn != nil {
		return d.poweredOn(*d.charge.powerOn)
	}
	if d.Basis == Restart {
		return d.restarted()
	}
	return d.unnoted()
}

// poweredOn takes a noted power-on, which cannot be later than the first packet.
func (d *draft) poweredOn(on Moment) opening {
	earliest := d.FirstHeard.Sub(on.earliest()).Seconds()
	first := d.FirstHeard.Add(d.resolution)
	by := min(on.latest(), first)
	latest := d.FirstHeard.Sub(by).Seconds()
	d.Start = clock.Between{Earliest: on.earliest(), Best: min(on.At, first), Latest: by}
	d.doubtPowerOn(d.FirstHeard.Sub(on.At), on.Precision)
	return opening{triple: edged((earliest+latest)/2, (earliest-latest)/2)}
}

// doubtPowerOn raises questions about a power-on long before the first packet. One interval before it is where a unit is
// switched on that waits for it, even if that is a quarter of an hour.
func (d *draft) doubtPowerOn(before, precision time.Duration) {
	quarter := before.Round(15 * time.Minute)
	switch {
	case quarter > 0 && !d.waitedFor(before, precision) && (before-quarter).Abs() <= precision+time.Minute:
		d.flag(FlagPowerOnZone, before.Seconds(), clock.None)
	case d.step() > 0 && before.Seconds() > 3*d.step():
		d.flag(FlagPowerOnEarly, before.Seconds(), clock.None)
	}
}

// restarted bounds the start by the noted event that began the run and the first packet, which may still be one of the run
// before when it came within the precision of the note.
func (d *draft) restarted() opening {
	by, earliest, latest := d.FirstHeard, d.FirstHeard, d.FirstHeard
	for _, e := range d.charge.began {
		by, earliest = min(e.At, d.FirstHeard), min(e.earliest(), d.FirstHeard)
		latest = max(latest, min(e.latest(), d.LastHeard))
	}
	d.Start = clock.Between{Earliest: earliest, Best: by, Latest: latest}
	at := func(t clock.Instant) spread { return spread{{d.FirstHeard.Sub(t).Seconds(), 1}} }
	return opening{triple: triple{low: at(latest), best: at(by), high: at(earliest)}}
}

// unnoted bounds the start by due times before the first packet, mirrored: losses may hide the first beacons. How long the
// unit was on before its first beacon is the user's to say; without that, only the late side is known.
func (d *draft) unnoted() opening {
	d.Start = clock.Between{Earliest: clock.None, Best: clock.None, Latest: d.FirstHeard.Add(d.resolution)}
	before, watched := d.behind()
	if !watched {
		d.flag(FlagUnwatchedStart, 0, clock.None)
		return opening{exactly(0), true}
	}
	d.before = before
	o := d.opened(before)
	d.Start.Best = d.FirstHeard.Add(-clock.Seconds(o.triple.best.quantile(0.5)))
	if o.open {
		d.flag(FlagHabitUnknown, 0, clock.None)
		return o
	}
	if d.habit != d.subject.Notes.FirstBeacon {
		d.flag(FlagHabitLearned, float64(d.habit), clock.None)
	}
	d.Start.Earliest = d.FirstHeard.Add(-clock.Seconds(o.triple.high.quantile(0.975)))
	d.Start.Latest = d.FirstHeard.Add(-clock.Seconds(o.triple.low.quantile(0.025)))
	at, chance := before.curve()
	for i := len(at) - 1; i >= 0; i-- {
		d.StartLaw = append(d.StartLaw, LawPoint{d.FirstHeard.Add(-clock.Seconds(at[i])), 1 - chance[i]})
	}
	return o
}

// behind gives the law of the start in seconds before the first packet, by the first interval that the schedule expects,
// and whether enough listening before it proves that the unit was off. Of a unit that keeps to no interval nobody knows how
// much is lost: a beacon that it sent is followed by one heard within the longest interval, the first like any other.
func (d *draft) behind() (before law, watched bool) {
	step := d.stepAt(d.beats[0].due)
	if step == 0 {
		return nil, false
	}
	l := d.lossOver(d.counted(d.beats), nil)
	unheard := l.silence()
	for k := 0.0; unheard.chance() > leastWeight && len(before) < mostGaps; k++ {
		due := d.FirstHeard.Add(-clock.Seconds((k + 1) * step))
		before = append(before, gap{k * step, (k + 1) * step, unheard.chance(), 2 * d.Schedule.Jitter})
		if !d.listenedBefore().cover(due) {
			break
		}
		unheard.miss()
	}
	if !countable(d.Schedule) {
		before = law{{0, step, 1, max(d.Schedule.Longest, d.Schedule.Interval.Best)}}
	}
	return before, l.excluded(unheard.k)
}

// listenedBefore gives when the receivers of the first beacons listened.
func (d *draft) listenedBefore() spans {
	first := d.beacons[:min(len(d.beacons), 10)]
	return d.watch.union(ears(d.subject.Unit, first))
}

// opened turns the law of the first beacon into one of the power-on, by the unit's habit. To wait an interval tells nothing of
// a unit that keeps to none.
func (d *draft) opened(before law) opening {
	t := before.rounded(d.resolution.Seconds())
	switch habit := d.habit; {
	case habit == AtOnce:
		first := before.beacons(false)
		return opening{triple: first.plus(triple{exactly(0).low, exactly(bootTime / 3).best, exactly(bootTime).high})}
	case habit == AfterInterval && countable(d.Schedule):
		return opening{triple: d.waited(before).plus(triple{exactly(0).low, exactly(0).best, exactly(bootTime).high})}
	case habit == AfterFix:
		return opening{triple: before.beacons(false).plus(firstFix())}
	}
	return opening{t, true}
}

// waited gives when a unit was switched on that waits an interval before it beacons. Where intervals change, or may well have
// before any was heard, that first one may have been shorter than the law's, and of an adaptive unit longer.
func (d *draft) waited(before law) triple {
	t := before.beacons(true)
	if ramp := d.Schedule.AsFarAsHeard && d.Missed.High > d.Missed.Best; ramp || d.Schedule.Kind != schedule.Fixed {
		t.low = before.beacons(false).low
	}
	if slower := d.Schedule.Slow / before[0].to; slower > 1 {
		for i := range t.high {
			t.high[i].at *= slower
		}
	}
	return t
}

// beacons puts the chance of each gap at the due time that closes it, when closing, or opens it.
func (l law) beacons(closing bool) triple {
	total := l.total()
	var t triple
	for _, g := range l {
		at, m := g.from, g.mass()/total
		if closing {
			at = g.to
		}
		t.low = append(t.low, atom{max(0, at-g.slack), m})
		t.best = append(t.best, atom{at, m})
		t.high = append(t.high, atom{at + g.slack, m})
	}
	return triple{t.low.thin(false), t.best.thin(false), t.high.thin(true)}
}

// firstFix is how long a unit looks for its first fix.
func firstFix() triple {
	const parts = 40
	s := make(spread, parts)
	for i := range s {
		z := distuv.UnitNormal.Quantile((float64(i) + 0.5) / parts)
		s[i] = atom{fixMedian * math.Exp(fixSpread*z), 1.0 / parts}
	}
	high := append(spread(nil), s...)
	high[parts-1].at = fixMedian * math.Exp(2.3*fixSpread)
	return triple{s, s, high}
}
