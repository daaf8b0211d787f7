package sim

import (
	"math"
	"testing"
	"time"

	"lastbeacon/core/clock"
)

// pack is a small battery, so that a run is short.
var pack = Battery{Printed: 200, True: 190, Idle: 90, Beacon: 0.4, Sag: 9}

func TestChargeAddsUp(t *testing.T) {
	for name, u := range map[string]Unit{
		"fixed":              {Rule: Fixed{120}},
		"decaying":           {Rule: Decaying{Base: 60, Hold: 1, Growth: 2, Longest: 1920}, Journey: Journey{{Parked, 3600, 0}, {Foot, 900, 0}}},
		"adaptive":           {Rule: adaptive, Journey: Journey{{Car, 1800, 0}, {Parked, 1200, 0}, {Bike, 1800, 90}}},
		"by hand":            {Rule: ByHand{300, 0.8}},
		"strays and jitter":  {Rule: Fixed{120}, Strays: 5, Timing: Timing{Jitter: 2, Delay: 2, Access: true}},
		"asleep when parked": {Rule: Fixed{60}, SleepAfter: 600, Journey: Journey{{Foot, 900, 0}, {Parked, 2000, 0}, {Foot, 600, 0}}},
	} {
		for _, death := range []Death{AtRandom, AtKeyUp, AfterSending} {
			b := pack
			b.Death, b.Asleep = death, 5
			u.Charges = []Charge{{On: 100, Battery: b}}
			ran := Live(7, begin, u).Runs[0]
			hours := ran.End.Sub(ran.Start).Hours()
			want := b.Idle*ran.Awake/3600 + b.Asleep*(hours-ran.Awake/3600) + b.Beacon*float64(ran.Sent)
			if math.Abs(ran.Used-want) > 1e-3 {
				t.Errorf("%s, %v: %v mAh used, idle and %d beacons make %v", name, death, ran.Used, ran.Sent, want)
			}
			if ran.Cause != "spent" || ran.Used > b.True+1e-6 || ran.Used < b.True-b.Sag-b.Beacon {
				t.Errorf("%s, %v: %s after %v of %v mAh", name, death, ran.Cause, ran.Used, b.True)
			}
		}
	}
}

var adaptive = Adaptive{Slow: 600, Fast: 60, SlowSpeed: 1, FastSpeed: 20, TurnMin: 28, TurnSlope: 120, TurnTime: 15}

func TestDeaths(t *testing.T) {
	for seed := range uint64(200) {
		for _, death := range []Death{AtRandom, AtKeyUp, AfterSending} {
			b := pack
			b.Death = death
			b.True += float64(seed) / 50
			l := Live(seed, begin, Unit{Rule: Fixed{120}, Charges: []Charge{{Battery: b}}})
			after := l.Runs[0].End.Sub(l.Sent[len(l.Sent)-1].At)
			switch {
			case after < 0 || after > 121*time.Second:
				t.Errorf("%v: %v after the last beacon, the interval is 2 min", death, after)
			case death == AtKeyUp && after != 120*time.Second:
				t.Errorf("at key-up: %v after the last beacon", after)
			case death == AfterSending && after != 700*time.Millisecond:
				t.Errorf("after sending: %v after the last beacon", after)
			}
		}
	}
}

// TestPlannedLaw holds the simulated bench against the closed law of the time x from the last heard beacon to the end when a
// share p is received: missed beacons geometric, then evenly within one period. Of units that die at a random moment its
// 95 % limits must hold 95 %. A unit that dies at key-up ends whole periods k after the last heard beacon, with chance
// p (1-p)^(k-1): the limits at .95, .8 and 1 hold k = 1, k = 1..2 and nothing. After sending the chance is p (1-p)^k, and
// the limits at .9 and .6 hold k = 1 and k = 1..4.
func TestPlannedLaw(t *testing.T) {
	const period, runs = 120.0, 2500
	for _, c := range []struct {
		death         Death
		p, want, near float64
	}{
		{AtRandom, 0.9, 95, 1.5}, {AtRandom, 0.6, 95, 1.5},
		{AtKeyUp, 0.95, 95, 1.5}, {AtKeyUp, 0.8, 96, 1.5}, {AtKeyUp, 1, 0, 0},
		{AfterSending, 0.9, 9, 2}, {AfterSending, 0.6, 39, 3},
	} {
		held := 0
		for seed := range uint64(runs) {
			b := pack
			b.Death, b.Idle, b.Beacon = c.death, 76, 0.01
			b.True = 185 + 10*stream(seed, "capacity", 0).Float64()
			l := Live(seed, begin, Unit{Rule: Fixed{period}, Charges: []Charge{{Battery: b}}})
			heard := l.Heard(seed, Channel{Loss: 1 - c.p})
			x := l.Runs[0].End.Sub(heard[len(heard)-1]).Seconds()
			if x >= period*quantile(0.025, c.p) && x <= period*quantile(0.975, c.p) {
				held++
			}
		}
		if got := 100 * float64(held) / runs; math.Abs(got-c.want) > c.near {
			t.Errorf("dies %v, %v received: the law holds the end in %.1f %%, want %v", c.death, c.p, got, c.want)
		}
	}
}

// quantile of the planned law in periods, for a share p received.
func quantile(a, p float64) float64 {
	if p == 1 {
		return a
	}
	q := 1 - p
	m := math.Floor(math.Log(1-a) / math.Log(q))
	return m + (1-(1-a)/math.Pow(q, m))/p
}

func TestGilbertChannel(t *testing.T) {
	u := Unit{Rule: Fixed{10}, Charges: []Charge{{Battery: Battery{True: 1e5, Idle: 100}, Off: 1e6}}}
	l := Live(3, begin, u)
	for _, c := range []Channel{{Loss: 0.3}, {Loss: 0.3, Burst: 5}, {Loss: 0.05, Burst: 8}} {
		lost, spells, before := 0, 0, true
		for _, ok := range c.passes(9, l) {
			if !ok {
				lost++
				if before {
					spells++
				}
			}
			before = ok
		}
		mean := max(c.Burst, 1/(1-c.Loss)) // independent losses come in spells of 1/(1-loss)
		if got := float64(lost) / float64(len(l.Sent)); math.Abs(got-c.Loss) > 0.01 {
			t.Errorf("%+v: %v lost", c, got)
		}
		if got := float64(lost) / float64(spells); math.Abs(got/mean-1) > 0.05 {
			t.Errorf("%+v: spells of %v, want %v", c, got, mean)
		}
	}
}

func TestSinkingChannel(t *testing.T) {
	l := Live(3, begin, Unit{Rule: Fixed{10}, Charges: []Charge{{Battery: Battery{True: 1e5, Idle: 100}, Off: 5e5}}})
	passes := Channel{Loss: 0.2, Sink: Sink{0.1, 0.6}}.passes(1, l)
	share := func(part []bool) (s float64) {
		for _, ok := range part {
			if ok {
				s += 1 / float64(len(part))
			}
		}
		return s
	}
	tenth := len(passes) / 10
	if before, last := share(passes[:9*tenth]), share(passes[9*tenth+1:]); math.Abs(before-0.8) > 0.01 || math.Abs(last-0.4) > 0.02 {
		t.Errorf("heard %v, in the last tenth %v; want 0.8 and 0.4", before, last)
	}
}

func TestShadowsOnlyUnderWay(t *testing.T) {
	l := Live(3, begin, Unit{Rule: Fixed{10}, Journey: Journey{{Parked, 7200, 0}, {Foot, 7200, 0}},
		Charges: []Charge{{Battery: Battery{True: 1e5, Idle: 100}, Off: 20000}}})
	lost := 0
	for i, ok := range (Channel{Shadow: Shadow{900, 900}}).passes(1, l) {
		if !ok {
			lost++
			if s := l.Sent[i].t; s < 7200 || s > 14400 {
				t.Fatalf("lost at %v s, while parked", s)
			}
		}
	}
	if lost < 72 {
		t.Errorf("%d beacons in shadow", lost)
	}
}

func TestAccessJitter(t *testing.T) {
	// Slots of 100 ms taken with 64/256: 25 % after 100 ms, 19 % 200, 14 % 300, 11 % 400, 8 % 500 (protocol reference, p. 12).
	r := stream(1, "test", 0)
	var n [6]float64
	for range 40000 {
		if slot := int(math.Round(Timing{Access: true}.late(r) * 10)); slot < len(n) {
			n[slot] += 100.0 / 40000
		}
	}
	for i, want := range []float64{0, 25, 18.75, 14.06, 10.55, 7.91} {
		if math.Abs(n[i]-want) > 0.7 {
			t.Errorf("%.2f %% after %d00 ms, want %v", n[i], i, want)
		}
	}
}

func TestHabits(t *testing.T) {
	for habit, low := range map[Habit]float64{AtOnce: 1, AfterFix: 5, AfterInterval: 300} {
		l := Live(5, begin, Unit{Rule: Fixed{300}, First: habit, FixAfter: 40, Charges: []Charge{{On: 50, Battery: pack}}})
		first := l.Sent[0].At.Sub(l.At(50)).Seconds()
		if first < low || first > 300 {
			t.Errorf("habit %d: first beacon %v s after power-on", habit, first)
		}
		if habit != AtOnce && !l.Sent[0].Fix {
			t.Errorf("habit %d: no fix after %v s", habit, first)
		}
	}
}

func TestSameSeedSameLife(t *testing.T) {
	u := Unit{Rule: adaptive, Journey: Journey{{Car, 3000, 0}}, Timing: Timing{Jitter: 1}, Charges: []Charge{{Battery: pack}}}
	a, b, c := Live(1, begin, u), Live(1, begin, u), Live(2, begin, u)
	if len(a.Sent) != len(b.Sent) || a.Sent[len(a.Sent)-1] != b.Sent[len(b.Sent)-1] {
		t.Error("one seed gives two lives")
	}
	if a.Sent[len(a.Sent)-1].At == c.Sent[len(c.Sent)-1].At {
		t.Error("two seeds give one life")
	}
}

func BenchmarkLive(b *testing.B) {
	journey := Journey{{Parked, 7200, 0}, {Car, 3600, 0}, {Parked, 7200, 0}, {Foot, 7200, 0}}
	for name, u := range map[string]Unit{
		"fixed parked":   {Rule: Fixed{120}},
		"adaptive moves": {Rule: adaptive, Journey: journey},
	} {
		u.Charges = []Charge{{Battery: Battery{True: 2000, Idle: 100, Beacon: 0.4}}}
		b.Run(name, func(b *testing.B) {
			var heard []clock.Instant
			for i := range b.N {
				heard = Live(uint64(i), begin, u).Heard(uint64(i), Channel{Loss: 0.2})
			}
			b.ReportMetric(float64(len(heard)), "heard")
		})
	}
}
