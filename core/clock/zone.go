package clock

import (
	"errors"
	"fmt"
	"strings"
	"time"
	_ "time/tzdata" // zones by name need no files of the machine
)

// A Zone turns a date and time of day as a clock on the wall showed it into an Instant. It remembers the stretch between
// two clock changes that it used last, so it must not be shared between goroutines. The zero Zone is UTC.
//
// The embedded IANA data counts. Package time asks for the machine's files first, so every host gives the engine a file
// system without files, and native tests set ZONEINFO to the data of the Go release, which is the embedded copy.
type Zone struct {
	name   string
	loc    *time.Location
	lo, hi int64 // wall milliseconds for which off holds beyond doubt
	off    int64 // milliseconds east of UTC
}

// errZone is wrapped by every refusal of ZoneNamed.
var errZone = errors.New("zone not known")

// ZoneNamed gives the zone of an IANA name (Europe/Oslo), of UTC, GMT or Z, of an offset (+02:00, -0530, UTC+2), or of an
// abbreviation that stands for one offset all over the world (CEST). "" is UTC.
func ZoneNamed(name string) (*Zone, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return FixedZone("UTC", 0), nil
	}
	if form, off, n := scanZone([]byte(name), true); n == len(name) && form != NoZone {
		switch form {
		case ZoneOffset:
			return FixedZone(name, off), nil
		case ZoneUnsure:
			return nil, fmt.Errorf("%w: %q stands for more than one offset; give a place such as Europe/Oslo", errZone, name)
		}
	}
	if !strings.Contains(name, "/") {
		return nil, fmt.Errorf("%w: %q; give a place such as Europe/Oslo or an offset such as +02:00", errZone, name)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("%w: %q is no place of the IANA list", errZone, name)
	}
	return &Zone{name: name, loc: loc, lo: 1, hi: 0}, nil
}

// FixedZone gives the zone that always stands east by off, called name.
func FixedZone(name string, off time.Duration) *Zone {
	const ever = int64(1) << 62
	return &Zone{name: name, lo: -ever, hi: ever, off: off.Milliseconds()}
}

// Name gives the zone's name as it was asked for.
func (z *Zone) Name() string {
	if z.name == "" {
		return "UTC"
	}
	return z.name
}

// Fixed tells whether the zone's clocks are never changed.
func (z *Zone) Fixed() bool { return z.loc == nil }

// A Passing tells how often a wall time occurs: clocks put back pass it twice, clocks put forward skip it.
type Passing uint8

const (
	Once Passing = iota
	Twice
	Never
)

// Resolve gives the instants at which a clock of the zone shows wall, which holds date and time of day as if they were UTC.
// Passed twice, early and late differ. Never passed, early and late are the readings of a clock put forward at once and of
// one not yet put forward.
func (z *Zone) Resolve(wall Instant) (early, late Instant, p Passing) {
	w := int64(wall)
	if z.loc == nil || (z.lo <= w && w < z.hi) {
		t := Instant(w - z.off)
		return t, t, Once
	}
	return z.look(w)
}

// look asks the zone's data about wall time w.
func (z *Zone) look(w int64) (early, late Instant, p Passing) {
	const day = 24 * 60 * 60 * 1000
	before, after := z.offset(w-day), z.offset(w+day)
	early, late = Instant(w-max(before, after)), Instant(w-min(before, after))
	earlyHolds, lateHolds := z.shows(early, w), z.shows(late, w)
	switch {
	case before == after && earlyHolds:
		z.lo, z.hi, z.off = z.stretch(early)
		return early, early, Once
	case earlyHolds && lateHolds:
		return early, late, Twice
	case earlyHolds:
		return early, early, Once
	case lateHolds:
		return late, late, Once
	}
	return early, late, Never
}

// offset gives the milliseconds east of UTC at the instant at.
func (z *Zone) offset(at int64) int64 {
	_, s := Instant(at).Time().In(z.loc).Zone()
	return int64(s) * 1000
}

// shows tells whether a clock of the zone shows w at the instant at.
func (z *Zone) shows(at Instant, w int64) bool { return int64(at)+z.offset(int64(at)) == w }

// stretch gives the wall times around at, kept two days clear of the next clock changes, and their offset.
func (z *Zone) stretch(at Instant) (lo, hi, off int64) {
	const clear, ever = 48 * 60 * 60 * 1000, int64(1) << 62
	start, end := at.Time().In(z.loc).ZoneBounds()
	lo, hi, off = -ever, ever, z.offset(int64(at))
	if !start.IsZero() {
		lo = start.UnixMilli() + clear
	}
	if !end.IsZero() {
		hi = end.UnixMilli() - clear
	}
	return lo, hi, off
}

// abbreviations stand for one offset, in minutes east, in every zone of the IANA data since 2020 (a test says so); MEZ and
// MESZ are German usage: common practice, no source.
var abbreviations = map[string]int{
	"UTC": 0, "GMT": 0, "UT": 0, "Z": 0, "WET": 0, "WEST": 60, "BST": 60, "CET": 60, "CEST": 120, "MEZ": 60, "MESZ": 120,
	"EET": 120, "EEST": 180, "MSK": 180, "SAST": 120, "CAT": 120, "WAT": 60, "EAT": 180, "JST": 540, "KST": 540, "HKT": 480,
	"AWST": 480, "ACST": 570, "ACDT": 630, "AEST": 600, "AEDT": 660, "NZST": 720, "NZDT": 780, "HST": -600, "AKST": -540,
	"AKDT": -480, "PDT": -420, "MST": -420, "MDT": -360, "EST": -300, "EDT": -240, "AST": -240, "ADT": -180, "NST": -210, "NDT": -150,
}

// unsure are abbreviations in use for more than one offset.
var unsure = map[string]bool{"CST": true, "CDT": true, "IST": true, "PST": true, "SST": true, "AMT": true, "GST": true, "ECT": true, "ART": true}
