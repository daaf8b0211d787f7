package endurance

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/aprs"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/traffic"
)

// changing is a parked unit that sends every first seconds until 10,000 s and every second seconds until 40,000 s.
func changing(seed uint64, share, first, second float64) (Subject, Watch, *trial) {
	r := rand.New(rand.NewPCG(seed, 8))
	tr := &trial{on: 0, off: 40000, step: 1, listened: 60000}
	tr.sent = append(parked(r, 0, 10000, 0.5, first), parked(r, 10000, 40000, 0.5, second)...)
	u := tr.hear(r, func(int) float64 { return share })
	return tr.subject(u), tr.watch(), tr
}

// A schedule that was changed in the run is found though nobody noted it; the run is one charge still, and the end goes by the
// later schedule.
func TestUnnotedChangeOfSettings(t *testing.T) {
	for seed := uint64(1); seed <= 5; seed++ {
		s, w, tr := changing(seed, 0.8, 60, 300)
		run := one(s, w)
		if len(run.Parts) != 2 || run.Parts[0].Schedule.Interval.Best > 62 || run.Parts[1].Schedule.Interval.Best < 297 {
			t.Fatalf("seed %d: parts %v", seed, run.Parts)
		}
		if run.Parts[1].From != run.Parts[0].Until || run.Parts[1].Until != run.LastHeard || run.Parts[0].From != run.FirstHeard {
			t.Errorf("seed %d: the parts do not tile what was heard", seed)
		}
		i := slices.IndexFunc(run.Events, func(e Event) bool { return e.What == SettingsChanged })
		if i < 0 || len(run.Events) != 1 || run.Events[i].Basis != Suspected || run.Events[i].At.Sub(second(10000)).Abs().Seconds() > 600 {
			t.Errorf("seed %d: events %v, want other settings suspected about 10,000 s", seed, run.Events)
		}
		if !flagged(run, FlagChanged) || !run.Rankable || run.State != Ended {
			t.Errorf("seed %d: flags %v, rankable %v, %s", seed, run.Flags, run.Rankable, run.State)
		}
		if sent := float64(len(tr.sent)); run.Sent.Low > sent || run.Sent.High < sent {
			t.Errorf("seed %d: sent %v, want %v", seed, run.Sent, sent)
		}
		if run.End.Earliest > second(40000) || run.End.Latest < second(40000) {
			t.Errorf("seed %d: the end %v does not hold the truth", seed, run.End)
		}
	}
}

// What somebody noted is not suspected once more.
func TestNotedChangeIsNotSuspected(t *testing.T) {
	s, w, _ := changing(1, 0.9, 60, 300)
	s.Notes.Runs[0].Events = []Event{{Moment: *at(10000), What: SettingsChanged}}
	run := one(s, w)
	if len(run.Parts) != 2 || len(run.Events) != 1 || run.Events[0].Basis != Noted || !run.Rankable || flagged(run, FlagChanged) {
		t.Errorf("%d parts, events %v, flags %v", len(run.Parts), run.Events, run.Flags)
	}
}

// An interval that changes as the unit sets off belongs to the rule, not to the settings.
func TestIntervalThatChangesOnSettingOff(t *testing.T) {
	s, w, _ := changing(2, 0.9, 600, 60)
	s.Timeline = motion.Timeline{Periods: []motion.Period{
		{State: motion.Stationary, Start: clock.Exactly(second(0)), End: clock.Exactly(second(9900))},
		{State: motion.Moving, Start: clock.Exactly(second(9900)), End: clock.Exactly(second(40000))},
	}}
	run := one(s, w)
	if len(run.Parts) != 1 || slices.ContainsFunc(run.Events, func(e Event) bool { return e.What == SettingsChanged }) {
		t.Errorf("%d parts, events %v", len(run.Parts), run.Events)
	}
}

// Restarts in quick succession at the end are no new schedule.
func TestRestartsAreNoNewSchedule(t *testing.T) {
	s, w, tr := steady()
	last := tr.sent[len(tr.sent)-1]
	for i := range 8 {
		s.Unit.Transmissions = append(s.Unit.Transmissions, heardAt(second(math.Floor(last+130+30*float64(i))), int32(1000+i)))
	}
	run := one(s, w)
	if len(run.Parts) != 1 || len(run.Afterlife) != 8 || flagged(run, FlagChanged) {
		t.Errorf("%d parts, %d in the afterlife, flags %v", len(run.Parts), len(run.Afterlife), run.Flags)
	}
}

// Steady units in many runs: no change of settings and no restart is made up.
func TestNothingIsSuspectedOfSteadyUnits(t *testing.T) {
	wrong := 0
	const runs = 60
	for seed := uint64(1); seed <= runs; seed++ {
		r := rand.New(rand.NewPCG(seed, 77))
		tr := &trial{on: 0, off: 30000, step: 1, listened: 50000}
		intervals := []float64{60 + 240*r.Float64()}
		if seed%2 == 0 {
			intervals = []float64{60, 60, 60, 120, 240, 480, 960}
		}
		tr.sent = parked(r, 0, 30000, 1, intervals...)
		share := 0.6 + 0.4*r.Float64()
		if run := one(tr.subject(tr.hear(r, func(int) float64 { return share })), tr.watch()); len(run.Parts) > 1 || len(run.Events) > 0 {
			wrong++
			t.Logf("seed %d: %d parts, events %v", seed, len(run.Parts), run.Events)
		}
	}
	if wrong > runs/20 {
		t.Errorf("%d of %d steady runs were suspected of something", wrong, runs)
	}
}

// A copy that a repeater held back, of a beacon not heard before, is that beacon and not one more; beacons sent by hand tell of
// others unheard.
func TestBeaconsBesideTheSchedule(t *testing.T) {
	for _, c := range []struct {
		name     string
		repeated bool
		missed   float64
		more     float64
	}{{"held back by a repeater", true, 7, 0}, {"sent by hand", false, 8, 1}} {
		s, w, _ := steady()
		lost := s.Unit.Transmissions[3].At.Add(300 * time.Second) // the fifth of nine is lost
		x := heardAt(lost.Add(140*time.Second), 999)
		if c.repeated {
			x.Heard[0].Heard = evidence.Repeated
		}
		s.Unit.Transmissions = slices.Insert(s.Unit.Transmissions, 4, x)
		if r := one(s, w); r.Missed.Best != c.missed || r.Missed.High < r.Missed.Best+c.more {
			t.Errorf("%s: missed %v, want %g and %g more", c.name, r.Missed, c.missed, c.more)
		}
	}
}

// A change of packs that nobody noted is proposed by what the packets show of it, and the run is not ranked as one charge.
func TestHotSwap(t *testing.T) {
	start := func(u *traffic.Unit, from int) { u.Transmissions[from].FixState = aprs.FixOld }
	for _, c := range []struct {
		name string
		make func(u *traffic.Unit, from int) // what the swap does from the first beacon after it on
		sign string
	}{
		{"it breaks step", func(*traffic.Unit, int) {}, SignPhase},
		{"it looks for its place", start, SignStart},
		{"its numbers begin anew", func(u *traffic.Unit, from int) {
			for i := range u.Transmissions {
				u.Transmissions[i].Sequence = traffic.Sequence{No: (i - from*(i/from)) % 1000, Wrap: 1000}
			}
		}, SignSequence},
		{"its voltage is up", func(u *traffic.Unit, from int) {
			for i := range u.Transmissions {
				u.Transmissions[i].Volts = 8.2 - 0.03*float64(i%from)
			}
		}, SignVoltage},
	} {
		s, w, _ := steady()
		const from = 30
		for i := from; i < len(s.Unit.Transmissions); i++ {
			s.Unit.Transmissions[i].At = s.Unit.Transmissions[i].At.Add(100 * time.Second)
		}
		c.make(s.Unit, from)
		r := one(s, w)
		i := slices.IndexFunc(r.Events, func(e Event) bool { return e.Sign == c.sign })
		if i < 0 || r.Events[i].Basis != Suspected || r.Events[i].At != s.Unit.Transmissions[from].At || r.Rankable || !flagged(r, FlagSwap) {
			t.Errorf("%s: events %v, rankable %v, flags %v", c.name, r.Events, r.Rankable, r.Flags)
		}
	}
}

// A change of packs with another interval after it shows as both.
func TestHotSwapWithAnotherInterval(t *testing.T) {
	s, w, _ := changing(3, 0.9, 60, 300)
	from := slices.IndexFunc(s.Unit.Transmissions, func(x traffic.Transmission) bool { return x.At > second(10030) })
	s.Unit.Transmissions[from].FixState = aprs.FixOld
	r := one(s, w)
	has := func(sign string) bool {
		return slices.ContainsFunc(r.Events, func(e Event) bool { return e.Sign == sign })
	}
	if !has(SignSchedule) || !has(SignStart) || r.Rankable {
		t.Errorf("events %v, rankable %v", r.Events, r.Rankable)
	}
}

// A unit at rest that hardly ever loses its place was started anew when it does once, even on its due time; one that loses it
// again and again was not.
func TestLostPlaceInPhase(t *testing.T) {
	for _, c := range []struct {
		name string
		lost []int
		want int
	}{{"once", []int{40}, 1}, {"now and then", []int{24, 31, 40, 50}, 0}, {"before there is anything to compare with", []int{8}, 0}} {
		s, w, _ := steady()
		for _, i := range c.lost {
			s.Unit.Transmissions[i].FixState = aprs.FixOld
		}
		n := 0
		for _, e := range one(s, w).Events {
			if e.Sign == SignStart {
				n++
			}
		}
		if n != c.want {
			t.Errorf("%s: %d restarts suspected, want %d", c.name, n, c.want)
		}
	}
}
