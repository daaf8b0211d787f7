package skew

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/intake"
)

var begin = clock.At(time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC))

// A line is one packet heard at a moment.
type line struct {
	at   clock.Instant
	text string
}

// gathered reads logs as files of their own.
func gathered(t *testing.T, logs ...[]line) *evidence.Evidence {
	t.Helper()
	var sources []*evidence.Source
	for i, log := range logs {
		var b strings.Builder
		for _, l := range log {
			fmt.Fprintf(&b, "%v %s\n", l.at, l.text)
		}
		s, err := intake.Read(strings.NewReader(b.String()), fmt.Sprintf("%d.log", i), evidence.FileID(i), intake.Settings{}, intake.Keep{Budget: 1 << 20})
		if err != nil {
			t.Fatal(err)
		}
		sources = append(sources, s)
	}
	return evidence.Gather(sources)
}

// walk gives beacons of a unit on the move, each different; parked ones of one that is not.
func walk(random *rand.Rand, moving bool, ahead time.Duration) (log []line) {
	for k := range 60 {
		if random.Float64() < 0.2 {
			continue
		}
		minute := 0
		if moving {
			minute = k
		}
		at := begin.Add(time.Duration(k)*120*time.Second + ahead + time.Duration(random.IntN(2))*time.Second)
		log = append(log, line{at, fmt.Sprintf("QX1ABC-7>APZ001,WIDE1-1:!62%02d.90N/00938.10E[", minute)})
	}
	return log
}

func TestBetween(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 2))
	for _, c := range []struct {
		name   string
		moving bool
		ahead  time.Duration
		want   bool
	}{
		{"ahead by 83 s", true, 83 * time.Second, true},
		{"behind by 20 min", true, -20 * time.Minute, true},
		{"in step", true, 0, false},
		{"two zones further east", true, 2 * time.Hour, true},
		{"a zone with three quarters of an hour, and a clock that is a little off", true, 5*time.Hour + 45*time.Minute + 9*time.Second, true},
		{"nine and a half zones further west", true, -9*time.Hour - 30*time.Minute, true},
		{"by hours that no zone has", true, 5*time.Hour + 13*time.Minute, false},
		{"a parked unit fits every multiple of its interval", false, 83 * time.Second, false},
	} {
		ev := gathered(t, walk(random, c.moving, 0), walk(random, c.moving, c.ahead))
		o, told := Between(ev, 0, 1)
		ok := told && o.Off()
		if ok != c.want || told != (c.want || c.ahead == 0) {
			t.Errorf("%s: suggested %v, want %v (%+v)", c.name, ok, c.want, o)
		}
		if ok && (o.Seconds.Low > c.ahead.Seconds() || o.Seconds.High < c.ahead.Seconds()) {
			t.Errorf("%s: %+v does not hold %v", c.name, o.Seconds, c.ahead)
		}
	}
}

func TestOfPackets(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 3))
	log := func(ahead time.Duration, senders int) (out []line) {
		for k := range 40 {
			at := begin.Add(time.Duration(k) * 97 * time.Second)
			stamp := at.Time().Format("150405")
			heard := at.Add(ahead + time.Duration(random.IntN(3))*time.Second)
			out = append(out, line{heard, fmt.Sprintf("QX%dABC>APZ001,WIDE1-1:/%sh6203.90N/00938.10E[", k%senders, stamp)})
		}
		return out
	}
	for _, c := range []struct {
		name    string
		ahead   time.Duration
		senders int
		want    bool
	}{
		{"four senders agree on 130 s", 130 * time.Second, 4, true},
		{"four senders agree that it is right", 0, 4, false},
		{"four senders agree on another zone", -5 * time.Hour, 4, true},
		{"one sender alone may be wrong itself", 130 * time.Second, 1, false},
	} {
		o, told := OfPackets(gathered(t, log(c.ahead, c.senders)), 0)
		ok := told && o.Off()
		if told != (c.senders > 1) {
			t.Errorf("%s: told %v", c.name, told)
		}
		if ok != c.want || ok && (o.Seconds.Low > c.ahead.Seconds()+2 || o.Seconds.High < c.ahead.Seconds()) {
			t.Errorf("%s: %v, %+v", c.name, ok, o.Seconds)
		}
	}
}

func TestOfTrack(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	place := func(s float64) geo.Place { // out, a rest, and back another way
		switch {
		case s < 1800:
			return geo.Place{Lat: 62 + s*1.2e-5, Lon: 9.6 + 0.002*math.Sin(s/200)}
		case s < 2700:
			return geo.Place{Lat: 62 + 1800*1.2e-5, Lon: 9.6 + 0.002*math.Sin(9)}
		}
		return geo.Place{Lat: 62 + 1800*1.2e-5 - (s-2700)*1e-5, Lon: 9.6 + 0.002*math.Sin(9) + (s-2700)*2e-5}
	}
	var track []evidence.Fix
	for s := 0; s < 4500; s += 10 {
		track = append(track, evidence.Fix{At: begin.Add(time.Duration(s) * time.Second), Place: place(float64(s))})
	}
	for _, ahead := range []time.Duration{0, 90 * time.Second, -240 * time.Second, 2 * time.Hour, -10*time.Hour + 20*time.Second} {
		var beacons []evidence.Fix
		for s := 30; s < 4500; s += 60 {
			p := place(float64(s))
			p.Lat += random.NormFloat64() * 5e-5
			beacons = append(beacons, evidence.Fix{At: begin.Add(time.Duration(s)*time.Second + ahead), Place: p})
		}
		o, told := OfTrack(beacons, track, 0, 1)
		ok := o.Off()
		if !told || ok != (ahead != 0) || ok && (o.Seconds.Low > ahead.Seconds() || o.Seconds.High < ahead.Seconds()) {
			t.Errorf("ahead %v: %v, %+v", ahead, ok, o.Seconds)
		}
	}
}

// Which of several clocks is the wrong one: offsets are written as file against file and seconds.
func TestJudge(t *testing.T) {
	off := func(file, against evidence.FileID, seconds float64) Offset {
		return Offset{File: file, Against: against, Seconds: estimate.Of(seconds-1, seconds, seconds+1)}
	}
	for _, c := range []struct {
		name          string
		sure, between []Offset
		want          string
		assumed       string // numbers of files that state no zone
	}{
		{"nothing is off", nil, []Offset{off(1, 0, 0)}, "", ""},
		{"nothing tells which", nil, []Offset{off(1, 0, 83)}, "1 against 0 by 83 s, or the other;", ""},
		{"packets prove the first right", []Offset{off(0, 0, 0)}, []Offset{off(1, 0, 83)}, "1 against 0 by 83 s;", ""},
		{"packets prove the second right", []Offset{off(1, 1, 0)}, []Offset{off(1, 0, 83)}, "0 against 1 by -83 s;", ""},
		{"a track proves the first wrong", []Offset{off(0, 2, -83)}, []Offset{off(1, 0, 83)}, "0 against 2 by -83 s;", ""},
		{"packets and track differ: the first told counts", []Offset{off(0, 0, 0), off(0, 2, 50)}, nil, "", ""},
		{"two that were proved right stay, whatever lies between them", []Offset{off(0, 0, 0), off(1, 1, 0)}, []Offset{off(1, 0, 7)}, "", ""},
		{"the last two of three agree", nil, []Offset{off(1, 0, 83), off(2, 0, 83), off(2, 1, 0)}, "0 against 1 by -83 s;", ""},
		{"the first two of three agree", nil, []Offset{off(1, 0, 0), off(2, 0, 83), off(2, 1, 83)}, "2 against 0 by 83 s;", ""},
		{"the outer two of three agree", nil, []Offset{off(1, 0, 83), off(2, 0, 0), off(2, 1, -83)}, "1 against 0 by 83 s;", ""},
		{"two against two", nil, []Offset{off(1, 0, 0), off(2, 0, 83), off(3, 0, 83), off(2, 1, 83), off(3, 1, 83), off(3, 2, 0)},
			"2 against 0 by 83 s, or the other;3 against 0 by 83 s, or the other;", ""},
		{"another zone, and the second states none", nil, []Offset{off(1, 0, 7200)}, "1 against 0 by 7200 s, +02:00;", "1"},
		{"another zone, and the first states none", nil, []Offset{off(1, 0, 7200)}, "0 against 1 by -7200 s, -02:00;", "0"},
		{"another zone, and both state none", nil, []Offset{off(1, 0, 7200)}, "1 against 0 by 7200 s, or the other;", "01"},
		{"another zone, and none is open", nil, []Offset{off(1, 0, 7200)}, "1 against 0 by 7200 s, or the other;", ""},
		{"two without zone are in the majority", nil, []Offset{off(1, 0, 7200), off(2, 0, 7200), off(2, 1, 0)}, "1 against 0 by 7200 s, +02:00;2 against 0 by 7200 s, +02:00;", "12"},
		{"no zone, but packets prove the clock right", []Offset{off(1, 1, 0)}, []Offset{off(1, 0, 7200)}, "0 against 1 by -7200 s;", "1"},
		{"packets show the zone", []Offset{off(0, 0, 20700)}, nil, "0 against 0 by 20700 s, +05:45;", "0"},
		{"a quarter of an hour is no zone", nil, []Offset{off(1, 0, 900)}, "1 against 0 by 900 s, or the other;", "1"},
	} {
		got := ""
		for _, o := range Judge(c.sure, c.between, func(f evidence.FileID) bool { return strings.Contains(c.assumed, fmt.Sprint(f)) }) {
			got += fmt.Sprintf("%d against %d by %g s", o.File, o.Against, o.Seconds.Best)
			if o.Either {
				got += ", or the other"
			}
			if o.Zone != "" {
				got += ", " + o.Zone
			}
			got += ";"
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
