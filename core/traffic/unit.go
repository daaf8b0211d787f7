// Package traffic makes units of what was heard: rules tell which packets are whose, packets without a comment go to the
// unit whose fingerprint they share, and the copies of one transmission are folded.
package traffic

import (
	"time"

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
	At    clock.Instant
	Fix   *evidence.Fix
	Heard []*evidence.Reception
}

// A Unit is one radio under test and what was heard of it.
type Unit struct {
	Name          string
	Transmissions []Transmission // by At
	Heard         int            // receptions, copies included
	Duplicates    int            // receptions that are copies
	Internet      int            // receptions that were never on the air
	Unassigned    int            // packets of its stations that no unit claims
	Contested     int            // packets that fit another unit too
	Relayed       int            // packets of others that it repeated: its call is a used hop
	CurrentFixPct float64        // share of beacons whose position was current; NaN when none says
}
