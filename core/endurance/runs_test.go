package endurance

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
	"lastbeacon/core/traffic"
)

// steady is a parked unit with one beacon every 300 s for six hours, all heard but every ninth, and 40 intervals of
// listening afterwards.
func steady() (Subject, Watch, *trial) {
	r := rand.New(rand.NewPCG(1, 2))
	t := &trial{on: 0, off: 21700, step: 1, listened: 33700}
	t.sent = parked(r, t.on, t.off, 0.5, 300)
	u := t.hear(r, func(i int) float64 { return map[bool]float64{true: 0, false: 1}[i%9 == 4] })
	return t.subject(u), t.watch(), t
}

// addUnplaced adds packets without a place, so many seconds behind the last packet of the unit, whose time it gives.
func addUnplaced(u *traffic.Unit, tail []float64) clock.Instant {
	last := u.Transmissions[len(u.Transmissions)-1].At
	for i, at := range tail {
		x := heardAt(last.Add(clock.Seconds(at)), int32(1000+i))
		x.FixState = aprs.FixOld
		u.Transmissions = append(u.Transmissions, x)
	}
	return last
}

func flagged(r Run, code string) bool {
	return slices.ContainsFunc(r.Flags, func(f Flag) bool { return f.Code == code })
}

func at(seconds float64) *Moment { return &Moment{At: second(seconds), Precision: 30 * time.Second} }

func TestStates(t *testing.T) {
	moving := func(s *Subject, from, to float64) {
		p := s.Timeline.Periods[0]
		p.End = clock.Exactly(second(from))
		q := motion.Period{State: motion.Moving, Start: p.End, End: clock.Exactly(second(to)), MeanSpeed: 1, MaxSpeed: 2}
		s.Timeline.Periods = []motion.Period{p, q}
	}
	for _, c := range []struct {
		name   string
		change func(s *Subject, w *Watch)
		state  State
		closed bool
		flag   string
	}{
		{"silent while others were heard", func(*Subject, *Watch) {}, Ended, true, ""},
		{"nothing proves listening", func(_ *Subject, w *Watch) { w.Presence = nil }, OnAirAtLogEnd, false, FlagUnwatchedEnd},
		{"watched for one interval only", func(_ *Subject, w *Watch) { w.Presence[0].Spans[0].End = second(21990) }, OnAirAtLogEnd, false, FlagFewSilent},
		{"watched until later, as the user says", func(_ *Subject, w *Watch) {
			w.Presence = nil
			w.Stated = []Stated{{Span: evidence.Span{Start: clock.None, End: second(33700)}}}
		}, Ended, true, ""},
		{"motion unknown, silent for 25 minutes", func(s *Subject, w *Watch) {
			s.Timeline = motion.Timeline{}
			w.Presence[0].Spans[0].End = second(23000)
		}, OnAirAtLogEnd, false, FlagFewSilent},
		{"motion unknown, silent for three hours", func(s *Subject, _ *Watch) { s.Timeline = motion.Timeline{} }, Ended, true, ""},
		{"moving at the last packet", func(s *Subject, _ *Watch) { moving(s, 20000, 21700) }, Lost, false, ""},
		{"arrived shortly before", func(s *Subject, _ *Watch) {
			moving(s, 15000, 20000)
			q := s.Timeline.Periods[0]
			q.Start, q.End = clock.Exactly(second(20000)), clock.Exactly(second(21700))
			s.Timeline.Periods = append(s.Timeline.Periods, q)
		}, Lost, false, ""},
		{"arrived hours before", func(s *Subject, _ *Watch) {
			moving(s, 5000, 6000)
			q := s.Timeline.Periods[0]
			q.Start, q.End = clock.Exactly(second(6000)), clock.Exactly(second(21700))
			s.Timeline.Periods = append(s.Timeline.Periods, q)
		}, Ended, true, ""},
		{"switched off while beaconing", func(s *Subject, _ *Watch) {
			s.Notes.Runs[0].Events = []Event{{Moment: *at(21650), What: SwitchedOff}}
		}, Stopped, false, ""},
		{"switched off hours after it fell silent", func(s *Subject, _ *Watch) {
			s.Notes.Runs[0].Events = []Event{{Moment: *at(30000), What: SwitchedOff}}
		}, Ended, true, ""},
		{"seen dead with nobody listening", func(s *Subject, w *Watch) {
			w.Presence = nil
			s.Notes.Runs[0].Events = []Event{{Moment: *at(23000), What: SeenDead}}
		}, NotedEnd, true, ""},
		{"seen on after the last packet, then listened to in vain", func(s *Subject, _ *Watch) {
			s.Notes.Runs[0].Events = []Event{{Moment: *at(25000), What: SeenOn}}
		}, Ended, true, ""},
		{"its own log goes on", func(s *Subject, _ *Watch) {
			s.Alive = []evidence.Span{{Start: second(0), End: second(26000)}}
		}, Ended, true, FlagTransmitter},
	} {
		s, w, _ := steady()
		c.change(&s, &w)
		r := one(s, w)
		if r.State != c.state || r.Runtime.Open() == c.closed {
			t.Errorf("%s: state %s, run time %v, want %s, closed %v", c.name, r.State, r.Runtime, c.state, c.closed)
		}
		if c.flag != "" && !flagged(r, c.flag) {
			t.Errorf("%s: flags %v, want %s", c.name, r.Flags, c.flag)
		}
		if c.closed && !(r.Runtime.Low <= r.Runtime.Best && r.Runtime.Best <= r.Runtime.High) {
			t.Errorf("%s: run time %v is not in order", c.name, r.Runtime)
		}
	}
}

func TestSteadyRun(t *testing.T) {
	s, w, tr := steady()
	r := one(s, w)
	if got, want := float64(r.Transmissions[len(r.Transmissions)-1]+1)+r.Missed.Best, float64(len(tr.sent)); got != want {
		t.Errorf("heard and missed make %v, want %v sent", got, want)
	}
	if r.Sent.Low > r.Sent.Best || r.Sent.Best > r.Sent.High || r.Sent.Low > float64(len(tr.sent)) || r.Sent.High < float64(len(tr.sent)) {
		t.Errorf("sent %v must be in order and hold %d", r.Sent, len(tr.sent))
	}
	if len(r.MissedAt) != int(r.Missed.Best) {
		t.Errorf("%d due times missed, want %v", len(r.MissedAt), r.Missed.Best)
	}
	if r.End.Earliest != r.LastHeard || r.End.Latest < second(tr.off) {
		t.Errorf("end %v..%v, want from the last packet to at least the true end", r.End.Earliest, r.End.Latest)
	}
	if n := len(r.EndLaw); n < 2 || r.EndLaw[0].P != 1 || r.EndLaw[n-1].P != 0 {
		t.Errorf("law %v must fall from 1 to 0", r.EndLaw)
	}
	if !r.Rankable || len(r.Periods) != 1 || r.Periods[0].State != motion.Stationary {
		t.Errorf("rankable %v, periods %v", r.Rankable, r.Periods)
	}
	if p := r.Periods[0]; p.Start.Best != r.Start.Best || p.End.Best != r.End.Best || p.Transmissions != len(r.Transmissions) {
		t.Errorf("periods do not tile the run: %v", p)
	}
	if r.Rate.Low > 12 || r.Rate.High < 12 {
		t.Errorf("rate %v must hold 12 per hour", r.Rate)
	}
}

// Shifting every clock by the same time must shift the answer and change nothing else.
func TestShiftedClocks(t *testing.T) {
	s, w, _ := steady()
	before := one(s, w)
	const shift = 86400 * 365 * time.Second
	moved := func(t clock.Instant) clock.Instant { return t.Add(shift) }
	for i := range s.Unit.Transmissions {
		tr := &s.Unit.Transmissions[i]
		tr.At = moved(tr.At)
		tr.Heard[0].At = tr.At
	}
	s.Timeline = standing(s.Unit)
	s.Notes.Runs[0].PowerOn.At = moved(s.Notes.Runs[0].PowerOn.At)
	w.Files[0].First, w.Files[0].Last = moved(w.Files[0].First), moved(w.Files[0].Last)
	w.Presence[0].Spans[0] = evidence.Span{Start: moved(w.Presence[0].Spans[0].Start), End: moved(w.Presence[0].Spans[0].End)}
	after := one(s, w)
	if after.Runtime != before.Runtime || after.End.Latest.Sub(before.End.Latest) != shift {
		t.Errorf("run time %v became %v, end moved by %v", before.Runtime, after.Runtime, after.End.Latest.Sub(before.End.Latest))
	}
}

func TestHabitsBoundTheStart(t *testing.T) {
	for _, c := range []struct {
		name             string
		habit            FirstBeacon
		earliest, latest float64 // s after power-on
		open             bool
	}{
		{"not known: one side only", NotKnown, math.NaN(), 301, true},
		{"at once", AtOnce, 0, 301, false},
		{"after one interval", AfterInterval, -31, 1, false},
		{"after a fix", AfterFix, -1200, 301, false},
	} {
		s, w, tr := steady()
		s.Notes = Notes{FirstBeacon: c.habit}
		r := one(s, w)
		if r.Basis != FirstHeard || r.Runtime.Open() != c.open || (r.Start.Earliest == clock.None) != c.open {
			t.Errorf("%s: %s, start %v, run time %v", c.name, r.Basis, r.Start, r.Runtime)
			continue
		}
		if r.Start.Latest > second(c.latest) {
			t.Errorf("%s: latest %v", c.name, r.Start.Latest)
		}
		if !c.open && r.Start.Earliest < second(c.earliest).Add(-300*time.Second) {
			t.Errorf("%s: earliest %v s after power-on", c.name, r.Start.Earliest.Sub(second(tr.on)))
		}
	}
	s, w, _ := steady()
	s.Notes = Notes{FirstBeacon: AtOnce}
	w.Presence[0].Spans[0].Start = s.Unit.Transmissions[0].At
	if r := one(s, w); !flagged(r, FlagUnwatchedStart) || !math.IsInf(r.Runtime.High, 1) {
		t.Errorf("nobody listened before: flags %v, run time %v, want it open", r.Flags, r.Runtime)
	}
}

func TestPowerOnIsChecked(t *testing.T) {
	for _, c := range []struct {
		name string
		on   float64
		flag string
	}{
		{"after the first packet", 1500, FlagPowerOnLate},
		{"four intervals early", -900 - 400, FlagPowerOnEarly},
		{"an hour early to the minute", 300 - 3600, FlagPowerOnZone},
	} {
		s, w, _ := steady()
		s.Notes.Runs[0].PowerOn = at(c.on)
		if r := one(s, w); !flagged(r, c.flag) {
			t.Errorf("%s: flags %v, want %s", c.name, r.Flags, c.flag)
		}
	}
}

// A unit that waits one interval of a quarter of an hour was switched on where that says, and in no other zone.
func TestPowerOnOneIntervalBefore(t *testing.T) {
	for _, habit := range []FirstBeacon{NotKnown, AfterInterval, AtOnce} {
		s, w, _ := steady()
		for i := range s.Unit.Transmissions {
			tr := &s.Unit.Transmissions[i]
			tr.At = second(0).Add(3 * tr.At.Sub(second(0)))
			tr.Heard[0].At, tr.Fix.At = tr.At, tr.At
		}
		s.Timeline = standing(s.Unit)
		w.Presence[0].Spans[0].End = w.Presence[0].Spans[0].End.Add(1000 * time.Hour)
		s.Notes.FirstBeacon = habit
		on := s.Unit.Transmissions[0].At.Add(-900 * time.Second)
		s.Notes.Runs[0].PowerOn = &Moment{At: on, Precision: 30 * time.Second}
		if r := one(s, w); flagged(r, FlagPowerOnZone) != (habit == AtOnce) {
			t.Errorf("habit %v, interval %v: flags %v", habit, r.Schedule.Interval, r.Flags)
		}
	}
}

// Several restarts within minutes and a late packet come after useful life.
func TestAfterlife(t *testing.T) {
	s, w, tr := steady()
	last := tr.sent[len(tr.sent)-1]
	n := int32(len(s.Unit.Transmissions))
	tail := []float64{last + 300, last + 340, last + 410, last + 450, last + 4130}
	for i, at := range tail {
		s.Unit.Transmissions = append(s.Unit.Transmissions, heardAt(second(math.Floor(at)), n+int32(i)+1))
	}
	r := one(s, w)
	if len(r.Afterlife) < 4 || r.State != Ended || r.End.Latest > second(last+341) {
		t.Errorf("afterlife %v of %d, %s, end by %v (%v s after the last regular beacon)", r.Afterlife, len(r.Transmissions), r.State, r.End.Latest, r.End.Latest.Sub(second(last)))
	}
	if r.Schedule.Interval.Best < 290 || r.Schedule.Interval.Best > 310 {
		t.Errorf("restarts changed the schedule: %v", r.Schedule.Interval)
	}
}

// A unit that starts again has to find its place anew, and says so; one that lost sight of the sky beacons on.
func TestRestartsWithoutAPlace(t *testing.T) {
	byHand := func(i int) float64 { return []float64{150, 420, 90, 260, 600, 200}[i%6] }
	var loop []float64
	for i := range 100 {
		loop = append(loop, 40+42*float64(i))
	}
	for _, c := range []struct {
		name   string
		gap    func(i int) float64
		tail   []float64 // seconds after the last regular beacon, without a place
		wanted int
	}{
		{"two quick restarts", nil, []float64{40, 75}, 2},
		{"the first may as well be a beacon", nil, []float64{298, 330, 362}, 3},
		{"a late one", nil, []float64{4130}, 1},
		{"restarts of a unit that beacons by hand", byHand, []float64{310, 340, 372}, 3},
		{"a long loop", nil, loop, 100},
		{"no sky", nil, []float64{300, 600, 900, 1200}, 0},
		{"no sky, by hand", byHand, []float64{150, 570, 660}, 0},
	} {
		s, _, tr := steady()
		if c.gap != nil {
			u := *s.Unit
			u.Transmissions = nil
			for i, at := 0, 60.0; at < 20000; i++ {
				u.Transmissions = append(u.Transmissions, heardAt(second(at), int32(i+1)))
				at += c.gap(i)
			}
			s.Unit, s.Timeline = &u, standing(&u)
		}
		last := addUnplaced(s.Unit, c.tail)
		tr.listened += 9000
		r := one(s, tr.watch())
		if len(r.Afterlife) != c.wanted || c.wanted > 0 && (r.LastHeard != last || r.State != Ended) {
			t.Errorf("%s: %d after life, want %d; %s, last heard %v s after the last beacon", c.name, len(r.Afterlife), c.wanted, r.State, r.LastHeard.Sub(last).Seconds())
		}
	}
}

// In a source that drops repeats nothing is claimed of a parked unit, whatever times it seems to keep.
func TestNothingIsClaimedWhereRepeatsAreDropped(t *testing.T) {
	s, w, _ := steady()
	w.Unrepeated = []evidence.FileID{0}
	r := one(s, w)
	if r.State.Closed() || r.Schedule.Kind != schedule.Undecided || r.Missed.Known || r.Rate.Known || r.Sent.Known || r.ShareHeard.Known {
		t.Errorf("%s, %v, missed %v, rate %v, sent %v, share %v", r.State, r.Schedule.Kind, r.Missed, r.Rate, r.Sent, r.ShareHeard)
	}
	for _, p := range r.Periods {
		if p.Missed.Known || p.Rate.Known {
			t.Errorf("%v: missed %v, rate %v", p.State, p.Missed, p.Rate)
		}
	}
	if !flagged(r, FlagUnrepeated) || r.Rankable {
		t.Errorf("flags %v, rankable %v", r.Flags, r.Rankable)
	}
}

// Restarts follow the end of life within minutes, so it may lie anywhere in the silence before them; where the last packets may
// be a restart or a beacon, the bounds hold both.
func TestBoundsBesideRestarts(t *testing.T) {
	for _, c := range []struct {
		name           string
		tail           []float64 // seconds after the last regular beacon, without a place
		afterlife      int
		from, to, open float64 // bounds of the end, s after the last regular beacon; of to, at least so much more is left open
	}{
		{"a loop two intervals later", []float64{645, 690, 731, 4370}, 4, 0, 645, 0},
		{"one restart off phase", []float64{382}, 0, 0, 682, 1},
		{"a loop of which two met due times", []float64{300, 600, 640, 680}, 2, 0, 640, 0},
		{"a restart and a late packet off phase", []float64{382, 4010}, 2, 0, 382, 0},
	} {
		s, _, tr := steady()
		last := addUnplaced(s.Unit, c.tail)
		tr.listened += 9000
		r := one(s, tr.watch())
		from, to := r.End.Earliest.Sub(last).Seconds(), r.End.Latest.Sub(last).Seconds()
		if len(r.Afterlife) != c.afterlife || from > c.from || to < c.to || c.open == 0 && to > c.to+0.001 {
			t.Errorf("%s: %d after life, end %g to %g s after the last beacon, want %d, %g to %g", c.name, len(r.Afterlife), from, to, c.afterlife, c.from, c.to)
		}
		if flagged(r, FlagMayBeAfterlife) != (c.afterlife < len(c.tail)-1 || c.afterlife == 0) {
			t.Errorf("%s: flags %v", c.name, r.Flags)
		}
	}
}

// A late packet that keeps the schedule's phase shows that the unit was alive all the time.
func TestLateButInPhaseIsAlive(t *testing.T) {
	s, w, tr := steady()
	last := s.Unit.Transmissions[len(s.Unit.Transmissions)-1].At
	s.Unit.Transmissions = append(s.Unit.Transmissions, heardAt(last.Add(12*300*time.Second), 999))
	s.Timeline = standing(s.Unit)
	tr.listened += 12 * 300
	if r := one(s, w); len(r.Afterlife) != 0 || r.LastHeard != last.Add(3600*time.Second) {
		t.Errorf("afterlife %v, last heard %v", r.Afterlife, r.LastHeard)
	}
}

func TestRecorderSuspected(t *testing.T) {
	build := func() (Subject, Subject, Watch) {
		a, w, _ := steady()
		b, _, _ := steady()
		w.Presence = []evidence.Presence{{Spans: []evidence.Span{{Start: second(-36000), End: second(21700)}}}}
		w.Stated = []Stated{{Span: evidence.Span{Start: clock.None, End: second(33700)}}}
		return a, b, w
	}
	a, b, w := build()
	for i, runs := range Of([]Subject{a, b}, w) {
		if runs[0].State != RecorderSilent {
			t.Errorf("unit %d: %s, want both silent together to be suspected", i, runs[0].State)
		}
	}
	a, b, w = build()
	w.Presence[0].Spans[0].End = second(33700)
	for i, runs := range Of([]Subject{a, b}, w) {
		if runs[0].State != Ended {
			t.Errorf("unit %d: %s, want ended when others were still heard", i, runs[0].State)
		}
	}
	a, b, w = build()
	b.Unit.Transmissions = b.Unit.Transmissions[:40]
	for i, runs := range Of([]Subject{a, b}, w) {
		if runs[0].State != Ended {
			t.Errorf("unit %d: %s, want ended when they fell silent hours apart", i, runs[0].State)
		}
	}
}

// A gateway that used to hear others falls silent with the unit while another gateway of the listing goes on.
func TestGatewayGone(t *testing.T) {
	gate, other := mustCall("QG1HIL-10"), mustCall("QG2VAL")
	build := func() (Subject, Watch) {
		s, w, _ := steady()
		for i := range s.Unit.Transmissions {
			s.Unit.Transmissions[i].Heard[0].Receiver = gate
		}
		w.Presence = []evidence.Presence{
			{Receiver: gate, Spans: []evidence.Span{{Start: second(-36000), End: second(21700)}}},
			{Receiver: other, Spans: []evidence.Span{{Start: second(-36000), End: second(33700)}}},
		}
		return s, w
	}
	s, w := build()
	if r := one(s, w); r.State != RecorderSilent {
		t.Errorf("state %s, want the gateway suspected", r.State)
	}
	s, w = build()
	w.Presence[0].Spans[0].End = second(33700)
	if r := one(s, w); r.State != Ended {
		t.Errorf("the gateway goes on: state %s, want ended", r.State)
	}
	s, w = build()
	u := s.Unit.Transmissions
	w.Presence[0].Spans = []evidence.Span{{Start: u[0].At, End: u[len(u)-1].At}}
	if r := one(s, w); r.State != OnAirAtLogEnd {
		t.Errorf("the gateway never heard others: state %s, want on the air", r.State)
	}
	w.Unrepeated = []evidence.FileID{0}
	w.Presence[0].Spans[0].End = second(33700)
	if r := one(s, w); r.State != OnAirAtLogEnd || !flagged(r, FlagUnrepeated) {
		t.Errorf("the source drops repeats: state %s, flags %v", r.State, r.Flags)
	}
}

func mustCall(s string) ax25.Call {
	c, ok := ax25.ParseCall([]byte(s))
	if !ok {
		panic(s)
	}
	return c
}

// With stamps cut to the minute a packet may seem to come before the power-on that it followed; bounds widen by a minute.
func TestMinuteStamps(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	tr := &trial{on: 30, off: 21700, step: 60, listened: 60000}
	tr.sent = parked(r, tr.on, tr.off, 0.5, 600)
	u := tr.hear(r, func(int) float64 { return 1 })
	s := tr.subject(u)
	s.Notes.Runs[0].PowerOn = &Moment{At: second(tr.sent[0] - 5)}
	run := one(s, tr.watch())
	if flagged(run, FlagPowerOnLate) || run.Basis != PowerOn {
		t.Errorf("flags %v: a power-on 5 s before the first packet is refused under minute stamps", run.Flags)
	}
	if run.End.Latest < second(tr.sent[len(tr.sent)-1]+600) {
		t.Errorf("end by %v, want the next due time and the step of the stamps", run.End.Latest)
	}
}

// Units in another order must have the same runs.
func TestOrderOfUnits(t *testing.T) {
	a, w, _ := steady()
	b, _, _ := steady()
	b.Unit.Transmissions = b.Unit.Transmissions[:40]
	one, two := Of([]Subject{a, b}, w), Of([]Subject{b, a}, w)
	if one[0][0].Runtime != two[1][0].Runtime || one[1][0].State != two[0][0].State {
		t.Errorf("%v %v against %v %v", one[0][0].Runtime, one[1][0].State, two[1][0].Runtime, two[0][0].State)
	}
}

// A unit that sleeps when parked: heard while it moves, silent for hours at one place, then on its way again, once or more
// often. Silence at the end may be one more sleep, and a clock that begins anew on waking is no other charge.
func TestAsleepWhenParked(t *testing.T) {
	byHand := []float64{40, 200, 90, 320, 60}
	for _, c := range []struct {
		name string
		legs [][2]float64
		gap  func(i int) float64
		loss int // every so many is lost, 0 for none
	}{
		{"once", [][2]float64{{0, 6000}, {20000, 26000}}, func(int) float64 { return 60 }, 0},
		{"twice, with losses", [][2]float64{{0, 3000}, {9000, 12000}, {18030, 21000}}, func(int) float64 { return 60 }, 4},
		{"by hand", [][2]float64{{0, 3000}, {9000, 12000}, {18030, 21000}}, func(i int) float64 { return byHand[i%5] }, 0},
	} {
		s, tr := sleeper(c.legs, c.gap, c.loss)
		if r := one(s, tr.watch()); r.State != Asleep || !math.IsInf(r.Runtime.High, 1) || flagged(r, FlagSwap) {
			t.Errorf("%s: state %s, run time %v, flags %v, want asleep and open", c.name, r.State, r.Runtime, r.Flags)
		}
	}
}

// sleeper beacons in the legs, moving all the time but the last five minutes of each.
func sleeper(legs [][2]float64, gap func(i int) float64, loss int) (Subject, *trial) {
	tr := &trial{step: 1, listened: 80000}
	var periods []motion.Period
	i, way := 0, 0.0
	var places []float64
	for k, leg := range legs {
		for at := leg[0] + 60; at < leg[1]; i++ {
			tr.sent, places = append(tr.sent, at), append(places, way+min(at, leg[1]-300)-leg[0])
			at += gap(i)
		}
		way += leg[1] - 300 - leg[0]
		until := leg[1]
		if k+1 < len(legs) {
			until = legs[k+1][0]
		}
		stop := clock.Exactly(second(leg[1] - 300))
		periods = append(periods, motion.Period{State: motion.Moving, Start: clock.Exactly(second(leg[0])), End: stop},
			motion.Period{State: motion.Stationary, Start: stop, End: clock.Exactly(second(until))})
	}
	u := tr.hear(rand.New(rand.NewPCG(3, 4)), func(int) float64 { return 1 })
	kept := u.Transmissions[:0]
	for i, x := range u.Transmissions {
		x.Fix.Place = geo.Place{Lat: 60 + places[i]*2e-5, Lon: 10}
		if loss == 0 || i%loss != 1 {
			kept = append(kept, x)
		}
	}
	u.Transmissions = kept
	s := tr.subject(u)
	s.Timeline = motion.Timeline{Periods: periods}
	return s, tr
}

func TestSuspectedEvents(t *testing.T) {
	s, w, _ := steady()
	for i := range s.Unit.Transmissions {
		s.Unit.Transmissions[i].Volts = 8.2 - 0.02*float64(i)
		if i >= 40 {
			s.Unit.Transmissions[i].Volts = 8.3 - 0.02*float64(i-40)
		}
	}
	r := one(s, w)
	i := slices.IndexFunc(r.Events, func(e Event) bool { return e.What == PackChanged })
	if i < 0 || r.Events[i].Basis != Suspected || r.Rankable || !flagged(r, FlagSwap) {
		t.Errorf("events %v, rankable %v: want a change of packs suspected", r.Events, r.Rankable)
	}
	s, w, _ = steady()
	for i := range s.Unit.Transmissions {
		if i >= 30 {
			s.Unit.Transmissions[i].At = s.Unit.Transmissions[i].At.Add(100 * time.Second)
		}
	}
	r = one(s, w)
	if i := slices.IndexFunc(r.Events, func(e Event) bool { return e.Sign == SignPhase }); i < 0 || r.Events[i].At != s.Unit.Transmissions[30].At {
		t.Errorf("events %v: want a break of phase at the 31st beacon", r.Events)
	}
}

func TestOddInput(t *testing.T) {
	s, w, _ := steady()
	for _, n := range []int{0, 1, 2, 3} {
		short := s
		unit := *s.Unit
		unit.Transmissions = unit.Transmissions[:n]
		short.Unit = &unit
		runs := Of([]Subject{short}, w)[0]
		if len(runs) != 1 {
			t.Errorf("%d beacons: %d runs, want 1", n, len(runs))
			continue
		}
		if r := runs[0]; n < 3 && (r.Rankable || !flagged(r, FlagShort)) {
			t.Errorf("%d beacons: rankable %v, flags %v", n, r.Rankable, r.Flags)
		}
	}
	same := s
	unit := *s.Unit
	unit.Transmissions = slices.Clone(unit.Transmissions)
	for i := range unit.Transmissions {
		unit.Transmissions[i].At = epoch
	}
	same.Unit = &unit
	Of([]Subject{same}, w)
	Of([]Subject{{Unit: &unit, Notes: Notes{Runs: []NotedRun{{Exclude: []evidence.Span{{Start: 0, End: math.MaxInt64}}}}}}}, Watch{})
}
