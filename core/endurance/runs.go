package endurance

import (
	"slices"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/schedule"
	"lastbeacon/core/traffic"
)

// Of gives the runs of each subject, in the order of the subjects and of time.
func Of(subjects []Subject, w Watch) [][]Run {
	drafts := make([]Drafts, len(subjects))
	for i := range subjects {
		drafts[i] = Draft(&subjects[i], w)
	}
	runs := make([][]Run, len(subjects))
	for i, doubted := range Doubted(drafts, w) {
		runs[i] = drafts[i].Runs(doubted)
	}
	return runs
}

// Drafts are the runs of one unit as far as it alone tells: all but what others say about their recorders. They do not change.
type Drafts []*draft

// Draft works out the runs of a subject, which must stay as it is.
func Draft(s *Subject, w Watch) Drafts {
	var all Drafts
	for _, c := range charges(s.Unit, s.Notes, w.resolution(s.Unit, every(s.Unit))) {
		d := newDraft(s, w, c)
		if len(d.Transmissions) > 0 {
			d.suspect()
			d.judge()
		}
		all = append(all, d)
	}
	learnHabit(all)
	return all
}

// Runs completes the drafts; of those doubted the recorder is as likely to have stopped.
func (all Drafts) Runs(doubted []bool) []Run {
	var runs []Run
	for i, d := range all {
		own := *d
		own.Flags, own.Events = slices.Clip(d.Flags), slices.Clip(d.Events)
		if doubted[i] {
			own.State = RecorderSilent
		}
		runs = append(runs, own.finish())
	}
	return runs
}

// every gives the indexes of all transmissions.
func every(u *traffic.Unit) []int {
	all := make([]int, len(u.Transmissions))
	for i := range all {
		all[i] = i
	}
	return all
}

// Doubted tells of which runs the recorder may have stopped: runs of different units that fell silent at one receiver within one
// interval of each other while the receiver gave no further sign of life, whatever a person says of it.
func Doubted(drafts []Drafts, w Watch) [][]bool {
	doubted := make([][]bool, len(drafts))
	for i, mine := range drafts {
		for _, d := range mine {
			doubted[i] = append(doubted[i], d.State == Ended && len(d.Afterlife) == 0 && !d.heardAfter(w) && silentTogether(drafts, i, d))
		}
	}
	return doubted
}

// silentTogether tells whether a run of another unit than the i-th fell silent with d.
func silentTogether(drafts []Drafts, i int, d *draft) bool {
	for j, others := range drafts {
		if i != j && slices.ContainsFunc(others, d.silentWith) {
			return true
		}
	}
	return false
}

// heardAfter tells whether a receiver of the run's last part gave a sign of life clearly after the last packet.
func (d *draft) heardAfter(w Watch) bool {
	return slices.ContainsFunc(d.ears, func(e ear) bool { return w.signs(e).end() > d.LastHeard.Add(clock.Seconds(d.step())) })
}

// silentWith tells whether another unit's run fell silent within one interval of this one at a receiver of both.
func (d *draft) silentWith(o *draft) bool {
	if len(o.Transmissions) == 0 || len(o.beats) == 0 {
		return false
	}
	shared := slices.ContainsFunc(d.ears, func(e ear) bool { return slices.Contains(o.ears, e) })
	apart := d.LastHeard.Sub(o.LastHeard).Abs()
	return shared && apart <= clock.Seconds(max(d.step(), o.step()))
}

// finish turns the draft into a run.
func (d *draft) finish() Run {
	if d.notes.Typed != nil {
		d.typed(*d.notes.Typed)
		return d.Run
	}
	if len(d.Transmissions) == 0 {
		d.State = NotHeard
		d.unheard()
		return d.Run
	}
	d.remark()
	d.bound()
	start := d.begin()
	d.time(start)
	d.wholeHours()
	d.count()
	for _, l := range d.legs {
		d.Parts = append(d.Parts, l.part())
	}
	d.Now = d.now()
	return d.Run
}

// remark flags what the schedule leaves open.
func (d *draft) remark() {
	if d.Schedule.Kind == schedule.Undecided {
		d.flag(FlagUndecided, d.Schedule.Interval.Best, clock.None)
	}
	if d.dropped && d.State != OnAirAtLogEnd {
		d.flag(FlagUnrepeated, 0, clock.None)
	}
	if d.Schedule.AsFarAsHeard {
		d.flag(FlagAsFarAsHeard, 0, clock.None)
	}
	if len(d.beacons) < 3 {
		d.flag(FlagShort, float64(len(d.beacons)), clock.None)
	}
	if d.charge.sameCharge {
		d.flag(FlagSameCharge, 0, clock.None)
	}
	var out time.Duration
	for _, s := range spans(d.notes.Exclude).joined(0) {
		out += s.End.Sub(s.Start)
	}
	if out > 0 {
		d.flag(FlagExcluded, out.Seconds(), clock.None)
	}
	if own := d.lastOwn(); own.Known() && d.step() > 0 && own.Sub(d.LastHeard).Seconds() > 3*d.step() {
		d.flag(FlagTransmitter, 0, own)
	}
}

// lastOwn gives the last sign of life in the unit's own log.
func (d *draft) lastOwn() clock.Instant {
	last := clock.None
	for _, s := range d.subject.Alive {
		if s.Start <= d.LastHeard {
			last = max(last, s.End)
		}
	}
	return last
}

// wholeHours notices an end a whole number of hours after power-on, when the bounds are narrow enough to mean something.
func (d *draft) wholeHours() {
	if d.charge.powerOn == nil || d.State != Ended {
		return
	}
	width, known := d.End.Width()
	hours := d.End.Best.Sub(d.charge.powerOn.At).Round(time.Hour)
	at := d.charge.powerOn.At.Add(hours)
	if known && width <= 6*time.Minute && hours > 0 && at >= d.End.Earliest && at <= d.End.Latest {
		d.flag(FlagWholeHours, hours.Hours(), clock.None)
	}
}

// typed fills in a run without a log.
func (d *draft) typed(t Typed) {
	d.Basis, d.State = TypedIn, NotedEnd
	d.End = clock.Within(t.Off.At, t.Off.Precision)
	if t.Transmissions >= 0 {
		d.Sent = estimate.Exact(float64(t.Transmissions))
	}
	if d.charge.powerOn == nil {
		d.Start = clock.AnyTime
		return
	}
	on := *d.charge.powerOn
	d.Start = clock.Within(on.At, on.Precision)
	span := t.Off.At.Sub(on.At).Seconds()
	if span <= 0 {
		return
	}
	d.Runtime = rectangle(span, on.Precision.Seconds()).plus(rectangle(0, t.Off.Precision.Seconds())).estimate()
	if hours := span / 3600; d.Sent.Known {
		d.Rate = d.Sent.Scale(1 / hours)
	}
	half := (d.Runtime.High - d.Runtime.Low) / 2 / d.Runtime.Best
	d.Rankable = half <= coarsest
	if d.switchedOff(t) {
		d.State, d.Rankable = Stopped, false
		d.Runtime = estimate.AtLeast(d.Runtime.Low)
	}
}

// switchedOff tells whether a run without a log was ended on purpose.
func (d *draft) switchedOff(t Typed) bool {
	return slices.ContainsFunc(d.notes.Events, func(e Event) bool {
		return e.What == SwitchedOff && e.At.Sub(t.Off.At).Abs() <= e.Precision+t.Off.Precision
	})
}

// unheard fills in a run of which nothing was heard.
func (d *draft) unheard() {
	d.Schedule.Reason, d.Schedule.AsFarAsHeard = schedule.Few, true
	d.Start = clock.AnyTime
	d.End = d.Start
	if d.charge.powerOn != nil {
		d.Start = clock.Within(d.charge.powerOn.At, d.charge.powerOn.Precision)
	}
	d.flag(FlagShort, 0, clock.None)
}
