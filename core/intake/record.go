package intake

import (
	"bytes"
	"math"
	"strings"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// A record is one row of a table or one object: a value by meaning, nil where it has none.
type record struct {
	value [meanings][]byte
	scale [meanings]float64
	told  [meanings]uint8 // of an object: how deep it stands in the object itself, 0 where it stands around it
	comma bool            // the comma may be a decimal mark
	utc   bool            // the name of the time says that it is UTC
	line  int
	lines int    // how many it takes
	text  []byte // for notes
}

// has tells whether the record has a value of a meaning. It stands in the page once.
//
//go:noinline
func (r *record) has(m meaning) bool { return len(bytes.TrimSpace(r.value[m])) > 0 }

// records turns records into evidence: packets, places of stations, fixes, readings.
type records struct {
	*reading
	splitter
	track evidence.Track
	stamp []byte
	made  []byte
}

// refuse counts a record that gave nothing.
func (t *records) refuse(r *record, code string) {
	t.src.File.NotUsed += r.lines
	t.notes.add(note{code: code, line: t.line(r.line).No, excerpt: r.text, unused: true, count: r.lines})
}

// take reads one record.
func (t *records) take(r *record) error {
	if !r.evident() || r.has(mInfo) && !r.has(mFrom) && !r.has(mPacket) && !r.has(mLat) && !r.has(mVolts) && !r.has(mAmps) {
		t.refuse(r, "csv.fields")
		return nil
	}
	at, err := t.when(r)
	if err != nil {
		return err
	}
	switch {
	case r.has(mPacket):
		t.takePacket(r, at)
	case r.has(mFrom) && (r.has(mInfo) || r.has(mLat) && t.calls(r)):
		t.takeStation(r, at)
	default:
		t.takeSample(r, at)
	}
	return nil
}

// calls tells whether the sender of a record is a call sign; a place of any other sender is a fix and no packet.
func (t *records) calls(r *record) bool {
	_, ok := ax25.ParseCall(bytes.TrimSpace(r.value[mFrom]))
	if !ok {
		t.notes.add(note{code: "station.no-call", line: t.line(r.line).No, excerpt: r.text})
	}
	return ok
}

// stampOf gives the stamp of a record, its date and time joined.
func (t *records) stampOf(r *record) (clock.Stamp, []byte, bool) {
	t.stamp = t.stamp[:0]
	if r.has(mDate) {
		t.stamp = append(append(t.stamp, bytes.TrimSpace(r.value[mDate])...), ' ')
	}
	t.stamp = append(t.stamp, bytes.TrimSpace(r.value[mTime])...)
	s, n := clock.ScanStamp(t.stamp)
	if n == 0 && r.has(mDate) { // the time column may hold the date too
		t.stamp = append(t.stamp[:0], bytes.TrimSpace(r.value[mTime])...)
		s, n = clock.ScanStamp(t.stamp)
	}
	return s, t.stamp, n > 0 && n == len(t.stamp)
}

func (t *records) when(r *record) (clock.Instant, error) {
	s, text, ok := t.stampOf(r)
	if !ok {
		return clock.None, nil
	}
	if s.Date == clock.NoDate && r.has(mDate) {
		t.notes.add(note{line: t.line(r.line).No, code: "time.no-such-day", excerpt: r.text})
	}
	zone := zoneOf(&found{text: text, stamp: s})
	if r.utc && s.Zone == clock.NoZone && t.set.Zone == "" {
		s.Zone, zone = clock.ZoneOffset, utc
	}
	return t.dates.at(&s, zone, r.text, t.line(r.line), true)
}

// takePacket stores the packet of a record that holds monitor text.
func (t *records) takePacket(r *record, at clock.Instant) {
	f := t.split(bytes.TrimLeft(r.value[mPacket], " \t"))
	if f.fault != "" {
		t.refuse(r, f.fault)
		return
	}
	t.put(r, at, f.raw, f.info)
}

// takeStation stores a packet that is told in parts: who, to whom, and the information or the place.
func (t *records) takeStation(r *record, at clock.Instant) {
	to := bytes.TrimSpace(r.value[mTo])
	if _, ok := ax25.ParseCall(to); !ok {
		to = []byte("APZ000") // a destination of the experimental range: APRS Protocol Reference 1.0.1 ch.4
	}
	t.made = append(append(append(t.made[:0], bytes.TrimSpace(r.value[mFrom])...), '>'), to...)
	if path := bytes.TrimSpace(r.value[mPath]); len(path) > 0 {
		t.made = append(append(t.made, ','), path...)
	}
	t.made = append(t.made, ':')
	info := len(t.made)
	if r.has(mInfo) {
		t.made = undoEscapes(append(t.made, r.value[mInfo]...), info)
	} else {
		place, ok := t.place(r)
		if !ok {
			t.refuse(r, "fix.range")
			return
		}
		t.made = t.makeInfo(t.made, r, place)
	}
	if _, err := ax25.ParseHeader(t.made, &t.header); err != nil {
		t.refuse(r, err.Error())
		return
	}
	if !r.has(mInfo) {
		t.notes.add(note{code: "packet.made", line: t.line(r.line).No, excerpt: r.text})
	}
	t.put(r, at, t.made, info)
}

// makeInfo writes a record's place as a compressed position, which keeps it to within 0.6 m.
func (t *records) makeInfo(dst []byte, r *record, place geo.Place) []byte {
	report := aprs.Report{Place: place, Course: t.course(r), Speed: t.speed(r), Altitude: math.NaN(),
		Comment: strings.ToValidUTF8(string(bytes.TrimSpace(r.value[mComment])), "?")}
	return aprs.AppendCompressed(dst, report)
}

func (t *records) put(r *record, at clock.Instant, raw []byte, info int) {
	no := t.line(r.line).No
	if at.Known() {
		t.seen(at)
		t.watchClock(t.header.From, at, t.line(r.line), r.text)
	} else {
		t.notes.add(note{code: "time.missing", line: no, excerpt: r.text})
	}
	t.store.again = t.dates.pastes.repeated
	if flaw := t.store.add(at, t.line(r.line), &t.header, raw, info); flaw != "" {
		t.notes.add(note{code: flaw, line: no, excerpt: r.text})
	}
}

// takeSample stores a fix, a meter reading, or both.
func (t *records) takeSample(r *record, at clock.Instant) {
	if !at.Known() {
		t.refuse(r, "csv.no-time")
		return
	}
	used, code := false, "csv.fields"
	if r.has(mLat) && r.has(mLon) {
		place, _ := t.place(r)
		p := trackPoint{at: at, lat: place.Lat, lon: place.Lon, speed: t.speed(r), course: t.course(r)}
		if fault := t.fix(&t.track, p, r.line); fault != "" {
			code = fault
		} else {
			used = true
		}
	}
	if r.has(mVolts) || r.has(mAmps) {
		fault := t.takeReading(r, at)
		used = fault == "" || used
		code = fault
	}
	if !used {
		t.refuse(r, code)
	}
}

// mostVolts and mostAmps bound what a meter in a lead of a battery can have shown.
const mostVolts, mostAmps = 1000, 1000

// takeReading stores a meter's reading, or gives the code of what is wrong with it.
func (t *records) takeReading(r *record, at clock.Instant) (fault string) {
	volts, ok1 := amount(r.value[mVolts], r.comma)
	amps, ok2 := amount(r.value[mAmps], r.comma)
	volts, amps = volts*scaled(r.scale[mVolts]), amps*scaled(r.scale[mAmps])
	switch {
	case !ok1 || !ok2 || (math.IsNaN(volts) && math.IsNaN(amps)):
		return "csv.number"
	case math.Abs(volts) > mostVolts || math.Abs(amps) > mostAmps:
		return "meter.range"
	}
	t.src.Readings = append(t.src.Readings, evidence.Reading{At: at, Volts: volts, Amps: amps, Line: t.line(r.line)})
	t.src.File.Readings++
	t.seen(at)
	return ""
}

// scaled is 1 for a column that the record does not have.
func scaled(scale float64) float64 {
	if scale == 0 {
		return 1
	}
	return scale
}

func (t *records) place(r *record) (geo.Place, bool) {
	p := geo.Place{Lat: degrees(r.value[mLat], scaled(r.scale[mLat]), r.comma), Lon: degrees(r.value[mLon], scaled(r.scale[mLon]), r.comma)}
	return p, math.Abs(p.Lat) <= 90 && math.Abs(p.Lon) <= 180
}

// speed gives m/s, NaN where the record tells none or no unit.
func (t *records) speed(r *record) float64 {
	if !r.has(mSpeed) {
		return math.NaN()
	}
	if math.IsNaN(r.scale[mSpeed]) {
		t.notes.add(note{code: "csv.no-unit", line: t.line(r.line).No, excerpt: r.text})
	}
	v, _ := amount(r.value[mSpeed], r.comma)
	return v * r.scale[mSpeed]
}

func (t *records) course(r *record) float64 {
	v, _ := amount(r.value[mCourse], r.comma)
	return v
}
