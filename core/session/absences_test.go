//go:build measure

package session

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/bench"
	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
	"lastbeacon/core/report"
	"lastbeacon/core/sim"
)

// Measures how often a run of one charge is doubted, and how often a change of charge that nobody noted is found where the unit
// was off for an hour to sixty, and only its silence tells where its beacons keep to the clock. `make coverage` prints the table;
// EACH sets how many runs a line has, SPELL the beginning of the names of the circumstances, MISSES=sent or rate lists what misses.

// A spell is one circumstance under which a unit is heard.
type spell struct {
	name    string
	charges int
	change  func(r *rand.Rand, sc *sim.Scenario, st *sim.Station)
}

func evenly(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

var spells = []spell{
	{"losses one by one", 1, func(*rand.Rand, *sim.Scenario, *sim.Station) {}},
	{"losses in bursts", 1, inBursts},
	{"sinking to a tenth", 1, func(_ *rand.Rand, _ *sim.Scenario, st *sim.Station) {
		st.Channel.Sink = sim.Sink{Share: 0.1, Loss: 0.9}
	}},
	{"walks, shadows of up to 25 min", 1, func(r *rand.Rand, _ *sim.Scenario, st *sim.Station) {
		st.Channel.Shadow = sim.Shadow{Every: 2400, For: 1500}
		st.Unit.Journey = wandering(r, sim.Foot, 1200, 5400)
	}},
	{"drives, shadows of up to 3 h", 1, func(r *rand.Rand, _ *sim.Scenario, st *sim.Station) {
		st.Channel.Shadow = sim.Shadow{Every: 20000, For: 10800}
		st.Unit.Journey = wandering(r, sim.Car, 3600, 14400)
	}},
	{"recorder off for up to 10 h", 1, func(r *rand.Rand, sc *sim.Scenario, _ *sim.Station) {
		from := evenly(r, 0.1, 0.8) * 86400
		sc.Recorders[0].Outages = []sim.Outage{{From: from, Until: from + evenly(r, 1800, 36000)}}
	}},
	{"one of two gateways deaf for up to 10 h", 1, func(r *rand.Rand, sc *sim.Scenario, _ *sim.Station) {
		from := evenly(r, 0.1, 0.8) * 86400
		sc.Recorders[0].Ears = []sim.Ear{{Call: "QG1HIL-10", Construct: "qAR", Deaf: []sim.Outage{{From: from, Until: from + evenly(r, 1800, 36000)}}},
			{Call: "QG2VAL", Construct: "qAO", Loss: evenly(r, 0.3, 0.95)}}
	}},
	{"asleep when parked", 1, func(r *rand.Rand, _ *sim.Scenario, st *sim.Station) {
		st.Unit.SleepAfter = 1200
		st.Unit.Journey = sim.Journey{{Mode: sim.Foot, For: 1800}, {Mode: sim.Parked, For: evenly(r, 3600, 36000)}, {Mode: sim.Foot, For: 1800},
			{Mode: sim.Parked, For: evenly(r, 3600, 7200)}, {Mode: sim.Foot, For: 3600}}
	}},
	{"two charges", 2, nil},
	{"three charges", 3, nil},
	{"two charges, losses in bursts", 2, inBursts},
	{"two charges, carried about", 2, func(r *rand.Rand, _ *sim.Scenario, st *sim.Station) {
		st.Unit.Journey = wandering(r, sim.Foot, 1200, 5400)
	}},
	{"one charge, nobody listened for a third or more", 1, func(r *rand.Rand, sc *sim.Scenario, st *sim.Station) {
		c := &st.Unit.Charges[0]
		c.Off = c.On + evenly(r, 20, 40)*3600
		lasting := c.Off - c.On
		deaf := lasting * evenly(r, 0.36, 0.7)
		from := c.On + (lasting-deaf)*evenly(r, 0.2, 0.8)
		sc.Lasting = c.Off + 6*3600
		sc.Recorders[0].Until, sc.Recorders[0].Outages = sc.Lasting, []sim.Outage{{From: from, Until: from + deaf}}
	}},
	{"two charges, changed while nobody listened", 2, func(r *rand.Rand, sc *sim.Scenario, st *sim.Station) {
		a, b := st.Unit.Charges[0], st.Unit.Charges[1]
		heard := evenly(r, 0.2, 0.5)
		sc.Recorders[0].Outages = []sim.Outage{{From: a.On + (a.Off-a.On)*heard, Until: b.On + (b.Off-b.On)*(1-heard)}}
	}},
}

// inBursts has losses come in spells of half an hour on average, at most, or of one and a half beacons.
func inBursts(r *rand.Rand, _ *sim.Scenario, st *sim.Station) {
	st.Channel = sim.Channel{Loss: evenly(r, 0.02, 0.3), Burst: max(1.5, evenly(r, 120, 1800)/resting(st.Unit.Rule))}
}

func wandering(r *rand.Rand, mode sim.Mode, low, high float64) (j sim.Journey) {
	for at := 0.0; at < 300000; {
		walk, rest := evenly(r, low, high), evenly(r, 300, 3600)
		j = append(j, sim.Leg{Mode: mode, For: walk}, sim.Leg{Mode: sim.Parked, For: rest})
		at += walk + rest
	}
	return j
}

var rulesOf = map[string]func(r *rand.Rand) sim.Rule{
	"fixed": func(r *rand.Rand) sim.Rule { return sim.Fixed{Every: []float64{60, 120, 300, 600, 1200}[r.IntN(5)]} },
	"decaying": func(r *rand.Rand) sim.Rule {
		return sim.Decaying{Base: 60, Hold: 1 + r.IntN(4), Growth: 2, Longest: 60 * []float64{4, 8, 16, 30}[r.IntN(4)]}
	},
	"adaptive": func(r *rand.Rand) sim.Rule {
		return sim.Adaptive{Slow: []float64{180, 600, 1200}[r.IntN(3)], Fast: 60, SlowSpeed: 1.4, FastSpeed: 20, TurnMin: 25, TurnSlope: 100, TurnTime: 20, Capped: true}
	},
	"irregular": func(r *rand.Rand) sim.Rule { return sim.ByHand{Median: evenly(r, 120, 400), Sigma: evenly(r, 0.6, 1)} },
}

// scene makes one run, or several with the unit off between them, and tells when it was off, in seconds after the begin.
func (s spell) scene(seed uint64, kind string) (sc sim.Scenario, off [][2]float64) {
	r := rand.New(rand.NewPCG(seed, 6))
	hut := geo.Place{Lat: 62.03167, Lon: 9.617}
	st := sim.Station{Name: "Heron", Call: "QX1ABC-7", GPS: sim.GPS{Sigma: 4, Tau: 180}, Channel: sim.Channel{Loss: evenly(r, 0, 0.4)},
		Packet: sim.Packet{Encoding: sim.Compressed, To: "APZ031", Symbol: [2]byte{'/', '['}, Comment: "Heron trial"},
		Unit:   sim.Unit{Home: hut, Rule: rulesOf[kind](r), First: sim.AtOnce, Timing: sim.Timing{Jitter: evenly(r, 0, 1), Delay: 2 * r.Float64()}}}
	at, pack := 1200.0, sim.Battery{Printed: 1e6, True: 1e6, Idle: 100, Beacon: 0.4}
	for n := range s.charges {
		if fixed, ok := st.Unit.Rule.(sim.Fixed); ok {
			at = fixed.Every * float64(int(at/fixed.Every))
		}
		until := at + evenly(r, 6, 24)*3600
		st.Unit.Charges = append(st.Unit.Charges, sim.Charge{On: at, Off: until, Battery: pack})
		away := 3600 * math.Pow(60, r.Float64())
		if n+1 < s.charges {
			off = append(off, [2]float64{until, until + away})
		}
		at = until + away
	}
	until := st.Unit.Charges[s.charges-1].Off + 6*3600
	sc = sim.Scenario{Label: "test", Begin: clock.At(time.Date(2031, 5, 2, 5, 0, 0, 0, time.UTC)), Lasting: until,
		Others: []sim.Other{{Call: "QW2FEL", To: "APZ010", Path: "WIDE1-1", Every: 300, Loss: 0.1, Says: sim.Weather(hut)}}}
	sc.Recorders = []sim.Recorder{{File: "1.log", Ears: []sim.Ear{{}}, Until: until, Stamp: sim.StampUTC}}
	if s.change != nil {
		s.change(r, &sc, &st)
	}
	sc.Stations = []sim.Station{st}
	return sc, off
}

func TestCoverageOfAbsences(t *testing.T) {
	fmt.Println("| circumstance | schedule | runs | silence doubted % | nothing shows listening % | restart suspected % | restarts found % | ranked % | sent within limits % | run time within limits % | rate within limits % |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|")
	sheet, _ := json.Marshal(bench.Bench{Schema: bench.Schema, Units: []bench.Unit{{Name: "Heron", Match: []bench.Match{{Station: "QX1ABC-7"}}}}})
	doubted, single := 0.0, 0.0
	for _, s := range spells {
		if !strings.HasPrefix(s.name, os.Getenv("SPELL")) {
			continue
		}
		for _, kind := range []string{"fixed", "decaying", "adaptive", "irregular"} {
			runs, absent, suspected, changes, found, ranked, held, timed, rated, unheard := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
			for seed := range uint64(fromEnv("EACH", 100)) {
				seed += uint64(fromEnv("FROM", 0))
				sc, off := s.scene(seed, kind)
				files, truth := sim.Bench(seed, sc)
				_, text := analysed(t, sheet, []input{{files[0].Name, files[0].Bytes}})
				var r report.Report
				if err := json.Unmarshal(text, &r); err != nil {
					t.Fatal(err)
				}
				if len(r.Units[0].Runs) != 1 || r.Units[0].Runs[0].Transmissions < 8 {
					continue
				}
				run := &r.Units[0].Runs[0]
				runs++
				gone := slices.ContainsFunc(run.Flags, func(f report.Flag) bool { return f.Code == "run.absence" })
				alone := slices.ContainsFunc(run.Flags, func(f report.Flag) bool { return f.Code == "run.unheeded" })
				count(&unheard, alone)
				if os.Getenv("SHOW") != "" && gone != (len(off) > 0) && strings.Contains(s.name+" "+kind, os.Getenv("SHOW")) {
					fmt.Printf("%s, %s, seed %d: loss %v off %v %s events %v flags %v\n", s.name, kind, seed, sc.Stations[0].Channel, off, run.Schedule.Text, run.Events, run.Flags)
				}
				count(&absent, gone)
				count(&suspected, slices.ContainsFunc(run.Events, func(e report.Event) bool { return e.What != "settings_changed" }))
				count(&ranked, run.Rankable)
				sent := 0.0
				for _, lived := range truth.Units[0].Runs {
					sent += float64(len(lived.Sent))
				}
				lived := truth.Units[0].Runs
				lasted := time.Duration(lived[len(lived)-1].End-lived[0].Start) * time.Millisecond
				count(&held, claims(run.Sent, sent))
				count(&timed, claims(run.Runtime, lasted.Seconds()))
				rate := chained(lived, since(sc.Begin, *run.FirstHeard), since(sc.Begin, *run.LastHeard), sc.Begin)
				count(&rated, claims(run.Rate, rate))
				if why := os.Getenv("MISSES"); why == "sent" && !claims(run.Sent, sent) || why == "rate" && !claims(run.Rate, rate) {
					fmt.Printf("MISS %s, %s, seed %d: loss %v off %v outages %v sent %v rate %v lasted %v: sent %v rate %v %s missed %v %v %v\n", s.name, kind, seed, sc.Stations[0].Channel,
						off, sc.Recorders[0].Outages, sent, rate, lasted, show(run.Sent), show(run.Rate), run.Schedule.Text, show(run.Missed), run.LastHeard, run.End.State)
				}
				for _, o := range off {
					changes++
					count(&found, slices.ContainsFunc(run.Events, func(e report.Event) bool {
						at := since(sc.Begin, e.At)
						return at > o[0] && at < o[1]+3600
					}))
				}
			}
			if s.charges == 1 {
				doubted, single = doubted+absent, single+runs
			}
			fmt.Printf("| %s | %s | %.0f | %.1f | %.1f | %.1f | %.1f | %.1f | %.1f | %.1f | %.1f |\n", s.name, kind, runs, 100*absent/runs, 100*unheard/runs, 100*suspected/runs, 100*found/changes, 100*ranked/runs, 100*held/runs, 100*timed/runs, 100*rated/runs)
		}
	}
	fmt.Printf("silences of one charge doubted: %.0f of %.0f\n", doubted, single)
	if doubted > 0.016*single {
		t.Errorf("%.0f of %.0f runs of one charge are doubted for a silence, want at most 1.6 %%", doubted, single)
	}
}

// claims tells whether an interval holds a value; one that is not claimed or open does.
func claims(e *report.Estimate, v float64) bool {
	return e == nil || (e.Low == nil || slightly(*e.Low, -1) <= v) && (e.High == nil || slightly(*e.High, 1) >= v)
}

func count(n *float64, yes bool) {
	if yes {
		*n++
	}
}

// chained gives the rate per hour of what was sent from the first packet heard to the last, in seconds after the begin: nobody noted when
// the unit was switched on.
func chained(lived []sim.RunTruth, first, last float64, begin clock.Instant) float64 {
	n := 0
	for _, l := range lived {
		for _, at := range l.Sent {
			if s := clock.Instant(l.Start).Sub(begin).Seconds() + at; s > first-5 && s < last+5 { // stamps are a few seconds late
				n++
			}
		}
	}
	return float64(n-1) / (last - first) * 3600
}

func show(e *report.Estimate) string { b, _ := json.Marshal(e); return string(b) }
