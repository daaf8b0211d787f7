package sim

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/clock"
)

// desk is two units side by side, heard by one receiver among others' packets.
func desk() Scenario {
	b := Battery{Printed: 500, True: 480, Idle: 90, Beacon: 0.4}
	unit := Unit{Home: hut, Rule: Fixed{120}, Charges: []Charge{{On: 60, Battery: b}}}
	curlew := Station{Name: "Curlew", Call: "QX1ABC-7", Path: "WIDE1-1", Unit: unit, Packet: Packet{Encoding: MicE, Sequence: true}}
	dunlin := Station{Name: "Dunlin", Call: "QX1ABC-8", Path: "WIDE1-1", Unit: unit, Packet: Packet{Encoding: Plain, To: "APZ001"}}
	dunlin.Unit.Charges = []Charge{{On: 120, Battery: b}}
	return Scenario{
		Label: "desk", Begin: begin, Lasting: 8 * hour,
		Stations: []Station{curlew, dunlin}, Others: []Other{ridge, weather},
		Recorders: []Recorder{{File: "desk.log", Ears: []Ear{{}}, Until: 8 * hour}},
	}
}

// line is what a test needs of a monitor line.
type line struct {
	at         clock.Instant
	from, text string
}

func read(t *testing.T, f File) (lines []line) {
	t.Helper()
	for raw := range bytes.Lines(f.Bytes) {
		stamp, text, _ := strings.Cut(strings.TrimSuffix(string(raw), "\n"), " ")
		at, err := clock.Parse(stamp)
		if err != nil {
			t.Fatal(err)
		}
		from, _, _ := strings.Cut(text, ">")
		lines = append(lines, line{at, from, text})
	}
	return lines
}

// times gives when a call was heard, in seconds after the begin.
func times(lines []line, from string) (at []float64) {
	for _, l := range lines {
		if l.from == from {
			at = append(at, l.at.Sub(begin).Seconds())
		}
	}
	return at
}

func longestGap(at []float64) (gap, from float64) {
	for i := 1; i < len(at); i++ {
		if d := at[i] - at[i-1]; d > gap {
			gap, from = d, at[i-1]
		}
	}
	return gap, from
}

func TestHotSwap(t *testing.T) {
	files, truth := Bench(1, desk().With(HotSwap("Curlew", 5000, 65)))
	runs := truth.Units[0].Runs
	if len(runs) != 2 || runs[0].Cause != "pack changed" || runs[1].Cause != "spent" || truth.Units[1].Runs[0].Cause != "spent" {
		t.Fatalf("runs %+v", runs)
	}
	if off := clock.Instant(runs[1].Start).Sub(clock.Instant(runs[0].End)); off != 65*time.Second {
		t.Errorf("off for %v", off)
	}
	lines := read(t, files[0])
	at := times(lines, "QX1ABC-7")
	if gap, _ := longestGap(at); gap > 121 {
		t.Errorf("a gap of %v s shows the swap", gap)
	}
	before, after := math.Mod(at[3], 120), math.Mod(at[len(at)-1], 120)
	if math.Abs(before-after) < 3 {
		t.Errorf("phase %v before and %v after the swap", before, after)
	}
	sequence := 0 // the first packet of each run
	for _, l := range lines {
		if l.from == "QX1ABC-7" && strings.Contains(l.text, "|!!") {
			sequence++
		}
	}
	if sequence != 2 {
		t.Errorf("the sequence starts %d times, want 2", sequence)
	}
}

func TestRestarts(t *testing.T) {
	files, truth := Bench(1, desk().With(Restarts("Dunlin", 4, 60, 3600)))
	plain, _ := Bench(1, desk())
	run := truth.Units[1].Runs[0]
	more := len(times(read(t, files[0]), "QX1ABC-8")) - len(times(read(t, plain[0]), "QX1ABC-8"))
	if more != 5 || len(run.Afterlife) != 5 {
		t.Errorf("%d more packets, %d told", more, len(run.Afterlife))
	}
	if first := run.Afterlife[0]; first <= run.RuntimeS || first > run.RuntimeS+100 {
		t.Errorf("first restart %v s after power-on, the end is at %v", first, run.RuntimeS)
	}
	if last := run.Afterlife[4] - run.Afterlife[3]; math.Abs(last-3600) > 0.01 {
		t.Errorf("the last one %v s after the one before", last)
	}
}

func TestPowersOff(t *testing.T) {
	_, truth := Bench(1, desk().With(PowersOff("Curlew", 2*hour)))
	run := truth.Units[0].Runs[0]
	if run.Cause != "automatic power-off" || run.RuntimeS != 2*hour || run.UsedMAh >= run.CapacityMAh {
		t.Errorf("%s after %v s with %v mAh used", run.Cause, run.RuntimeS, run.UsedMAh)
	}
}

func TestSleeps(t *testing.T) {
	legs := []Leg{{Foot, 1200, 0}, {Parked, 3600, 0}, {Foot, 1200, 0}}
	files, truth := Bench(1, desk().With(Travels("Dunlin", legs...), Sleeps("Dunlin", 300, 3)))
	at := times(read(t, files[0]), "QX1ABC-8")
	// Asleep from 300 s after it stood still until it moves: 1500 s to 4800 s, and for good from 6300 s on.
	gap, from := longestGap(at)
	if from > 1501 || from+gap < 4800 || from+gap > 4806 || at[len(at)-1] > 6301 {
		t.Errorf("silent from %v for %v s, last heard at %v", from, gap, at[len(at)-1])
	}
	if run := truth.Units[1].Runs[0]; run.RuntimeS < 2*run.AwakeS {
		t.Errorf("awake for %v of %v s", run.AwakeS, run.RuntimeS)
	}
}

func TestFadesAndCovered(t *testing.T) {
	sc := desk().With(Travels("Curlew", Leg{Foot, 9000, 0}), Covered("Curlew", 1200, 1200), Fades("Dunlin", 0.25, 0.9))
	files, truth := Bench(4, sc)
	lines := read(t, files[0])
	if gap, from := longestGap(times(lines, "QX1ABC-7")); gap < 300 || from > 9000 {
		t.Errorf("longest shadow %v s at %v", gap, from)
	}
	run := truth.Units[1].Runs[0]
	edge, late := 120+0.75*run.RuntimeS, 0
	for _, at := range times(lines, "QX1ABC-8") {
		if at > edge {
			late++
		}
	}
	if due := run.RuntimeS / 4 / 120; float64(late) > due/3 {
		t.Errorf("%d of %v beacons heard while fading", late, due)
	}
}

func TestRepeats(t *testing.T) {
	sc := desk()
	busy := weather
	busy.Every = 60
	sc.Others = []Other{ridge, busy}
	files, truth := Bench(1, sc.With(Repeats("Dunlin", 0.5)))
	run, idle := truth.Units[1].Runs[0], truth.Units[0].Runs[0]
	relayed := 0
	for _, l := range read(t, files[0]) {
		if header, _, _ := strings.Cut(l.text, ":"); strings.Contains(header, ",QX1ABC-8*") {
			relayed++
		}
	}
	if relayed != run.Relayed || relayed < 60 || idle.Relayed != 0 {
		t.Errorf("%d packets repeated, truly %d and %d", relayed, run.Relayed, idle.Relayed)
	}
	want := run.IdleMA*run.AwakeS/3600 + run.MAhPerBeacon*float64(len(run.Sent)+run.Relayed)
	if math.Abs(run.UsedMAh-want) > 0.01 || run.RuntimeS >= idle.RuntimeS {
		t.Errorf("%v mAh used, should be %v; %v s against %v s", run.UsedMAh, want, run.RuntimeS, idle.RuntimeS)
	}
}

func TestNotRecorded(t *testing.T) {
	files, truth := Bench(1, desk().With(NotRecorded("desk.log", 6000, 9000), NotRecorded("desk.log", 15000, math.Inf(1))))
	for _, l := range read(t, files[0]) {
		if s := l.at.Sub(begin).Seconds(); s >= 6000 && s < 9000 || s >= 15000 {
			t.Fatalf("%v s: %s", s, l.text)
		}
	}
	for _, u := range truth.Units {
		if u.Runs[0].RuntimeS < 15000 {
			t.Errorf("%s ended before the recorder", u.Name)
		}
	}
}

func TestDropsRepeats(t *testing.T) {
	sc := desk()
	sc.Stations[1].GPS = GPS{}
	files, _ := Bench(1, sc.With(NeverRepeats("desk.log")))
	if n := len(times(read(t, files[0]), "QX1ABC-8")); n != 1 {
		t.Errorf("a parked unit without comment is listed %d times, want once", n)
	}
	sc.Repeaters = []Repeater{digi}
	all, _ := Bench(1, sc)
	once, _ := Bench(1, sc.With(DropsRepeats("desk.log", 30)))
	a, o := times(read(t, all[0]), "QX1ABC-8"), times(read(t, once[0]), "QX1ABC-8")
	if len(a) < len(o)*3/2 || len(o) < 120 {
		t.Errorf("%d lines with copies, %d without", len(a), len(o))
	}
	for i := 1; i < len(o); i++ {
		if o[i]-o[i-1] < 100 {
			t.Fatalf("a copy at %v s is left in", o[i])
		}
	}
}

func TestClockSet(t *testing.T) {
	files, _ := Bench(1, desk().With(ClockSet("desk.log", 10000, -3600), Stamped("desk.log", StampUTC)))
	lines, back := read(t, files[0]), 0
	for i := 1; i < len(lines); i++ {
		if lines[i].at < lines[i-1].at {
			back++
			if d := lines[i-1].at.Sub(lines[i].at); d < 55*time.Minute {
				t.Errorf("back by %v", d)
			}
		}
	}
	if back != 1 {
		t.Errorf("the clock goes back %d times", back)
	}
}

func TestListing(t *testing.T) {
	files, _ := Bench(1, desk().With(ListsOnly("desk.log", NewestFirst, "QX1ABC-7")))
	lines := read(t, files[0])
	for i, l := range lines {
		if l.from != "QX1ABC-7" || i > 0 && l.at > lines[i-1].at {
			t.Fatalf("line %d: %v", i+1, l)
		}
	}
	if len(lines) < 100 {
		t.Errorf("%d lines", len(lines))
	}
}

func TestStamps(t *testing.T) {
	for stamp, want := range map[Stamp]string{
		StampUTC: "2031-05-02T05:40:07Z ", StampOffset: "2031-05-02T07:40:07+02:00 ", StampBracket: "[2031-05-02 05:40:07 UTC] ",
		StampZoneless: "2031-05-02 07:40:07 ", StampTime: "07:40:07 ", StampMinute: "2031-05-02 07:40 ", StampEpoch: "1935466807 ",
	} {
		rec := Recorder{Stamp: stamp, Zone: 2 * time.Hour, Ahead: 7}
		if got := string(rec.appendStamp(nil, rec.clock(begin, 0.9))); got != want {
			t.Errorf("%d: %q, want %q", stamp, got, want)
		}
	}
}

func TestGatewayGone(t *testing.T) {
	sc := desk()
	sc.Recorders[0].Ears = []Ear{{Call: "QG1HIL-10", Construct: "qAR"}, {Call: "QG2VAL", Construct: "qAO"}}
	files, _ := Bench(1, sc.With(GatewayGone("desk.log", "QG1HIL-10", 7000, math.Inf(1))))
	heard := map[string]float64{}
	for _, l := range read(t, files[0]) {
		header, _, _ := strings.Cut(l.text, ":")
		gateway := header[strings.LastIndexByte(header, ',')+1:]
		heard[gateway] = l.at.Sub(begin).Seconds()
	}
	if heard["QG1HIL-10"] > 7001 || heard["QG1HIL-10"] < 6800 || heard["QG2VAL"] < 15000 || len(heard) != 2 {
		t.Errorf("last heard through %v", heard)
	}
}

func TestGatewayAppends(t *testing.T) {
	sc := desk()
	sc.Recorders[0].Ears = []Ear{{Call: "QG1HIL-10", Construct: "qAR"}, {Call: "QG2VAL", Construct: "qAO"}}
	files, _ := Bench(1, sc.With(GatewayAppends("desk.log", "QG2VAL", " rssi -97")))
	plain, appended := 0, 0
	for _, l := range read(t, files[0]) {
		switch ends := strings.HasSuffix(l.text, " rssi -97"); {
		case ends != strings.Contains(l.text, ",QG2VAL:"):
			t.Fatal(l.text)
		case ends:
			appended++
		default:
			plain++
		}
	}
	if appended != plain {
		t.Errorf("%d lines with text, %d without", appended, plain)
	}
}

func TestTrackGap(t *testing.T) {
	sc := desk()
	sc.Trackers = []Tracker{{File: "way.gpx", Station: "Curlew", Every: 10, Until: 3600}}
	files, _ := Bench(1, sc.With(TrackGap("way.gpx", 1000, 2000)))
	points, segments := bytes.Count(files[1].Bytes, []byte("<trkpt ")), bytes.Count(files[1].Bytes, []byte("<trkseg>"))
	if points != 261 || segments != 2 || bytes.Contains(files[1].Bytes, []byte("T06:00:00Z")) {
		t.Errorf("%d points in %d segments", points, segments)
	}
}

func TestCollide(t *testing.T) {
	// Two periods of 120 s that differ by 0.1 s and meet overlap while they are less than a transmission apart: 0.7 s
	// either way are 14 beacons of one unit.
	sc := desk()
	sc.Stations[0].Unit.Rule = Fixed{120.1}
	sc.Stations[0].Unit.Charges[0].On, sc.Stations[1].Unit.Charges[0].On = 64, 70
	sc.Stations[1].Unit.First, sc.Stations[0].Unit.First = AfterInterval, AfterInterval
	sc.Others = nil
	free, _ := Bench(1, sc)
	files, _ := Bench(1, sc.With(Collide()))
	lost := len(times(read(t, free[0]), "QX1ABC-8")) - len(times(read(t, files[0]), "QX1ABC-8"))
	if lost < 13 || lost > 15 {
		t.Errorf("%d beacons collide, want about 14", lost)
	}
}
