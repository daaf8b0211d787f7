package intake

import (
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// jumps finds the places where the recorder's clock was set forward. A recorder that slept sees stations go on in their old
// beat: each gap is a whole number of intervals. A clock that was set sees each station one interval later plus the same
// step. Two stations with different intervals must agree on the step, and one of them must have left its beat.
type jumps struct {
	beats map[ax25.Call]*beat
	last  clock.Instant

	open  bool // a forward gap is being looked at: the widest of late
	from  clock.Instant
	width time.Duration
	line  evidence.Line
	text  []byte
	votes []vote
}

// beat is when a station was heard last and, once steady gaps in a row agreed, its interval.
type beat struct {
	at            clock.Instant
	gap, interval time.Duration
	agreed        int
}

// vote is the step that one station saw.
type vote struct {
	step, interval time.Duration
	offBeat        bool
}

const (
	steady   = 4           // gaps in a row that agree make a beat
	maxBeats = 512         // stations that are followed; the first ones heard
	minJump  = time.Minute // a smaller step is lost among intervals
	stale    = time.Hour   // after which a gap gives way to the next
)

// see takes one packet heard at at and tells whether the clock is now known to have been set.
func (j *jumps) see(from ax25.Call, at clock.Instant, line evidence.Line, text []byte) bool {
	j.look(at, line, text)
	b, known := j.beats[from]
	if !known {
		if len(j.beats) < maxBeats {
			j.beats[from] = &beat{at: at}
		}
		return false
	}
	if at.Sub(b.at) < 2*time.Second {
		return false // a copy of the same transmission
	}
	set := j.vote(*b, at)
	*b = b.next(at)
	b.at = at
	return set
}

// look opens a gap that is worth looking at.
func (j *jumps) look(at clock.Instant, line evidence.Line, text []byte) {
	before := j.last
	j.last = at
	if !before.Known() {
		return
	}
	gap := at.Sub(before)
	if gap < minJump || (j.open && gap < j.width && at.Sub(j.from) < j.width+stale) {
		return
	}
	j.open, j.from, j.width, j.line, j.votes = true, before, gap, line, j.votes[:0]
	j.text = append(j.text[:0], text[:min(len(text), maxExcerpt)]...)
}

// next follows a station: its interval is known while gap after gap agrees, and for one gap more.
func (b beat) next(at clock.Instant) beat {
	gap := at.Sub(b.at)
	if b.gap > 0 && (gap-b.gap).Abs() <= slack(gap) {
		b.agreed++
	} else {
		b.agreed, b.interval = 1, 0
	}
	if b.agreed >= steady {
		b.interval = gap
	}
	b.gap = gap
	return b
}

// slack is how far two gaps of one beat may differ.
func slack(interval time.Duration) time.Duration { return max(3*time.Second, interval/50) }

// vote takes what a station with a known interval saw across the gap.
func (j *jumps) vote(b beat, at clock.Instant) bool {
	if !j.open || b.interval == 0 || b.at > j.from {
		return false
	}
	gap := at.Sub(b.at)
	v := vote{step: gap - b.interval, interval: b.interval}
	if v.step < minJump {
		return false
	}
	rest := gap % b.interval
	v.offBeat = min(rest, b.interval-rest) > slack(b.interval)
	for _, o := range j.votes {
		differ := (o.interval - v.interval).Abs() > v.interval/10
		if differ && o.offBeat && v.offBeat && (o.step-v.step).Abs() <= 5*time.Second {
			j.open = false
			return true
		}
	}
	if len(j.votes) < 32 {
		j.votes = append(j.votes, v)
	}
	return false
}

// watchClock notes where the recorder's clock was set forward.
func (rd *reading) watchClock(from ax25.Call, at clock.Instant, line evidence.Line, text []byte) {
	if rd.dates.backwards || !at.Known() || !rd.jumps.see(from, at, line, text) {
		return
	}
	rd.notes.add(note{code: "time.clock-set", line: rd.jumps.line.No, excerpt: rd.jumps.text})
}
