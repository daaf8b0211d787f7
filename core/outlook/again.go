package outlook

import (
	"math"

	"lastbeacon/core/estimate"
)

// ownSpread is how many runs show their own spread; fewer carry the one assumed.
const ownSpread = 4

// Again projects the run time in seconds of one further run of a unit under the conditions of its earlier ones, of which only
// the times are used, when it has lasted so many seconds already. Unknown without runs, or when it has outlasted 97.5 % of
// what they foretell.
func Again(u Unit, lasted float64) estimate.Estimate {
	var logs []float64
	for _, r := range u.Runs {
		if r.Time.Positive() && !r.Time.Open() {
			logs = append(logs, math.Log(r.Time.Best))
		}
	}
	n := len(logs)
	if n == 0 {
		return estimate.Unknown
	}
	s := estimate.SampleOf(logs)
	law := estimate.NormalLaw(s.Mean, max(u.CV, math.Sqrt(s.Var))*math.Sqrt(1+1/float64(n)))
	if n >= ownSpread && s.Var > 0 {
		law = estimate.StudentLaw(s.Mean, math.Sqrt(s.Var*(1+1/float64(n))), float64(n-1))
	}
	passed := 0.0
	if lasted > 0 {
		passed = law.Below(math.Log(lasted))
	}
	if passed > 0.975 {
		return estimate.Unknown
	}
	at := func(p float64) float64 { return math.Exp(law.Quantile(passed + (1-passed)*p)) }
	return estimate.Of(at(0.025), at(0.5), at(0.975))
}
