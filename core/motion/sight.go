package motion

import (
	"math"
	"slices"
	"sort"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// A sight is one look at the unit: a fix, or the middle of a few fixes within a short block. Its time is in seconds after
// the origin of the timeline, its place in earth-centred metres.
type sight struct {
	at     float64
	end    float64 // s: when the last fix of the block was, at for a single one
	place  geo.Vector
	cell   float64 // m: larger side of the box the place was rounded to, 0 when fine
	speed  float64 // m/s as reported, NaN when not
	course float64 // degrees as reported, NaN when not
}

// clean gives the usable fixes in order of time, each instant once (the first in the order given counts).
func clean(fixes []evidence.Fix) []evidence.Fix {
	usable := make([]evidence.Fix, 0, len(fixes))
	for _, f := range fixes {
		if f.At.Known() && f.Place.Valid() && !nullPlace(f.Place) {
			usable = append(usable, f)
		}
	}
	sort.SliceStable(usable, func(i, j int) bool { return usable[i].At < usable[j].At })
	return slices.CompactFunc(usable, func(a, b evidence.Fix) bool { return a.At == b.At })
}

// nullPlace tells a receiver's "no fix yet": latitude and longitude both zero to the last digit.
func nullPlace(p geo.Place) bool { return p.Lat == 0 && p.Lon == 0 }

// sights turns clean fixes into looks, timed from origin.
func sights(fixes []evidence.Fix, origin clock.Instant) []sight {
	out := make([]sight, len(fixes))
	for i, f := range fixes {
		north, east := f.Cell.Metres(f.Place.Lat)
		out[i] = sight{
			at: seconds(f.At, origin), end: seconds(f.At, origin), place: f.Place.Vector(), cell: max(north, east),
			speed: reported(f.Speed), course: float64(f.Course),
		}
	}
	return out
}

// reported gives a speed as told, NaN for what no speed can be.
func reported(speed float32) float64 {
	if !(speed >= 0 && speed < 1000) {
		return math.NaN()
	}
	return float64(speed)
}

// blocks gathers sights into blocks no longer than length seconds and gives for each the component-wise median of the five in
// its middle, which no spike of a second or two moves. (A median of more would smooth the receiver's wander into what looks
// like a slow drift.)
func blocks(fine []sight, length float64) []sight {
	out := make([]sight, 0, len(fine)/2+1)
	for i := 0; i < len(fine); {
		j := i + 1
		for j < len(fine) && fine[j].at-fine[i].at < length {
			j++
		}
		m := middle(core(fine[i:j]))
		m.end = fine[j-1].at
		out = append(out, m)
		i = j
	}
	return out
}

// core gives the middle five of a block.
func core(part []sight) []sight {
	if spare := len(part) - 5; spare > 0 {
		return part[spare/2 : spare/2+5]
	}
	return part
}

// middle gives the block median of one or more sights.
func middle(part []sight) sight {
	if len(part) == 1 {
		return part[0]
	}
	m := sight{place: medianPlace(part), cell: part[len(part)/2].cell}
	m.at = (part[0].at + part[len(part)-1].at) / 2
	m.speed = medianOf(part, func(s sight) float64 { return s.speed })
	m.course = part[len(part)/2].course
	return m
}

// medianPlace gives the component-wise median of the places.
func medianPlace(part []sight) geo.Vector {
	return geo.Vector{
		X: medianOf(part, func(s sight) float64 { return s.place.X }),
		Y: medianOf(part, func(s sight) float64 { return s.place.Y }),
		Z: medianOf(part, func(s sight) float64 { return s.place.Z }),
	}
}

// medianOf gives the median of one property over those sights that have it, NaN when none has.
func medianOf(part []sight, of func(sight) float64) float64 {
	var few [64]float64
	values := few[:0]
	for _, s := range part {
		if v := of(s); !math.IsNaN(v) {
			values = append(values, v)
		}
	}
	return median(values)
}

// median sorts values and gives the middle one, the mean of the two middle ones, or NaN of none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	half := len(values) / 2
	if len(values)%2 == 1 {
		return values[half]
	}
	return (values[half-1] + values[half]) / 2
}

// typicalStep gives the median time between neighbours in seconds, 0 for fewer than two.
func typicalStep(all []sight) float64 {
	if len(all) < 2 {
		return 0
	}
	steps := make([]float64, len(all)-1)
	for i := range steps {
		steps[i] = all[i+1].at - all[i].at
	}
	return median(steps)
}

// seconds gives the time from origin to t.
func seconds(t, origin clock.Instant) float64 { return float64(t-origin) / 1000 }

// fresh leaves out stale copies: looks that repeat the place before them to the last digit although the unit went on meanwhile.
// Radios send such copies between two fixes.
func fresh(all []sight) []sight {
	out := make([]sight, 0, len(all))
	for k := 0; k < len(all); {
		next := k + 1
		for next < len(all) && all[next].place == all[k].place {
			next++
		}
		if copied(all, k, next) {
			out = append(out, all[k])
		} else {
			out = append(out, all[k:next]...)
		}
		k = next
	}
	return out
}

// copied tells whether the looks after k, up to next, are stale copies of it: the next place lies as far away as if no time
// had been lost, by the speed of the hops before and after.
func copied(all []sight, k, next int) bool {
	const going, share = 2, 0.75 // m/s
	if next == k+1 || k == 0 || next+1 >= len(all) {
		return false
	}
	usual := max(hop(all[k-1], all[k]), hop(all[next], all[next+1]))
	return usual > going && hop(all[k], all[next]) > share*usual
}

// hop gives the speed (m/s) of the straight way between two looks.
func hop(a, b sight) float64 { return b.place.Sub(a.place).Length() / (b.at - a.at) }
