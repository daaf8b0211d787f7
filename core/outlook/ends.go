package outlook

import (
	"math"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// Ends gives after how many seconds of a journey a charge is used up, of which the whole journey would take the given share,
// where beacons are sent at the given times, in order. A limit that lies beyond the journey is open. It is unknown where the
// charge lasts in any case.
func Ends(s draw.Split, share estimate.Estimate, first, last clock.Instant, sent []clock.Instant) estimate.Estimate {
	if !share.Positive() || !(share.High > 1) || !s.Resolved {
		return estimate.Unknown
	}
	hours := last.Sub(first).Hours()
	whole := s.Idle*hours + s.Beacon*float64(len(sent))
	at := func(share float64) float64 {
		if !(share > 1) {
			return math.Inf(1)
		}
		return after(s, whole/share, first, last, sent)
	}
	e := estimate.Of(at(share.High), at(share.Best), at(share.Low))
	if math.IsInf(e.Best, 1) {
		e.Best = e.Low
		e.High = math.Inf(1)
	}
	return e
}

// after gives when so many mAh are used up, in seconds from the first moment.
func after(s draw.Split, mah float64, first, last clock.Instant, sent []clock.Instant) float64 {
	used, then := 0.0, first
	for _, t := range append(sent[:len(sent):len(sent)], last) {
		step := s.Idle * t.Sub(then).Hours()
		if used+step >= mah {
			return then.Sub(first).Seconds() + (mah-used)/s.Idle*3600
		}
		if used += step + s.Beacon; used >= mah {
			return t.Sub(first).Seconds()
		}
		then = t
	}
	return last.Sub(first).Seconds()
}
