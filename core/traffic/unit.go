// Package traffic makes units of what was heard: rules tell which packets are whose, packets without a comment go to the
// unit whose fingerprint they share, and the copies of one transmission are folded.
package traffic

import (
	"time"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// A Rule claims packets for a unit: it holds when every given part does. Empty parts are not given.
type Rule struct {
	Station     string        // exactly, with SSID
	Comment     string        // as a part of the comment
	Destination string        // exactly
	Symbol      string        // table and code
	Encoding    string        // plain, compressed, mic-e
	From, Until clock.Instant // clock.None: open
}

// A Spec names a unit and its rules, which are alternatives.
type Spec struct {
	Name  string
	Rules []Rule
}

// Settings of this stage.
type Settings struct {
	Specs  []Spec
	Window time.Duration // copies within this span fold into one transmission; 0 means 30 s
}

// A Transmission is one packet sent once by a unit. Heard[0] is the reception that counts, the others are copies of it.
// At is the time of the earliest direct reception, else of the earliest. Fix is nil when the packet carries no usable place.
type Transmission struct {
	At       clock.Instant
	Fix      *evidence.Fix
	Heard    []*evidence.Reception
	Encoding string        // plain, compressed, mic-e; "" when it is no position packet
	Symbol   [2]byte       // table and code; zero when there is none
	Comment  []byte        // as decoded; not to be changed
	Beacon   bool          // a position packet, with or without a fix: what the schedule spaces
	Ack      bool          // answers the message of another station
	FixState aprs.FixState // whether the position was current
	Sequence Sequence
	Volts    float64 // a voltage told in the comment; NaN when there is none
	Bytes    int     // length of the frame as the unit itself sent it, frame check included
	// Contested: a rule of another unit holds for it too.
	Contested bool
}

// Direct tells whether some receiver heard the unit itself.
func (t *Transmission) Direct() bool {
	for _, r := range t.Heard {
		if r.Heard == evidence.Direct {
			return true
		}
	}
	return false
}

// LostFix tells whether the packet says that its place is an old one, or none.
func (t *Transmission) LostFix() bool { return t.FixState == aprs.FixOld || t.FixState == aprs.FixNone }

// A Sequence is the running number of a telemetry packet. It begins anew after Wrap-1; Wrap 0 means that there is none.
type Sequence struct{ No, Wrap int }

// Known tells whether the packet carries a number.
func (s Sequence) Known() bool { return s.Wrap > 0 }

// A Unit is one radio under test and what was heard of it.
type Unit struct {
	Name          string
	Transmissions []Transmission  // by At
	Heard         int             // receptions, copies included
	Duplicates    int             // receptions that are copies
	Internet      int             // receptions that were never on the air
	Untimed       int             // receptions without a time: heard, but of no use here
	Aside         []evidence.Line // where those of the internet and without a time stand
	Unassigned    int             // transmissions of its stations that no unit claims
	Contested     int             // transmissions that fit another unit too
	Relayed       int             // packets of others that it repeated: its call is a used hop
	RelayedBytes  int             // length of those frames, frame check included, for their time on the air
	RelayedShared bool            // several units have that call: which of them repeated cannot be known
	CurrentFixPct float64         // share of beacons whose position was current; NaN when none says

	calls []ax25.Call // stations of which it has something
}
