package compare

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// drawVerdict says which unit draws more, and fills in the comparison at one transmit rate.
func drawVerdict(groups []group, all group, c *Comparison) Verdict {
	raw, ok := drawRatio(groups)
	if !ok {
		return all.undrawn()
	}
	all = all.drawn()
	v, r := c.judged(raw, all)
	v.RunsA, v.RunsB, v.Tests = len(all.a), len(all.b), len(groups)
	if v.settle(all, r); v.Code == CannotRank {
		v.Splits = c.SplitsWanted()
	}
	return v
}

// judged fills in the comparison at one transmit rate, brings a ratio of draws to the level that the conditions ask for, and
// judges it there.
func (c *Comparison) judged(raw ratio, g group) (Verdict, ratio) {
	c.AtOneRate = atOneRate(raw, g, c.RateA, c.RateB)
	r, lev := raw, levelOf(c)
	if m, ok := lev.moves(g, c.RateA, c.RateB); ok {
		r = raw.plus(m.law())
	} else {
		lev = level{}
	}
	v := r.verdict(ADrawsMore, BDrawsMore)
	v.Ratio, v.Judged = raw.estimate(), v.Ratio // the ratio stated is the one as the units were set up
	v.EqualRate, v.EqualAir = lev.rate, lev.air
	v.describe(g)
	v.JudgedA, v.JudgedB = lev.values(g, c.RateA, c.RateB, v.A, v.B)
	return v, r
}

// settle takes a verdict on draw back where the conditions forbid one, and finds equality within a margin that was stated before.
func (v *Verdict) settle(g group, r ratio) {
	switch {
	case len(g.mismatches) > 0 || len(g.unknowns) >= 2:
		v.Code, v.Reason = CannotRank, "conditions"
		v.Mismatches, v.Unknowns = g.mismatches, g.unknowns
	case v.Code == NoDifferenceShown && statedBefore(g.set, g.a, g.b) && r.within(g.set.Margin):
		v.Code, v.Margin = SameWithinMargin, g.set.Margin
	}
}

// describe adds what the verdict rests on.
func (v *Verdict) describe(g group) {
	v.SamePack = samePacks(g)
	v.Exchanged = v.SamePack && len(packsOf(g.a)) > 1
	v.OneMeter = !v.SamePack && cancels(shares(g))
	v.Energy = g.energy()
	v.A, v.B = meanDraw(g.a, v.Energy), meanDraw(g.b, v.Energy)
	inferred := g.any(func(r *Run) bool { return r.Draw.Charge.Inferred })
	v.Inferred, v.AsStated = inferred && !v.SamePack, inferred && v.SamePack
}

// undrawn is the verdict where there is no draw ratio.
func (g group) undrawn() Verdict {
	v := Verdict{Code: CannotRank, Reason: "no_charge", P: 1, Mismatches: g.mismatches, Unknowns: g.unknowns, RunsA: len(g.a), RunsB: len(g.b)}
	v.WhyA, v.WhyB = whyUndrawn(g.a), whyUndrawn(g.b)
	if len(g.a) == 0 || len(g.b) == 0 {
		v.Reason = "no_run"
	}
	d := g.drawn()
	v.Energy = d.energy()
	v.A, v.B = meanDraw(d.a, v.Energy), meanDraw(d.b, v.Energy)
	return v
}

// whyUndrawn gives the code of the draw why none of the runs tells a mean current; "" where one does.
func whyUndrawn(runs []Run) (why string) {
	for _, r := range runs {
		if r.Draw.Refused == "" {
			return ""
		}
		why = cmp.Or(why, r.Draw.Refused)
	}
	return why
}

// statedBefore tells whether the margin was stated before the first of all runs.
func statedBefore(set Settings, a, b []Run) bool {
	if !set.Stated.Known() {
		return false
	}
	return !group{a: a, b: b}.any(func(r *Run) bool { return !r.Facts.Start.Known() || r.Facts.Start < set.Stated })
}

// any tells whether something is true of a run of either unit.
func (g group) any(is func(*Run) bool) bool {
	for _, runs := range [...][]Run{g.a, g.b} {
		for i := range runs {
			if is(&runs[i]) {
				return true
			}
		}
	}
	return false
}

func drawRatio(groups []group) (ratio, bool) {
	var rs []ratio
	for _, g := range groups {
		if r, ok := g.drew(); ok {
			rs = append(rs, r)
		}
	}
	return pool(rs)
}

// drawRatio gives the ratio of mean draws in one test: ln I = ln C - ln T for each run, the error of each pack's capacity
// once, with the weight that its runs leave when those of both units are set against each other; so does that of an instrument
// that measured charges. One pack in both units, or packs exchanged between them, leave none, and then no capacity is needed.
func (g group) drawRatio() (ratio, bool) {
	common := shares(g)
	known := charges(g.a) && charges(g.b)
	if len(g.a) == 0 || len(g.b) == 0 || !known && !cancels(common) {
		return ratio{}, false
	}
	if !known || samePacks(g) { // then capacities add nothing, and what the packs differ by is no scatter of the units
		known, g = false, g.withoutPacks()
	}
	r := between(ended(logDraws(g.a, known, g.energy())), ended(logDraws(g.b, known, g.energy())), g.set.CV, capacityError(common))
	if g.any(func(r *Run) bool { return !r.Draw.Charge.Own }) {
		r = r.plus(draw.LoadEffect(math.Exp(r.law.Quantile(0.5))))
	}
	return r.plus(g.voltageError()), true
}

// voltageError gives what the nominal voltages leave open where powers are compared: each unit's errs for itself.
func (g group) voltageError() estimate.Law {
	if !g.energy() {
		return estimate.ExactLaw(0)
	}
	one := draw.VoltageEffect()
	return estimate.Sum(one, one.Times(-1))
}

// drawn keeps the runs that tell a draw: those that ended, or whose own charge was measured; of these the ones whose charge is
// known, unless both units have none or the packs cancel.
func (g group) drawn() group {
	tells := func(r *Run) bool { return r.Draw.TimeLaw.Known() && r.Draw.TimeLaw.X[0] > 0 }
	charged := func(r *Run) bool { return r.Draw.Charge.MAh.Known }
	g.a, g.b = kept(g.a, tells), kept(g.b, tells)
	if a, b := kept(g.a, charged), kept(g.b, charged); len(a) > 0 && len(b) > 0 && !cancels(shares(g)) {
		g.a, g.b = a, b
	}
	return g
}

// kept gives the runs of which something is true. Hot: those that stand together, as most do, are not copied but share the room of runs.
func kept(runs []Run, is func(*Run) bool) []Run {
	from := 0
	for from < len(runs) && !is(&runs[from]) {
		from++
	}
	to := from
	for to < len(runs) && is(&runs[to]) {
		to++
	}
	out := runs[from:to:to]
	for i := to; i < len(runs); i++ {
		if is(&runs[i]) {
			out = append(out, runs[i])
		}
	}
	return out
}

// charges tells whether the charge of every run is known.
func charges(runs []Run) bool {
	for _, r := range runs {
		if !r.Draw.Charge.MAh.Known {
			return false
		}
	}
	return len(runs) > 0
}

// logDraws gives the laws of the logarithm of each run's draw without its capacity's error.
func logDraws(runs []Run, charged, energy bool) (laws []estimate.Law) {
	for _, r := range runs {
		ln := 0.0
		if charged {
			ln = math.Log(r.Draw.Charge.Law.Quantile(0.5))
		}
		if energy {
			ln += math.Log(r.Draw.Volts)
		}
		laws = append(laws, r.Draw.TimeLaw.Log().Times(-1).Plus(ln))
	}
	return laws
}

func ended(laws []estimate.Law) side { return side{laws, len(laws)} }

// centred gives the law of the logarithm of a charge over its median.
func centred(l estimate.Law) estimate.Law { return l.Times(1 / l.Quantile(0.5)).Log() }

// A share is what is left of one common error when the runs of both units are set against each other: its share of a's runs
// less its share of b's. What errs is a pack's capacity, or the instrument that measured the charge of single runs.
type share struct {
	of    string
	net   float64
	meter bool
	law   estimate.Law // unknown when the pack's capacity is
}

// shares adds up the common errors of both units.
func shares(g group) []share {
	return merged(sharesOf(g.a, 1, "a"), sharesOf(g.b, -1, "b"))
}

// sharesOf gives the common errors of a unit's runs, each by its part of a weight. Packs that nobody named are all different. An
// instrument that nobody named is one for all runs of a unit and another for the other unit: that neither cancels nor shrinks.
func sharesOf(runs []Run, weight float64, unit string) (all []share) {
	for i, r := range runs {
		of := r.Draw.Charge.ErrsWith(r.Pack)
		switch own := r.Draw.Charge.Own; {
		case of == "" && own:
			of = "\x00" + unit + string(r.Draw.Charge.Basis)
		case of == "":
			of = "\x00" + unit + strconv.Itoa(i)
		}
		all = merged(all, []share{{of: of, net: weight / float64(len(runs)), law: r.Draw.Charge.Law, meter: r.Draw.Charge.Own}})
	}
	return all
}

// merged adds up the shares of one error.
func merged(all, more []share) []share {
	for _, s := range more {
		if at := slices.IndexFunc(all, func(o share) bool { return o.of == s.of }); at >= 0 {
			all[at].net += s.net
		} else {
			all = append(all, s)
		}
	}
	return all
}

func (s share) left() bool { return math.Abs(s.net) > 1e-9 }

// cancels tells whether no common error is left.
func cancels(all []share) bool { return len(all) > 0 && !slices.ContainsFunc(all, share.left) }

// samePacks tells whether the runs cancel because the same packs fed both units.
func samePacks(g group) bool {
	all := shares(g)
	return cancels(all) && !slices.ContainsFunc(all, func(s share) bool { return s.meter })
}

// capacityError adds up what packs and instruments leave.
func capacityError(shares []share) estimate.Law {
	sum := estimate.ExactLaw(0)
	for _, s := range shares {
		if s.left() && s.law.Known() {
			sum = estimate.Sum(sum, centred(s.law).Times(s.net))
		}
	}
	return sum
}

// voltageClass is how far the voltages of two packs may differ before powers are compared in place of currents.
const voltageClass = 0.05

// energy tells whether the packs belong to different voltage classes, so that powers are compared.
func (g group) energy() bool {
	low, high := math.Inf(1), 0.0
	for _, runs := range [...][]Run{g.a, g.b} {
		for i := range runs {
			low, high = min(low, runs[i].Draw.Volts), max(high, runs[i].Draw.Volts)
		}
	}
	return low > 0 && high/low > 1+voltageClass
}

// volts gives the mean voltage of each unit where powers are compared, else 1 for both.
func (g group) volts() (a, b float64) {
	if !g.energy() {
		return 1, 1
	}
	mean := func(runs []Run) (v float64) {
		for _, r := range runs {
			v += r.Draw.Volts / float64(len(runs))
		}
		return v
	}
	return mean(g.a), mean(g.b)
}

// meanDraw gives the mean draw of the runs in mA, or in mW.
func meanDraw(runs []Run, power bool) estimate.Estimate {
	sum := estimate.Estimate{Known: len(runs) > 0}
	for _, r := range runs {
		e := r.Draw.MeanMA
		if power {
			e = r.Draw.MeanMW
		}
		if !e.Sound() {
			return estimate.Unknown
		}
		n := float64(len(runs))
		sum.Low, sum.Best, sum.High = sum.Low+e.Low/n, sum.Best+e.Best/n, sum.High+e.High/n
	}
	return sum
}

// meanRate gives the mean transmit rate of the runs per hour.
func meanRate(runs []Run) estimate.Estimate {
	n := float64(len(runs))
	sum := estimate.Estimate{Known: len(runs) > 0}
	for _, r := range runs {
		if !r.Rate.Sound() || r.Rate.Low < 0 || r.Rate.Open() {
			return estimate.Unknown
		}
		sum.Low, sum.Best, sum.High = sum.Low+r.Rate.Low/n, sum.Best+r.Rate.Best/n, sum.High+r.Rate.High/n
	}
	return sum
}

// over gives the ratio of two rates. Their limits are those of the interval in which a unit fell silent, and a unit may
// always do so at the same end of it, so they do not add like errors of chance.
func over(a, b estimate.Estimate) estimate.Estimate {
	if !a.Positive() || !b.Positive() {
		return estimate.Unknown
	}
	return estimate.Of(a.Low/b.High, a.Best/b.Best, a.High/b.Low)
}

// explained gives what the difference in transmit rates makes of the difference in draw, a less b, by the charge per beacon of
// the units that have one: in mA, or in mW where powers are compared.
func (g group) explained(ra, rb estimate.Estimate) estimate.Estimate {
	if !ra.Known || !rb.Known {
		return estimate.Unknown
	}
	q, u, n := 0.0, 0.0, 0.0
	va, vb := g.volts()
	for _, side := range []struct {
		split draw.Split
		volts float64
	}{{g.splitA, va}, {g.splitB, vb}} {
		if s := side.split; s.Resolved {
			q, u, n = q+s.Beacon*side.volts, math.Hypot(u, side.volts*half(s.MAhPerBeacon)/estimate.Z), n+1
		}
	}
	if n == 0 {
		return estimate.Unknown
	}
	q, u = q/n, u/n
	dr, udr := ra.Best-rb.Best, math.Hypot(half(ra), half(rb))/estimate.Z
	return estimate.About(q*dr, math.Hypot(u*dr, q*udr))
}

func half(e estimate.Estimate) float64 { return (e.High - e.Low) / 2 }
