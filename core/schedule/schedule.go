// Package schedule finds the rule that spaced a unit's beacons from the times at which they were heard and from how the
// unit moved, and answers when the next beacon is due. Later stages ask for due times only.
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

// A Schedule is a rule with its parameters. Times are seconds, speeds m/s; zero where a parameter does not belong to the
// kind. Interval: fixed period, base of a decaying schedule, median gap of an irregular one, longest heard gap when undecided.
// Jitter: standard deviation of a beacon about its due time.
type Schedule struct {
	Kind               Kind
	Interval           estimate.Estimate
	Jitter             float64
	BeaconsBeforeDecay int     // decaying: intervals at the base before the first longer one
	Growth             float64 // decaying: factor from one interval to the next (2)
	Longest            float64 // decaying: the interval it ends at
	Slow, Fast         float64 // adaptive: interval below SlowSpeed, interval at or above FastSpeed
	SlowSpeed          float64
	FastSpeed          float64
	Corners            bool              // adaptive: corner beacons were seen
	TurnMin            float64           // adaptive: degrees
	TurnSlope          float64           // adaptive: degrees times m/s
	TurnTime           float64           // adaptive: seconds
	Resolved           []string          // names of the parameters that the data resolve, by the report's field names
	AsFarAsHeard       bool              // a longer interval or another kind may exist beyond what was heard
	Received           estimate.Estimate // share of due beacons that were heard, 0 to 1
	Reason             string            // code: why undecided ("few", "tie", "no-motion"), "" when decided
	Rival              Kind              // the next best kind
	Lead               float64           // how much better (log units) the kind is than Rival
}
