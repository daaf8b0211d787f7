package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestLawKeepsItsQuantiles(t *testing.T) {
	e := Of(2, 3, 7)
	l := LawOf(e)
	got := l.Estimate()
	near(t, "low", got.Low, 2, 1e-12)
	near(t, "best", got.Best, 3, 1e-12)
	near(t, "high", got.High, 7, 1e-12)
	for _, p := range []float64{0.01, 0.3, 0.5, 0.9} {
		near(t, "below its quantile", l.Below(l.Quantile(p)), p, 1e-12)
	}
}

func TestEstimateOfTheExponential(t *testing.T) {
	for _, l := range []Law{NormalLaw(0.4, 0.1), Rectangular(1, 0.3), ExactLaw(2), Sum(Rectangular(0, 1), NormalLaw(0, 0.3)), {}, Rectangular(900, 300)} {
		if got, want := l.ExpEstimate(), l.Exp().Estimate(); got != want {
			t.Errorf("%v, by way of the law %v", got, want)
		}
	}
}

// Masses are folded four at a time: laws of few and of many steps add as their means do, and never beyond their widths.
func TestSumsOfUnlikeWidths(t *testing.T) {
	for _, wide := range []float64{1, 2, 3, 5, 50, 1000} {
		got := Sum(Rectangular(3, wide), Rectangular(-1, 1))
		mean, sd := got.Moments()
		near(t, "mean", mean, 2, 1e-9)
		near(t, "sd", sd, math.Sqrt((wide*wide+1)/3), 0.004*wide)
		near(t, "width", got.width(), 2*wide+2, 0.01*(wide+1))
	}
}

func TestLawOfAnOpenNumberIsUnknown(t *testing.T) {
	if LawOf(AtLeast(3)).Known() || LawOf(Unknown).Known() || Sum(ExactLaw(1), Law{}).Known() {
		t.Error("a law was made of what is not known")
	}
}

func TestMoments(t *testing.T) {
	for _, c := range []struct {
		name     string
		l        Law
		mean, sd float64
	}{
		{"rectangular", Rectangular(5, 3), 5, math.Sqrt(3)},
		{"normal", NormalLaw(-2, 0.5), -2, 0.5},
		{"Student with 10 degrees of freedom", StudentLaw(1, 2, 10), 1, 2 * math.Sqrt(10.0/8)},
		{"turned round and doubled", Rectangular(5, 3).Times(-2), -10, 2 * math.Sqrt(3)},
		{"exact", ExactLaw(4), 4, 0},
	} {
		mean, sd := c.l.Moments()
		near(t, c.name+" mean", mean, c.mean, 1e-9)
		near(t, c.name+" sd", sd, c.sd, 0.004*c.sd+1e-12)
	}
}

// A run time whose end lies between two beacons is skewed; dividing a rectangular capacity by it is the budget at its
// worst. A million seeded draws (JCGM 101:2008) must agree with the sum of laws.
func TestSkewedBudgetAgreesWithMonteCarlo(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	hours, capacity := LawOf(Of(10, 10.4, 12)), Rectangular(2000, 200)
	draws := make([]float64, 1_000_000)
	for i := range draws {
		draws[i] = capacity.Quantile(r.Float64()) / hours.Quantile(r.Float64()) * math.Exp(0.01*r.NormFloat64())
	}
	slices.Sort(draws)
	got := Sum(capacity.Log(), hours.Log().Times(-1), NormalLaw(0, 0.01)).Exp().Estimate()
	for _, c := range []struct{ p, got float64 }{{0.025, got.Low}, {0.5, got.Best}, {0.975, got.High}} {
		near(t, "mA", c.got, draws[int(c.p*float64(len(draws)))], 0.3)
	}
}

func TestHolm(t *testing.T) {
	// Worked by hand: 0.01 <= 0.05/4, 0.015 <= 0.05/3, 0.03 > 0.05/2, and then nothing more stands.
	got := Holm([]float64{0.03, 0.01, 0.015, 0.04}, 0.05)
	if !slices.Equal(got, []bool{false, true, true, false}) {
		t.Errorf("got %v", got)
	}
	if stands := Holm([]float64{math.NaN(), 0.001}, 0.05); stands[0] {
		t.Error("an unknown chance stands")
	}
}
