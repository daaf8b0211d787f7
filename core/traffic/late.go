package traffic

import (
	"bytes"
	"math"
	"slices"
	"time"

	"lastbeacon/core/geo"
)

// foldLate folds copies that repeaters sent after the usual window and that nothing inside dates. They were heard through
// repeaters only, carry the bytes of an earlier transmission, and give themselves away: the unit had moved on meanwhile, or
// says that it moves; or they come sooner than the unit ever beacons from one place, or between the due times of one that
// keeps to an interval.
func foldLate(all []Transmission) []Transmission {
	period, steady := interval(all)
	soonest := soonestFromOnePlace(all)
	kept := all[:0]
	for _, t := range all {
		original := -1
		if !t.Direct() {
			original = earlier(kept, &t)
		}
		if original >= 0 && (movedOn(kept[original:]) || moves(&kept[original], &t) ||
			t.At.Sub(kept[original].At).Seconds() < soonest/2 || steady && offBeat(kept, &t, period)) {
			kept[original].Heard = append(kept[original].Heard, t.Heard...)
			continue
		}
		kept = append(kept, t)
	}
	return kept
}

// moves tells whether a unit at the speed that it reports would have left its place between two packets that give the same.
func moves(a, b *Transmission) bool {
	if a.Fix == nil || math.IsNaN(float64(a.Fix.Speed)) {
		return false
	}
	north, east := a.Fix.Cell.Metres(a.Fix.Place.Lat)
	return float64(a.Fix.Speed)*b.At.Sub(a.At).Seconds() > 4*max(north, east, 10)
}

// soonestFromOnePlace gives the shortest usual time in seconds between directly heard transmissions of one place, 0 when
// too few tell: the fifth part of the gaps, which losses only lengthen.
func soonestFromOnePlace(all []Transmission) float64 {
	var gaps []float64
	last := -1
	for i := range all {
		if !all[i].Direct() {
			continue
		}
		if last >= 0 && samePlace(&all[last], &all[i]) {
			gaps = append(gaps, all[i].At.Sub(all[last].At).Seconds())
		}
		last = i
	}
	if len(gaps) < 3 {
		return 0
	}
	slices.Sort(gaps)
	return gaps[len(gaps)/5]
}

func samePlace(a, b *Transmission) bool {
	return a.Fix != nil && b.Fix != nil && a.Fix.Place == b.Fix.Place
}

// earlier gives the last transmission with the same bytes within the late window, -1 when there is none.
func earlier(kept []Transmission, t *Transmission) int {
	for i, k := range slices.Backward(kept) {
		if t.At.Sub(k.At) > lateWindow {
			return -1
		}
		if k.Heard[0].To.Base() == t.Heard[0].To.Base() && bytes.Equal(trimmed(k.Heard[0].InfoField()), trimmed(t.Heard[0].InfoField())) {
			return i
		}
	}
	return -1
}

// movedOn tells whether the unit has since been heard clearly elsewhere than at the first of these.
func movedOn(since []Transmission) bool {
	from := since[0].Fix
	return from != nil && slices.ContainsFunc(since[1:], func(t Transmission) bool {
		return t.Fix != nil && geo.Distance(from.Place, t.Fix.Place) > 150
	})
}

// interval gives the interval of a unit that keeps to one: the median gap of its directly heard transmissions, when four of
// five gaps are near a multiple of it.
func interval(all []Transmission) (period float64, steady bool) {
	var gaps []float64
	last := -1
	for i := range all {
		if !all[i].Direct() {
			continue
		}
		if last >= 0 {
			gaps = append(gaps, all[i].At.Sub(all[last].At).Seconds())
		}
		last = i
	}
	if len(gaps) < 8 {
		return 0, false
	}
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	period = sorted[len(sorted)/3] // losses only lengthen gaps
	near := 0
	for _, g := range gaps {
		if math.Abs(math.Remainder(g, period)) <= 0.1*period {
			near++
		}
	}
	return period, period >= 10 && 5*near >= 4*len(gaps)
}

// offBeat tells whether t lies between the due times that run from the last transmission heard direct.
func offBeat(kept []Transmission, t *Transmission, period float64) bool {
	for _, k := range slices.Backward(kept) {
		if !k.Direct() {
			continue
		}
		since := t.At.Sub(k.At)
		return since <= time.Hour && math.Abs(math.Remainder(since.Seconds(), period)) > 0.2*period
	}
	return false
}
