package estimate

import (
	"math"
	"sort"
)

// A Law says how a quantity is spread: its cumulative distribution runs in straight lines through the points (X, P).
// X ascends and P rises from 0 to 1; two points of equal X make a step. The zero Law is unknown. An end of life known
// only to the interval between two beacons is no bell curve, so budgets are added as laws where its shape matters.
type Law struct{ X, P []float64 }

// Known tells whether l is a law at all.
func (l Law) Known() bool { return len(l.X) > 0 }

// ExactLaw is the law of a number without uncertainty.
func ExactLaw(v float64) Law { return Law{[]float64{v}, []float64{1}} }

// Rectangular is the law of a number that lies anywhere within half of mid (JCGM 100:2008, 4.3.7).
func Rectangular(mid, half float64) Law {
	if half <= 0 {
		return ExactLaw(mid)
	}
	return Law{[]float64{mid - half, mid + half}, []float64{0, 1}}
}

// NormalLaw is the normal law, cut at 5 standard deviations.
func NormalLaw(mean, sd float64) Law {
	return tabulate(mean, sd, 5, func(z float64) float64 { return normalBelow(z) })
}

// StudentLaw is the law of mean + scale t with df degrees of freedom, cut where one in 10,000 lies beyond on a side.
func StudentLaw(mean, scale, df float64) Law {
	if math.IsInf(df, 1) {
		return NormalLaw(mean, scale)
	}
	return tabulate(mean, scale, StudentQuantile(0.9999, df), func(t float64) float64 { return studentBelow(t, df) })
}

// tabulate turns a standardised distribution into a Law of 201 points between -reach and reach, close together where most
// of the chance lies.
func tabulate(mean, scale, reach float64, below func(float64) float64) Law {
	if scale <= 0 {
		return ExactLaw(mean)
	}
	const n = 200
	stretch := math.Asinh(reach)
	l := Law{make([]float64, n+1), make([]float64, n+1)}
	for i := range l.X {
		z := math.Sinh(stretch * (2*float64(i)/n - 1))
		l.X[i], l.P[i] = mean+scale*z, below(z)
	}
	l.P[0], l.P[n] = 0, 1
	return l
}

// LawOf spreads an estimate evenly on either side of its median, so that the quantiles at 2.5, 50 and 97.5 % are those
// of e. That is exact for a rectangular law and on the wide side for a bell curve. e must be sound and closed.
func LawOf(e Estimate) Law {
	if !e.Sound() || e.Open() {
		return Law{}
	}
	if e.Low == e.High {
		return ExactLaw(e.Best)
	}
	const reach = 0.5 / 0.475 // from the 2.5 % point out to the end of the half
	return Law{
		[]float64{e.Best - (e.Best-e.Low)*reach, e.Best, e.Best + (e.High-e.Best)*reach},
		[]float64{0, 0.5, 1},
	}
}

// Below gives the chance that the quantity is at most x.
func (l Law) Below(x float64) float64 {
	switch i := sort.Search(len(l.X), func(i int) bool { return l.X[i] > x }); {
	case len(l.X) == 0:
		return math.NaN()
	case i == 0:
		return 0
	case i == len(l.X):
		return 1
	default:
		return l.P[i-1] + (l.P[i]-l.P[i-1])*(x-l.X[i-1])/(l.X[i]-l.X[i-1])
	}
}

// Quantile gives the value that the quantity stays below with chance p.
func (l Law) Quantile(p float64) float64 {
	return l.quantileOf(p, func(x float64) float64 { return x })
}

// quantileOf is the quantile of f of the quantity, where f rises.
func (l Law) quantileOf(p float64, f func(float64) float64) float64 {
	n := len(l.X)
	i := sort.Search(n, func(i int) bool { return l.P[i] >= p })
	switch {
	case n == 0:
		return math.NaN()
	case i == 0:
		return f(l.X[0])
	case i == n:
		return f(l.X[n-1])
	case l.P[i] == l.P[i-1]:
		return f(l.X[i])
	}
	low := f(l.X[i-1])
	return low + (f(l.X[i])-low)*(p-l.P[i-1])/(l.P[i]-l.P[i-1])
}

// Estimate gives the median and the 95 % limits; unknown where these are beyond all numbers.
func (l Law) Estimate() Estimate { return l.estimateOf(func(x float64) float64 { return x }) }

// ExpEstimate is Exp().Estimate(), without the exponentials that the limits do not ask for.
func (l Law) ExpEstimate() Estimate { return l.refined().estimateOf(math.Exp) }

func (l Law) estimateOf(f func(float64) float64) Estimate {
	if e := Of(l.quantileOf(0.025, f), l.quantileOf(0.5, f), l.quantileOf(0.975, f)); e.Sound() {
		return e
	}
	return Unknown
}

// Moments gives the mean and the standard deviation.
func (l Law) Moments() (mean, sd float64) {
	if !l.Known() {
		return math.NaN(), math.NaN()
	}
	at := l.X[0] // moments are taken about a point inside, which keeps the digits of a narrow law
	m1, m2 := 0.0, 0.0
	for i := 1; i < len(l.X); i++ {
		w, a, b := l.P[i]-l.P[i-1], l.X[i-1]-at, l.X[i]-at
		m1 += w * (a + b) / 2
		m2 += w * (a*a + a*b + b*b) / 3
	}
	return at + m1, math.Sqrt(max(0, m2-m1*m1))
}

// Map gives the law of f of the quantity; f must rise. Between its points, of which there are enough for any f that bends
// gently, the new law is straight again.
func (l Law) Map(f func(float64) float64) Law {
	l = l.refined()
	out := Law{make([]float64, len(l.X)), l.P}
	for i, x := range l.X {
		out.X[i] = f(x)
	}
	return out
}

// refined puts further points on the straight pieces of a law that has few.
func (l Law) refined() Law {
	const fine = 48
	pieces := len(l.X) - 1
	if pieces < 1 || pieces >= fine {
		return l
	}
	k := (fine + pieces - 1) / pieces
	out := Law{[]float64{l.X[0]}, []float64{l.P[0]}}
	for i := 1; i <= pieces; i++ {
		for j := 1; j <= k; j++ {
			t := float64(j) / float64(k)
			out.X = append(out.X, l.X[i-1]+t*(l.X[i]-l.X[i-1]))
			out.P = append(out.P, l.P[i-1]+t*(l.P[i]-l.P[i-1]))
		}
	}
	return out
}

// Log gives the law of the logarithm; unknown where the quantity could be 0 or less.
func (l Law) Log() Law {
	if !l.Known() || !(l.X[0] > 0) {
		return Law{}
	}
	return l.Map(math.Log)
}

// Exp gives the law of the exponential.
func (l Law) Exp() Law { return l.Map(math.Exp) }

// Plus gives the law of the quantity moved by d.
func (l Law) Plus(d float64) Law {
	if d == 0 {
		return l
	}
	out := Law{make([]float64, len(l.X)), l.P}
	for i, x := range l.X {
		out.X[i] = x + d
	}
	return out
}

// Times gives the law of f times the quantity; f may be negative.
func (l Law) Times(f float64) Law {
	n := len(l.X)
	if f == 1 {
		return l
	}
	out := Law{make([]float64, n), make([]float64, n)}
	for i, x := range l.X {
		out.X[i], out.P[i] = f*x, l.P[i]
	}
	if f < 0 && n > 1 {
		for i := range out.X {
			out.X[i], out.P[i] = f*l.X[n-1-i], 1-l.P[n-1-i]
		}
	}
	return out
}

// Sum gives the law of a sum of independent quantities. It is unknown if one of them is.
func Sum(laws ...Law) Law {
	total := ExactLaw(0)
	for _, l := range laws {
		total = convolve(total, l)
	}
	return total
}

// cells is into how many steps the width of a sum is cut.
const cells = 800

// convolve adds two laws on one grid: the masses of both in steps of h, each pair of masses in the middle of its steps. The
// grid moves the mean by a part of a step, which is put right.
func convolve(a, b Law) Law {
	if !a.Known() || !b.Known() {
		return Law{}
	}
	if len(a.X) == 1 {
		return b.Plus(a.X[0])
	}
	if len(b.X) == 1 {
		return a.Plus(b.X[0])
	}
	h := (a.width() + b.width()) / cells
	if h <= 0 {
		return ExactLaw(a.X[0] + b.X[0])
	}
	var room [2*cells + 40]float64 // kept off the heap: sums are most of what an edit would leave to be collected
	na, nb := a.steps(h), b.steps(h)
	ma, mb, m := room[:fours(na)], room[fours(na):fours(na)+fours(nb+3)], room[fours(na)+fours(nb+3):]
	a.masses(h, ma[:na])
	b.masses(h, mb[:nb])
	fold(ma, mb, m)
	sum := accumulate(m[:na+nb-1], a.X[0]+b.X[0], h)
	meanA, _ := a.Moments()
	meanB, _ := b.Moments()
	mean, _ := sum.Moments()
	for i := range sum.X {
		sum.X[i] += meanA + meanB - mean
	}
	return sum
}

// fold adds the masses of a sum to m, which is empty. The lengths of a and b are multiples of four, and b ends in three zeros or
// more. Hot: most of a comparison's time goes here, so four masses of a are folded in at one walk over b, four of them a step, in the
// order in which one after the other would be: in WebAssembly made from Go a turn of a loop is as dear as several sums.
func fold(a, b, m []float64) {
	for i := 0; i < len(a); i += 4 {
		p := (*[4]float64)(a[i:])
		p0, p1, p2, p3 := p[0], p[1], p[2], p[3]
		var before1, before2, before3 float64 // the masses of b before q, the nearest first
		for j := 0; j < len(b); j += 4 {
			q, sum := (*[4]float64)(b[j:]), (*[4]float64)(m[i+j:])
			q0, q1, q2, q3 := q[0], q[1], q[2], q[3]
			sum[0] = sum[0] + p0*q0 + p1*before1 + p2*before2 + p3*before3
			sum[1] = sum[1] + p0*q1 + p1*q0 + p2*before1 + p3*before2
			sum[2] = sum[2] + p0*q2 + p1*q1 + p2*q0 + p3*before1
			sum[3] = sum[3] + p0*q3 + p1*q2 + p2*q1 + p3*q0
			before1, before2, before3 = q3, q2, q1
		}
	}
}

// fours rounds a length up to a multiple of four.
func fours(n int) int { return (n + 3) &^ 3 }

func (l Law) width() float64 { return l.X[len(l.X)-1] - l.X[0] }

// steps gives how many steps of width h a law takes.
func (l Law) steps(h float64) int { return max(1, int(math.Ceil(l.width()/h-1e-9))) }

// masses gives the chance of each step of width h, from the first point on. Hot: it walks along the points, where Below would look for
// each; with the slices at hand a step takes half as long.
func (l Law) masses(h float64, m []float64) {
	x, p := l.X, l.P
	before, piece := 0.0, 1 // the first point beyond the step, of two at least
	last := len(m) - 1
	for i := range m[:last] {
		end := x[0] + float64(i+1)*h
		for piece < len(x) && x[piece] <= end {
			piece++
		}
		next := 1.0
		if piece < len(x) {
			next = p[piece-1] + (p[piece]-p[piece-1])*(end-x[piece-1])/(x[piece]-x[piece-1])
		}
		m[i], before = next-before, next
	}
	m[last] = 1 - before
}

// accumulate makes a law of masses whose i-th stands at from + (i+1) h and reaches h to both sides.
func accumulate(m []float64, from, h float64) Law {
	l := Law{make([]float64, len(m)+2), make([]float64, len(m)+2)}
	l.X[0] = from
	sum := 0.0
	for i, p := range m {
		l.X[i+1], l.P[i+1] = from+float64(i+1)*h, sum+p/2
		sum += p
	}
	l.X[len(m)+1], l.P[len(m)+1] = from+float64(len(m)+1)*h, 1
	return l
}
