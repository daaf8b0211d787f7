package estimate

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// An answer is one line of testdata/estimate/known.jsonl; each line names its source.
type answer struct {
	ID               string
	Inputs, Expected json.RawMessage
}

// answers gives the known answers of a family and decodes each into its own inputs and expected values.
func answers[I, E any](t *testing.T, family string, check func(id string, in I, want E)) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/estimate/known.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for line := range bytes.Lines(data) {
		var a answer
		var in I
		var want E
		if err := json.Unmarshal(line, &a); err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(a.ID, family) {
			continue
		}
		found++
		if json.Unmarshal(a.Inputs, &in) != nil || json.Unmarshal(a.Expected, &want) != nil {
			t.Fatalf("%s: inputs or expected values of another shape", a.ID)
		}
		check(a.ID, in, want)
	}
	if found == 0 {
		t.Fatalf("no known answers %q", family)
	}
}

type twoSamples struct{ A, B []float64 }

func TestWelchKnownAnswers(t *testing.T) {
	type want struct{ T, Diff, DF, P, Lo, Hi float64 }
	for _, id := range []string{"means-01", "means-02"} {
		answers(t, id, func(id string, in twoSamples, w want) {
			d := Welch(SampleOf(in.A), SampleOf(in.B))
			if w.T != 0 {
				near(t, id+" t", d.Diff/d.U, w.T, 1e-8)
			} else {
				near(t, id+" difference", d.Diff, w.Diff, 1e-8)
			}
			near(t, id+" df", d.DF, w.DF, 1e-8)
			near(t, id+" p", 2*studentBelow(-math.Abs(d.Diff/d.U), d.DF), w.P, 1e-8)
			k := StudentQuantile(0.975, d.DF) * d.U
			near(t, id+" low", d.Diff-k, w.Lo, 1e-8)
			near(t, id+" high", d.Diff+k, w.Hi, 1e-8)
			law := StudentLaw(d.Diff, d.U, d.DF).Estimate() // what verdicts are read from
			near(t, id+" low of the law", law.Low, w.Lo, 1e-3*d.U)
			near(t, id+" high of the law", law.High, w.Hi, 1e-3*d.U)
		})
	}
}

func TestFiellerKnownAnswers(t *testing.T) {
	type want struct{ Ratio, Lo, Hi float64 }
	check := func(id string, e Estimate, w want) {
		near(t, id+" ratio", e.Best, w.Ratio, 1e-8)
		near(t, id+" low", e.Low, w.Lo, 1e-8)
		near(t, id+" high", e.High, w.Hi, 1e-8)
	}
	answers(t, "means-03", func(id string, in twoSamples, w want) {
		a, b := SampleOf(in.A), SampleOf(in.B)
		k := StudentQuantile(0.975, Welch(a, b).DF)
		check(id, Fieller(a.Mean, b.Mean, a.ofMean(), b.ofMean(), k), w)
	})
	type values struct {
		A, B, K float64
		VarA    float64 `json:"var_a"`
		VarB    float64 `json:"var_b"`
	}
	answers(t, "means-04", func(id string, in values, w want) {
		check(id, Fieller(in.A, in.B, in.VarA, in.VarB, in.K), w)
	})
}

func TestFiellerRefusesADenominatorNotToldFromZero(t *testing.T) {
	if e := Fieller(1, 0.5, 0.01, 0.1, Z); e.Known {
		t.Errorf("got %v, want unknown", e)
	}
}

func TestStudentQuantileKnownAnswers(t *testing.T) {
	for _, id := range []string{"means-05", "means-06", "means-07", "means-08", "means-09"} {
		answers(t, id, func(id string, in struct{ P, DF float64 }, w struct{ T float64 }) {
			near(t, id, StudentQuantile(in.P, in.DF), w.T, 1e-8)
		})
	}
}

func TestRunsToDifferKnownAnswers(t *testing.T) {
	type want struct {
		N      int
		NExact float64 `json:"n_exact"`
	}
	answers(t, "power", func(id string, in struct{ Diff, CV, Power float64 }, w want) {
		if got := RunsToDiffer(in.Diff, in.CV, in.Power); got.Runs != w.N {
			t.Errorf("%s: %d runs, want %d", id, got.Runs, w.N)
		}
		near(t, id+" power at the exact n", powerToDiffer(w.NExact, in.Diff/in.CV), in.Power, 2e-5)
	})
}

func TestRunsToEqualKnownAnswers(t *testing.T) {
	type want struct {
		N      int
		PowerN float64 `json:"power_at_n"`
	}
	answers(t, "tost", func(id string, in struct{ Margin, CV, Power float64 }, w want) {
		got := RunsToEqual(in.Margin, in.CV, in.Power)
		if got.Runs != w.N {
			t.Errorf("%s: %d runs, want %d", id, got.Runs, w.N)
		}
		near(t, id+" power", got.Power, w.PowerN, 1e-4)
	})
}

func TestNoSensibleNumberOfRuns(t *testing.T) {
	if got := RunsToDiffer(0.0001, 0.05, 0.9); got.Runs != 0 {
		t.Errorf("got %d runs, want none", got.Runs)
	}
}

type points struct{ X, Y []float64 }

func constant(n int) []float64 {
	ones := make([]float64, n)
	for i := range ones {
		ones[i] = 1
	}
	return ones
}

// NIST StRD, data set Norris (linear regression, certified values), by the regression that parts idle current and beacons. Readings
// and values are those of the file Norris.dat that Debian's python3-scipy 1.10.1 carries among its tests.
func TestNorrisToNineDigits(t *testing.T) {
	type want struct{ B0, B1, U0, U1, S float64 }
	answers(t, "regress-01", func(id string, in points, w want) {
		fit, err := LeastSquares([][]float64{constant(len(in.X)), in.X}, in.Y, nil)
		if err != nil {
			t.Fatal(err)
		}
		s2 := fit.Residual()
		fit = fit.Scaled(s2)
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"b0", fit.Coef[0], w.B0}, {"b1", fit.Coef[1], w.B1}, {"u0", fit.U(0), w.U0}, {"u1", fit.U(1), w.U1}, {"s", math.Sqrt(s2), w.S}} {
			near(t, id+" "+c.what, c.got, c.want, 1e-9*math.Abs(c.want))
		}
	})
}

// NIST StRD, data set NoInt1 (regression through the origin, certified values). The readings, 60 to 70 and 130 to 140, are from
// memory; their sums are whole numbers, so the values are fractions, which the certified ones must round.
func TestNoInt1ToNineDigits(t *testing.T) {
	type want struct{ B1, U1, S, SS float64 }
	answers(t, "regress-02", func(id string, in points, w want) {
		fit, err := LeastSquares([][]float64{in.X}, in.Y, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, id+" b1 certified", w.B1, 251.0/121, 1e-14)
		near(t, id+" ss certified", w.SS, 1400.0/11, 1e-12)
		near(t, id+" u1 certified", w.U1, 2.0/121, 1e-16)
		near(t, id+" b1", fit.Coef[0], w.B1, 1e-10*w.B1)
		near(t, id+" ss", fit.Chi2, w.SS, 1e-10*w.SS)
		near(t, id+" s", math.Sqrt(fit.Residual()), w.S, 1e-10*w.S)
		near(t, id+" u1", fit.Scaled(fit.Residual()).U(0), w.U1, 1e-10*w.U1)
	})
}

// JCGM 100:2008, H.3: calibration of a thermometer. Readings and printed results are from memory; that the one gives the other to
// the last printed digit speaks for both. The further digits are those of R for these readings.
func TestGUMCalibrationLine(t *testing.T) {
	type want struct{ B0, U0, B1, U1, R, S, Y0, UY0 float64 }
	type in struct{ points }
	answers(t, "regress-03", func(id string, in in, _ want) {
		fit, err := LeastSquares([][]float64{constant(len(in.X)), in.X}, in.Y, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, id+" s", math.Sqrt(fit.Residual()), 0.00349756, 5e-9)
		fit = fit.Scaled(fit.Residual())
		y, u := fit.At(1, 10)
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"b0", fit.Coef[0], -0.17120379}, {"u0", fit.U(0), 0.00287760}, {"b1", fit.Coef[1], 0.00218270},
			{"u1", fit.U(1), 0.00066794}, {"y0", y, -0.14937681}, {"u(y0)", u, 0.00413860}} {
			near(t, id+" "+c.what, c.got, c.want, 6e-9)
		}
		near(t, id+" correlation", fit.Cov[0][1]/fit.U(0)/fit.U(1), -0.9304296, 6e-8)
	})
}

func TestColumnsThatDoNotDiffer(t *testing.T) {
	if _, err := LeastSquares([][]float64{constant(3), {2, 2, 2}}, []float64{1, 2, 3}, nil); err != ErrSingular {
		t.Errorf("err = %v, want ErrSingular", err)
	}
	if _, err := LeastSquares([][]float64{constant(1), {2}}, []float64{1}, nil); err != ErrSingular {
		t.Errorf("one point, two coefficients: err = %v, want ErrSingular", err)
	}
}

// JCGM 100:2008, H.2: resistance and impedance from correlated readings. Readings and printed results are from memory; that the one
// gives the other to the last printed digit speaks for both.
func TestGUMCorrelatedInputs(t *testing.T) {
	type readings struct {
		V   []float64
		I   []float64 `json:"I_A"`
		Phi []float64
	}
	type want struct {
		Z, R float64
		UZ   float64 `json:"u_Z"`
		UR   float64 `json:"u_R"`
		RVI  float64 `json:"r_VI"`
		RVP  float64 `json:"r_Vphi"`
		RIP  float64 `json:"r_Iphi"`
	}
	answers(t, "uncert-01", func(id string, in readings, w want) {
		v, i, phi := SampleOf(in.V), SampleOf(in.I), SampleOf(in.Phi)
		all := [][]float64{in.V, in.I, in.Phi}
		sums := []Sample{v, i, phi}
		r := func(a, b int) float64 { return correlation(all[a], all[b]) }
		u := make([]float64, 3)
		for k, s := range sums {
			u[k] = math.Sqrt(s.ofMean())
		}
		z := v.Mean / i.Mean
		near(t, id+" Z", z, w.Z, 0.005)
		near(t, id+" u(Z)", Combined([]float64{1 / i.Mean, -z / i.Mean}, u[:2], r), w.UZ, 0.0005)
		c := math.Cos(phi.Mean)
		near(t, id+" R", z*c, w.R, 0.0005)
		near(t, id+" u(R)", Combined([]float64{c / i.Mean, -z * c / i.Mean, -z * math.Sin(phi.Mean)}, u, r), w.UR, 0.0005)
		near(t, id+" r(V,I)", r(0, 1), w.RVI, 0.005)
		near(t, id+" r(V,phi)", r(0, 2), w.RVP, 0.005)
		near(t, id+" r(I,phi)", r(1, 2), w.RIP, 0.005)
	})
}

func correlation(x, y []float64) float64 {
	a, b := SampleOf(x), SampleOf(y)
	s := 0.0
	for i := range x {
		s += (x[i] - a.Mean) * (y[i] - b.Mean)
	}
	return s / float64(len(x)-1) / math.Sqrt(a.Var*b.Var)
}

// The cases of JCGM 101:2008, 9.2: four normal and four rectangular quantities added. That the guide takes these cases is from
// memory; the figures follow in closed form.
func TestSumsOfLawsKnownAnswers(t *testing.T) {
	type want struct{ U, Half95 float64 }
	for id, one := range map[string]Law{"uncert-02": NormalLaw(0, 1), "uncert-03": Rectangular(0, math.Sqrt(3))} {
		answers(t, id, func(id string, _ any, w want) {
			sum := Sum(one, one, one, one)
			_, sd := sum.Moments()
			near(t, id+" u", sd, w.U, 1e-3)
			near(t, id+" half-width", sum.Estimate().High, w.Half95, 2e-3)
		})
	}
	answers(t, "uncert-04", func(id string, in struct{ A float64 }, w want) {
		near(t, id, Rect(in.A), w.U, 1e-9*w.U)
	})
}

// Four equal rectangular quantities in closed form (Irwin and Hall, 1927): their sum, scaled to 0 to 4, lies below x < 1 with
// probability x^4/24, so 2.5 % stand at 0.6^(1/4).
func TestSumOfRectanglesInClosedForm(t *testing.T) {
	one := Rectangular(0, 0.5)
	near(t, "2.5 % point", Sum(one, one, one, one).Quantile(0.025), math.Pow(0.6, 0.25)-2, 5e-4)
}

func TestToleranceFactorKnownAnswers(t *testing.T) {
	answers(t, "tol", func(id string, in struct{ N []int }, w struct{ K []float64 }) {
		for i, n := range in.N {
			near(t, id, ToleranceFactor(n), w.K[i], 1e-3)
		}
	})
}

func TestCensoredLivesKnownAnswers(t *testing.T) {
	type limits struct{ Lo, Hi []*float64 }
	type want struct {
		Median float64 `json:"median_h"`
		SD     float64 `json:"sd_ln"`
	}
	answers(t, "cens", func(id string, in limits, w want) {
		var lo, hi []float64
		for i := range in.Lo {
			lo, hi = append(lo, *in.Lo[i]), append(hi, math.Inf(1))
			if in.Hi[i] != nil {
				hi[i] = *in.Hi[i]
			}
		}
		mu, sigma, ok := LogNormal(lo, hi)
		if !ok {
			t.Fatal("no fit")
		}
		near(t, id+" median", math.Exp(mu), w.Median, 1e-4*w.Median)
		near(t, id+" sd", sigma, w.SD, 1e-4*w.SD)
	})
}

func TestLivesThatTellNoSpread(t *testing.T) {
	for name, in := range map[string][2][]float64{
		"one ended":             {{8, 9}, {8.1, math.Inf(1)}},
		"all could be the same": {{8, 8.1}, {8.5, 8.6}},
	} {
		if _, _, ok := LogNormal(in[0], in[1]); ok {
			t.Errorf("%s: a spread was claimed", name)
		}
	}
}
