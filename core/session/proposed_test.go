package session

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/geo"
	"lastbeacon/core/sim"
)

// village simulates a log of two gateways with all that beacons in a village: two trackers under test that lengthen their
// interval when parked, the gateways' own beacons under the symbols that people give them, a repeater, a weather station, a house
// and a van that drives by.
func village(t *testing.T, seed uint64) []input {
	t.Helper()
	home := geo.Place{Lat: 62.03, Lon: 9.61}
	full := sim.Battery{Printed: 9000, True: 9000, Idle: 80, Beacon: 0.3}
	tracker := func(call string, on float64, rule sim.Rule, journey sim.Journey) sim.Station {
		s := onDesk(call, call, rule, sim.Charge{On: on, Battery: full})
		s.Packet.Symbol, s.Unit.Journey = [2]byte{'/', '>'}, journey
		return s
	}
	drive := sim.Journey{{Mode: sim.Parked, For: 2 * simHour}, {Mode: sim.Car, For: 1800}, {Mode: sim.Parked, For: 3 * simHour}, {Mode: sim.Car, For: 2400},
		{Mode: sim.Parked, For: 4 * simHour}, {Mode: sim.Car, For: 1800}}
	walk := sim.Journey{{Mode: sim.Parked, For: 4 * simHour}, {Mode: sim.Foot, For: 5400}, {Mode: sim.Parked, For: 4 * simHour}, {Mode: sim.Foot, For: 3600}}
	van := tracker("QT6VAN-9", 5*simHour, sim.Adaptive{Slow: 1800, Fast: 90, SlowSpeed: 2, FastSpeed: 20}, sim.Journey{{Mode: sim.Parked, For: 5 * simHour}, {Mode: sim.Car, For: 4500}})
	van.Name, van.Unit.Charges[0].Off = "", 6.5*simHour
	begin := instantOf(t, "2031-06-01T04:00:00Z")
	files, _ := sim.Bench(seed, sim.Scenario{Begin: begin, Lasting: 16 * simHour,
		Stations: []sim.Station{
			tracker("QX1ABC-7", 300, sim.Adaptive{Slow: 1800, Fast: 30, SlowSpeed: 1.4, FastSpeed: 20}, drive),
			tracker("QX1ABC-8", 400, sim.Adaptive{Slow: 3600, Fast: 60, SlowSpeed: 0.8, FastSpeed: 1.5}, walk),
			van,
		},
		Others: []sim.Other{
			{Call: "QG1HIL-10", To: "APZ077", Path: "WIDE1-1", Every: 600, Loss: 0.1, Says: sim.Stands(geo.Place{Lat: 62.07, Lon: 9.70}, [2]byte{'/', '-'}, "hill gateway")},
			{Call: "QG2VAL", To: "APZ077", Path: "WIDE1-1", Every: 1200, Loss: 0.1, Says: sim.Stands(geo.Place{Lat: 62.01, Lon: 9.55}, [2]byte{'/', 'r'}, "valley")},
			{Call: "QD1RDG", To: "APZ077", Path: "WIDE2-1", Every: 1200, Loss: 0.04, Says: sim.Stands(geo.Place{Lat: 62.08, Lon: 9.71}, [2]byte{'/', '#'}, "Ridge fill-in")},
			{Call: "QW2FEL", To: "APZ010", Path: "WIDE1-1", Every: 900, Loss: 0.1, Says: sim.Weather(home)},
			{Call: "QN9HUT", To: "APZ010", Path: "WIDE1-1", Every: 1800, Loss: 0.7, Says: sim.Stands(geo.Place{Lat: 62.02, Lon: 9.60}, [2]byte{'/', '-'}, "a house")},
		},
		Recorders: []sim.Recorder{{File: "village.log", Ears: []sim.Ear{{Call: "QG1HIL-10", Construct: "qAR"}, {Call: "QG2VAL", Construct: "qAO", Loss: 0.3}}, Until: 16 * simHour}}})
	var inputs []input
	for _, f := range files {
		inputs = append(inputs, input{f.Name, f.Bytes})
	}
	return inputs
}

// A tracker that slows down when parked beacons like a unit under test; a gateway that beacons does not, nor does what only drives
// by. A house that keeps an interval cannot be told from a unit on a desk.
func TestProposedInAVillage(t *testing.T) {
	const seeds = 30
	proposed := map[string]int{}
	for seed := range uint64(seeds) {
		for _, p := range reportOn(t, `{"schema":"lastbeacon.bench/1"}`, village(t, seed)...).Proposals {
			if p.Strong {
				proposed[p.Name]++
			}
		}
	}
	t.Logf("of %d: %v", seeds, proposed)
	for _, call := range []string{"QX1ABC-7", "QX1ABC-8"} {
		if proposed[call] < seeds-1 {
			t.Errorf("%s is proposed in %d of %d", call, proposed[call], seeds)
		}
	}
	for call, n := range proposed {
		if !slices.Contains([]string{"QX1ABC-7", "QX1ABC-8", "QN9HUT"}, call) {
			t.Errorf("%s is proposed in %d of %d", call, n, seeds)
		}
	}
}

// Two logs that heard the same are one set of transmissions to the stations, the proposals and the units.
func TestCopiesFromFileToFileAreCountedInStations(t *testing.T) {
	from := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC)
	late := bytes.ReplaceAll(parked(from, 60, 0), []byte("00Z"), []byte("01Z")) // the clock of the other receiver is a second ahead
	r := reportOn(t, `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`, input{"a.log", parked(from, 60, 0)}, input{"b.log", late})
	s, u := r.Stations[0], r.Units[0]
	if s.Heard != 120 || s.Transmissions != 60 || s.Duplicates != 60 || u.Transmissions != 60 || r.Proposals[0].Transmissions != 60 {
		t.Errorf("the station: %d heard, %d transmissions, %d copies; the unit %d, the proposal %d transmissions", s.Heard, s.Transmissions, s.Duplicates, u.Transmissions, r.Proposals[0].Transmissions)
	}
}

// A run whose time is known too coarsely to rank is not said to be none.
func TestRunTooCoarseToRankIsSaidSo(t *testing.T) {
	from := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC)
	others := strings.ReplaceAll(string(parked(from.Add(10*time.Second), 150, 0)), "QX1ABC-7", "QN9HUT")
	few := strings.ReplaceAll(strings.Join(slices.DeleteFunc(strings.SplitAfter(string(parked(from, 60, 0)), "\n"), func(l string) bool { return l == "" || strings.Contains(l, "5:00Z") }), ""), "QX1ABC-7", "QX1ABC-8")
	const noted = `"first_beacon":"at_once","runs":[{"power_on":{"at":"2031-05-02T05:59:50Z","precision_s":30}}]`
	r := reportOn(t, `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}],`+noted+`},{"name":"Lapwing","match":[{"station":"QX1ABC-8"}],`+noted+`}]}`,
		input{"a.log", []byte(string(parked(from, 20, 0)) + few + others)})
	if text := r.Comparisons[0].Runtime.Text; !strings.Contains(text, "known too coarsely") {
		t.Error(text)
	}
}
