package traffic

import (
	"math"
	"slices"
	"time"

	"lastbeacon/core/geo"
)

// foldLate folds copies that repeaters sent after the usual window and that nothing inside dates. They were heard through
// repeaters only, carry the bytes of an earlier transmission, and give themselves away: the unit had moved on meanwhile, or
// says that it moves; or it seldom sends the same bytes again; or they come sooner than the unit ever beacons from one place,
// or between the due times of one that keeps to an interval. What is usual is learned for each stretch without long silence,
// since settings differ from test to test.
func foldLate(all []Transmission) []Transmission {
	kept := all[:0]
	for from, i := 0, 1; i <= len(all); i++ {
		if i == len(all) || all[i].At.Sub(all[i-1].At) > longSilence {
			kept = append(kept, foldStretch(all[from:i])...)
			from = i
		}
	}
	return kept
}

// longSilence parts one test from the next.
const longSilence = 6 * time.Hour

func foldStretch(all []Transmission) []Transmission {
	usual := beatOf(all)
	soonest := soonestFromOnePlace(all)
	seldom := seldomAgain(all)
	before := newRow()
	kept := all[:0]
	for _, t := range all {
		original := -1
		if !t.Direct() {
			original = before.earlier(kept, &t)
		}
		if original >= 0 && (seldom || movedOn(kept[original:]) || moves(&kept[original], &t) ||
			t.At.Sub(kept[original].At).Seconds() < soonest/2 || usual.off(kept, &t)) {
			kept[original].Heard = append(kept[original].Heard, t.Heard...)
			continue
		}
		before.take(&t, len(kept))
		kept = append(kept, t)
	}
	return kept
}

// seldomAgain tells whether a unit all but never sends bytes that it has sent within the late window: its clock, its counter
// or the noise of a finely written place makes each packet another. Directly heard transmissions tell, at most one in twenty
// of at least ten.
func seldomAgain(all []Transmission) bool {
	var direct []Transmission
	before := newRow()
	again := 0
	for _, t := range all {
		if !t.Direct() {
			continue
		}
		if before.earlier(direct, &t) >= 0 {
			again++
		}
		before.take(&t, len(direct))
		direct = append(direct, t)
	}
	return len(direct) >= 10 && 20*again <= len(direct)
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

// A row knows where each packet stood last in a list of transmissions, by its destination and its bytes.
type row struct {
	last map[string]int
	key  []byte
}

func newRow() *row { return &row{last: map[string]int{}} }

// of puts what tells t's packet from others into key.
func (r *row) of(t *Transmission) []byte {
	first := t.Heard[0]
	r.key = append(first.To.Base().AppendTo(r.key[:0]), ':')
	r.key = append(r.key, trimmed(first.InfoField())...)
	return r.key
}

// take notes that t stands at a place of the list.
func (r *row) take(t *Transmission, at int) { r.last[string(r.of(t))] = at }

// earlier gives the last transmission with the same bytes within the late window, -1 when there is none.
func (r *row) earlier(kept []Transmission, t *Transmission) int {
	at, known := r.last[string(r.of(t))]
	if !known || t.At.Sub(kept[at].At) > lateWindow {
		return -1
	}
	return at
}

// movedOn tells whether the unit has since been heard clearly elsewhere than at the first of these.
func movedOn(since []Transmission) bool {
	from := since[0].Fix
	return from != nil && slices.ContainsFunc(since[1:], func(t Transmission) bool {
		return t.Fix != nil && geo.Distance(from.Place, t.Fix.Place) > 150
	})
}

// A beat is the interval in seconds of a unit that keeps to one, and how far from its due times it still beacons. The zero
// beat is no steady unit.
type beat struct{ period, room float64 }

// beatOf finds the beat: the lower third of the gaps between directly heard transmissions, which losses only lengthen, made
// exact by all of them, when four of five gaps are near a multiple of it.
func beatOf(all []Transmission) beat {
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
		return beat{}
	}
	slices.Sort(gaps)
	period := gaps[len(gaps)/3]
	seconds, intervals := 0.0, 0.0
	var off []float64
	for _, g := range gaps {
		if away := math.Abs(math.Remainder(g, period)); away <= 0.1*period && g < 10*period {
			seconds, intervals = seconds+g, intervals+math.Round(g/period)
			off = append(off, away)
		}
	}
	if period < 10 || 5*len(off) < 4*len(gaps) {
		return beat{}
	}
	slices.Sort(off)
	return beat{seconds / intervals, min(0.2*period, max(leastRoom, 3*off[len(off)*4/5]))}
}

// leastRoom in seconds is how far any beacon may be off its due time: stamps of whole seconds, a busy channel.
const leastRoom = 4

// off tells whether t lies between the due times that run from the last transmission heard direct.
func (b beat) off(kept []Transmission, t *Transmission) bool {
	if b.period == 0 {
		return false
	}
	for _, k := range slices.Backward(kept) {
		if !k.Direct() {
			continue
		}
		since := t.At.Sub(k.At).Seconds()
		return since <= 20*b.period && math.Abs(math.Remainder(since, b.period)) > b.room
	}
	return false
}
