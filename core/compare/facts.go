package compare

import (
	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
)

// Facts are the circumstances of one run, as noted by a person or shown by the evidence. Zero fields are not known.
type Facts struct {
	Start, End clock.Instant // when it ran; clock.None or 0 when not known
	From, To   clock.Instant // its first and last packet, likewise

	// Noted by a person: "on", "off", or any word; "" and "unknown" are not noted.
	Fix, SecondReceiver, Audio, PowerSaver, AutoPowerOff, Repeating, Antenna string
	TemperatureC                                                             estimate.Estimate
	PowerW                                                                   float64
	PowerMeasured                                                            bool // by a wattmeter; a setting's name or a printed figure is not
	MeterPct                                                                 float64

	// Shown by the evidence.
	AirtimeS    estimate.Estimate // of one transmission
	Path        string            // the path most packets asked for, entries joined by commas
	PathKnown   bool
	Schedule    string            // fixed, decaying, adaptive, irregular, undecided
	FixPct      estimate.Estimate // share of beacons with a current fix
	MovingPct   estimate.Estimate // share of the run spent moving
	BusyPct     estimate.Estimate // share of the time that others' packets filled the channel
	Relayed     int               // packets of others that it repeated
	RelaysKnown bool
}
