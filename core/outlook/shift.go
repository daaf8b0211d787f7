package outlook

import (
	"math"

	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// A Life is one run time of one specimen, in seconds; an open one counts as still running.
type Life struct {
	Unit string
	Time estimate.Estimate
}

// A Shift is what is asked of further units of a kind. Spread is the relative spread between specimens to assume while
// fewer than three were tested; 0 means draw.SpecimenSpread.
type Shift struct {
	Seconds float64
	Reserve float64 // share of the shift to be left over, 0.2 for 20 %
	Spread  float64
	Units   int // how many go out
}

// A ShiftAnswer says how long 95 % of further units last, and what that means for the shift.
type ShiftAnswer struct {
	Projection
	Reach      float64 // s that 95 % of further units of this kind reach
	Tolerance  float64 // s that 95 % of all units reach with 95 % confidence; NaN below three specimens
	Need       float64 // s: shift and reserve
	Specimens  int
	SparePacks int     // for all units together, 0 when one charge lasts
	Chance     float64 // that one further unit lasts the need
	ShortestS  float64 // the shortest interval in seconds that lasts the need: 0 not known, NaN none does
}

// Lasts answers a shift. It is a prediction for single further units, not the limit of a mean: three runs of 12.1, 12.6 and
// 12.3 h promise 11.5 h, not 11.9.
func Lasts(lives []Life, s Shift) ShiftAnswer {
	all := perSpecimen(lives)
	a := ShiftAnswer{Projection: Projection{Kind: "shift", Of: ItsKind}, Need: s.Seconds * (1 + s.Reserve), Specimens: len(all)}
	if len(all) == 0 {
		a.Refused = "no_run"
		return a
	}
	law, tolerance := predict(all, s.spread())
	if _, sd, n := scatter(all); n >= enough {
		a.Spread = sd
	} else {
		a.Assumed, a.Spread = true, s.spread()
	}
	a.Runtime = law.ExpEstimate()
	a.Reach, a.Tolerance = math.Exp(law.Quantile(0.05)), tolerance
	if a.Need > 0 {
		a.Chance = 1 - law.Below(math.Log(a.Need))
		a.SparePacks = s.Units * (int(math.Ceil(a.Need/a.Reach-1e-9)) - 1)
	}
	return a
}

// enough is the number of specimens from which their own scatter is believed.
const enough = 3

func (s Shift) spread() float64 {
	if s.Spread > 0 {
		return s.Spread
	}
	return draw.SpecimenSpread
}

// A specimen is what its run times say of it: the law of the mean logarithm, and the limits between which it lies; high is
// +Inf while one of its runs has no end.
type specimen struct {
	law       estimate.Law
	low, high float64
}

// perSpecimen sums up each specimen's run times, in order of first mention. In its law an open run counts with what it has
// lasted so far, which can only make the answer shorter.
func perSpecimen(lives []Life) []specimen {
	var names []string
	runs := map[string][]estimate.Estimate{}
	for _, l := range lives {
		if !l.Time.Known || !(l.Time.Low > 0) {
			continue
		}
		if runs[l.Unit] == nil {
			names = append(names, l.Unit)
		}
		runs[l.Unit] = append(runs[l.Unit], l.Time)
	}
	out := make([]specimen, len(names))
	for i, name := range names {
		out[i] = newSpecimen(runs[name])
	}
	return out
}

func newSpecimen(runs []estimate.Estimate) specimen {
	var laws []estimate.Law
	n := 1 / float64(len(runs))
	open := false
	for _, t := range runs {
		law := estimate.ExactLaw(math.Log(t.Low))
		if open = open || t.Open(); !t.Open() {
			law = estimate.LawOf(estimate.Of(math.Log(t.Low), math.Log(t.Best), math.Log(t.High)))
		}
		laws = append(laws, law.Times(n))
	}
	s := specimen{law: estimate.Sum(laws...)}
	s.low, s.high = math.Exp(s.law.Quantile(0.025)), math.Exp(s.law.Quantile(0.975))
	if open {
		s.high = math.Inf(1)
	}
	return s
}

// scatter gives the mean and standard deviation of the specimens' logarithms and how many of them tell it. Those still
// running enter as lasting longer than so far, not as ended.
func scatter(all []specimen) (mean, sd float64, n int) {
	var low, high, means []float64
	for _, s := range all {
		low, high = append(low, s.low), append(high, s.high)
		if !math.IsInf(s.high, 1) {
			m, _ := s.law.Moments()
			means = append(means, m)
		}
	}
	n = len(means)
	if n < len(all) {
		if mu, sigma, ok := estimate.LogNormal(low, high); ok {
			return mu, sigma * math.Sqrt(float64(n)/float64(n-1)), n
		}
	}
	s := estimate.SampleOf(means)
	return s.Mean, math.Sqrt(s.Var), n
}

// predict gives the law of the logarithm of one further specimen's life, and the tolerance limit in seconds.
func predict(all []specimen, spread float64) (law estimate.Law, tolerance float64) {
	if mean, sd, n := scatter(all); n >= enough {
		return further(mean, sd, n), math.Exp(mean - estimate.ToleranceFactor(n)*sd)
	}
	n := float64(len(all))
	laws := []estimate.Law{estimate.NormalLaw(0, spread*math.Sqrt(1+1/n))}
	for _, s := range all {
		laws = append(laws, s.law.Times(1/n))
	}
	return estimate.Sum(laws...), math.NaN()
}

// further gives the law of one more value after n with a mean and standard deviation.
func further(mean, sd float64, n int) estimate.Law {
	return estimate.StudentLaw(mean, sd*math.Sqrt(1+1/float64(n)), float64(n-1))
}

// ShortestInterval gives the shortest interval in seconds at which a unit that reaches `reach` seconds at its rate per hour
// would still last `need`; ok is false when it would not last even without beacons.
func ShortestInterval(s draw.Split, perHour, reach, need float64) (intervalS float64, ok bool) {
	if !s.Resolved || !(need > 0) {
		return 0, false
	}
	now, _ := s.MA(perHour)
	rate := (now*reach/need - s.Idle) / s.Beacon
	if !(rate > 0) {
		return 0, false
	}
	return 3600 / rate, true
}

// AtRate gives by what factor a unit's life changes when its rate of beacons per hour goes from one to another.
func AtRate(s draw.Split, from, to float64) (factor float64, ok bool) {
	now, _ := s.MA(from)
	then, _ := s.MA(to)
	return now / then, s.Resolved && then > 0
}

// WithVoice gives by what factor a unit's life changes with voice overs of so many seconds, so many an hour, at a transmit
// current in mA.
func WithVoice(s draw.Split, perHour, overs, seconds, txMA float64) (factor float64, ok bool) {
	now, _ := s.MA(perHour)
	more := overs * seconds / 3600 * (txMA - s.Idle)
	return now / (now + more), s.Resolved && now+more > 0
}

// Age gives how old the newest position heard is at a random moment, in seconds, with the given chance not exceeded, where
// one beacon is due every interval and a share of them is heard: the end law read backwards.
func Age(intervalS, heard, chance float64) float64 {
	if !(heard > 0) {
		return math.Inf(1)
	}
	if heard >= 1 {
		return chance * intervalS
	}
	q := 1 - heard
	m := math.Floor(math.Log(1-chance)/math.Log(q) + 1e-12)
	return (m + (1-(1-chance)/math.Pow(q, m))/heard) * intervalS
}

// ChannelLoad gives the traffic that units offer a channel, as a share of its time, and the share of packets that survive
// collisions without listening first, exp(-2G) (N. Abramson, 1970).
func ChannelLoad(units int, intervalS, airtimeS float64, repeats int) (offered, survive float64) {
	offered = float64(units) * airtimeS * float64(1+repeats) / intervalS
	return offered, math.Exp(-2 * offered)
}
