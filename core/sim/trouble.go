package sim

import (
	"math"
	"slices"
)

// A Trouble makes a scenario confusing in one way that happens in practice. Units are named as in Station, recorders by
// their file; times are seconds after the scenario's begin. A name that is not there is a mistake and panics.
type Trouble func(*Scenario)

// With gives a copy of the scenario with troubles added.
func (sc Scenario) With(troubles ...Trouble) Scenario {
	sc.Stations = slices.Clone(sc.Stations)
	sc.Recorders = slices.Clone(sc.Recorders)
	sc.Trackers = slices.Clone(sc.Trackers)
	for _, trouble := range troubles {
		trouble(&sc)
	}
	return sc
}

func onUnit(name string, change func(*Station)) Trouble {
	return func(sc *Scenario) {
		i := slices.IndexFunc(sc.Stations, func(s Station) bool { return s.Name == name })
		st := &sc.Stations[i]
		st.Unit.Charges = slices.Clone(st.Unit.Charges)
		change(st)
	}
}

func onRecorder(file string, change func(*Recorder)) Trouble {
	return func(sc *Scenario) {
		i := slices.IndexFunc(sc.Recorders, func(r Recorder) bool { return r.File == file })
		rec := &sc.Recorders[i]
		rec.Ears, rec.Outages, rec.Jumps = slices.Clone(rec.Ears), slices.Clone(rec.Outages), slices.Clone(rec.Jumps)
		change(rec)
	}
}

// HotSwap puts a full pack of the same kind into a unit: off at the moment at, on again off seconds later.
func HotSwap(unit string, at, off float64) Trouble {
	return onUnit(unit, func(s *Station) {
		last := &s.Unit.Charges[len(s.Unit.Charges)-1]
		last.Off = at
		next := *last
		next.On, next.Off = at+off, 0
		s.Unit.Charges = append(s.Unit.Charges, next)
	})
}

// Restarts lets a spent pack start the radio n times more, every so many seconds, and once more late seconds after that.
func Restarts(unit string, n int, every, late float64) Trouble {
	return onUnit(unit, func(s *Station) {
		for i := range s.Unit.Charges {
			s.Unit.Charges[i].Afterlife = Afterlife{Restarts: n, Every: every, Late: late}
		}
	})
}

// PowersOff has a unit switch itself off so long after power-on.
func PowersOff(unit string, after float64) Trouble {
	return onUnit(unit, func(s *Station) { s.Unit.AutoOff = after })
}

// Sleeps has a unit sleep after so long at one place, drawing asleep mA.
func Sleeps(unit string, after, asleep float64) Trouble {
	return onUnit(unit, func(s *Station) {
		s.Unit.SleepAfter = after
		for i := range s.Unit.Charges {
			s.Unit.Charges[i].Battery.Asleep = asleep
		}
	})
}

// Covered lays shadows over a unit's ways: every so many seconds on average, each for at most so many.
func Covered(unit string, every, most float64) Trouble {
	return onUnit(unit, func(s *Station) { s.Channel.Shadow = Shadow{every, most} })
}

// Fades lets a unit's signal sink over the last share of each run until loss of it is lost.
func Fades(unit string, share, loss float64) Trouble {
	return onUnit(unit, func(s *Station) { s.Channel.Sink = Sink{share, loss} })
}

// Travels sends a unit on a journey.
func Travels(unit string, legs ...Leg) Trouble {
	return onUnit(unit, func(s *Station) { s.Unit.Journey = legs })
}

// Repeats has a unit repeat a share of the others' packets: work that its beacons do not show.
func Repeats(unit string, share float64) Trouble {
	return onUnit(unit, func(s *Station) { s.Repeats = share })
}

// NotRecorded stops a recorder from one moment to another; until +Inf it does not come back.
func NotRecorded(file string, from, until float64) Trouble {
	return onRecorder(file, func(r *Recorder) { r.Outages = append(r.Outages, Outage{from, until}) })
}

// GatewayGone stops one gateway of a recorder.
func GatewayGone(file, gateway string, from, until float64) Trouble {
	return onRecorder(file, func(r *Recorder) {
		ear := r.gateway(gateway)
		ear.Deaf = append(slices.Clone(ear.Deaf), Outage{from, until})
	})
}

func (r *Recorder) gateway(call string) *Ear {
	return &r.Ears[slices.IndexFunc(r.Ears, func(e Ear) bool { return e.Call == call })]
}

// GatewayAppends has a gateway of a recorder put text of its own behind what it heard.
func GatewayAppends(file, gateway, text string) Trouble {
	return onRecorder(file, func(r *Recorder) { r.gateway(gateway).Appends = text })
}

// DropsRepeats has a recorder leave out packets that equal one listed less than window seconds before; NeverRepeats leaves
// out whatever stood there at any time, so that a parked unit looks dead.
func DropsRepeats(file string, window float64) Trouble {
	return onRecorder(file, func(r *Recorder) { r.Drops = window })
}

// NeverRepeats has a recorder list equal packets once only.
func NeverRepeats(file string) Trouble { return DropsRepeats(file, math.Inf(1)) }

// ClockSet sets a recorder's clock by seconds forward, or back.
func ClockSet(file string, at, by float64) Trouble {
	return onRecorder(file, func(r *Recorder) { r.Jumps = append(r.Jumps, Jump{at, by}) })
}

// ListsOnly makes a file the listing of some stations, as a server gives it: newest first if told so.
func ListsOnly(file string, order Order, calls ...string) Trouble {
	return onRecorder(file, func(r *Recorder) { r.Only, r.Order = calls, order })
}

// Stamped changes how a file tells the time.
func Stamped(file string, stamp Stamp) Trouble {
	return onRecorder(file, func(r *Recorder) { r.Stamp = stamp })
}

// TrackGap stops a tracker for a while; the track goes on as a new segment.
func TrackGap(file string, from, until float64) Trouble {
	return func(sc *Scenario) {
		i := slices.IndexFunc(sc.Trackers, func(t Tracker) bool { return t.File == file })
		sc.Trackers[i].Gaps = append(slices.Clone(sc.Trackers[i].Gaps), Outage{from, until})
	}
}

// Collide has transmissions that overlap in time destroy each other, as where stations do not hear one another.
func Collide() Trouble { return func(sc *Scenario) { sc.Collisions = true } }
