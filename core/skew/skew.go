// Package skew finds how far the clock of a file is ahead, from what does not depend on it: the same transmissions in another
// file, the UTC time that packets carry themselves, or a GPS track of the way that beacons report. It suggests; nobody's
// times are changed before somebody takes the suggestion over. What repeats itself, such as the beacons of a parked unit,
// fits many offsets equally well, and then nothing is suggested.
package skew

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"lastbeacon/core/aprs"
	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
)

// A Basis says what an offset was found from.
type Basis string

const (
	TwoLogs    Basis = "two_logs"    // the same transmissions stand in another file
	PacketTime Basis = "packet_time" // packets carry their own UTC time
	Track      Basis = "track"       // beacon places against a GPS track
)

// An Offset is how many seconds the clock of File is ahead of Against (or of UTC, for PacketTime), with 95 % limits. It may
// be none: Off tells. Either says that the clock of Against may as well be the wrong one. Zone is the offset from UTC, such as
// +02:00, that explains it where the file states no zone; "" otherwise.
type Offset struct {
	File, Against evidence.FileID
	Seconds       estimate.Estimate
	Basis         Basis
	Either        bool
	Zone          string
}

// What is asked of the data before an offset is believed (common practice, no source).
const (
	reach      = time.Hour // beyond it an offset counts only if it is that of a zone
	farthest   = 15 * time.Hour
	fewest     = 8   // pairs that agree
	lead       = 2.0 // how much better the best offset must be than any other
	apart      = 5 * time.Second
	leastSkew  = 5 * time.Second // smaller ones are delays of software and stamps
	mostOfOne  = 200             // receptions of one information that are paired
	mostOffset = int(farthest / time.Second)
	mostNear   = int(reach / time.Second)
)

// Between gives the offset of file b's clock against file a's, where both hold the same transmissions; ok is false where
// they tell of none, nor that there is none.
func Between(ev *evidence.Evidence, a, b evidence.FileID) (Offset, bool) {
	in := map[string][]clock.Instant{}
	var bs []*evidence.Reception
	for i := range ev.Receptions {
		r := &ev.Receptions[i]
		switch {
		case !r.At.Known():
		case r.Line.File == a:
			key := r.From.String() + string(r.InfoField())
			in[key] = append(in[key], r.At)
		case r.Line.File == b:
			bs = append(bs, r)
		}
	}
	votes := make([]int32, 2*mostOffset+1)
	var gaps []time.Duration
	for _, r := range bs {
		times := in[r.From.String()+string(r.InfoField())]
		for _, at := range times[:min(len(times), mostOfOne)] {
			if d := r.At.Sub(at); d.Abs() <= farthest {
				votes[int(math.Round(d.Seconds()))+mostOffset]++
				gaps = append(gaps, d)
			}
		}
	}
	best, ok := peak(votes[mostOffset-mostNear : mostOffset+mostNear+1])
	best -= mostNear
	if !ok {
		best, ok = peak(votes)
		best -= mostOffset
	}
	if !ok {
		return Offset{}, false
	}
	e, ok := around(gaps, time.Duration(best)*time.Second, ev, a, b)
	return Offset{File: b, Against: a, Seconds: e, Basis: TwoLogs}, ok && believable(e.Best)
}

// believable tells whether a clock may be off by so many seconds: by little, or by the offset of a zone.
func believable(seconds float64) bool {
	return math.Abs(seconds) <= reach.Seconds() || zoneBy(seconds) != ""
}

// zoneBy gives the offset from UTC, such as +02:00, within half a minute of so many seconds; "" when no zone has one. Zones lie
// by half hours from -12 to +14 h, and at +5:45, +8:45 and +12:45 (IANA data).
func zoneBy(seconds float64) string {
	minutes := int(math.Round(seconds/900)) * 15
	odd := minutes == 345 || minutes == 525 || minutes == 765
	if minutes == 0 || minutes < -720 || minutes > 840 || minutes%30 != 0 && !odd || math.Abs(seconds-float64(60*minutes)) > 30 {
		return ""
	}
	sign, size := '+', minutes
	if minutes < 0 {
		sign, size = '-', -minutes
	}
	return fmt.Sprintf("%c%02d:%02d", sign, size/60, size%60)
}

// peak gives the second with most votes within two seconds of it, if it stands out from all others.
func peak(votes []int32) (best int, ok bool) {
	near := func(i int) (n int32) {
		for k := max(i-2, 0); k <= min(i+2, len(votes)-1); k++ {
			n += votes[k]
		}
		return n
	}
	most := int32(0)
	for i := range votes {
		if n := near(i); n > most {
			best, most = i, n
		}
	}
	second := int32(0)
	for i := range votes {
		if d := i - best; d < -int(apart/time.Second) || d > int(apart/time.Second) {
			second = max(second, near(i))
		}
	}
	return best, most >= fewest && float64(most) >= lead*float64(second)
}

// around gives the median of the gaps near the peak with its limits, and whether there are enough of them.
func around(gaps []time.Duration, centre time.Duration, ev *evidence.Evidence, files ...evidence.FileID) (estimate.Estimate, bool) {
	var near []float64
	for _, g := range gaps {
		if (g - centre).Abs() <= apart {
			near = append(near, g.Seconds())
		}
	}
	step := 0.0
	for _, f := range files {
		step = max(step, ev.Files[f].Resolution)
	}
	return median(near, step)
}

// median gives the median of xs with 95 % limits: those of the median of a sample (1.25 standard deviations over the root of
// its size, as of a normal law) and half a step of the stamps. ok is false for too few.
func median(xs []float64, step float64) (estimate.Estimate, bool) {
	if len(xs) < fewest {
		return estimate.Unknown, false
	}
	slices.Sort(xs)
	n := len(xs)
	mid := (xs[(n-1)/2] + xs[n/2]) / 2
	spread := (xs[n*84/100] - xs[n*16/100]) / 2
	half := math.Hypot(1.96*1.2533*spread/math.Sqrt(float64(n)), step/2)
	return estimate.Of(mid-half, mid, mid+half), true
}

// OfPackets gives the offset of a file's clock against the UTC time, to the second, that packets heard direct carry. A sender
// whose own clock is off stands alone among others; with fewer than three senders that agree nothing is said.
func OfPackets(ev *evidence.Evidence, file evidence.FileID) (Offset, bool) {
	if o, ok := ofPackets(ev, file, reach); ok {
		return o, true
	}
	o, ok := ofPackets(ev, file, farthest)
	return o, ok && believable(o.Seconds.Best)
}

func ofPackets(ev *evidence.Evidence, file evidence.FileID, reach time.Duration) (Offset, bool) {
	by := map[string][]float64{}
	var p aprs.Packet
	for i := range ev.Receptions {
		r := &ev.Receptions[i]
		if r.Line.File != file || !r.At.Known() || r.Heard != evidence.Direct {
			continue
		}
		aprs.Decode(r.To, r.InfoField(), &p)
		if p.Stamp.Kind != aprs.ClockUTC && p.Stamp.Kind != aprs.DateUTC {
			continue
		}
		if at, ok := p.Stamp.Near(r.At.Time()); ok && r.At.Time().Sub(at).Abs() <= reach {
			by[r.From.String()] = append(by[r.From.String()], r.At.Time().Sub(at).Seconds())
		}
	}
	var all []float64
	var middles []float64
	for _, xs := range by {
		slices.Sort(xs)
		middles = append(middles, xs[len(xs)/2])
		all = append(all, xs...)
	}
	e, ok := median(all, ev.Files[file].Resolution)
	agree := 0
	for _, m := range middles {
		if math.Abs(m-e.Best) <= apart.Seconds() {
			agree++
		}
	}
	return Offset{File: file, Against: file, Seconds: e, Basis: PacketTime}, ok && agree >= 3
}

// OfTrack gives the offset of the clock behind the beacons against that of a track which travelled with the unit: the shift
// under which the places agree best, between those under which they agree clearly worse. Shifts of up to an hour are tried
// around none and around that of the zone which fits best.
func OfTrack(beacons, track []evidence.Fix, file, against evidence.FileID) (Offset, bool) {
	const step, most = 2, mostNear
	cost := make([]float64, 2*most/step+1)
	best, centre := 0, bestZone(beacons, track)
	for i := range cost {
		cost[i] = misfit(beacons, track, time.Duration(centre+i*step-most)*time.Second)
		if cost[i] < cost[best] {
			best = i
		}
	}
	worse := math.Max(2*cost[best], cost[best]+15)
	low, high := best, best
	for low > 0 && cost[low] < worse {
		low--
	}
	for high < len(cost)-1 && cost[high] < worse {
		high++
	}
	second := func(i int) float64 { return float64(centre + i*step - most) }
	e := estimate.Of(second(low), second(best), second(high))
	ok := low > 0 && high < len(cost)-1 && cost[best] < 100 && high-low < 300/step
	for i := range cost { // no other shift may do nearly as well
		ok = ok && (i >= low && i <= high || cost[i] > worse)
	}
	if centre != 0 {
		ok = ok && believable(e.Best) && misfit(beacons, track, 0) > worse
	}
	return Offset{File: file, Against: against, Seconds: e, Basis: Track}, ok
}

// bestZone gives the seconds of the zone under which beacons and track agree best, 0 unless one beyond an hour does better than
// none.
func bestZone(beacons, track []evidence.Fix) int {
	best, least := 0, misfit(beacons, track, 0)
	for s := -mostOffset; s <= mostOffset; s += 900 {
		if zoneBy(float64(s)) == "" {
			continue
		}
		if m := misfit(beacons, track, time.Duration(s)*time.Second); m < least {
			best, least = s, m
		}
	}
	if best >= -mostNear && best <= mostNear {
		return 0
	}
	return best
}

// misfit gives the middle distance in metres between beacons, moved back by shift, and the track; infinite where fewer than
// eight beacons fall into the track's time.
func misfit(beacons, track []evidence.Fix, shift time.Duration) float64 {
	var metres []float64
	for i := range beacons {
		at := beacons[i].At.Add(-shift)
		k, _ := slices.BinarySearchFunc(track, at, func(f evidence.Fix, t clock.Instant) int { return cmp.Compare(f.At, t) })
		if k == 0 || k == len(track) || track[k].At.Sub(track[k-1].At) > time.Minute {
			continue
		}
		a, b := track[k-1], track[k]
		share := 0.0
		if b.At > a.At {
			share = float64(at-a.At) / float64(b.At-a.At)
		}
		on := a.Place.Vector().Add(b.Place.Vector().Sub(a.Place.Vector()).Scale(share))
		metres = append(metres, on.Sub(beacons[i].Place.Vector()).Length())
	}
	if len(metres) < fewest {
		return math.Inf(1)
	}
	slices.Sort(metres)
	return metres[len(metres)*3/4]
}
