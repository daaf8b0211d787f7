package draw

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

// known decodes one line of testdata/draw/known.jsonl; each names its source.
func known(t *testing.T, id string, in, want any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/draw/known.jsonl")
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
		if a.ID == id && (json.Unmarshal(a.Inputs, in) != nil || json.Unmarshal(a.Expected, want) != nil) {
			t.Fatalf("%s: inputs or expected values of another shape", id)
		}
		if a.ID == id {
			return
		}
	}
	t.Fatalf("no known answer %q", id)
}

func minutes(m float64) Load { return Load{Time: estimate.Exact(m * 60)} }

func of(mah float64, basis Basis) Settings {
	return Settings{Battery: Battery{CapacityMAh: mah, Basis: basis, NominalV: 7.4}}
}

// Common practice, no source.
func TestDrawOfFamiliarRuns(t *testing.T) {
	for _, c := range []struct{ mah, min, perMin, ma float64 }{
		{1820, 480, 3.79, 227.5}, {1820, 450, 4.04, 242.7}, {2200, 720, 3.06, 183.3}, {2000, 600, 3.33, 200},
	} {
		d := Of(minutes(c.min), of(c.mah, Measured))
		near(t, "mA", d.MeanMA.Best, c.ma, 0.05)
		near(t, "mAh/min", d.MAhPerMin.Best, c.perMin, 0.005)
		near(t, "mA over mAh/min", d.MeanMA.Best/d.MAhPerMin.Best, 60, 1e-9)
	}
}

func TestMilliamperesAndEnergyKnownAnswers(t *testing.T) {
	var in struct {
		C     float64 `json:"C_mAh"`
		T     float64 `json:"T_min"`
		Packs [][2]float64
	}
	var want struct {
		PerMin float64 `json:"mAh_per_min"`
		Mean   float64 `json:"mean_mA"`
		Wh     []float64
	}
	known(t, "duty-08", &in, &want)
	d := Of(minutes(in.T), of(in.C, Measured))
	near(t, "mAh/min", d.MAhPerMin.Best, want.PerMin, 3e-4*want.PerMin) // best is the median of a product
	near(t, "mA", d.MeanMA.Best, want.Mean, 3e-4*want.Mean)
	known(t, "duty-11", &in, &want)
	for i, p := range in.Packs {
		d := Of(minutes(600), Settings{Battery: Battery{NominalV: p[0], CapacityMAh: p[1] * 1000, Basis: Measured}})
		near(t, "Wh", d.EnergyMWh.Best/1000, want.Wh[i], 3e-4*want.Wh[i])
	}
}

// Common practice, no source: taking 467 min for 480 and 462 min for 450 moves the draw by -2.7 % and +2.7 %.
func TestRoundedTimesMoveTheDraw(t *testing.T) {
	for _, c := range []struct{ truth, taken, pct float64 }{{467, 480, -2.7}, {462, 450, 2.7}} {
		right, wrong := Of(minutes(c.truth), of(2000, Measured)), Of(minutes(c.taken), of(2000, Measured))
		near(t, "shift in %", 100*(wrong.MeanMA.Best/right.MeanMA.Best-1), c.pct, 0.05)
	}
}

func TestFiguresOfOneRun(t *testing.T) {
	load := minutes(600)
	load.Sent = estimate.Of(290, 300, 310)
	d := Of(load, of(2000, Measured))
	near(t, "power", d.MeanMW.Best, 1480, 1)
	near(t, "energy", d.EnergyMWh.Best, 14800, 10) // 7.4 V x 2.0 Ah, by definition
	near(t, "C-rate", d.CRate.Best, 0.1, 1e-4)
	near(t, "mAh per transmission", d.MAhPerTransmission.Best, 2000.0/300, 0.01)
	if !(d.MAhPerTransmission.Low < 2000.0/310 && d.MAhPerTransmission.High > 2000.0/290) {
		t.Error("the spread of the count is not carried")
	}
	if half := (d.CRate.High - d.CRate.Low) / 2 / d.CRate.Best; half > 0.021 {
		t.Errorf("capacity did not cancel from the C-rate: half-width %.3f", half)
	}
}

func TestBudgetListsItsParts(t *testing.T) {
	load := Load{Time: estimate.Of(43000, 44100, 45200)}
	d := Of(load, of(2000, Printed))
	want := []struct {
		source   string
		kind     byte
		relative float64
	}{{"capacity", 'B', 0.0288675}, {"time", 'A', 0.0151593}, {"charge_to_charge", 'B', 0.01}}
	if len(d.Budget) != len(want) {
		t.Fatalf("budget %v", d.Budget)
	}
	for i, w := range want {
		p := d.Budget[i]
		if p.Source != w.source || p.Type != w.kind {
			t.Errorf("part %d is %s %c, want %s %c", i, p.Source, p.Type, w.source, w.kind)
		}
		near(t, w.source, p.Relative, w.relative, 1e-6)
	}
	load.Noted = true // no statistics stand behind an end that a person noted (JCGM 100:2008, 4.3)
	if noted := Of(load, of(2000, Printed)); noted.Budget[1].Source != "time" || noted.Budget[1].Type != 'B' {
		t.Errorf("a noted time is of type %c", noted.Budget[1].Type)
	}
	if !d.Charge.Inferred {
		t.Error("draw from a printed capacity is inferred")
	}
	together := math.Sqrt(0.0288675*0.0288675 + 0.0151593*0.0151593 + 0.01*0.01)
	near(t, "together", (d.MeanMA.High-d.MeanMA.Low)/2/d.MeanMA.Best, 1.96*together, 0.006)
}

func TestWhatIsNotKnownIsNotGiven(t *testing.T) {
	for name, c := range map[string]struct {
		load Load
		set  Settings
		want string
	}{
		"no capacity":         {minutes(600), Settings{}, "no_capacity"},
		"primary cells":       {minutes(600), Settings{Battery: Battery{CapacityMAh: 2500, Supply: Primary}}, "primary"},
		"external supply":     {minutes(600), Settings{Battery: Battery{CapacityMAh: 2500, Supply: External}}, "external"},
		"over two charges":    {Load{Time: estimate.Exact(36000), Mixed: true}, of(2000, Measured), "not_one_charge"},
		"no time":             {Load{}, of(2000, Measured), "no_time"},
		"meter over one half": {minutes(600), Settings{Meter: Meter{MAh: 900, Covered: 0.5}}, "no_capacity"},
	} {
		d := Of(c.load, c.set)
		if d.Refused != c.want || d.MeanMA.Known {
			t.Errorf("%s: refused %q, want %q; mean current known: %v", name, d.Refused, c.want, d.MeanMA.Known)
		}
	}
}

func TestRunThatDidNotEndHasAnUpperLimitOnly(t *testing.T) {
	d := Of(Load{Time: estimate.AtLeast(36000)}, of(2000, Measured))
	if d.Refused != "still_running" || !math.IsInf(d.MeanMA.Low, -1) {
		t.Errorf("got %q, %v", d.Refused, d.MeanMA)
	}
	if !(d.MeanMA.High > 200 && d.MeanMA.High < 210) {
		t.Errorf("at most %.1f mA, want a little over 200", d.MeanMA.High)
	}
}

func TestMeasuredChargeServesAStoppedRun(t *testing.T) {
	load := Load{Time: estimate.AtLeast(18000), Over: estimate.Of(17990, 18000, 18010)}
	d := Of(load, Settings{ChargeUsedMAh: 1000, ChargeBasis: Recharged, Battery: Battery{CapacityMAh: 2000, Basis: Measured}})
	near(t, "mA", d.MeanMA.Best, 200, 0.1)
	near(t, "C-rate", d.CRate.Best, 0.1, 0.001)
	if d.Refused != "" || d.Charge.Basis != Recharged || d.Charge.Repeat != 0 {
		t.Errorf("refused %q, basis %q", d.Refused, d.Charge.Basis)
	}
}

func TestUSBBankGivesLessThanItsCells(t *testing.T) {
	d := Of(minutes(600), Settings{Battery: Battery{Supply: Bank, EnergyWh: 37, Basis: Printed}})
	near(t, "mW", d.MeanMW.Best, 0.885*3700, 15)
	near(t, "mA at 5 V", d.MeanMA.Best, 0.885*740, 3)
	if d.CRate.Known {
		t.Error("a C-rate behind a converter means nothing")
	}
}

func TestMeterLogIsIntegrated(t *testing.T) {
	var r []evidence.Reading
	for i := range 3601 { // 0.2 A for an hour at 7.4 V, one reading a second, with 100 s missing
		if i < 1000 || i >= 1100 {
			r = append(r, evidence.Reading{At: clock.Instant(i * 1000), Volts: 7.4, Amps: 0.2})
		}
	}
	m := Integrate(r, 0, 3600*1000)
	near(t, "covered", m.Covered, 3499.0/3600, 1e-9)
	near(t, "mAh", m.MAh, 200*3499.0/3600, 1e-6)
	near(t, "mWh", m.MWh, 7.4*200*3499.0/3600, 1e-6)
	d := Of(minutes(60), Settings{Meter: m})
	near(t, "mA", d.MeanMA.Best, 200, 1e-6)
}

func TestBatteryCheck(t *testing.T) {
	for name, b := range map[string]Battery{
		"negative capacity": {CapacityMAh: -1}, "not a number": {CapacityMAh: math.NaN()},
		"too large": {CapacityMAh: 1e9}, "tolerance": {TolerancePct: 80},
	} {
		if b.Check() == nil {
			t.Errorf("%s passed", name)
		}
	}
	if err := (Battery{CapacityMAh: 2000, NominalV: 7.4}).Check(); err != nil {
		t.Error(err)
	}
}
