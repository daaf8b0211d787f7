package endurance

import (
	"slices"
	"sort"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/traffic"
)

// A charge is the part of a unit's transmissions that one run gets, before anything is inferred.
type charge struct {
	note          int             // index into Notes.Runs, -1
	exclude       []evidence.Span // of a charge that nobody noted: those of the noted run whose event it began with
	label         string
	powerOn       *Moment
	basis         StartBasis
	sameCharge    bool
	began         []Event // the noted events with which it began
	events        []Event // noted ones of this charge; the one that ended it included
	until         *Moment // when the next charge began; nil when none did
	transmissions []int
	flags         []Flag
}

// A cut is a moment at which a new run begins.
type cut struct {
	at      clock.Instant // from here on packets belong to the new run
	note    int           // the noted run that begins here, -1
	powerOn *Moment
	by      What // the event that made it; "" for a power-on
	of      int  // the noted run that holds the event
}

// moment is when the new run began, as noted.
func (c cut) moment() *Moment {
	if c.powerOn != nil {
		return c.powerOn
	}
	return &Moment{At: c.at}
}

// charges splits a unit's transmissions where somebody noted that a new charge began. Silence splits nothing. Stamps are cut to
// step, so that a packet may be that much later than it says.
func charges(u *traffic.Unit, n Notes, step time.Duration) []charge {
	cuts := cutsOf(u, n, step)
	var all []charge
	next := 0
	for i, c := range cuts {
		until := len(u.Transmissions)
		if i+1 < len(cuts) {
			until = next
			for until < len(u.Transmissions) && u.Transmissions[until].At < cuts[i+1].at {
				until++
			}
		}
		one := charge{note: c.note, powerOn: c.powerOn, basis: FirstHeard}
		if c.by != "" && c.note < 0 {
			one.exclude = n.Runs[c.of].Exclude
		}
		if c.by != "" && c.powerOn == nil {
			one.basis = Restart
			one.sameCharge = c.by == PowerCycled
		}
		for t := next; t < until; t++ {
			one.transmissions = append(one.transmissions, t)
		}
		next = until
		if i+1 < len(cuts) {
			one.until = cuts[i+1].moment()
		}
		all = append(all, one)
	}
	shareEvents(all, cuts, n)
	for i := range all {
		all[i].settle(u, n, step)
	}
	return slices.DeleteFunc(all, func(c charge) bool {
		return len(c.transmissions) == 0 && c.powerOn == nil && (c.note < 0 || n.Runs[c.note].Typed == nil)
	})
}

// cutsOf gives the begin of every run in order of time; the first begins before everything.
func cutsOf(u *traffic.Unit, n Notes, step time.Duration) []cut {
	var cuts []cut
	for i, r := range n.Runs {
		if r.PowerOn != nil {
			cuts = append(cuts, cut{r.PowerOn.earliest().Add(-step), i, r.PowerOn, "", i})
		}
		for _, e := range r.Events {
			if e.What.starts() {
				cuts = append(cuts, cut{e.At, -1, nil, e.What, i})
			}
		}
	}
	sort.SliceStable(cuts, func(i, j int) bool { return cuts[i].at < cuts[j].at })
	cuts = merge(u, cuts)
	adopt(cuts, n)
	if len(cuts) > 0 && cuts[0].by == "" && !split(u, cuts[0].at) {
		cuts[0].at = clock.None
		return cuts
	}
	return append([]cut{{clock.None, firstNote(cuts, n), nil, "", 0}}, cuts...)
}

// merge joins cuts between which nothing was heard: a change of packs and the power-on after it are one begin.
func merge(u *traffic.Unit, cuts []cut) []cut {
	var out []cut
	for _, c := range cuts {
		if n := len(out); n > 0 && heardBetween(u, out[n-1].at, c.at) == 0 && (out[n-1].by != "" || c.by != "") {
			if c.powerOn == nil {
				c.powerOn, c.note = out[n-1].powerOn, out[n-1].note
			}
			if c.by == "" {
				c.by = out[n-1].by
			}
			out[n-1] = c
			continue
		}
		out = append(out, c)
	}
	return out
}

// adopt gives noted runs without a power-on the begins that events made. Runs are noted in order of time, so each takes the
// first such begin after that of the run noted before it.
func adopt(cuts []cut, n Notes) {
	next := 0 // the first begin after that of the run noted before
	for i, r := range n.Runs {
		if at := slices.IndexFunc(cuts, func(c cut) bool { return c.note == i }); at >= 0 {
			next = at + 1
			continue
		}
		if i > 0 && r.PowerOn == nil && r.Typed == nil && next < len(cuts) && cuts[next].note < 0 {
			cuts[next].note = i
			next++
		}
	}
}

// firstNote gives the noted run that the time before the first cut belongs to.
func firstNote(cuts []cut, n Notes) int {
	if len(n.Runs) == 0 || n.Runs[0].PowerOn != nil || n.Runs[0].Typed != nil {
		return -1
	}
	return 0
}

// split tells whether the packets before a power-on belong to another run: they end well before it. A power-on in the
// middle of steady beacons is a slip of the pen, and is refused later.
func split(u *traffic.Unit, at clock.Instant) bool {
	var gaps []time.Duration
	after := slices.IndexFunc(u.Transmissions, func(t traffic.Transmission) bool { return t.At >= at })
	if after == 0 || len(u.Transmissions) == 0 {
		return false
	}
	if after < 0 {
		return true
	}
	for i := 1; i < len(u.Transmissions); i++ {
		gaps = append(gaps, u.Transmissions[i].At.Sub(u.Transmissions[i-1].At))
	}
	here := gaps[after-1]
	slices.Sort(gaps)
	return here > 5*gaps[len(gaps)/2]
}

func heardBetween(u *traffic.Unit, from, to clock.Instant) int {
	n := 0
	for i := range u.Transmissions {
		if at := u.Transmissions[i].At; at >= from && at < to {
			n++
		}
	}
	return n
}

// shareEvents gives every noted event to the charge in whose time it lies; one that begins a run also ends the run before.
func shareEvents(all []charge, cuts []cut, n Notes) {
	for _, r := range n.Runs {
		for _, e := range r.Events {
			e.Basis = Noted
			at := 0
			for j := range cuts {
				if cuts[j].at <= e.At {
					at = j
				}
			}
			if !e.What.starts() || at == 0 {
				all[at].events = append(all[at].events, e)
				continue
			}
			all[at].began = append(all[at].began, e)
			all[at-1].events = append(all[at-1].events, e)
		}
	}
	for i := range all {
		events := all[i].events
		sort.SliceStable(events, func(a, b int) bool { return events[a].At < events[b].At })
	}
}

// settle checks the noted power-on against the first packet.
func (c *charge) settle(u *traffic.Unit, n Notes, step time.Duration) {
	if c.note >= 0 {
		c.label = n.Runs[c.note].Label
	}
	if c.powerOn == nil {
		return
	}
	c.basis = PowerOn
	if len(c.transmissions) == 0 {
		return
	}
	if first := u.Transmissions[c.transmissions[0]].At; first.Add(step) < c.powerOn.earliest() {
		c.flags = append(c.flags, Flag{Code: FlagPowerOnLate, At: c.powerOn.At})
		c.powerOn, c.basis = nil, FirstHeard
	}
}
