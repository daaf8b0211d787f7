package endurance

import (
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// A Moment is a time that a person noted, plus or minus Precision.
type Moment struct {
	At        clock.Instant
	Precision time.Duration
}

func (m Moment) earliest() clock.Instant { return m.At.Add(-m.Precision) }
func (m Moment) latest() clock.Instant   { return m.At.Add(m.Precision) }

// A What says what happened to a unit.
type What string

const (
	LowBattery      What = "low_battery"
	PackChanged     What = "pack_changed"
	Charging        What = "charging"
	SettingsChanged What = "settings_changed"
	PowerCycled     What = "power_cycled"
	SeenOn          What = "seen_on"
	SeenDead        What = "seen_dead"
	SwitchedOff     What = "switched_off"
)

// starts tells whether a new run begins with it: the charge was renewed, or the unit started anew.
func (w What) starts() bool { return w == PackChanged || w == Charging || w == PowerCycled }

// stops tells whether it ends a run on purpose.
func (w What) stops() bool { return w.starts() || w == SwitchedOff }

// A Basis says what an event or a bound rests on.
type Basis string

const (
	Noted     Basis = "noted"     // a person wrote it down
	Suspected Basis = "suspected" // the packets suggest it; it changes no run until somebody confirms it
)

// An Event is something that happened to a unit.
type Event struct {
	Moment
	What  What
	Basis Basis
	Text  string // what the person wrote; empty when suspected
	Sign  string // code of what gave it away when suspected: phase, sequence, voltage
}

// A FirstBeacon is when a unit sends its first beacon after power-on.
type FirstBeacon uint8

const (
	NotKnown      FirstBeacon = iota
	AtOnce                    // within half a minute
	AfterFix                  // as soon as it knows where it is
	AfterInterval             // one interval later
)

// Typed tells of a run without a log: when it went off, and how often it had transmitted, -1 when nobody counted.
type Typed struct {
	Off           Moment
	Transmissions int
}

// A NotedRun is what a person noted about one charge. PowerOn is nil when nobody looked at the clock.
type NotedRun struct {
	Label   string
	PowerOn *Moment
	Events  []Event
	Exclude []evidence.Span // stretches that do not count: nothing heard or missed in them says anything
	Typed   *Typed
}

// Notes is what people know about a unit that no packet tells. Without Runs one charge is one run.
type Notes struct {
	FirstBeacon FirstBeacon
	Runs        []NotedRun
}
