package motion

import (
	"math"

	"lastbeacon/core/clock"
)

// A tally adds up how timelines compare with the truth. Agree: seconds labelled right of all labelled. Spurious: periods
// found whose majority is wrong. Missed: true periods whose majority is wrong or unknown.
type tally struct {
	tracks, spurious, missed, periods    int
	seconds, labelled, right             float64
	errors                               []float64 // s, of boundaries found within 600 s
	boundaries, unmatched, held, claimed int
	width                                []float64
	distance                             []float64 // relative error of the distance of matched trips
	distances, distanceHeld              int
}

func (y *tally) add(w *world, t Timeline) {
	y.tracks++
	labels := make([]State, len(w.truth))
	for s := range labels {
		labels[s] = t.StateAt(w.start + clock.Instant(s)*1000 + 500)
		y.seconds++
		if labels[s] != Unknown {
			y.labelled++
			if labels[s] == w.truth[s] {
				y.right++
			}
		}
	}
	for _, p := range t.Periods {
		if p.State != Unknown {
			a, b := int(p.Start.Best-w.start)/1000, int(p.End.Best-w.start)/1000
			if 2*count(w.truth[a:b], p.State) < b-a {
				y.spurious++
			}
		}
	}
	for _, l := range w.legs {
		y.periods++
		if 2*count(labels[l.start:l.end], l.state) < l.end-l.start {
			y.missed++
		}
	}
	y.bounds(w, t)
	y.distanceOf(w, t)
}

func count(labels []State, s State) int {
	n := 0
	for _, l := range labels {
		if l == s {
			n++
		}
	}
	return n
}

// bounds compares each true change with the nearest change found of the same sense.
func (y *tally) bounds(w *world, t Timeline) {
	for _, l := range w.legs[1:] {
		y.boundaries++
		at := w.start + clock.Instant(l.start)*1000
		best := math.Inf(1)
		var claim clock.Between
		for i := 1; i < len(t.Periods); i++ {
			p := t.Periods[i]
			if off := math.Abs(float64(p.Start.Best-at)) / 1000; p.State == l.state && t.Periods[i-1].State != Unknown && off < best {
				best, claim = off, p.Start
			}
		}
		if best > 600 {
			y.unmatched++
			continue
		}
		y.errors = append(y.errors, best)
		y.claimed++
		if claim.Earliest <= at && at <= claim.Latest {
			y.held++
		}
		width, _ := claim.Width()
		y.width = append(y.width, width.Seconds())
	}
}

func (y *tally) distanceOf(w *world, t Timeline) {
	for _, l := range w.legs {
		middle := w.start + clock.Instant(l.start+l.end)*500
		i := t.PeriodAt(middle)
		if l.state != Moving || i < 0 || t.Periods[i].State != Moving || !t.Periods[i].Distance.Known {
			continue
		}
		p := t.Periods[i]
		from, to := int(p.Start.Best-w.start)/1000, int(p.End.Best-w.start)/1000
		metres := 0.0
		for _, v := range w.speed[from:min(to, len(w.speed))] {
			metres += v
		}
		y.distances++
		y.distance = append(y.distance, p.Distance.Best/metres-1)
		if p.Distance.Low <= metres && metres <= p.Distance.High {
			y.distanceHeld++
		}
	}
}
