// Package schedule finds the rule that spaced a unit's beacons from the times at which they were heard and from how the
// unit moved, and answers when the next beacon is due. Later stages ask for due times only.
//
// Every candidate rule is judged by the same measure: the likelihood of the time to the next beacon heard, with the beacons
// that were sent and not heard summed out, so that loss itself prices a period against its half and its double. The kinds
// are compared by the Bayesian information criterion (Schwarz 1978, Annals of Statistics 6, 461). What the data cannot tell
// is not told: the answer is then Undecided with a reason.
package schedule

import "lastbeacon/core/estimate"

// A Kind is a rule that spaces beacons.
type Kind uint8

const (
	Undecided Kind = iota // the data do not tell; Interval is the longest gap heard, so bounds are wide
	Fixed                 // one interval always
	Decaying              // the interval lengthens while the position holds, and returns to the base on movement
	Adaptive              // the interval follows the speed, with extra beacons at corners
	Irregular             // no schedule: sent by hand, or by events
)

func (k Kind) String() string {
	return [...]string{"undecided", "fixed", "decaying", "adaptive", "irregular"}[k]
}

// Why a schedule is Undecided.
const (
	Few     = "few"      // fewer than five gaps heard
	Coarse  = "coarse"   // the stamps are too coarse for the interval
	Strays  = "strays"   // too many beacons fit no rule
	Faint   = "faint"    // too few of the beacons that the rule expects were heard
	NoTrack = "no-track" // no rule fits, but speed and turns between the beacons are not known
	Tie     = "tie"      // two kinds explain the times about as well
)

// A Schedule is a rule with its parameters. Times are seconds, speeds m/s; zero where a parameter does not belong to the
// kind. Interval: fixed period, base of a decaying schedule, median gap of an irregular one, longest heard gap when
// undecided; unknown for an adaptive one. Jitter: standard deviation of a beacon about its due time.
type Schedule struct {
	Kind               Kind
	Interval           estimate.Estimate
	Jitter             float64
	SendDelay          float64 // decaying, adaptive: s by which beacons go out late on average; in the interval of a fixed one
	BeaconsBeforeDecay int     // decaying: intervals at the base before the first longer one
	Growth             float64 // decaying: factor from one interval to the next (2)
	Longest            float64 // decaying: the interval it ends at; irregular: the 97.5 % point of the gaps
	Slow, Fast         float64 // adaptive: interval below SlowSpeed, interval at or above FastSpeed
	SlowSpeed          float64
	FastSpeed          float64
	Uncapped           bool              // adaptive: between the speeds the interval may exceed Slow
	Corners            bool              // adaptive: corner beacons were seen
	TurnMin            float64           // adaptive: degrees
	TurnSlope          float64           // adaptive: degrees times m/s
	TurnTime           float64           // adaptive: seconds
	Resolved           []string          // names of the parameters that the data resolve, by the report's field names
	AsFarAsHeard       bool              // a longer interval or another kind may exist beyond what was heard
	Received           estimate.Estimate // share of due beacons that were heard, 0 to 1
	Reason             string            // code: why undecided (Few, Coarse ...), "" when decided
	Nearest            Kind              // the kind that explains the times best, also when Undecided
	Rival              Kind              // the next best kind
	Lead               float64           // how much better (log units, less the price of its parameters) Nearest is than Rival

	cell      float64      // s; the step of stamps that are coarse for the interval, 0 for fine ones
	blur      float64      // adaptive: share by which the speed's own error moves an interval
	marks     []placedMark // what each heard beacon was, in time order
	prepared  prepared     // the timeline that the fit used, ready for use again
	explained explanation  // how well the fit explains the times; also when Undecided
}

// Bare gives the rule alone, without what a fit keeps of the beacons and the motion it was found from.
func (s Schedule) Bare() Schedule {
	s.marks, s.prepared, s.explained = nil, prepared{}, explanation{}
	return s
}

// MetresBetween gives the distance between beacons of an adaptive schedule between its two speeds: fast interval times fast
// speed, the product that data resolve best.
func (s Schedule) MetresBetween() float64 { return s.Fast * s.FastSpeed }

// Steady gives the seconds between beacons that the rule keeps in steady motion and in lasting rest; 0, 0 where it tells none.
func (s Schedule) Steady() (moving, parked float64) {
	switch s.Kind {
	case Fixed:
		return s.Interval.Best, s.Interval.Best
	case Decaying:
		return s.Interval.Best, s.Longest
	case Adaptive:
		return s.Fast, s.Slow
	}
	return 0, 0
}
