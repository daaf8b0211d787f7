//go:build measure

package session

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"lastbeacon/core/bench"
	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
	"lastbeacon/core/sim"
)

// troubles are the circumstances of a bench; each bench has one.
var troubles = []string{"plain", "plain", "plain", "bursts", "sinking", "late copies", "gateways", "minute stamps", "recorder outage",
	"log ends early", "one station listed", "listed and watched", "begin not noted, at once", "begin not noted, after fix",
	"begin not noted, after interval", "begin not noted, habit unknown", "swap noted", "swap not noted", "afterlife",
	"asleep when parked", "walk with shadows", "switched off", "one pack for both", "charge put back", "seen dead"}

// A world is one bench made up: what its people wrote, what was recorded, and what truly was.
type world struct {
	r        *rand.Rand
	seed     uint64
	trouble  string
	kind     string // of the schedules
	loss     float64
	collides bool    // packets destroyed one another in some test
	hears    float64 // share that the repeater hears
	repeater sim.Repeater
	ears     []sim.Ear
	sheet    bench.Bench
	inputs   []input
	truth    sim.Truth
	radios   [2]radio
	basis    string                   // of the packs' capacities
	rules    [][2]sim.Rule            // of each test
	logEnds  map[string]clock.Instant // when the recording of a test stops, by unit and label
}

// A radio is one unit as it is on average, and its pack.
type radio struct {
	name, call   string
	idle, beacon float64 // mA, mAh
	printed      float64
	holds        float64 // mAh on average
	packet       sim.Packet
	timing       sim.Timing
	death        sim.Death
}

func newWorld(seed uint64) *world {
	w := &world{r: rand.New(rand.NewPCG(seed, 2031)), seed: seed, logEnds: map[string]clock.Instant{}}
	w.trouble = troubles[seed%uint64(len(troubles))]
	w.kind = choose(w, "fixed", "fixed", "decaying", "adaptive", "irregular")
	w.loss = w.even(0, 0.4)
	w.hears, w.repeater = 0, sim.Repeater{Call: "QD1RDG", Loss: w.even(0.05, 0.3), Low: 1, High: 3}
	if w.r.Float64() < 0.6 || w.trouble == "late copies" {
		w.hears = w.even(0.3, 0.9)
	}
	if w.repeater.Hears = w.hears; w.trouble == "late copies" {
		w.repeater.Held, w.repeater.HeldFor = 0.15, 180
	}
	w.ears = []sim.Ear{{}}
	if w.trouble == "gateways" {
		w.ears = []sim.Ear{{Call: "QG1HIL-10", Construct: "qAR"}, {Call: "QG2VAL", Construct: "qAO", Loss: 0.5}}
	}
	w.equip()
	tests := choose(w, 1, 1, 2, 3)
	if w.begins() || w.trouble == "swap noted" || w.trouble == "swap not noted" {
		tests = 1
	}
	w.sheet = bench.Bench{Schema: bench.Schema, Units: []bench.Unit{w.unit(0), w.unit(1)}}
	for test := range tests {
		w.test(test)
	}
	return w
}

func (w *world) even(low, high float64) float64 { return low + (high-low)*w.r.Float64() }

func choose[T any](w *world, from ...T) T { return from[w.r.IntN(len(from))] }

// begins tells whether nobody noted when the units were switched on.
func (w *world) begins() bool {
	return slices.Contains([]string{"begin not noted, at once", "begin not noted, after fix", "begin not noted, after interval",
		"begin not noted, habit unknown"}, w.trouble)
}

func (w *world) text() []byte {
	text, err := json.Marshal(w.sheet)
	if err != nil {
		panic(err)
	}
	return text
}

// The radios send watts at volts, about onAir seconds a beacon; the efficiency of a transmitter is 0.3 to 0.5.
const watts, volts, onAir = 4.8, 7.4, 0.76

// equip draws two radios that are much alike.
func (w *world) equip() {
	a := radio{name: "Heron", call: "QX1ABC-7", idle: w.even(60, 140), beacon: watts / (w.even(0.3, 0.5) * volts) * onAir / 3.6, printed: choose(w, 1000.0, 1200, 1600)}
	a.death = choose(w, sim.AtRandom, sim.AtKeyUp, sim.AfterSending)
	a.packet = sim.Packet{Encoding: sim.MicE, Symbol: [2]byte{'/', '['}, Comment: "Heron trial", Altitude: true}
	a.timing = sim.Timing{Jitter: choose(w, 0.0, 0.3, 1, 2), Delay: choose(w, 0.0, 0, 1), Access: w.r.Float64() < 0.5, FromSent: w.r.Float64() < 0.5}
	b := a
	b.name, b.call, b.packet = "Lapwing", "QX1ABC-8", sim.Packet{Encoding: sim.Compressed, To: "APZ031", Symbol: [2]byte{'/', '['}, Comment: "Lapwing on loan"}
	f := math.Exp(0.1 * w.r.NormFloat64())
	b.idle, b.beacon = a.idle*f, a.beacon*f
	b.death = choose(w, sim.AtRandom, sim.AtKeyUp, sim.AfterSending)
	if w.r.Float64() < 0.25 {
		b.call, a.packet.CommentEvery = a.call, 3
	}
	if w.r.Float64() < 0.2 {
		b.packet.Sequence = true
	}
	w.radios = [2]radio{a, b}
	pct := 0.05
	if w.basis = "printed"; w.r.Float64() < 0.3 {
		w.basis, pct = "measured", 0.025
	}
	for i := range w.radios {
		w.radios[i].holds = w.radios[i].printed * (1 + pct*w.even(-1, 1))
	}
	if w.trouble == "one pack for both" {
		w.radios[1].holds = w.radios[0].holds
	}
}

// unit writes what the team knows of a radio.
func (w *world) unit(i int) bench.Unit {
	r := w.radios[i]
	pack := "P" + fmt.Sprint(i)
	if w.trouble == "one pack for both" {
		pack = "P"
	}
	u := bench.Unit{Name: r.name, Kind: "handheld", Match: []bench.Match{{Station: r.call}}, FirstBeacon: w.habitStated()}
	if w.radios[0].call == w.radios[1].call {
		u.Match[0].Comment = r.name
	}
	u.Battery = &bench.Battery{Pack: pack, Supply: "pack", CapacityMAh: &r.printed, Basis: w.basis, NominalV: number(volts)}
	u.TX = &bench.TX{PowerW: number(watts), PowerBasis: "measured", MeterPct: number(5), TXDelayS: number(0.3), TXTailS: number(0.1)}
	u.Conditions = &bench.Conditions{Fix: "on", SecondReceiver: "off", Audio: "off", PowerSaver: "off", AutoPowerOff: "off", Repeating: "off",
		TemperatureC: number(21)}
	return u
}

func number(v float64) *float64 { return &v }

// habit gives when the units first beacon.
func (w *world) habit() (sim.Habit, string) {
	switch w.trouble {
	case "begin not noted, after fix":
		return sim.AfterFix, "after_fix"
	case "begin not noted, after interval":
		return sim.AfterInterval, "after_interval"
	}
	if w.seed/uint64(len(troubles))%3 == 2 && w.trouble != "begin not noted, at once" {
		return sim.AfterInterval, "after_interval"
	}
	return sim.AtOnce, "at_once"
}

func (w *world) habitStated() string {
	_, name := w.habit()
	if w.trouble == "begin not noted, habit unknown" || !w.begins() && w.seed%2 == 0 {
		return "unknown"
	}
	return name
}

// rule draws a schedule.
func (w *world) rule(used [][2]sim.Rule) sim.Rule {
	switch w.kind {
	case "fixed":
		every := choose(w, 60.0, 90, 120, 180, 300, 600)
		for slices.ContainsFunc(used, func(u [2]sim.Rule) bool { return u[0] == sim.Rule(sim.Fixed{Every: every}) }) {
			every = choose(w, 60.0, 90, 120, 180, 300, 600)
		}
		return sim.Fixed{Every: every}
	case "decaying":
		base := choose(w, 30.0, 60, 120)
		return sim.Decaying{Base: base, Hold: 1 + w.r.IntN(4), Growth: 2, Longest: min(960, base*choose(w, 4.0, 8, 16))}
	case "adaptive":
		return sim.Adaptive{Slow: choose(w, 180.0, 300, 600), Fast: choose(w, 30.0, 60, 90), SlowSpeed: choose(w, 1.0, 1.4, 2),
			FastSpeed: w.even(14, 28), TurnMin: w.even(15, 35), TurnSlope: w.even(60, 150), TurnTime: w.even(10, 30), Capped: true}
	}
	return sim.ByHand{Median: w.even(120, 400), Sigma: w.even(0.6, 1)}
}

// resting gives the interval in seconds that a rule keeps to at rest.
func resting(rule sim.Rule) float64 {
	switch rule := rule.(type) {
	case sim.Fixed:
		return rule.Every
	case sim.Decaying:
		return rule.Longest
	case sim.Adaptive:
		return rule.Slow
	case sim.ByHand:
		return rule.Median
	}
	return 0
}

func (w *world) journey(life float64) sim.Journey {
	foot := func() sim.Mode { return choose(w, sim.Foot, sim.Bike, sim.Car) }
	switch {
	case w.trouble == "walk with shadows":
		var j sim.Journey
		for at := 0.0; at < 1.5*life; {
			walk, rest := w.even(1200, 5400), w.even(300, 1800)
			j = append(j, sim.Leg{Mode: sim.Foot, For: walk}, sim.Leg{Mode: sim.Parked, For: rest})
			at += walk + rest
		}
		return j
	case w.trouble == "asleep when parked":
		return sim.Journey{{Mode: sim.Foot, For: 1800}, {Mode: sim.Parked, For: w.even(3600, 7200)}, {Mode: sim.Foot, For: 1800},
			{Mode: sim.Parked, For: w.even(3600, 7200)}, {Mode: sim.Foot, For: 1800}}
	case w.kind != "adaptive" && w.r.Float64() < 0.7:
		return nil
	}
	var j sim.Journey
	for range 1 + w.r.IntN(2) {
		j = append(j, sim.Leg{Mode: sim.Parked, For: w.even(600, 3600)}, sim.Leg{Mode: foot(), For: w.even(900, 2400)})
	}
	return j
}

// test makes one test: both units at once, or one after the other on one pack.
func (w *world) test(n int) {
	a := w.rule(w.rules)
	rules := [2]sim.Rule{a, a}
	if w.r.Float64() < 0.4 {
		rules[1] = w.rule(w.rules)
	}
	w.rules = append(w.rules, rules)
	begin := clock.At(time.Date(2031, 5, 2+4*n, 5, 0, 0, 0, time.UTC))
	on := [2]float64{1200 + w.even(0, 600), 1800 + w.even(0, 600)}
	label := fmt.Sprintf("test %d", n+1)
	life := w.radios[0].holds / (w.radios[0].idle + w.radios[0].beacon*20) * 3600
	way := w.journey(life)
	sc := w.scenario(label, begin, life)
	for i := range w.radios {
		sc.Stations = append(sc.Stations, w.station(i, rules[i], on[i], way))
	}
	if w.trouble == "one pack for both" {
		later := sc
		later.Begin = begin.Add(48 * time.Hour)
		later.Stations, sc.Stations = sc.Stations[1:], sc.Stations[:1]
		later.Recorders = slices.Clone(sc.Recorders)
		later.Recorders[0].File = "later-" + sc.Recorders[0].File
		w.play(n, label, sc)
		w.play(n+100, label, later)
		return
	}
	w.play(n, label, sc)
}

func (w *world) scenario(label string, begin clock.Instant, life float64) sim.Scenario {
	hut := geo.Place{Lat: w.even(-60, 65), Lon: w.even(-179, 179)}
	until := 1.5*life + 5*3600
	sc := sim.Scenario{Label: label, Begin: begin, Lasting: until, Collisions: w.r.Float64() < 0.3}
	w.collides = w.collides || sc.Collisions
	sc.Others = []sim.Other{
		{Call: "QD1RDG", To: "APZ077", Path: "WIDE2-1", Every: 1200, Loss: 0.04, Says: sim.Stands(hut, [2]byte{'/', '#'}, "Ridge fill-in")},
		{Call: "QW2FEL", To: "APZ010", Path: "WIDE1-1,WIDE2-1", Every: 900, Loss: 0.1, Says: sim.Weather(hut)},
	}
	if w.hears > 0 {
		sc.Repeaters = []sim.Repeater{w.repeater}
	}
	rec := sim.Recorder{File: label[5:] + ".log", Ears: w.ears, Until: until,
		Stamp: choose(w, sim.StampUTC, sim.StampOffset, sim.StampBracket, sim.StampEpoch)}
	switch w.trouble {
	case "minute stamps":
		rec.Stamp = sim.StampMinute
	case "recorder outage":
		from := w.even(0.1, 1.1) * life
		rec.Outages = []sim.Outage{{From: from, Until: from + w.even(1800, 7200)}}
	case "log ends early":
		rec.Until = 2400 + w.even(0.4, 0.95)*life
	case "one station listed", "listed and watched":
		rec.Only = []string{w.radios[0].call, w.radios[1].call}
		rec.Order = choose(w, sim.OldestFirst, sim.NewestFirst)
	}
	sc.Recorders = []sim.Recorder{rec}
	return sc
}

// battery gives what differs from charge to charge.
func (w *world) battery(i int, rule sim.Rule) sim.Battery {
	r := w.radios[i]
	more := math.Exp(math.Sqrt(0.03*0.03-0.01*0.01) * w.r.NormFloat64())
	b := sim.Battery{Printed: r.printed, True: r.holds * math.Exp(0.01*w.r.NormFloat64()), Idle: r.idle * more, Beacon: r.beacon * more, Death: r.death}
	if _, byHand := rule.(sim.ByHand); r.death != sim.AtRandom && !byHand { // half the cells is out of reach, so that it dies at the beacon about which the charge is gone
		b.Sag = b.True + b.Idle*resting(rule)/7200
		b.True *= 2
	}
	return b
}

// station puts a radio on the air for one test.
func (w *world) station(i int, rule sim.Rule, on float64, way sim.Journey) sim.Station {
	r, b := w.radios[i], w.battery(i, rule)
	habit, _ := w.habit()
	s := sim.Station{Name: r.name, Call: r.call, Path: choose(w, "", "WIDE1-1", "WIDE1-1,WIDE2-1"), GPS: sim.GPS{Sigma: 4, Tau: 180}, Packet: r.packet,
		Channel: sim.Channel{Loss: w.loss}}
	if w.hears > 0 {
		s.Path = "WIDE1-1"
	}
	if b.Sag == 0 {
		b.Death = sim.AtRandom
	}
	charge := sim.Charge{On: on, Battery: b}
	switch w.trouble {
	case "bursts":
		s.Channel.Burst = w.even(1.5, 4)
	case "sinking":
		s.Channel.Sink = sim.Sink{Share: 0.1, Loss: 1 - (1-w.loss)/2}
	case "afterlife":
		charge.Afterlife = sim.Afterlife{Restarts: 3 + w.r.IntN(5), Every: w.even(30, 50), Late: choose(w, 0.0, 3600)}
	case "walk with shadows":
		s.Channel.Shadow = sim.Shadow{Every: 2400, For: 1500}
	case "switched off":
		charge.Off = on + w.even(0.3, 0.8)*r.holds/(b.Idle+b.Beacon*20)*3600
	}
	s.Unit = sim.Unit{Home: geo.Place{Lat: 62.03167 + 0.0003*float64(i), Lon: 9.617}, Journey: way, Rule: rule, Timing: r.timing, First: habit,
		FixAfter: 60, Charges: []sim.Charge{charge}}
	if w.trouble == "asleep when parked" {
		s.Unit.SleepAfter = 1200
		s.Unit.Charges[0].Battery.Asleep = 40
	}
	if w.trouble == "swap noted" || w.trouble == "swap not noted" {
		first := &s.Unit.Charges[0]
		first.Off = on + w.even(0.5, 0.8)*r.holds/(b.Idle+b.Beacon*20)*3600
		s.Unit.Charges = append(s.Unit.Charges, sim.Charge{On: first.Off + w.even(20, 90), Battery: w.battery(i, rule)})
	}
	return s
}

// play runs a scenario, keeps its files and truth, and writes down what its people noted.
func (w *world) play(n int, label string, sc sim.Scenario) {
	files, truth := sim.Bench(w.seed*1000+uint64(n), sc)
	for _, f := range files {
		w.inputs = append(w.inputs, input{f.Name, f.Bytes})
		known := bench.File{Name: f.Name, Zone: "UTC"}
		if w.trouble == "listed and watched" {
			until := sc.Begin.Add(clock.Seconds(sc.Recorders[0].Until)).String()
			known.Watched = []bench.Watch{{Until: &until}}
		}
		w.sheet.Files = append(w.sheet.Files, known)
	}
	w.truth.Join(truth)
	for _, u := range truth.Units {
		w.logEnds[u.Name+label] = sc.Begin.Add(clock.Seconds(sc.Recorders[0].Until))
		for i := range w.sheet.Units {
			if w.sheet.Units[i].Name == u.Name {
				w.note(&w.sheet.Units[i], label, u.Runs)
			}
		}
	}
}

// note writes down the runs of one test.
func (w *world) note(u *bench.Unit, label string, runs []sim.RunTruth) {
	if w.begins() {
		return
	}
	minute := func(t sim.When) string {
		return clock.Instant(t).Add(30 * time.Second).Time().Truncate(time.Minute).Format(time.RFC3339)
	}
	run := bench.Run{Label: label, PowerOn: &bench.Moment{At: minute(runs[0].Start), PrecisionS: 30}}
	first := runs[0]
	switch {
	case w.trouble == "switched off" && first.Cause == "switched off":
		run.Events = []bench.Event{{At: minute(first.End), PrecisionS: 30, What: "switched_off"}}
	case w.trouble == "swap noted" && len(runs) > 1:
		run.Events = []bench.Event{{At: minute(first.End), PrecisionS: 60, What: "pack_changed"}}
	case w.trouble == "seen dead":
		dead := sim.When(clock.Instant(first.End).Add(time.Hour))
		run.Events = []bench.Event{{At: minute(dead), PrecisionS: 30, What: "seen_dead"}}
	case w.trouble == "charge put back":
		run.ChargeUsedMAh, run.ChargeBasis = number(first.UsedMAh*(1+0.025*w.even(-1, 1))), "recharged"
	}
	u.Runs = append(u.Runs, run)
	if w.trouble == "swap noted" && len(runs) > 1 {
		u.Runs = append(u.Runs, bench.Run{Label: label + ", second pack"})
	}
}

// resolution gives the step of the recorder's stamps in seconds.
func (w *world) resolution() float64 {
	if w.trouble == "minute stamps" {
		return 60
	}
	return 1
}

// share gives the chance that a transmission is heard by any ear; ok is false where it changes over the run.
func (w *world) share() (share float64, ok bool) {
	if w.collides || slices.Contains([]string{"sinking", "walk with shadows", "recorder outage", "asleep when parked"}, w.trouble) {
		return 0, false
	}
	direct, copies := 1.0, 1.0
	for _, e := range w.ears {
		direct *= 1 - (1-w.loss)*(1-e.Loss)
		copies *= e.Loss + (1-e.Loss)*w.repeater.Loss
	}
	return 1 - direct*(1-w.hears+w.hears*copies), true
}
