package session

import (
	"math"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
	"lastbeacon/core/report"
	"lastbeacon/core/schedule"
)

const (
	mostSpots = 1500            // of a way; more are not seen in a figure
	leastStep = 3.0             // metres between two spots of a way
	silentFor = 5 * time.Minute // between two fixes of a track: nothing was recorded there
)

// way gives where a run went, for drawing: its recorded track and its beacons, in metres from one origin. A run that never
// moved has none.
func (a *analysis) way(i, k int) (track, places []report.Spot) {
	track, places = []report.Spot{}, []report.Spot{}
	run := &a.runs[i][k]
	moved := false
	for _, p := range run.Periods {
		moved = moved || p.State == motion.Moving
	}
	if !moved {
		return track, places
	}
	fixes, _ := a.track(&a.bench.Units[i])
	fixes = within(fixes, run.Start.Best, run.End.Best)
	var sent []evidence.Fix
	var corner []bool
	for b, n := range run.Transmissions {
		if f := a.units[i].Transmissions[n].Fix; f != nil {
			sent = append(sent, *f)
			corner = append(corner, b > 0 && a.atCorner(i, k, run.Transmissions[b-1], n))
		}
	}
	if len(sent)+len(fixes) == 0 {
		return track, places
	}
	origin := append(fixes[:len(fixes):len(fixes)], sent...)[0].Place
	for n := range sent {
		places = append(places, spot(origin, &sent[n], false))
		places[n].Corner = corner[n]
	}
	return thinned(origin, fixes), places
}

// atCorner tells whether a turn sent a beacon: it came before the interval since the one heard before it was up, and the
// schedule of the run says that a corner makes one due earlier.
func (a *analysis) atCorner(i, k, before, beacon int) bool {
	rule := a.runs[i][k].Schedule
	if rule.Kind != schedule.Adaptive || !rule.Corners {
		return false
	}
	from, at := a.units[i].Transmissions[before].At, a.units[i].Transmissions[beacon].At
	steady := rule
	steady.Corners = false
	turned, straight := a.nextDue(rule, i, from), a.nextDue(steady, i, from)
	return at < straight.Earliest && turned.Best < straight.Best
}

func (a *analysis) nextDue(rule schedule.Schedule, i int, from clock.Instant) clock.Between {
	for due := range rule.Due(from, a.timelines[i]) {
		return due
	}
	return clock.AnyTime
}

// within gives the fixes from one instant to another; an unknown bound is open.
func within(fixes []evidence.Fix, from, until clock.Instant) []evidence.Fix {
	var kept []evidence.Fix
	for _, f := range fixes {
		if (!from.Known() || f.At >= from) && (!until.Known() || f.At <= until) {
			kept = append(kept, f)
		}
	}
	return kept
}

// thinned lays a track on the plane about origin and leaves out spots close to the one before, so that no more than about
// mostSpots are left. Both ends of a stretch in which nothing was recorded are kept.
func thinned(origin geo.Place, fixes []evidence.Fix) []report.Spot {
	length := 0.0
	for n := 1; n < len(fixes); n++ {
		length += geo.Chord(fixes[n-1].Place, fixes[n].Place)
	}
	step := max(leastStep, length/mostSpots)
	laid := []report.Spot{}
	kept := -1 // index of the fix laid last
	for n := range fixes {
		gap := n > 0 && fixes[n].At.Sub(fixes[n-1].At) > silentFor
		if gap && kept != n-1 {
			laid = append(laid, spot(origin, &fixes[n-1], false))
		}
		if kept < 0 || gap || n == len(fixes)-1 || geo.Chord(fixes[kept].Place, fixes[n].Place) >= step {
			laid = append(laid, spot(origin, &fixes[n], gap))
			kept = n
		}
	}
	return laid
}

// spot lays a fix on the plane about origin, to the decimetre.
func spot(origin geo.Place, f *evidence.Fix, gap bool) report.Spot {
	east, north := origin.Offset(f.Place)
	return report.Spot{At: float64(f.At), East: math.Round(east*10) / 10, North: math.Round(north*10) / 10, Gap: gap}
}
