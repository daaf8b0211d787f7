package endurance

import (
	"math"
	"slices"
	"sort"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
)

// An absence is a silence between two beacons heard, through which a receiver listened that heard the unit before and after, or one
// that heard it before or after where it stood, and which the losses in the rest of the run exclude; or one in which
// nothing shows that anybody listened, for a large part of the run. The unit may have been off, with another charge afterwards, or out of reach: nobody knows
// whether the beacons due in it were sent. It is a sign and splits nothing.
type absence struct {
	from, to clock.Instant // the beacons on either side
	due      int           // beacons due between them; 0 where no schedule tells
	unheeded bool          // nothing shows that anybody listened, for a large part of the run
}

const (
	leastAbsence  = time.Hour     // listened to, of a unit that stood where it was; common practice, no source
	leastAway     = 6 * time.Hour // of one that may have been carried out of reach, or whose place nobody knows
	absenceFactor = 3             // times as long as the longest other silence of the run
	absenceRow    = 10            // beacons on either side that tell who heard the unit there, and how well
	absenceLeast  = 4             // of them heard, at least, beside the silence
	unheededPart  = 3             // a silence nobody listened to is an absence from this part of the run on: one third
	leastSpell    = 0.5           // chance of one more miss after a miss, at least: a run that shows no spell of losses may have one
)

// A hush is what lies between two heard beats, by their indexes, and how much of it was listened to.
type hush struct {
	from, to int
	lasting  time.Duration
}

// absent sets the absences apart from losses: their due times are no beats, and count neither as missed nor as sent, but may
// have been both.
func (d *draft) absent() {
	d.astray = d.beats
	if d.dropped || d.placesNeverReturn() {
		return
	}
	hushes := d.hushes()
	gone := d.gone(hushes)
	for _, h := range hushes {
		if !slices.Contains(gone, h) && d.unheeded(h) {
			gone = append(gone, h)
		}
	}
	sort.Slice(gone, func(i, j int) bool { return gone[i].from < gone[j].from })
	if len(gone) == 0 {
		return
	}
	inside := func(i int) bool {
		return slices.ContainsFunc(gone, func(h hush) bool { return h.from < i && i < h.to })
	}
	var kept []beat
	for i, b := range d.beats {
		if inside(i) {
			d.unsure = append(d.unsure, b.due)
		} else {
			kept = append(kept, b)
		}
	}
	lost := 0
	for _, h := range gone {
		a := absence{d.beats[h.from].due, d.beats[h.to].due, h.to - h.from - 1, d.unheeded(h)}
		lost += a.due
		d.absences = append(d.absences, a)
	}
	d.beats = kept
	if d.Missed.Known {
		n := float64(lost)
		d.Missed = estimate.Of(max(0, d.Missed.Low-n), max(0, d.Missed.Best-n), d.Missed.High)
	}
}

// hushes gives the silences between beats heard one after the other, the longest first.
func (d *draft) hushes() []hush {
	listened := d.watch.union(ears(d.subject.Unit, d.Transmissions))
	var all []hush
	from := -1
	for i, b := range d.beats {
		if !b.heard() {
			continue
		}
		if from >= 0 {
			h := hush{from, i, b.due.Sub(d.beats[from].due)}
			if h.lasting > leastAbsence/absenceFactor {
				h.lasting = listened.overlap(evidence.Span{Start: d.beats[from].due, End: b.due})
			}
			all = append(all, h)
		}
		from = i
	}
	sort.SliceStable(all, func(i, j int) bool { return all[j].lasting < all[i].lasting })
	return all
}

// gone gives those of the silences that are absences: as many of the longest as stand out from all others.
func (d *draft) gone(all []hush) []hush {
	for n := len(all) - 1; n > 0; n-- {
		if all[n-1].lasting < max(leastAbsence, absenceFactor*all[n].lasting) {
			continue
		}
		l := d.without(all[:n])
		gone := slices.DeleteFunc(slices.Clone(all[:n]), func(h hush) bool { return !d.isAbsence(h, all[n].lasting, l) })
		if len(gone) > 0 {
			return gone
		}
	}
	return nil
}

// without gives the loss in the run outside of silences.
func (d *draft) without(set []hush) loss {
	var rest []beat
	for i, b := range d.beats {
		if b.heard() || !slices.ContainsFunc(set, func(h hush) bool { return h.from < i && i < h.to }) {
			rest = append(rest, b)
		}
	}
	return d.lossOver(d.counted(rest), nil)
}

// unheeded tells whether nothing shows that anybody listened in a silence for so long, and so large a part of the run, that nobody
// can say it is one charge, where no note, log or running number proves the unit on. It asks for more than not to be deaf: where
// others are too rarely heard to tell a recorder that was off from losses, the unit may have been off as well.
func (d *draft) unheeded(h hush) bool {
	span := evidence.Span{Start: d.beats[h.from].due, End: d.beats[h.to].due}
	whole := d.beats[len(d.beats)-1].due.Sub(d.beats[0].due)
	least := max(leastAway, whole/unheededPart)
	if span.End.Sub(span.Start) < least {
		return false
	}
	holes := d.watch.union(ears(d.subject.Unit, d.Transmissions)).holes(span)
	return holes.overlap(span) > least && !d.accounted(h, span, leastAway)
}

// isAbsence tells whether a silence that stands out, others being no longer than other, is one that the loss l excludes, and
// neither notes nor the unit's own log explain.
func (d *draft) isAbsence(h hush, other time.Duration, l loss) bool {
	a, b := d.beats[h.from], d.beats[h.to]
	span := evidence.Span{Start: a.due, End: b.due}
	before, after := d.nearby(h.from, -1), d.nearby(h.to, 1)
	counted := d.Missed.Known && countable(d.Schedule)
	least, heard := leastAway, both(ears(d.subject.Unit, before), ears(d.subject.Unit, after))
	if counted && d.stayed(a, b) {
		least, heard = leastAbsence, slices.Concat(heard, d.awayFrom(before, after), d.awayFrom(after, before))
	}
	listened := d.watch.union(heard)
	if listened.overlap(span) < max(least, absenceFactor*other) || d.accounted(h, span, least) {
		return false
	}
	if !counted {
		return true
	}
	vain := 0
	for _, x := range d.beats[h.from+1 : h.to] {
		if listened.cover(x.due) {
			vain++
		}
	}
	spell := math.Pow(leastSpell, float64(max(0, vain-1))) * upperMiss(l.heard, l.missed)
	return max(spell, l.chanceOf(vain))*float64(len(d.beats)) <= excludedBelow && d.heardBeside(h, vain)
}

// heardBeside tells whether the unit was heard too well right before a silence, and right after it, for so many to be lost.
func (d *draft) heardBeside(h hush, vain int) bool {
	for _, side := range [][]beat{d.beats[max(0, h.from-absenceRow+1) : h.from+1], d.beats[h.to:min(len(d.beats), h.to+absenceRow)]} {
		l := d.lossOver(d.counted(side), nil)
		if l.heard < absenceLeast || allLost(l.heard, l.missed, vain) > excludedBelow {
			return false
		}
	}
	return true
}

// nearby gives the transmissions of up to so many heard beats from one on, forwards or backwards.
func (d *draft) nearby(from, step int) []int {
	var near []int
	for i := from; i >= 0 && i < len(d.beats) && len(near) < absenceRow; i += step {
		if d.beats[i].heard() {
			near = append(near, d.beats[i].sent)
		}
	}
	return near
}

func both(a, b []ear) []ear {
	return slices.DeleteFunc(a, func(e ear) bool { return !slices.Contains(b, e) })
}

// awayFrom gives the ears that heard one of some transmissions and did not listen at any of others: the log of one test ends, and
// that of the next begins. An ear that listened at both and heard the unit at one has become deaf to it.
func (d *draft) awayFrom(some, others []int) []ear {
	return slices.DeleteFunc(ears(d.subject.Unit, some), func(e ear) bool {
		listened := d.watch.union([]ear{e})
		return slices.ContainsFunc(others, func(i int) bool { return listened.cover(d.subject.Unit.Transmissions[i].At) })
	})
}

// stayed tells whether the unit is known to have stood at one place from one beat to another.
func (d *draft) stayed(a, b beat) bool {
	line, t := d.subject.Timeline, d.subject.Unit.Transmissions
	if line.StateAt(a.due) != motion.Stationary || line.StateAt(b.due) != motion.Stationary {
		return false
	}
	if from, to := t[a.sent].Fix, t[b.sent].Fix; from == nil || to == nil || geo.Distance(from.Place, to.Place) > samePlace {
		return false
	}
	return !line.Touches(motion.Moving, a.due, b.due)
}

// accounted tells whether the unit is known to have been on in a silence, but for less than least of it: it woke from sleep, somebody
// or its own log saw it on, or its running numbers went on.
func (d *draft) accounted(h hush, s evidence.Span, least time.Duration) bool {
	return slices.Contains(d.woken, s.End) || d.provenOn(s, least) || d.numbered(h)
}

// provenOn tells whether a person or the unit's own log saw it on in a silence, with less than least of it left unseen.
func (d *draft) provenOn(s evidence.Span, least time.Duration) bool {
	seen := slices.Clone(spans(d.subject.Alive))
	for _, e := range d.Events {
		if e.Basis == Noted && e.What == SeenOn {
			seen = append(seen, evidence.Span{Start: e.earliest(), End: e.latest()})
		}
	}
	return !slices.ContainsFunc(seen.joined(0).holes(s), func(hole evidence.Span) bool { return hole.End.Sub(hole.Start) >= least })
}

// numbered tells whether the running numbers of telemetry went on over a silence as if all due beacons had been sent, but for
// what the interval may be off.
func (d *draft) numbered(h hush) bool {
	t := d.subject.Unit.Transmissions
	a, b := t[d.beats[h.from].sent].Sequence, t[d.beats[h.to].sent].Sequence
	if !a.Known() || a.Wrap != b.Wrap {
		return false
	}
	due := h.to - h.from
	off := ((b.No-a.No-due)%a.Wrap + a.Wrap) % a.Wrap
	return min(off, a.Wrap-off) <= 2+due/500
}
