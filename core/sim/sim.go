// Package sim simulates a bench: radios that beacon until their batteries are spent, the ways they are carried, the channel,
// repeaters and gateways between them and the recorders, other people's packets, and the files that come of it. All is drawn
// from one seed, and the truth behind the files is handed out beside them.
//
// It shares no code with what infers from such files, so that a claim that holds here proves something. The models are
// plain: a constant current between beacons, a fixed charge for each, a made-up hill country.
package sim

import (
	"sort"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// A Scenario is a bench: what is switched on, what lies between, and what is recorded. Times in its parts are seconds after
// Begin. The order of Stations is the order of units in the truth.
type Scenario struct {
	Label     string // names the runs in the truth
	Begin     clock.Instant
	Lasting   float64 // others beacon for so many seconds
	Stations  []Station
	Others    []Other
	Repeaters []Repeater
	Recorders []Recorder
	Trackers  []Tracker

	Collisions bool // transmissions that overlap destroy each other, as where stations do not hear one another
}

// A Station is a radio with its call sign.
type Station struct {
	Name    string // as its team calls it; empty: somebody else's, not in the truth
	Call    string
	Path    string // such as WIDE1-1,WIDE2-1
	GPS     GPS
	Packet  Packet
	Channel Channel // to every ear that hears it directly
	Repeats float64 // share of the Others' packets with a hop left that it repeats, each at the charge of a beacon
	Unit    Unit
}

// A File is one file of the bench as bytes.
type File struct {
	Name  string
	Bytes []byte
}

// Bench runs a scenario: the files of its recorders and trackers in the order in which they stand there, and the truth.
func Bench(seed uint64, sc Scenario) ([]File, Truth) {
	b := bench{Scenario: sc, seed: seed, truth: Truth{Seed: seed}}
	for i, o := range sc.Others {
		for _, p := range o.transmissions(stream(seed, "other", i), sc) {
			p.origin = len(b.air)
			b.air = append(b.air, p)
		}
	}
	others := b.air[:len(b.air):len(b.air)]
	for i, st := range sc.Stations {
		var relayed []packet
		relayed, st.Unit.Relays = st.relays(stream(seed, "relay", i), others)
		l := Live(seed+uint64(i)*0x9e3779b97f4a7c15, sc.Begin, st.Unit)
		b.lives = append(b.lives, l)
		b.transmit(i, st, l, relayed)
		if st.Name != "" {
			b.truth.add(sc.Label, st, l)
		}
	}
	if sc.Collisions {
		b.collide()
	}
	b.repeat()
	sort.SliceStable(b.air, func(i, j int) bool { return b.air[i].t < b.air[j].t })
	return b.files(), b.truth
}

type bench struct {
	Scenario
	seed  uint64
	lives []*Life
	air   []packet
	truth Truth
}

// A packet is one transmission on the air, an original or a repeater's copy. t is when it ends.
type packet struct {
	t       float64
	header  ax25.Header
	info    []byte
	station int     // index in Stations; -1: another's
	sent    int     // index in Life.Sent
	loss    float64 // share that an ear loses; of originals of stations the channel decides
	copied  bool
	origin  int // the same for a packet and its copies
}

// transmit puts a station's life on the air; relayed are the packets of others that it may have repeated.
func (b *bench) transmit(i int, st Station, l *Life, relayed []packet) {
	if len(l.Sent) == 0 {
		return
	}
	s := st.GPS.follow(stream(b.seed, "gps", i), l.Way, l.Sent[len(l.Sent)-1].t)
	w := writer{Packet: st.Packet, header: header(st.Call, st.Packet.To, st.Path)}
	for n, sent := range l.Sent {
		p := packet{t: sent.t + onAir, station: i, sent: n, origin: len(b.air)}
		if sent.Cause == Relay {
			was := relayed[sent.relay]
			p.header, p.info, p.origin = was.header, was.info, was.origin
		} else {
			p.header, p.info = w.write(s.at(sent.t), sent, l.Runs[sent.Run].Battery)
		}
		b.air = append(b.air, p)
	}
}

// collide takes out what overlaps with the transmission before or after it.
func (b *bench) collide() {
	sort.SliceStable(b.air, func(i, j int) bool { return b.air[i].t < b.air[j].t })
	clear := func(i, j int) bool { return i < 0 || j >= len(b.air) || b.air[j].t-b.air[i].t > onAir }
	var left []packet
	for i, p := range b.air {
		if clear(i-1, i) && clear(i, i+1) {
			left = append(left, p)
		}
	}
	b.air = left
}

func (b *bench) files() (files []File) {
	for i, r := range b.Recorders {
		files = append(files, r.record(b, i))
	}
	for _, t := range b.Trackers {
		for i, st := range b.Stations {
			if st.Name == t.Station {
				files = append(files, t.record(b.seed, b.lives[i]))
			}
		}
	}
	return files
}

// call makes a call sign of a scenario; a wrong one is a mistake in the scenario.
func call(s string) ax25.Call {
	c, ok := ax25.ParseCall([]byte(s))
	if !ok {
		panic("sim: no call sign: " + s)
	}
	return c
}
