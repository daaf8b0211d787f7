package endurance

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
)

// judge says how the run ended, as far as this unit alone tells.
func (d *draft) judge() {
	switch {
	case !d.restartedUnseen() && d.seenToEnd():
	case len(d.Afterlife) > 0:
		d.State = Ended
		d.after = d.spent()
	case d.unrepeated():
		d.State = OnAirAtLogEnd
		d.flag(FlagUnrepeated, 0, clock.None)
	case d.silent == 0:
		d.State = d.unwatched()
		d.flag(FlagUnwatchedEnd, 0, clock.None)
	case d.sleepsNow():
		d.State = Asleep
	case d.carried():
		d.State = Lost
	case d.loss.excluded(d.silent) && d.quietEnough():
		d.State = Ended
	default:
		d.State = d.unwatched()
		few := FlagFewSilent
		if len(d.absences) > 0 {
			few = FlagSilentBefore
		}
		d.flag(few, float64(d.silent), clock.None)
	}
}

// restartedUnseen tells whether the unit started again at the end of its life before anybody noted that it was off.
func (d *draft) restartedUnseen() bool {
	if len(d.Afterlife) == 0 {
		return false
	}
	e, noted := d.endNote()
	return !noted || e.earliest() > d.subject.Unit.Transmissions[d.Afterlife[0]].At
}

// spent gives the law of falling silent of a unit that started again at the end of its life. A loop of restarts begins minutes
// after that, so when the silence before it is short, the end lies anywhere in it: by the due times it would lie early.
func (d *draft) spent() law {
	t := d.subject.Unit.Transmissions
	first := t[d.Afterlife[0]].At
	silence := first.Sub(d.alive).Seconds()
	spent := d.after.until(silence)
	if len(spent) == 0 || len(d.Afterlife) < 2 || silence > restartStretch || t[d.Afterlife[1]].At.Sub(first).Seconds() > restartStretch {
		return spent
	}
	for i := range spent {
		spent[i].weight = 1
	}
	last := &spent[len(spent)-1]
	last.to = max(last.to, silence)
	if length := last.to - last.from; length > 0 {
		last.weight = max(1, 0.03*silence/length)
	}
	return spent
}

// unwatched is the state of a run after which too little was listened for.
func (d *draft) unwatched() State {
	if d.gatewayGone() {
		return RecorderSilent
	}
	return OnAirAtLogEnd
}

// seenToEnd lets what a person noted decide: the first note after the last sign of life that says the unit is off. A unit
// that was silent long enough before it was switched off or changed had ended by itself.
func (d *draft) seenToEnd() bool {
	e, noted := d.endNote()
	if !noted {
		return false
	}
	before := e.latest().Sub(d.alive).Seconds()
	if d.step() > 0 {
		d.after, d.silent = d.walk.ahead(d.anchor(), d.alive, d.listened.before(e.At), d.loss)
	}
	if len(d.after) == 0 || e.What == SeenDead {
		d.after = d.dueUntil(before)
	}
	d.after = d.after.until(before)
	switch {
	case e.What == SeenDead:
		d.State = NotedEnd
	case d.loss.excluded(d.silent) && d.quietEnough() && !d.carried() && !d.sleepsNow():
		d.State = Ended
	default:
		d.State = Stopped
		d.End = stoppedAt(e, d.alive, d.silent)
	}
	return true
}

// endNote gives the first note that the unit is off, after the last sign of life; the power-on of the next charge is one too.
func (d *draft) endNote() (Event, bool) {
	i := slices.IndexFunc(d.Events, func(e Event) bool {
		return e.Basis == Noted && (e.What.stops() || e.What == SeenDead) && e.latest() >= d.alive
	})
	if i >= 0 {
		return d.Events[i], true
	}
	if d.charge.until == nil {
		return Event{}, false
	}
	return Event{Moment: *d.charge.until, What: PackChanged}, true
}

// dueUntil gives the law of falling silent when the unit is known to be off so many seconds after alive: due times that
// nobody listened for count in full length.
func (d *draft) dueUntil(seconds float64) law {
	seen := append(slices.Clone(d.listened), evidence.Span{Start: d.alive.Add(clock.Seconds(seconds)), End: d.alive.Add(clock.Seconds(seconds) + time.Millisecond)})
	after, _ := d.walk.ahead(d.anchor(), d.alive, seen.joined(0), d.loss)
	if len(after) == 0 {
		return law{{0, max(seconds, 0), 1, 0}}
	}
	return after
}

// stoppedAt bounds an end that was made on purpose at e; when due beacons had failed before, it may have come earlier. The last
// packet within the precision of a note that also begins a run may already be one of that.
func stoppedAt(e Event, alive clock.Instant, silent int) clock.Between {
	b := clock.Between{Earliest: max(alive, e.earliest()), Best: max(alive, e.At), Latest: max(alive, e.latest())}
	if silent > 0 || e.What != SwitchedOff {
		b.Earliest = alive
	}
	if e.What.starts() {
		b.Earliest = min(alive, e.earliest())
	}
	return b
}

func (d *draft) anchor() clock.Instant { return d.beats[len(d.beats)-1].due }
func (d *draft) step() float64         { return d.walk.step(d.anchor()) }

// gatewayGone tells whether the receiver that heard most of the last part, and that used to hear others too, gave no sign of
// life afterwards while other receivers of the same file did.
func (d *draft) gatewayGone() bool {
	reach := d.alive.Add(2 * clock.Seconds(d.step()))
	most := d.mainEar()
	if d.watch.signs(most).end() > reach || !d.hearsOthers(most) {
		return false
	}
	return slices.ContainsFunc(d.watch.Presence, func(p evidence.Presence) bool {
		return p.File == most.file && p.Receiver != most.call && spans(p.Spans).joined(0).end() > reach
	})
}

// mainEar gives the receiver that heard most of the last part.
func (d *draft) mainEar() ear {
	best, most := ear{}, -1
	for _, e := range d.ears {
		n := 0
		for _, t := range d.lastPart() {
			if d.heardBy(beat{sent: t}, []ear{e}) {
				n++
			}
		}
		if n > most {
			best, most = e, n
		}
	}
	return best
}

// hearsOthers tells whether some sign of life of the receiver is no packet of this unit.
func (d *draft) hearsOthers(e ear) bool {
	if slices.ContainsFunc(d.watch.Presence, func(p evidence.Presence) bool {
		return p.File == e.file && p.Receiver == e.call && p.Several
	}) {
		return true
	}
	own := d.walk.times(d.charge.transmissions)
	return slices.ContainsFunc(d.watch.signs(e), func(s evidence.Span) bool {
		return !slices.Contains(own, s.Start) || !slices.Contains(own, s.End)
	})
}

// fading tells whether the unit was heard worse and worse while nothing says that it stood still.
func (d *draft) fading() bool {
	sinking := slices.ContainsFunc(d.Flags, func(f Flag) bool { return f.Code == FlagSinking })
	return sinking && d.subject.Timeline.StateAt(d.LastHeard) != motion.Stationary
}

// carried tells whether the unit may have gone out of reach: it moved or faded at the last packet, or had not been long where
// it was.
func (d *draft) carried() bool { return d.moving() || d.fading() || !d.settled() }

// leastStay is how long a unit that moved before must have been heard at its last place, in time and in beacons, before
// silence there can be its end: a short stop may be left again unheard.
const (
	leastStay      = time.Hour
	leastStayBeats = 10
)

// settled tells whether silence at the last place means anything: the unit never moved, or was heard there for long.
func (d *draft) settled() bool {
	arrived := d.arrived()
	if !arrived.Known() {
		return true
	}
	heard := 0
	for _, b := range d.beats {
		if b.heard() && b.due >= arrived {
			heard++
		}
	}
	return heard >= leastStayBeats && d.LastHeard.Sub(arrived) >= leastStay
}

// arrived gives when the unit last came to rest in this run; clock.None when it never moved.
func (d *draft) arrived() clock.Instant {
	at := clock.None
	for _, p := range d.subject.Timeline.Periods {
		if p.State == motion.Moving && p.Start.Best < d.LastHeard && p.End.Best >= d.FirstHeard {
			at = p.End.Best
		}
	}
	return at
}

// leastQuiet is how long a unit must have been silent that is carried about, as far as anybody knows.
const leastQuiet = time.Hour

// quietEnough tells whether a silence that loss excludes is long enough: for a unit that moved in this run, or that nothing
// says stood still, longer than a walk through a shadow takes, and three times as long as its longest silence before.
func (d *draft) quietEnough() bool {
	if d.subject.Timeline.StateAt(d.LastHeard) == motion.Stationary && !d.arrived().Known() {
		return true
	}
	longest := leastQuiet / 3
	previous := d.FirstHeard
	for _, t := range d.walk.times(d.Transmissions) {
		if t <= d.LastHeard {
			longest = max(longest, t.Sub(previous))
			previous = t
		}
	}
	return d.listened.overlap(evidence.Span{Start: d.alive, End: d.listened.end()}) >= 3*longest
}

// bound turns the state into the bounds of the end.
func (d *draft) bound() {
	if d.State == Stopped {
		return
	}
	d.End = clock.Between{Earliest: d.alive.Add(-d.sooner()), Best: clock.None, Latest: clock.None}
	if !d.State.Closed() || len(d.after) == 0 {
		return
	}
	i, _ := d.after.find(0.975)
	g := d.after[i]
	limit := d.after[len(d.after)-1].to
	close := min(g.to+g.slack+d.resolution.Seconds(), max(limit, g.to))
	if !d.cutShort() {
		close = g.to + g.slack + d.resolution.Seconds()
	}
	d.End.Best = d.alive.Add(clock.Seconds(d.after.quantile(0.5)))
	d.End.Latest = d.alive.Add(clock.Seconds(math.Ceil(close*1000) / 1000))
	at, chance := d.after.curve()
	for i := range at {
		d.EndLaw = append(d.EndLaw, LawPoint{d.alive.Add(clock.Seconds(at[i])), chance[i]})
	}
}

// sooner is by how much the unit may have gone before its last sign of life.
func (d *draft) sooner() time.Duration {
	if len(d.doubted) == 0 || d.alive > d.LastHeard {
		return d.relayed()
	}
	useful := d.useful()
	before := useful[len(useful)-len(d.doubted)-1]
	return d.alive.Sub(d.subject.Unit.Transmissions[before].At)
}

// byNet is how long after a packet was sent the stamp of a server may be that a gateway passed it to: common practice, no
// source.
const byNet = 5 * time.Second

// relayed is by how much the last sign of life may be late: repeaters give a packet again for 28 to 30 s (APRS Protocol
// Reference 1.2 draft c, p. 10), and what a gateway heard is stamped behind the net.
func (d *draft) relayed() time.Duration {
	t := &d.subject.Unit.Transmissions[d.useful()[len(d.useful())-1]]
	switch {
	case d.alive > t.At:
		return 0
	case !t.Direct():
		return 30 * time.Second
	case t.Heard[0].Receiver != (ax25.Call{}):
		return byNet
	}
	return 0
}

// cutShort tells whether something known ends the law: a note, or a restart.
func (d *draft) cutShort() bool { return d.State == NotedEnd || len(d.Afterlife) > 0 }

// endTriple gives the end in seconds after alive.
func (d *draft) endTriple() triple {
	t := d.after.rounded(d.resolution.Seconds())
	if d.cutShort() && len(d.after) > 0 {
		most := d.after[len(d.after)-1].to
		for i := range t.high {
			t.high[i].at = min(t.high[i].at, most)
		}
	}
	return t
}

// coarsest is the half-width of a run time, relative to it, above which it ranks nothing.
const coarsest = 0.05

// time claims the run time.
func (d *draft) time(start opening) {
	heard := d.alive.Sub(d.FirstHeard).Seconds()
	sooner := d.sooner().Seconds()
	least := start.triple.low.quantile(0.025) + heard - sooner
	if d.State == Stopped {
		least += d.End.Earliest.Sub(d.alive).Seconds()
	}
	d.Runtime = estimate.AtLeast(max(0, least))
	if !d.State.Closed() || d.End.Latest == clock.None {
		return
	}
	e := start.triple.plus(d.endTriple()).estimate()
	d.Runtime = estimate.Of(max(0, e.Low+heard-sooner), e.Best+heard, e.High+heard)
	if start.open {
		d.Runtime.High = math.Inf(1)
		return
	}
	half := (d.Runtime.High - d.Runtime.Low) / 2 / d.Runtime.Best
	if half > coarsest {
		d.flag(FlagCoarse, 100*half, clock.None)
	}
	d.Rankable = half <= coarsest && !d.charge.sameCharge && !d.suspects()
}

// suspects tells whether the packets suggest that the unit started anew within the run: its pack may have been changed. Other
// settings alone change its draw and how often it sends, not the charge that the run is about.
func (d *draft) suspects() bool {
	return len(d.absences) > 0 || slices.ContainsFunc(d.Events, func(e Event) bool { return e.Basis == Suspected && e.What != SettingsChanged })
}
