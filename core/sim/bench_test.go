package sim

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
)

// TestPlacesLieInTheirCells reads the packets of a journey back and holds place, speed and course against the truth.
func TestPlacesLieInTheirCells(t *testing.T) {
	legs := []Leg{{Parked, 600, 0}, {Car, 2400, 45}, {Parked, 600, 0}, {Foot, 1800, 0}, {Bike, 1800, 180}}
	for _, home := range []geo.Place{hut, {Lat: -33.4, Lon: -70.6}, {Lat: 12.1, Lon: 107.95}, {Lat: -17.2, Lon: 179.99}} {
		for _, e := range []Encoding{Plain, Compressed, MicE} {
			sc := desk().With(Travels("Curlew", legs...))
			st := &sc.Stations[0]
			st.Unit.Home, st.Unit.Rule = home, Fixed{20}
			st.Packet = Packet{Encoding: e, To: "APZ001", Altitude: true, Comment: "on trial"}
			life := Live(1, sc.Begin, st.Unit)
			b := bench{Scenario: sc, seed: 1, lives: []*Life{life}}
			b.transmit(0, *st, life, nil)
			for i, p := range b.air {
				checkPacket(t, e, p, life.Way.step(life.Sent[i].t))
			}
			if len(b.air) < 300 {
				t.Errorf("%v: %d packets", e, len(b.air))
			}
		}
	}
}

func checkPacket(t *testing.T, e Encoding, sent packet, truth step) {
	t.Helper()
	var p aprs.Packet
	aprs.Decode(sent.header.To, sent.info, &p)
	if !p.Placed || p.Flaw != "" || string(p.Encoding) != e.String() || string(p.Comment) != "on trial" {
		t.Fatalf("%v: %q decodes to %+v", e, sent.info, p)
	}
	east := math.Mod(math.Abs(p.Place.Lon-truth.place.Lon), 360)
	if math.Abs(p.Place.Lat-truth.place.Lat) > p.Cell.Lat*1.001+1e-7 || min(east, 360-east) > p.Cell.Lon*1.001+1e-7 {
		t.Fatalf("%v: %v is not in the cell %v of %v", e, truth.place, p.Cell, p.Place)
	}
	if near := max(0.26, 0.045*truth.speed); math.Abs(p.Speed-truth.speed) > near {
		t.Fatalf("%v: %v m/s, truly %v", e, p.Speed, truth.speed)
	}
	if truth.speed > 0.5 && turned(p.Course, truth.course) > 4 {
		t.Fatalf("%v: course %v, truly %v", e, p.Course, truth.course)
	}
	if math.Abs(p.Altitude-height(truth.place)) > 1 {
		t.Fatalf("%v: %v m high, truly %v", e, p.Altitude, height(truth.place))
	}
}

func TestOldFixIsSaid(t *testing.T) {
	for _, e := range []Encoding{Compressed, MicE} {
		w := writer{Packet: Packet{Encoding: e, To: "APZ001"}, header: header("QX1ABC", "APZ001", "")}
		for _, current := range []bool{true, false} {
			h, info := w.write(fix{place: hut, course: math.NaN()}, Sent{Fix: current}, pack)
			var p aprs.Packet
			aprs.Decode(h.To, info, &p)
			if (p.Fix == aprs.FixCurrent) != current {
				t.Errorf("%v: fix %q, truly current: %v", e, p.Fix, current)
			}
		}
	}
}

func TestCommentEvery(t *testing.T) {
	w := writer{Packet: Packet{Encoding: MicE, Comment: "Heron", CommentEvery: 3, StatusEvery: 5, Status: "on trial"}, header: header("QX1ABC", "", "")}
	var got string
	for range 10 {
		switch _, info := w.write(fix{place: hut}, Sent{Fix: true}, pack); {
		case info[0] == '>':
			got += "s"
		case bytes.HasSuffix(info, []byte("Heron")):
			got += "c"
		default:
			got += "."
		}
	}
	if got != "c..cs.c..s" {
		t.Errorf("comments and status fall %s", got)
	}
}

// TestRepeatedPaths holds the rewriting of paths against the worked cases of the protocol's digipeater algorithm: a hop
// that is left is counted down, the last one is replaced.
func TestRepeatedPaths(t *testing.T) {
	for path, want := range map[string]string{
		"WIDE1-1":         "QD1RDG*",
		"WIDE1-1,WIDE2-1": "QD1RDG*,WIDE2-1",
		"WIDE2-2":         "QD1RDG*,WIDE2-1",
		"QD3VAL*,WIDE2-1": "QD3VAL,QD1RDG*",
		"QD3VAL*,WIDE2-2": "QD3VAL,QD1RDG*,WIDE2-1",
		"QD1RDG*,WIDE2-1": "",
		"":                "",
		"QD3VAL,WIDE2*":   "",
		"RELAY":           "",
	} {
		var h ax25.Header
		line := "QX1ABC>APZ001," + path + ":"
		if _, err := ax25.ParseHeader([]byte(strings.Replace(line, ",:", ":", 1)), &h); err != nil {
			t.Fatal(err)
		}
		got, ok := repeated(h.Path, call("QD1RDG"))
		if ok != (want != "") {
			t.Errorf("%s: repeated %v", path, ok)
		} else if ok {
			text := string(ax25.AppendMonitor(nil, ax25.Header{From: h.From, To: h.To, Path: got}, nil))
			if text != "QX1ABC>APZ001,"+want+":" {
				t.Errorf("%s becomes %s, want %s", path, text, want)
			}
		}
	}
}

func TestCopiesComeLate(t *testing.T) {
	sc := desk()
	sc.Repeaters = []Repeater{{Call: "QD1RDG", Hears: 1, Low: 1, High: 5, Held: 0.2, HeldFor: 180}}
	files, truth := Bench(1, sc)
	copies, held := 0, 0
	var first map[string]clock.Instant
	for _, l := range read(t, files[0]) {
		if l.from != "QX1ABC-7" {
			continue
		}
		path, info, _ := strings.Cut(l.text, ":")
		if !strings.Contains(path, "*") {
			if first == nil {
				first = map[string]clock.Instant{}
			}
			first[info] = l.at
			continue
		}
		copies++
		if late := l.at.Sub(first[info]); late > 30*time.Second {
			held++
		} else if late < 0 || late > 6*time.Second {
			t.Errorf("a copy %v late", late)
		}
	}
	if n := len(truth.Units[0].Runs[0].Sent); copies != n || held < n/10 || held > n/3 {
		t.Errorf("%d copies, %d of them held up, of %d packets", copies, held, n)
	}
}

// TestTrackLength reads a track back and measures it on the ellipsoid.
func TestTrackLength(t *testing.T) {
	sc := desk().With(Travels("Curlew", Leg{Car, 3000, 30}, Leg{Parked, 600, 0}, Leg{Bike, 3000, 0}))
	sc.Trackers = []Tracker{{File: "way.gpx", Station: "Curlew", Every: 1, Until: 6600}}
	files, truth := Bench(2, sc)
	var gpx struct {
		Points []struct {
			Lat  float64 `xml:"lat,attr"`
			Lon  float64 `xml:"lon,attr"`
			Time string  `xml:"time"`
		} `xml:"trk>trkseg>trkpt"`
	}
	if err := xml.Unmarshal(files[1].Bytes, &gpx); err != nil {
		t.Fatal(err)
	}
	if len(gpx.Points) != 6601 || gpx.Points[60].Time != "2031-05-02T05:41:00Z" {
		t.Fatalf("%d points, number 60 at %s", len(gpx.Points), gpx.Points[60].Time)
	}
	metres, place := 0.0, geo.Place{Lat: gpx.Points[60].Lat, Lon: gpx.Points[60].Lon} // switched on at 60 s
	for _, p := range gpx.Points[61:] {
		next := geo.Place{Lat: p.Lat, Lon: p.Lon}
		metres += geo.Distance(place, next)
		place = next
	}
	want := 0.0
	for _, p := range truth.Units[0].Runs[0].Periods {
		want += p.Metres
	}
	// The part of the first leg before power-on is taken out of the truth by time, not by place.
	if math.Abs(metres/want-1) > 0.02 {
		t.Errorf("%v m long, truly %v", metres, want)
	}
}

func TestTruthReadsBack(t *testing.T) {
	sc := desk().With(HotSwap("Curlew", 5000, 65), Restarts("Dunlin", 2, 60, 600))
	sc.Stations[1].Unit.Rule = Decaying{Base: 60, Hold: 2, Growth: 2, Longest: 600}
	_, truth := Bench(1, sc)
	text, err := json.Marshal(truth)
	if err != nil {
		t.Fatal(err)
	}
	var back Truth
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	again, _ := json.Marshal(back)
	if !bytes.Equal(text, again) || back.Units[1].Runs[0].Schedule.Settings != sc.Stations[1].Unit.Rule {
		t.Errorf("%s\nreads back as\n%s", text, again)
	}
}

func TestSameSeedSameBytes(t *testing.T) {
	a, _ := Bench(7, dayOut())
	b, _ := Bench(7, dayOut())
	c, _ := Bench(8, dayOut())
	for i := range a {
		if !bytes.Equal(a[i].Bytes, b[i].Bytes) || bytes.Equal(a[i].Bytes, c[i].Bytes) {
			t.Errorf("%s: the seed does not decide", a[i].Name)
		}
	}
}

// TestAnotherUnitChangesNothing: what one unit does must not depend on who lies beside it.
func TestAnotherUnitChangesNothing(t *testing.T) {
	sc := desk()
	_, both := Bench(1, sc)
	sc.Stations = sc.Stations[:1]
	_, one := Bench(1, sc)
	if !slices.Equal(both.Units[0].Runs[0].Sent, one.Units[0].Runs[0].Sent) {
		t.Error("Curlew beacons differently without Dunlin")
	}
}

func TestDraw(t *testing.T) {
	for _, kind := range []string{"fixed", "decaying", "adaptive", "irregular"} {
		for _, death := range []Death{AtRandom, AtKeyUp, AfterSending} {
			for seed := range uint64(60) {
				u, c := Draw(seed, kind, death)
				l := Live(seed, begin, u)
				heard := l.Heard(seed, c)
				run := l.Runs[0]
				hours := run.End.Sub(run.Start).Hours()
				if u.Rule.Kind() != kind || run.Cause != "spent" || hours < 2 || hours > 16 || len(heard) < 8 {
					t.Errorf("%s, %v, %d: %s after %v h, %d heard", kind, death, seed, run.Cause, hours, len(heard))
				}
			}
		}
	}
}
