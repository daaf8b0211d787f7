package draw

import (
	"math"
	"testing"

	"lastbeacon/core/estimate"
)

// exactPoint is a run of known charge, time and number of beacons without uncertainty of its own.
func exactPoint(mah, hours, beacons float64) Point {
	return Point{Load: Load{Rate: estimate.Exact(beacons / hours)},
		Draw: Draw{MeanMA: estimate.Exact(mah / hours), TimeLaw: estimate.ExactLaw(hours * 3600), Charge: Charge{Law: estimate.ExactLaw(mah)}}}
}

func TestSplitKnownAnswers(t *testing.T) {
	var in struct {
		C    float64 `json:"C_mAh"`
		Runs [][2]float64
	}
	var want struct {
		I float64 `json:"I_base_mA"`
		Q float64 `json:"q_mAh"`
	}
	known(t, "energy-02", &in, &want)
	s := SplitOf([]Point{exactPoint(in.C, in.Runs[0][0], in.Runs[0][1]), exactPoint(in.C, in.Runs[1][0], in.Runs[1][1])}, Transmit{}, 0.01)
	near(t, "idle", s.Idle, want.I, 1e-9*want.I)
	near(t, "beacon", s.Beacon, want.Q, 1e-9)
	var u struct {
		Q    float64 `json:"u_q_mAh"`
		I    float64 `json:"u_Ibase_mA"`
		Corr float64
	}
	known(t, "energy-03", &struct{}{}, &u)
	near(t, "u(beacon)", math.Sqrt(s.Cov[1][1]), u.Q, 1e-6*u.Q)
	near(t, "u(idle)", math.Sqrt(s.Cov[0][0]), u.I, 1e-6*u.I)
	near(t, "correlation", s.Cov[0][1]/math.Sqrt(s.Cov[0][0]*s.Cov[1][1]), u.Corr, 1e-6)
}

func TestForwardModelComesBack(t *testing.T) {
	var in struct {
		C     float64   `json:"C_mAh"`
		I     float64   `json:"I_base_mA"`
		Q     float64   `json:"q_mAh"`
		Rates []float64 `json:"rates_per_h"`
	}
	var want struct {
		T []float64 `json:"T_h"`
		N []float64
	}
	known(t, "energy-01", &in, &want)
	var points []Point
	for i := range want.T {
		points = append(points, exactPoint(in.C, want.T[i], want.N[i]))
	}
	s := SplitOf(points, Transmit{}, 0.01)
	near(t, "idle", s.Idle, in.I, 1e-7)
	near(t, "beacon", s.Beacon, in.Q, 1e-9)
	for i, r := range in.Rates {
		ma, _ := s.MA(r)
		near(t, "hours", in.C/ma, want.T[i], 1e-9*want.T[i])
	}
	var u struct {
		Q float64 `json:"u_q_mAh"`
		I float64 `json:"u_Ibase_mA"`
	}
	known(t, "energy-04", &struct{}{}, &u)
	two := SplitOf([]Point{points[0], points[3]}, Transmit{}, 0.01)
	near(t, "u(beacon) at 60 and 3 an hour", math.Sqrt(two.Cov[1][1]), u.Q, 1e-6*u.Q)
	near(t, "u(idle)", math.Sqrt(two.Cov[0][0]), u.I, 1e-6*u.I)
}

func TestSplitIsRefusedNotClipped(t *testing.T) {
	at := func(ma, perHour float64) Point { return exactPoint(ma*10, 10, perHour*10) }
	for name, c := range map[string]struct {
		points []Point
		want   string
	}{
		"no run":                {nil, "no_draw"},
		"rates 1.3 to 1":        {[]Point{at(110, 30), at(112, 39)}, "rates_too_close"},
		"one rate, no transmit": {[]Point{at(110, 30)}, "no_airtime"},
		"less draw when faster": {[]Point{at(110, 60), at(120, 6)}, "negative"},
		"lost in the scatter":   {[]Point{at(110, 30), at(112, 60)}, "too_vague"},
	} {
		s := SplitOf(c.points, Transmit{}, 0.02)
		if s.Resolved || s.Reason != c.want || s.IdleMA.Known || s.MAhPerBeacon.Known {
			t.Errorf("%s: resolved %v, reason %q, want %q", name, s.Resolved, s.Reason, c.want)
		}
	}
}

func TestCommonCapacityErrorWidensBothButNotTheirRatio(t *testing.T) {
	point := func(ma, perHour float64) Point {
		p := exactPoint(ma*10, 10, perHour*10)
		p.Draw.Charge.Law = estimate.Rectangular(ma*10, ma)
		p.Pack = "A"
		return p
	}
	s := SplitOf([]Point{point(101, 3), point(121, 60)}, Transmit{}, 0.01)
	if !s.Resolved || len(s.Common.X) < 2 {
		t.Fatalf("resolved %v, reason %q", s.Resolved, s.Reason)
	}
	half := (s.IdleMA.High - s.IdleMA.Low) / 2
	if half < 0.095*s.Idle {
		t.Errorf("half-width %.2f mA; a capacity within 10 %% leaves at least 9.5 mA", half)
	}
	if own := math.Sqrt(s.Cov[0][0]); own > 1.2 {
		t.Errorf("the capacity's error got into the fit: u(idle) %.2f mA", own)
	}
}

func TestOneRunWithTransmitCurrent(t *testing.T) {
	// Idle 100 mA, 1400 mA for 0.9 s, 60 an hour: (100 x 3546 + 1400 x 54) / 3600 = 119.5 mA; a beacon adds 1300 x 0.9 / 3600.
	p := exactPoint(1195, 10, 600)
	p.Load.AirtimeS = estimate.Of(0.8, 0.9, 1.0)
	p.Draw.Volts = 7.4
	s := SplitOf([]Point{p}, Transmit{CurrentMA: 1400}, 0.01)
	near(t, "idle", s.Idle, 100, 1e-9)
	near(t, "beacon", s.Beacon, 0.325, 1e-9)
	if s.Basis != "tx_current" || !s.Resolved {
		t.Errorf("basis %q, reason %q", s.Basis, s.Reason)
	}
	ma, _ := s.MA(60)
	near(t, "back at its own rate", ma, 119.5, 1e-9)
	rf := SplitOf([]Point{p}, Transmit{PowerW: 5, PowerBasis: "measured", MeterPct: 5}, 0.01)
	if rf.Basis != "rf_power" || !rf.Resolved || !(rf.Cov[1][1] > s.Cov[1][1]) {
		t.Errorf("from RF power: basis %q, reason %q; must be less sure than a stated current", rf.Basis, rf.Reason)
	}
}

// By definition: 1.6 A for 0.75 s are 1/3 mAh, which stand in the charge of a beacon and in what flows without it; and 5 W from
// 7.4 V at an efficiency of 45 % take 1.5015 A.
func TestChargeOfOneTransmission(t *testing.T) {
	p := exactPoint(1195, 10, 600)
	p.Load.AirtimeS = estimate.Exact(0.75)
	s := SplitOf([]Point{p}, Transmit{CurrentMA: 1600}, 0.01)
	near(t, "charge of a transmission", s.Beacon+s.Idle*0.75/3600, 1.0/3, 1e-9)
	ma, _, basis := Transmit{PowerW: 5, PowerBasis: "measured"}.current(7.4)
	near(t, "current by "+basis, ma*efficiency/0.45, 1501.5015015, 1e-6)
}

func TestWorkForOthersCounts(t *testing.T) {
	l := Load{Time: estimate.Exact(36000), Rate: estimate.Exact(30), Sent: estimate.Exact(300), Relayed: 150}
	near(t, "rate", l.PerHour().Best, 45, 1e-9)
	d := Of(l, of(2000, Measured))
	near(t, "mAh per transmission", d.MAhPerTransmission.Best, 2000.0/450, 0.01)
}

func TestDecibelsOfFamiliarPowers(t *testing.T) {
	near(t, "3.36 W against 3.39 W", math.Abs(Decibels(3.36, 3.39)), 0.04, 0.005) // common practice, no source
}

// A charge that ran out without a beacon tells the idle current by itself: 2000 mAh over 20 h are 100 mA, and 60 beacons an hour
// that make 121 mA of it take 0.35 mAh each.
func TestARunWithoutBeaconsTellsTheIdleCurrent(t *testing.T) {
	s := SplitOf([]Point{exactPoint(2000, 20, 0), exactPoint(2000, 2000.0/121, 60*2000.0/121)}, Transmit{}, 0.01)
	near(t, "idle", s.Idle, 100, 1e-6)
	near(t, "beacon", s.Beacon, 0.35, 1e-6)
	if silent := SplitOf([]Point{exactPoint(2000, 20, 0), exactPoint(2000, 20, 0)}, Transmit{}, 0.01); silent.Resolved || silent.IdleMA.Known {
		t.Errorf("without any beacon: %v for each", silent.MAhPerBeacon)
	}
}
