package sim

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"sort"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// A Recorder writes what its ears hear into one file of monitor lines. Times are seconds after the scenario's begin.
type Recorder struct {
	File        string
	Ears        []Ear
	From, Until float64  // it listens from then until then
	Outages     []Outage // and not in between
	Jumps       []Jump   // what its clock does
	Ahead       float64  // how far its clock is ahead, in seconds
	Stamp       Stamp
	Zone        time.Duration // east of UTC, for stamps in local time
	Only        []string      // it lists these calls only
	Drops       float64       // it leaves out what equals a packet listed less than so many seconds before; never (Inf): ever
	Comments    float64       // a comment line every so many seconds; 0 none
	Order       Order
}

// An Order is how the lines of a file stand.
type Order uint8

const (
	OldestFirst Order = iota
	NewestFirst
)

// An Ear is one receiver. Without a Call it belongs to the recorder; else it is a gateway, and lines carry its call behind
// the Construct (qAR, qAO).
type Ear struct {
	Call, Construct string
	Loss            float64 // share lost on top of what the station's channel loses
	Deaf            []Outage
	Appends         string // text of its own behind the information, as some gateways add
}

// An Outage is a stretch without reception.
type Outage struct{ From, Until float64 }

// A Jump sets the clock By seconds forward (or back) at the moment At.
type Jump struct{ At, By float64 }

// A Stamp is how a line tells the time.
type Stamp uint8

const (
	StampUTC      Stamp = iota // 2031-05-02T05:40:07Z
	StampOffset                // 2031-05-02T07:40:07+02:00
	StampBracket               // [2031-05-02 05:40:07 UTC]
	StampZoneless              // 2031-05-02 07:40:07
	StampTime                  // 07:40:07
	StampMinute                // 2031-05-02 07:40
	StampEpoch                 // 1935466807
)

// An entry is a line to be written.
type entry struct {
	t      float64
	packet packet
	header ax25.Header
}

func (rec Recorder) record(b *bench, n int) File {
	var entries []entry
	for i, ear := range rec.Ears {
		entries = append(entries, ear.hear(b, stream(b.seed, rec.File, i))...)
	}
	sort.SliceStable(entries, func(i, j int) bool { return entries[i].t < entries[j].t })
	entries = slices.DeleteFunc(entries, func(e entry) bool { return !rec.lists(e) })
	if rec.Drops > 0 {
		entries = rec.drop(entries)
	}
	lines := rec.lines(b.Begin, entries)
	if rec.Order == NewestFirst {
		slices.Reverse(lines)
	}
	return File{Name: rec.File, Bytes: bytes.Join(lines, nil)}
}

// hear gives what arrives at one ear. Gateways pass packets on to the recorder a little late.
func (ear Ear) hear(b *bench, r *rand.Rand) (entries []entry) {
	passes := make([][]bool, len(b.Stations))
	for i, st := range b.Stations {
		passes[i] = st.Channel.passes(r.Uint64(), b.lives[i])
	}
	for _, p := range b.air {
		direct := p.station >= 0 && !p.copied
		lost := direct && !passes[p.station][p.sent]
		if r.Float64() < ear.Loss+(1-ear.Loss)*p.loss || lost || out(ear.Deaf, p.t) {
			continue
		}
		e := entry{t: p.t, packet: p, header: p.header}
		e.packet.info = append(slices.Clip(p.info), ear.Appends...)
		if ear.Call != "" {
			e.t += between(r, 0.1, 0.9)
			e.header.Path = append(slices.Clone(p.header.Path), ax25.Hop{Call: call(ear.Construct)}, ax25.Hop{Call: call(ear.Call)})
		}
		entries = append(entries, e)
	}
	return entries
}

func out(outages []Outage, t float64) bool {
	return slices.ContainsFunc(outages, func(o Outage) bool { return t >= o.From && t < o.Until })
}

func (rec Recorder) lists(e entry) bool {
	if e.t < rec.From || e.t >= rec.Until || out(rec.Outages, e.t) {
		return false
	}
	return len(rec.Only) == 0 || slices.Contains(rec.Only, e.header.From.String())
}

// drop leaves out repeats, as servers do: same source, destination and information within a sliding time.
func (rec Recorder) drop(entries []entry) []entry {
	seen := map[string]float64{}
	return slices.DeleteFunc(entries, func(e entry) bool {
		key := e.header.From.String() + ">" + e.header.To.String() + ":" + string(e.packet.info)
		last, again := seen[key]
		if again && e.t-last < rec.Drops {
			return true
		}
		seen[key] = e.t
		return false
	})
}

// lines writes the entries, with comment lines between them while the recorder listens.
func (rec Recorder) lines(begin clock.Instant, entries []entry) (lines [][]byte) {
	comment := never
	if rec.Comments > 0 {
		comment = rec.From
	}
	until := func(t float64) {
		for ; comment < min(t, rec.Until); comment += rec.Comments {
			if !out(rec.Outages, comment) {
				lines = append(lines, fmt.Appendf(nil, "# server alive %s\n", rec.clock(begin, comment).Format("2006-01-02 15:04:05 UTC")))
			}
		}
	}
	for _, e := range entries {
		until(e.t)
		line := rec.appendStamp(nil, rec.clock(begin, e.t))
		lines = append(lines, append(ax25.AppendMonitor(line, e.header, e.packet.info), '\n'))
	}
	until(rec.Until)
	return lines
}

// clock gives what the recorder's clock shows, UTC.
func (rec Recorder) clock(begin clock.Instant, t float64) time.Time {
	shown := t + rec.Ahead
	for _, j := range rec.Jumps {
		if t >= j.At {
			shown += j.By
		}
	}
	return begin.Add(clock.Seconds(shown)).Time()
}

var layouts = [...]string{
	StampUTC:      "2006-01-02T15:04:05Z ",
	StampOffset:   "2006-01-02T15:04:05-07:00 ",
	StampBracket:  "[2006-01-02 15:04:05 UTC] ",
	StampZoneless: "2006-01-02 15:04:05 ",
	StampTime:     "15:04:05 ",
	StampMinute:   "2006-01-02 15:04 ",
}

func (rec Recorder) appendStamp(b []byte, t time.Time) []byte {
	switch rec.Stamp {
	case StampEpoch:
		return fmt.Appendf(b, "%d ", t.Unix())
	case StampUTC, StampBracket:
		return t.AppendFormat(b, layouts[rec.Stamp])
	}
	return t.In(time.FixedZone("", int(rec.Zone/time.Second))).AppendFormat(b, layouts[rec.Stamp])
}
