package outlook

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

// known decodes one line of testdata/outlook/known.jsonl; each names its source.
func known(t *testing.T, id string, in, want any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/outlook/known.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	for line := range bytes.Lines(data) {
		var a struct {
			ID               string
			Inputs, Expected json.RawMessage
		}
		if err := json.Unmarshal(line, &a); err != nil {
			t.Fatal(err)
		}
		if a.ID != id {
			continue
		}
		if json.Unmarshal(a.Inputs, in) != nil || json.Unmarshal(a.Expected, want) != nil {
			t.Fatalf("%s: inputs or expected values of another shape", id)
		}
		return
	}
	t.Fatalf("no known answer %q", id)
}

func TestDutyKnownAnswers(t *testing.T) {
	for _, id := range []string{"duty-01", "duty-02", "duty-03", "duty-04"} {
		var in struct {
			C          float64 `json:"C_mAh"`
			TX, RX, SB []float64
		}
		var want struct {
			I float64 `json:"I_mA"`
			T float64 `json:"T_h"`
		}
		known(t, id, &in, &want)
		share := func(pair []float64) (float64, estimate.Estimate) {
			if len(pair) < 2 {
				return 0, estimate.Unknown
			}
			return pair[0], estimate.Exact(pair[1])
		}
		var d Duty
		d.TX, d.TXmA = share(in.TX)
		d.RX, d.RXmA = share(in.RX)
		d.Standby, d.StandbyMA = share(in.SB)
		p := Share(d, draw.Battery{CapacityMAh: in.C, Basis: draw.Measured})
		if want.I > 0 {
			near(t, id+" mA", p.DrawMA.Best, want.I, 1e-9)
		}
		near(t, id+" hours", p.Runtime.Best/3600, want.T, 2e-4*want.T)
	}
}

func TestDutyOfFortyMinutes(t *testing.T) {
	var in, want map[string]any
	known(t, "duty-05", &in, &want)
	d := Duty{TX: 40.0 / 482, RX: 40.0 / 482, Standby: 402.0 / 482,
		TXmA: estimate.Exact(1400), RXmA: estimate.Exact(300), StandbyMA: estimate.Exact(10)}
	near(t, "mA", d.MA().Best, want["I_mA"].(float64), 1e-6)
	p := Share(d, draw.Battery{CapacityMAh: in["C_mAh"].(float64), Basis: draw.Measured})
	near(t, "hours", p.Runtime.Best/3600, want["T_h"].(float64), 2e-4*8)
	near(t, "used in 482 min", p.DrawMA.Best*482/60, want["used_mAh_in_482_min"].(float64), 1e-5)
}

// Two settings of RF power, of which only the hours are printed: the mean currents follow, and what transmitting takes more.
func TestTransmitCurrentFromHoursKnownAnswer(t *testing.T) {
	var in struct {
		C     float64 `json:"C_mAh"`
		T1    float64 `json:"T1_h"`
		T2    float64 `json:"T2_h"`
		Share float64 `json:"tx_share"`
	}
	var want struct {
		I1 float64 `json:"I1_mA"`
		I2 float64 `json:"I2_mA"`
		TX float64 `json:"dItx_mA"`
	}
	known(t, "duty-06", &in, &want)
	mean := func(hours float64) float64 { return tested(hours, in.C).Runs[0].Draw.MeanMA.Best }
	near(t, "low power", mean(in.T1), want.I1, 1e-4*want.I1)
	near(t, "high power", mean(in.T2), want.I2, 1e-4*want.I2)
	duty := func(tx float64) float64 {
		d := Duty{TX: in.Share, Standby: 1 - in.Share, TXmA: estimate.Exact(tx), StandbyMA: estimate.Exact(100)}
		return d.MA().Best
	}
	near(t, "the difference comes back", duty(1000+want.TX)-duty(1000), want.I2-want.I1, 1e-6*want.I1)
}

func TestShareOfAPackKnownAnswer(t *testing.T) {
	var in struct {
		C float64 `json:"C_mAh"`
		K float64
		I float64 `json:"I_mA"`
	}
	var want struct {
		T float64 `json:"T_h"`
	}
	known(t, "duty-07", &in, &want)
	d := Duty{Standby: 1, StandbyMA: estimate.Exact(in.I)}
	p := Share(d, draw.Battery{CapacityMAh: in.K * in.C, Basis: draw.Measured})
	near(t, "hours", p.Runtime.Best/3600, want.T, 2e-4*want.T)
}

func TestChargeOfOnePacketKnownAnswer(t *testing.T) {
	var in struct {
		I float64 `json:"I_mA"`
		S float64 `json:"t_s"`
	}
	var want struct {
		Q float64 `json:"q_uAh"`
	}
	known(t, "duty-09", &in, &want)
	s := draw.Split{Resolved: true, IdleMA: estimate.Exact(0), MAhPerBeacon: estimate.Exact(want.Q / 1000)}
	near(t, "mA", TransmitMA(s, in.S).Best, in.I, 1e-9)
}

// A published mean current of 0.0487 mA for this duty is wrong by 16 times.
func TestDutyThatACourseTextGotWrong(t *testing.T) {
	var in struct {
		Sleep  float64 `json:"sleep_mA"`
		TX     float64 `json:"tx_mA"`
		S      float64 `json:"tx_s"`
		PerDay float64 `json:"per_day"`
	}
	var want struct {
		I float64 `json:"I_mA"`
	}
	known(t, "duty-10", &in, &want)
	share := in.S * in.PerDay / 86400
	d := Duty{TX: share, Standby: 1 - share, TXmA: estimate.Exact(in.TX), StandbyMA: estimate.Exact(in.Sleep)}
	near(t, "mA", d.MA().Best, want.I, 1e-9)
}

func TestDutyWithoutReceiveCurrentIsRefused(t *testing.T) {
	d := Duty{TX: 0.05, RX: 0.05, Standby: 0.9, TXmA: estimate.Exact(1400), StandbyMA: estimate.Exact(50)}
	if p := Share(d, draw.Battery{CapacityMAh: 2000}); p.Refused != "no_currents" {
		t.Errorf("refused %q, want no_currents", p.Refused)
	}
}

// Idle 100 mA, 0.35 mAh a beacon, no uncertainty, as the closed form takes it.
func closedForm() Unit {
	return Unit{Name: "Heron", Battery: draw.Battery{CapacityMAh: 2000, Basis: draw.Measured},
		Split: draw.Split{Idle: 100, Beacon: 0.35, Resolved: true, Low: 10, High: 60, Common: estimate.ExactLaw(0)}}
}

func TestRouteKnownAnswer(t *testing.T) {
	var in map[string]float64
	var want struct {
		N int     `json:"N"`
		R float64 `json:"rate_per_h"`
		I float64 `json:"I_mA"`
		T float64 `json:"T_h"`
	}
	known(t, "energy-05", &in, &want)
	p := Route(closedForm(), Plan{Beacons: estimate.Exact(float64(want.N)), Seconds: 8 * 3600})
	near(t, "mA", p.DrawMA.Best, want.I, 1e-9)
	near(t, "hours", p.Runtime.Best/3600, want.T, 2e-4*want.T)
	near(t, "share used", p.Share.Best, 8/want.T, 1e-3)
	s := Schedule(closedForm(), want.R)
	near(t, "mA by rate", s.DrawMA.Best, want.I, 1e-9)
	if s.Extrapolated {
		t.Error("16.875 an hour lies inside 10 to 60")
	}
	if !Schedule(closedForm(), 200).Extrapolated || !Schedule(closedForm(), 4).Extrapolated {
		t.Error("rates far outside are not flagged")
	}
}

// Idle 100 mA, 1 mAh a beacon, ten beacons an hour for ten hours: 1,100 mAh in all. Half of it is used after five hours but the
// fraction of an interval in which the next beacon would have fallen.
func TestWhereAChargeEndsOnARoute(t *testing.T) {
	s := draw.Split{Idle: 100, Beacon: 1, Resolved: true}
	var sent []clock.Instant
	for i := range 100 {
		sent = append(sent, clock.Instant(i*360_000))
	}
	last := clock.Instant(36_000_000)
	e := Ends(s, estimate.Of(1.1, 2, 4), 0, last, sent)
	near(t, "best", e.Best, 5*3600, 40)
	near(t, "low", e.Low, 2.5*3600, 40)
	near(t, "high", e.High, 36000/1.1, 40)
	if e := Ends(s, estimate.Of(0.5, 0.6, 0.7), 0, last, sent); e.Known {
		t.Errorf("a charge that lasts ends at %v", e)
	}
	if e := Ends(s, estimate.Of(0.8, 0.9, 1.2), 0, last, sent); !math.IsInf(e.High, 1) || math.Abs(e.Low-30000) > 40 {
		t.Errorf("a charge that may last: %v", e)
	}
}

func TestBiggerPackKnownAnswer(t *testing.T) {
	var in struct {
		T1     float64 `json:"T1_h"`
		C1, C2 float64
	}
	var want struct {
		T2 float64 `json:"T2_h"`
	}
	known(t, "energy-09", &in, &want)
	u := tested(in.T1, in.C1)
	p := Pack(u, draw.Battery{CapacityMAh: in.C2, Basis: draw.Printed})
	near(t, "hours", p.Runtime.Best/3600, want.T2, 1e-3*want.T2)
	// Two label capacities at 2.9 % each leave at least 4.1 % (common practice, no source).
	if u := (p.Runtime.High - p.Runtime.Low) / 3.92 / p.Runtime.Best; u < 0.041 {
		t.Errorf("standard uncertainty %.4f, want at least 0.041", u)
	}
}

func tested(hours, mah float64) Unit {
	b := draw.Battery{CapacityMAh: mah, Basis: draw.Printed}
	load := draw.Load{Time: estimate.About(hours*3600, 60)}
	return Unit{Name: "Heron", CV: 0.03, Battery: b,
		Runs: []Run{{Time: load.Time, Draw: draw.Of(load, draw.Settings{Battery: b})}}}
}

func TestProjectionIsNeverSurerThanItsRun(t *testing.T) {
	u := tested(16.5, 2000)
	p := Pack(u, draw.Battery{CapacityMAh: 2000, Basis: draw.Measured, TolerancePct: 0.1})
	run := u.Runs[0].Draw.MeanMA
	if (p.Runtime.High-p.Runtime.Low)/p.Runtime.Best < (run.High-run.Low)/run.Best {
		t.Error("narrower than the run's own draw")
	}
}

func TestPackIsRefusedWithoutItsGrounds(t *testing.T) {
	for name, c := range map[string]struct {
		u    Unit
		b    draw.Battery
		want string
	}{
		"no run":                {Unit{}, draw.Battery{CapacityMAh: 2000}, "no_run"},
		"capacity not known":    {tested(10, 2000), draw.Battery{}, "no_charge"},
		"primary cells":         {tested(10, 2000), draw.Battery{CapacityMAh: 2500, Supply: draw.Primary}, "primary"},
		"run without a charge ": {tested(10, 0), draw.Battery{CapacityMAh: 2500}, "no_charge"},
	} {
		if p := Pack(c.u, c.b); p.Refused != c.want || p.Runtime.Known {
			t.Errorf("%s: refused %q, want %q", name, p.Refused, c.want)
		}
	}
	if p := Pack(tested(10, 2000), draw.Battery{CapacityMAh: 9000}); !p.Extrapolated {
		t.Error("a pack 4.5 times as large is not flagged")
	}
}

func hours(unit string, h float64) Life { return Life{unit, estimate.Exact(h * 3600)} }

func TestShiftKnownAnswer(t *testing.T) {
	var in, want map[string]any
	known(t, "pred-02", &in, &want)
	a := Lasts([]Life{hours("a", 12.1), hours("b", 12.6), hours("c", 12.3)}, Shift{Seconds: 12 * 3600})
	near(t, "reach", a.Reach/3600, want["prediction_h"].(float64), 2e-3)
	near(t, "tolerance", a.Tolerance/3600, want["tolerance_95_95_h"].(float64), 2e-3)
	if a.Assumed {
		t.Error("three specimens show their own spread")
	}
}

func TestPredictionFactorsKnownAnswers(t *testing.T) {
	var in struct{ N []int }
	var want struct{ K []float64 }
	known(t, "pred-01", &in, &want)
	for i, n := range in.N {
		near(t, "factor of the law", -further(0, 1, n).Quantile(0.05), want.K[i], 1e-3*want.K[i]) // a law is 200 straight pieces
		if n < enough {
			continue // of two specimens the scatter is not believed, and a spread assumed
		}
		var lives []Life
		for k := range n {
			lives = append(lives, hours(string(rune('a'+k)), math.Exp(0.1*float64(k%2)+0.01*float64(k))))
		}
		mean, sd, _ := scatter(perSpecimen(lives))
		a := Lasts(lives, Shift{})
		near(t, "factor", (mean-math.Log(a.Reach))/sd, want.K[i], 2e-3*want.K[i])
	}
}

func TestShiftWithOneRunAssumesASpread(t *testing.T) {
	a := Lasts([]Life{hours("a", 12)}, Shift{Seconds: 10 * 3600, Reserve: 0.2, Units: 6})
	want := 12 * math.Exp(-1.644853627*0.1*math.Sqrt2)
	near(t, "reach", a.Reach/3600, want, 0.01)
	if !a.Assumed || a.SparePacks != 6 {
		t.Errorf("assumed %v, spare packs %d; want true, 6", a.Assumed, a.SparePacks)
	}
	near(t, "need", a.Need/3600, 12, 1e-9)
	near(t, "chance", a.Chance, 0.5, 1e-6)
}

func TestShiftCountsUnitsStillRunning(t *testing.T) {
	lives := []Life{hours("a", 8.1), hours("b", 8.3), hours("c", 8.5)}
	dropped := Lasts(lives, Shift{})
	kept := Lasts(append(lives, Life{"d", estimate.AtLeast(9 * 3600)}), Shift{})
	if !(kept.Runtime.Best > dropped.Runtime.Best) {
		t.Error("a unit that runs longer than all others must lengthen the middle life")
	}
}

func TestLastsKnownAnswer(t *testing.T) {
	var in, want map[string]float64
	known(t, "lasts-01", &in, &want)
	near(t, "12 h lie as far off as this chance tells", 13-0.5*estimate.NormalQuantile(want["p"]), 12, 1e-6)
	near(t, "guard band", 0.5*estimate.NormalQuantile(0.95), want["guard_h"], 1e-6*want["guard_h"])
	law := estimate.NormalLaw(13, 0.5) // 200 straight pieces, which projections are read from
	near(t, "chance of 12 h by the law", 1-law.Below(12), want["p"], 2e-4)
	near(t, "guard band by the law", 13-law.Quantile(0.05), want["guard_h"], 2e-4)
}

func TestAgeKnownAnswers(t *testing.T) {
	var in struct{ P []float64 }
	var want struct{ Q50, Q90, Q95 []float64 }
	known(t, "age-01", &in, &want)
	for i, p := range in.P {
		near(t, "50 %", Age(1, p, 0.5), want.Q50[i], 1e-3)
		near(t, "90 %", Age(1, p, 0.9), want.Q90[i], 1e-3)
		near(t, "95 %", Age(1, p, 0.95), want.Q95[i], 1e-3)
	}
	if !math.IsInf(Age(60, 0, 0.5), 1) {
		t.Error("a unit never heard has a newest position")
	}
}

func TestChannelKnownAnswers(t *testing.T) {
	var in struct{ G []float64 }
	var want struct{ Success, Throughput []float64 }
	known(t, "aloha-01", &in, &want)
	for i, g := range in.G {
		_, ok := ChannelLoad(1, 1, g, 0)
		near(t, "survive", ok, want.Success[i], 1e-4)
		near(t, "get through", g*ok, want.Throughput[i], 1e-4)
	}
	offered, _ := ChannelLoad(30, 60, 0.9, 1) // common practice, no source
	near(t, "offered by 30 units at 60 s, repeated once", offered, 0.9, 1e-12)
}

func TestShortestIntervalThatLasts(t *testing.T) {
	s := closedForm().Split
	// At 60 an hour it draws 121 mA and reaches 10 h; 11 h allow 110 mA, which leaves 10 mA for beacons: 28.57 an hour.
	got, ok := ShortestInterval(s, 60, 10*3600, 11*3600)
	near(t, "interval", got, 3600/(10/0.35), 1e-9)
	if !ok {
		t.Error("refused")
	}
	if _, ok := ShortestInterval(s, 60, 10*3600, 13*3600); ok {
		t.Error("it would not last 13 h even without beacons")
	}
	near(t, "factor", must(AtRate(s, 60, 0)), 1.21, 1e-12)
	near(t, "ten overs of 6 s at 1300 mA", must(WithVoice(s, 60, 10, 6, 1300)), 121/(121+20.0), 1e-12)
}

func must(f float64, ok bool) float64 {
	if !ok {
		return math.NaN()
	}
	return f
}

func TestNextTest(t *testing.T) {
	q := Next(Question{Difference: 0.05, Margin: true, Power: 0.8, CV: 0.03, ShortestS: 12 * 3600, LongestS: 14 * 3600, Heard: 1})
	if q.Runs != 7 || q.RunsEqual != 7 {
		t.Errorf("runs %d and %d, want 7 and 7", q.Runs, q.RunsEqual)
	}
	// All heard, limits within 2.5 %: at least 19 intervals in a run; 12 h allow 2273 s, of which 1800 s can be set.
	near(t, "interval", q.IntervalS, 1800, 0)
	// A difference of two runs scatters by 3 % x sqrt(2), so one like the shortest ends after 12 h x exp(-0.0832), 11.04 h, in
	// 97.5 of 100 cases: whole quarters of an hour leave 11 h.
	near(t, "watch from", q.WatchS, 11*3600, 0)
	if q.ListenS < 14*3600 {
		t.Errorf("listen %v s", q.ListenS)
	}
}

func TestKindBringsLivesToOneUse(t *testing.T) {
	u := closedForm()
	at := func(perHour float64) Run {
		return Run{Time: estimate.Exact(2000 / (100 + 0.35*perHour) * 3600), Rate: estimate.Exact(perHour)}
	}
	u.Runs = []Run{at(60), at(6), at(30)}
	a := Kind([]Unit{u}, Use{}, Shift{Seconds: 10 * 3600})
	near(t, "as in the latest run", a.Runtime.Best/3600, 2000/110.5, 0.01)
	a = Kind([]Unit{u}, Use{PerHour: 60}, Shift{Seconds: 14 * 3600})
	near(t, "at 60 an hour", a.Runtime.Best/3600, 2000/121.0, 0.01)
	near(t, "shortest interval", a.ShortestS, 3600/((121*a.Reach/a.Need-100)/0.35), 1e-6)
	a = Kind([]Unit{u}, Use{PerHour: 60, Overs: 10, OverS: 6, TransmitMA: []float64{1300}}, Shift{Seconds: 10 * 3600})
	near(t, "with voice", a.Runtime.Best/3600, 2000/141.0, 0.01)
	a = Kind([]Unit{u}, Use{PerHour: 60}, Shift{Seconds: 40 * 3600})
	if !math.IsNaN(a.ShortestS) {
		t.Errorf("an interval of %v s for 40 h", a.ShortestS)
	}
	u.Split = draw.Split{}
	if a := Kind([]Unit{u}, Use{PerHour: 120}, Shift{}); a.Refused != "no_split" {
		t.Errorf("refused %q, want no_split", a.Refused)
	}
	if a := Kind([]Unit{u}, Use{}, Shift{}); a.Specimens != 1 || a.Refused != "" {
		t.Errorf("the run at the latest rate needs no split: %q", a.Refused)
	}
}
