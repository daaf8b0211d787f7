package estimate

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Fit is a weighted least-squares fit of coefficients: their values and covariance for weights that are 1/u², the sum
// of weighted squared residuals and its degrees of freedom.
type Fit struct {
	Coef []float64
	Cov  [][]float64
	Chi2 float64
	DF   int
}

// ErrSingular says that the columns do not tell the coefficients apart.
var ErrSingular = errors.New("the columns of the fit do not differ enough")

// LeastSquares fits y to the sum of coefficients times columns, with weights w (nil: all 1). The columns are made
// orthogonal twice over (modified Gram-Schmidt), which keeps nine digits on the reference sets of NIST.
func LeastSquares(columns [][]float64, y, w []float64) (Fit, error) {
	k, n := len(columns), len(y)
	if k == 0 || n < k {
		return Fit{}, ErrSingular
	}
	q := make([][]float64, k)
	for j, c := range columns {
		q[j] = weighted(c, w)
	}
	r, ok := orthogonalise(q)
	if !ok {
		return Fit{}, ErrSingular
	}
	rest := weighted(y, w)
	proj := make([]float64, k)
	for range 2 { // the second pass takes up what rounding left
		for j := range q {
			d := dot(q[j], rest)
			proj[j] += d
			subtract(rest, q[j], d)
		}
	}
	inv := invertUpper(r)
	f := Fit{Coef: make([]float64, k), Cov: make([][]float64, k), Chi2: dot(rest, rest), DF: n - k}
	for i := range k {
		f.Cov[i] = make([]float64, k)
		for j := range k {
			f.Coef[i] += inv[i][j] * proj[j]
			f.Cov[i][j] = dot(inv[i], inv[j])
		}
	}
	return f, nil
}

// Scaled gives the fit with its covariance widened by the scatter that the residuals show. Without residual degrees of
// freedom nothing changes.
func (f Fit) Scaled(s2 float64) Fit {
	out := f
	out.Cov = make([][]float64, len(f.Cov))
	for i, row := range f.Cov {
		out.Cov[i] = make([]float64, len(row))
		for j, v := range row {
			out.Cov[i][j] = v * s2
		}
	}
	return out
}

// Residual gives the variance of the residuals, for weights of 1; NaN without degrees of freedom.
func (f Fit) Residual() float64 { return f.Chi2 / float64(f.DF) }

// Scatters tells whether the residuals are larger than weights of 1/u² explain, which would happen by chance in 5 of 100.
func (f Fit) Scatters() bool {
	return f.DF > 0 && f.Chi2 > distuv.ChiSquared{K: float64(f.DF)}.Quantile(0.95)
}

// U gives the standard uncertainty of coefficient i.
func (f Fit) U(i int) float64 { return math.Sqrt(f.Cov[i][i]) }

// At gives the fitted value for one row of the columns and its standard uncertainty, correlation carried.
func (f Fit) At(row ...float64) (value, u float64) {
	v := 0.0
	for i, a := range row {
		value += a * f.Coef[i]
		for j, b := range row {
			v += a * b * f.Cov[i][j]
		}
	}
	return value, math.Sqrt(max(0, v))
}

// orthogonalise replaces q by orthonormal columns and gives the upper triangle that leads back.
func orthogonalise(q [][]float64) (r [][]float64, ok bool) {
	r = make([][]float64, len(q))
	for j := range q {
		r[j] = make([]float64, len(q))
	}
	for j := range q {
		size := math.Sqrt(dot(q[j], q[j]))
		for range 2 {
			for i := range j {
				d := dot(q[i], q[j])
				r[i][j] += d
				subtract(q[j], q[i], d)
			}
		}
		left := math.Sqrt(dot(q[j], q[j]))
		if !(left > 1e-10*size) {
			return nil, false
		}
		r[j][j] = left
		for i := range q[j] {
			q[j][i] /= left
		}
	}
	return r, true
}

func invertUpper(r [][]float64) [][]float64 {
	k := len(r)
	inv := make([][]float64, k)
	for i := range inv {
		inv[i] = make([]float64, k)
	}
	for j := range k {
		inv[j][j] = 1 / r[j][j]
		for i := j - 1; i >= 0; i-- {
			s := 0.0
			for m := i + 1; m <= j; m++ {
				s += r[i][m] * inv[m][j]
			}
			inv[i][j] = -s / r[i][i]
		}
	}
	return inv
}

func weight(w []float64, i int) float64 {
	if w == nil {
		return 1
	}
	return w[i]
}

func weighted(x, w []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * math.Sqrt(weight(w, i))
	}
	return out
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

func subtract(a, b []float64, f float64) {
	for i := range a {
		a[i] -= f * b[i]
	}
}
