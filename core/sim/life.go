package sim

import (
	"math"
	"math/rand/v2"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
)

// A Cause is why a transmission was made.
type Cause uint8

const (
	Due     Cause = iota // by the rule, corners included
	Stray                // by hand
	Restart              // by a pack that was spent before
	Relay                // to repeat another's packet
)

// Sent is one transmission. Used is the charge gone after it, in mAh, of the run's battery.
type Sent struct {
	At    clock.Instant
	Run   int // index in Life.Runs
	Cause Cause
	Fix   bool // the radio had a fix
	Used  float64
	t     float64
	relay int // index in Unit.Relays
}

// A Ran is one charge as it was lived. End is the last moment at which the unit could have transmitted, its afterlife apart.
type Ran struct {
	Start, End clock.Instant
	Cause      string // "spent", "switched off", "pack changed", "automatic power-off", "running"
	Rule       Rule
	Battery    Battery
	Used       float64 // mAh
	Awake      float64 // seconds between Start and End in which it did not sleep
	Sent       int     // beacons, afterlife apart
	Relayed    int     // packets of others
	span       span
}

// A Life is all that a unit did.
type Life struct {
	Begin clock.Instant
	Way   *Way
	Runs  []Ran
	Sent  []Sent // in time order
}

// At gives the instant t seconds after the begin.
func (l *Life) At(t float64) clock.Instant { return l.Begin.Add(clock.Seconds(t)) }

// Live simulates a unit.
func Live(seed uint64, begin clock.Instant, u Unit) *Life {
	l := &Life{Begin: begin, Way: Travel(stream(seed, "way", 0), u.Home, u.Journey)}
	for i := range u.Charges {
		r := &runner{Unit: u, life: l, r: stream(seed, "run", i), run: i}
		r.live()
	}
	sort.SliceStable(l.Sent, func(i, j int) bool { return l.Sent[i].At < l.Sent[j].At })
	return l
}

// A runner lives one charge of a unit.
type runner struct {
	Unit
	life   *Life
	r      *rand.Rand
	run    int
	charge Charge
	drain  drain
	ran    Ran
	fixAt  float64
	stop   float64 // it ends here at the latest
	relay  int     // the next of Relays
	last   float64 // last transmission
}

const longest = 60 * 24 * secondsPerHour

func (r *runner) live() {
	r.charge = r.Charges[r.run]
	rule := r.charge.Rule
	if rule == nil {
		rule = r.Rule
	}
	on := r.charge.On
	r.ran = Ran{Rule: rule, Battery: r.charge.Battery}
	r.drain = drain{Battery: r.charge.Battery, naps: r.naps(), at: on}
	r.fixAt = on + r.FixAfter*math.Exp(0.6*r.r.NormFloat64())
	r.last = on
	r.limit()
	end := r.beacons(rule.pace(r.r))
	r.drain.advance(end)
	r.finish(end)
	r.afterlife(end)
}

// limit finds what ends the run if the charge does not.
func (r *runner) limit() {
	c := r.charge
	r.stop, r.ran.Cause = c.On+longest, "running"
	earlier := func(t float64, cause string) {
		if t > c.On && t < r.stop {
			r.stop, r.ran.Cause = t, cause
		}
	}
	earlier(r.Until, "running")
	earlier(c.Off, "switched off")
	if r.AutoOff > 0 {
		earlier(c.On+r.AutoOff, "automatic power-off")
	}
	if r.run+1 < len(r.Charges) {
		earlier(r.Charges[r.run+1].On, "pack changed")
		if r.stop == c.Off {
			r.ran.Cause = "pack changed"
		}
	}
}

// beacons sends until the run ends, and gives that moment.
func (r *runner) beacons(p pacer) (end float64) {
	due, stray := r.first(p), r.stray(r.charge.On)
	for {
		at, cause := r.goesOut(due), Due
		if stray < at {
			at, cause = stray, Stray
		}
		if relay := r.nextRelay(); relay < at {
			at, cause = relay, Relay
		}
		if end, spent := r.drain.empty(min(at, r.stop)); spent {
			r.ran.Cause = "spent"
			return end
		}
		if at >= r.stop {
			return r.stop
		}
		if end, off := r.send(at, cause); off {
			r.ran.Cause = "spent"
			return end
		}
		switch cause {
		case Stray:
			stray = r.stray(at)
		case Relay:
			r.relay++
		default:
			due = p.next(r.countsFrom(due, at), r.life.Way)
		}
	}
}

func (r *runner) first(p pacer) float64 {
	switch on := r.charge.On; r.First {
	case AfterFix:
		return r.fixAt
	case AfterInterval:
		return p.next(on, r.life.Way)
	default:
		return on + between(r.r, 1, 4)
	}
}

// countsFrom gives the moment from which the next interval counts; a radio that slept begins anew.
func (r *runner) countsFrom(due, at float64) float64 {
	if r.Timing.FromSent || anyHolds(r.drain.naps, due) {
		return at
	}
	return due
}

// nextRelay gives when it next repeats a packet; what others send while it is off or asleep is lost on it.
func (r *runner) nextRelay() float64 {
	for ; r.relay < len(r.Relays); r.relay++ {
		if at := r.Relays[r.relay]; at > r.last+1 && !anyHolds(r.drain.naps, at) {
			return at
		}
	}
	return never
}

func (r *runner) stray(after float64) float64 {
	if r.Strays == 0 {
		return never
	}
	return after + r.r.ExpFloat64()*secondsPerHour/r.Strays
}

// goesOut gives the moment at which a beacon that is due goes out.
func (r *runner) goesOut(due float64) float64 {
	for _, nap := range r.drain.naps {
		if nap.holds(due) {
			due = nap.until + between(r.r, 1, 4)
		}
	}
	return max(due+r.Timing.late(r.r), r.last+1)
}

// onAir is how long a beacon takes to send, in seconds.
const onAir = 0.7

// send transmits if the pack bears it. The transmission that kills the radio is complete when Death says so.
func (r *runner) send(at float64, cause Cause) (end float64, off bool) {
	r.drain.advance(at)
	did := r.drain.key()
	if did == isOff {
		return at, true
	}
	r.last = at
	if cause == Relay {
		r.ran.Relayed++
	} else {
		r.ran.Sent++
	}
	r.log(at, cause, at >= r.fixAt)
	return at + onAir, did == sendsAndOff
}

func (r *runner) log(at float64, cause Cause, fix bool) {
	r.life.Sent = append(r.life.Sent, Sent{At: r.life.At(at), Run: r.run, Cause: cause, Fix: fix, Used: r.drain.used, t: at, relay: r.relay})
}

func (r *runner) finish(end float64) {
	r.ran.span = span{r.charge.On, end}
	r.ran.Start, r.ran.End = r.life.At(r.charge.On), r.life.At(end)
	r.ran.Used, r.ran.Awake = r.drain.used, end-r.charge.On
	for _, nap := range r.drain.naps {
		r.ran.Awake -= nap.overlap(r.ran.span)
	}
	r.life.Runs = append(r.life.Runs, r.ran)
}

func (r *runner) afterlife(end float64) {
	if r.ran.Cause != "spent" {
		return
	}
	at, after := end, r.charge.Afterlife
	for range after.Restarts {
		at += after.Every * between(r.r, 0.4, 1.6)
		r.log(at, Restart, false)
	}
	if after.Late > 0 {
		r.log(at+after.Late, Restart, false)
	}
}

// naps gives the stretches in which a unit that sleeps when parked is asleep.
func (r *runner) naps() []span {
	if r.SleepAfter == 0 {
		return nil
	}
	naps := r.life.Way.parked(r.SleepAfter)
	for i := range naps {
		naps[i].from += r.SleepAfter
	}
	return naps
}

// Heard gives the instants at which a receiver behind the channel hears the unit.
func (l *Life) Heard(seed uint64, c Channel) []clock.Instant {
	var heard []clock.Instant
	for i, ok := range c.passes(seed, l) {
		if ok {
			heard = append(heard, l.Sent[i].At)
		}
	}
	return heard
}

// A Sample is where the unit truly was at a moment: speed in m/s, course in degrees (where it last pointed, when at rest).
type Sample struct {
	At            clock.Instant
	Place         geo.Place
	Speed, Course float64
}

// Samples gives the true motion from the begin to the end of the last run, every so many seconds.
func (l *Life) Samples(every float64) []Sample {
	var samples []Sample
	for t := 0.0; t <= l.Runs[len(l.Runs)-1].span.until; t += every {
		s := l.Way.step(t)
		samples = append(samples, Sample{At: l.At(t), Place: s.place, Speed: s.speed, Course: s.course})
	}
	return samples
}
