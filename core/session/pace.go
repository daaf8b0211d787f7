package session

import (
	"math"

	"lastbeacon/core/clock"
	"lastbeacon/core/report"
	"lastbeacon/core/schedule"
)

// curveSteps is how finely the curve of an adaptive schedule is drawn.
const curveSteps = 60

// paces gives the gaps of a run between beacons heard with the unit's speed half-way, and the curve by which an adaptive
// schedule spaces beacons. Both are empty where the unit never moved or no speed is known.
func (a *analysis) paces(i, k int) (paces []report.Pace, curve []report.Pace) {
	paces, curve = []report.Pace{}, []report.Pace{}
	run := &a.runs[i][k]
	if run.Schedule.Kind != schedule.Adaptive {
		return paces, curve
	}
	fastest, next := 0.0, 0
	for n := 1; n < len(run.Transmissions); n++ {
		from, to := a.units[i].Transmissions[run.Transmissions[n-1]].At, a.units[i].Transmissions[run.Transmissions[n]].At
		single := true
		for ; next < len(run.MissedAt) && run.MissedAt[next] < to; next++ {
			single = single && run.MissedAt[next] < from
		}
		speed, known := a.timelines[i].SpeedAt(from + (to-from)/2)
		if !known || to <= from {
			continue
		}
		fastest = max(fastest, speed)
		paces = append(paces, report.Pace{At: float64(to), Speed: toHundredth(speed), Interval: seconds(from, to), Single: single})
	}
	for n := 0; n <= curveSteps && fastest > 0; n++ {
		speed := 1.1 * max(fastest, run.Schedule.FastSpeed) * float64(n) / curveSteps
		if interval, known := run.Schedule.IntervalAt(speed); known {
			curve = append(curve, report.Pace{Speed: toHundredth(speed), Interval: toHundredth(interval), Single: true})
		}
	}
	return paces, curve
}

func seconds(from, to clock.Instant) float64 { return to.Sub(from).Seconds() }

func toHundredth(v float64) float64 { return math.Round(v*100) / 100 }
