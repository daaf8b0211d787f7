package sim

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
)

var update = flag.Bool("update", false, "rewrite testdata/example from its scenarios")

const exampleDir = "../../testdata/example"

// The team's base: a hut on a ridge. Nine degrees east makes Mic-E carry 0x7f, 37.02 minutes make it carry 0x1e.
var hut = geo.Place{Lat: 62.03167, Lon: 9.61700}

var shiftRule = Adaptive{Slow: 600, Fast: 30, SlowSpeed: 0.8, FastSpeed: 50 / 3.6, TurnMin: 28, TurnSlope: 120, TurnTime: 30}

// heron draws more than lapwing, and its cells sag at key-up.
func heron(mah float64) Battery {
	return Battery{Printed: 2000, True: mah, Idle: 96, Beacon: 0.42, Sag: 20, Death: AtKeyUp}
}

func lapwing(mah float64) Battery {
	return Battery{Printed: 2200, True: mah, Idle: 88, Beacon: 0.36, Death: AtRandom}
}

func heronAt(on float64, b Battery, call string, rule Rule) Station {
	return Station{
		Name: "Heron", Call: call, Path: "WIDE1-1", GPS: GPS{4, 180},
		Packet:  Packet{Encoding: MicE, Symbol: [2]byte{'/', '['}, Comment: "Heron trial", CommentEvery: 3, Altitude: true},
		Channel: Channel{Loss: 0.18, Burst: 1.5},
		Unit: Unit{Home: hut, Rule: rule, First: AtOnce, FixAfter: 40, Timing: Timing{Jitter: 0.3, Access: true, FromSent: true},
			Charges: []Charge{{On: on, Battery: b}}},
	}
}

func lapwingAt(on float64, b Battery, call string, rule Rule) Station {
	return Station{
		Name: "Lapwing", Call: call, Path: "WIDE1-1", GPS: GPS{4, 180},
		Packet:  Packet{Encoding: Compressed, To: "APZ031", Symbol: [2]byte{'/', '['}, Comment: "Lapwing on loan"},
		Channel: Channel{Loss: 0.12, Burst: 1.5},
		Unit: Unit{Home: hut, Rule: rule, First: AtOnce, FixAfter: 30, Timing: Timing{Jitter: 0.3, Access: true, FromSent: true},
			Charges: []Charge{{On: on, Battery: b}}},
	}
}

var ridgeTop = geo.Place{Lat: 62.07815, Lon: 9.70462}

var (
	digi    = Repeater{Call: "QD1RDG", Hears: 0.6, Loss: 0.1, Low: 1, High: 3}
	ridge   = Other{Call: "QD1RDG", To: "APZ077", Path: "WIDE2-1", Every: 1200, Loss: 0.04, Says: Stands(ridgeTop, [2]byte{'/', '#'}, "Ridge fill-in")}
	weather = Other{Call: "QW2FEL", To: "APZ010", Path: "WIDE1-1,WIDE2-1", Every: 900, Loss: 0.1, Says: Weather(geo.Place{Lat: 62.01108, Lon: 9.55441})}
	status  = Other{Call: "QD1RDG", To: "APZ077", Every: 3600, Says: Text(">Fed by sun and wind, tended by the hill club")}
	meter   = Other{Call: "QL4SUN-3", To: "APZ020", Path: "WIDE1-1", Every: 1800, Loss: 0.2, Says: Telemetry()}
	notice  = Other{Call: "QV5NET", To: "APZ001", Every: 5400, Loss: 0.1, Says: Text(":BLN1     :Hill net at 19:30, all welcome")}
	closed  = Other{Call: "QV5NET", To: "APZ001", Every: 2700, Loss: 0.1, Says: Object("FORD", geo.Place{Lat: 62.04922, Lon: 9.60318}, [2]byte{'\\', '!'}, "deep today")}
)

// postVan drives past every day and has nothing to do with the trial.
func postVan(from float64) Station {
	return Station{
		Call: "QT6VAN-9", Path: "WIDE1-1,WIDE2-1", GPS: GPS{3, 120}, Channel: Channel{Loss: 0.25, Burst: 3},
		Packet: Packet{Encoding: Plain, To: "APZ005", Symbol: [2]byte{'/', '>'}, Comment: "post round"},
		Unit: Unit{Home: geo.Place{Lat: 61.99, Lon: 9.51}, Rule: Adaptive{Slow: 1800, Fast: 90, SlowSpeed: 2, FastSpeed: 20},
			Journey: Journey{{Parked, from, 0}, {Car, 2400, 40}, {Parked, 600, 0}, {Car, 2100, 220}},
			Charges: []Charge{{On: from - 300, Off: from + 5400, Battery: Battery{True: 9e4, Idle: 300}}}},
	}
}

func must(s string) clock.Instant {
	t, err := clock.Parse(s)
	if err != nil {
		panic(err)
	}
	return t
}

const hour = secondsPerHour

// asLent is the first trial: both radios as they came, side by side on a desk, under one call sign.
func asLent() Scenario {
	return Scenario{
		Label: "as lent", Begin: must("2031-05-02T05:00:00Z"), Lasting: 30 * hour,
		Stations: []Station{
			heronAt(40*60+12, heron(1942), "QX1ABC-7", Adaptive{Slow: 90, Fast: 30, SlowSpeed: 1.4, FastSpeed: 20, TurnMin: 30, TurnSlope: 110, TurnTime: 20}),
			lapwingAt(41*60+25, lapwing(2118), "QX1ABC-7", Adaptive{Slow: 180, Fast: 60, SlowSpeed: 1.4, FastSpeed: 22, TurnMin: 25, TurnSlope: 140, TurnTime: 25}),
			postVan(9 * hour),
		},
		Others:    []Other{ridge, weather, status, meter, notice, closed},
		Repeaters: []Repeater{digi},
		Recorders: []Recorder{{File: "ridge-0502.log", Ears: []Ear{{}}, Until: 30 * hour, Stamp: StampUTC}},
	}
}

// slowingDown: Lapwing lengthens its interval while it lies still, Heron does not. The log lists the two only.
func slowingDown() Scenario {
	return Scenario{
		Label: "slowing down", Begin: must("2031-05-05T05:00:00Z"), Lasting: 30 * hour,
		Stations: []Station{
			heronAt(30*60+5, heron(1931), "QX1ABC-7", Fixed{60}),
			lapwingAt(32*60+8, lapwing(2109), "QX1ABC-8", Decaying{Base: 60, Hold: 2, Growth: 2, Longest: 16 * 60}),
		},
		Repeaters: []Repeater{digi},
		Recorders: []Recorder{{File: "ridge-0505.log", Ears: []Ear{{}}, Until: 31.5 * hour, Stamp: StampOffset, Zone: 2 * time.Hour}},
	}
}

// fair: one fixed interval for both, starts half an interval apart, power-on noted to the minute.
func fair() Scenario {
	return Scenario{
		Label: "fair", Begin: must("2031-05-08T15:00:00Z"), Lasting: 26 * hour,
		Stations: []Station{
			heronAt(3600+8, heron(1938), "QX1ABC-7", Fixed{120}),
			lapwingAt(3600+68, lapwing(2125), "QX1ABC-8", Fixed{120}),
		},
		Others:    []Other{ridge, weather, status},
		Repeaters: []Repeater{digi},
		Recorders: []Recorder{{File: "ridge-0508.log", Ears: []Ear{{}}, Until: 26 * hour, Stamp: StampTime, Zone: 2 * time.Hour}},
	}
}

// dayOut: Heron is carried on a drive and a walk, heard through two gateways, with a logger beside it.
func dayOut() Scenario {
	h := heronAt(20*60+20, heron(1940), "QX1ABC-7", shiftRule)
	h.Path = "WIDE1-1,WIDE2-1"
	h.Channel = Channel{Loss: 0.15, Burst: 2}
	h.Unit.Charges[0].Off = 7*hour - 600
	h.Unit.Journey = Journey{{Parked, 2400, 0}, {Car, 1500, 60}, {Parked, 900, 0}, {Foot, 5100, 20}, {Parked, 2700, 0},
		{Foot, 4500, 200}, {Parked, 1200, 0}, {Car, 1800, 240}, {Parked, 3600, 0}}
	van := postVan(4 * hour)
	return Scenario{
		Label: "day out", Begin: must("2031-05-10T06:00:00Z"), Lasting: 7 * hour,
		Stations: []Station{h, van},
		Others:   []Other{ridge, weather, status, notice},
		Repeaters: []Repeater{
			{Call: "QD1RDG", Hears: 0.8, Loss: 0.15, Low: 1, High: 3, Held: 0.04, HeldFor: 180},
			{Call: "QD3VAL", Hears: 0.5, Loss: 0.2, Low: 2, High: 5},
		},
		Recorders: []Recorder{{File: "day-out.log", Until: 7 * hour, Stamp: StampBracket, Comments: 1800,
			Ears: []Ear{{Call: "QG1HIL-10", Construct: "qAR"}, {Call: "QG2VAL", Construct: "qAO", Loss: 0.5}}}},
		Trackers: []Tracker{{File: "day-out.gpx", Station: "Heron", Every: 10, From: 1260, Until: 7*hour - 700, GPS: GPS{4, 180}}},
	}
}

// example makes the example's files and the truth behind them. Each scenario has its own seed, counted on from the truth's.
func example(t *testing.T) []File {
	var files []File
	const seed = 2031
	truth := Truth{Seed: seed}
	for i, sc := range []Scenario{asLent(), slowingDown(), fair(), dayOut()} {
		made, told := Bench(seed+uint64(i), sc)
		files = append(files, made...)
		truth.Join(told)
	}
	text, err := json.MarshalIndent(truth, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return append(files, File{Name: "truth.json", Bytes: append(compact(text), '\n')})
}

// compact puts the long lists of sent times on one line each.
func compact(text []byte) []byte {
	lines := bytes.Split(text, []byte("\n"))
	var out []byte
	for i, line := range lines {
		trimmed := bytes.TrimSpace(line)
		number := len(trimmed) > 0 && trimmed[0] >= '0' && trimmed[0] <= '9'
		switch {
		case i == 0:
		case number || bytes.HasPrefix(trimmed, []byte("]")) && endsNumber(lines[i-1]):
			line = trimmed
		default:
			out = append(out, '\n')
		}
		out = append(out, line...)
	}
	return out
}

func endsNumber(line []byte) bool {
	line = bytes.TrimSpace(line)
	return len(line) > 0 && line[len(line)-1] >= '0' && line[len(line)-1] <= '9' && line[0] != '"'
}

func TestExample(t *testing.T) {
	for _, f := range example(t) {
		path := filepath.Join(exampleDir, f.Name)
		if *update {
			if err := os.WriteFile(path, f.Bytes, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		kept, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(kept, f.Bytes) {
			t.Errorf("%s is not what the seed gives: go test ./core/sim -run Example -update", f.Name)
		}
	}
}

func TestExampleSize(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(exampleDir, "*"))
	if err != nil || len(names) < 7 {
		t.Fatal(names, err)
	}
	var packed bytes.Buffer
	z, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if filepath.Base(name) != "truth.json" {
			z.Write(b)
		}
	}
	z.Close()
	if packed.Len() > 150_000 {
		t.Errorf("the example is %d bytes in gzip, the page has room for 150,000", packed.Len())
	}
	t.Logf("%d bytes in gzip", packed.Len())
}

// benchFile is what the example's bench file, written by hand, says about the runs.
type benchFile struct {
	Files []struct{ Name string }
	Units []struct {
		Name    string
		Battery struct {
			Printed float64 `json:"capacity_mah"`
		}
		Tracks []string
		Runs   []struct {
			Label   string
			PowerOn struct {
				At        When
				Precision float64 `json:"precision_s"`
			} `json:"power_on"`
			Charge float64 `json:"charge_used_mah"`
			Events []struct{ At When }
		}
	}
}

// TestExampleBench holds what the team noted in the bench file against the truth of the scenarios.
func TestExampleBench(t *testing.T) {
	var noted benchFile
	var truth Truth
	for name, into := range map[string]any{"bench.json": &noted, "truth.json": &truth} {
		text, err := os.ReadFile(filepath.Join(exampleDir, name))
		if err == nil {
			err = json.Unmarshal(text, into)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range noted.Files {
		if _, err := os.Stat(filepath.Join(exampleDir, f.Name)); err != nil {
			t.Error(err)
		}
	}
	for i, u := range noted.Units {
		told := truth.Units[i]
		if u.Name != told.Name || len(u.Runs) != len(told.Runs) {
			t.Fatalf("%s: %d runs, truly %s: %d", u.Name, len(u.Runs), told.Name, len(told.Runs))
		}
		for j, run := range u.Runs {
			lived := told.Runs[j]
			off := clock.Instant(run.PowerOn.At).Sub(clock.Instant(lived.Start)).Seconds()
			if run.Label != lived.Label || math.Abs(off) > run.PowerOn.Precision || u.Battery.Printed != lived.PrintedMAh {
				t.Errorf("%s, %s: power-on noted %v s off, truly %s", u.Name, run.Label, off, lived.Label)
			}
			if run.Charge != 0 && math.Abs(run.Charge/lived.UsedMAh-1) > 0.01 {
				t.Errorf("%s, %s: %v mAh put back, %v used", u.Name, run.Label, run.Charge, lived.UsedMAh)
			}
			if (len(run.Events) > 0) != (lived.Cause == "switched off") {
				t.Errorf("%s, %s: %d events, truly %s", u.Name, run.Label, len(run.Events), lived.Cause)
			}
		}
	}
}
