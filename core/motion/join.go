package motion

import (
	"slices"
	"sort"

	"lastbeacon/core/clock"
)

// Join gives one timeline from a recorded track and from the places a unit sent: the track rules where it has fixes, the
// beacons fill its pauses and the time before and after it. Periods tile the union of both spans.
func Join(track, beacons Timeline) Timeline {
	first, last, ok := track.Span()
	if !ok {
		return beacons
	}
	start, end, ok := beacons.Span()
	if !ok {
		return track
	}
	joined := Timeline{Dense: track.Dense, trail: mergeTrails(track.trail, beacons.trail)}
	add := func(from, to clock.Instant) { // what the beacons know of a stretch
		joined.Periods = append(joined.Periods, beacons.Clip(from, to)...)
		joined.Samples = append(joined.Samples, sampled(beacons.Samples, from, to)...)
	}
	add(start, min(first, end))
	if first > end {
		joined.Periods = append(joined.Periods, unseen(end, first))
	}
	for _, p := range track.Periods {
		if p.State == Unknown || p.Inferred {
			joined.Periods = append(joined.Periods, fill(p, beacons)...)
			joined.Samples = append(joined.Samples, sampled(beacons.Samples, p.Start.Best, p.End.Best)...)
		} else {
			joined.Periods = append(joined.Periods, p)
		}
		joined.Samples = append(joined.Samples, sampled(track.Samples, p.Start.Best, p.End.Best)...)
	}
	if start > last {
		joined.Periods = append(joined.Periods, unseen(last, start))
	}
	add(max(last, start), end)
	joined.Samples = inOrder(joined.Samples)
	joined.Periods = joined.trail.tidy(joined.Periods)
	return joined
}

// fill gives what the beacons know of a pause of the track, and the pause as it was where they know nothing.
func fill(pause Period, beacons Timeline) []Period {
	parts := beacons.Clip(pause.Start.Best, pause.End.Best)
	known := slices.ContainsFunc(parts, func(p Period) bool { return p.State != Unknown })
	if !known {
		return []Period{pause}
	}
	for i := range parts {
		if parts[i].State == Unknown {
			parts[i].State, parts[i].Inferred = pause.State, pause.Inferred
		}
	}
	parts[0].Start, parts[len(parts)-1].End = pause.Start, pause.End
	return parts
}

// tidy joins neighbours of one state and makes their boundaries one.
func (t trail) tidy(periods []Period) []Period {
	var out []Period
	for _, p := range periods {
		if p.End.Best <= p.Start.Best {
			continue
		}
		n := len(out)
		if n > 0 && out[n-1].State == p.State && out[n-1].Inferred == p.Inferred {
			out[n-1].End = p.End
			out[n-1] = t.measure(out[n-1])
			continue
		}
		if n > 0 {
			p.Start = wider(out[n-1].End, p.Start)
			out[n-1].End = p.Start
		}
		out = append(out, p)
	}
	return out
}

// wider gives the looser of two statements about one moment.
func wider(a, b clock.Between) clock.Between {
	return clock.Between{Earliest: min(a.Earliest, b.Earliest), Best: a.Best, Latest: max(a.Latest, b.Latest)}
}

func sampled(all []Sample, from, to clock.Instant) []Sample {
	var out []Sample
	for _, s := range all {
		if s.At >= from && s.At <= to {
			out = append(out, s)
		}
	}
	return out
}

func inOrder(all []Sample) []Sample {
	sort.SliceStable(all, func(i, j int) bool { return all[i].At < all[j].At })
	return slices.CompactFunc(all, func(a, b Sample) bool { return a.At == b.At })
}

// mergeTrails gives the looks of the track and, in its pauses and outside it, those of the beacons.
func mergeTrails(track, beacons trail) trail {
	looks := slices.Clone(track.looks)
	shift := seconds(beacons.origin, track.origin)
	for _, s := range beacons.looks {
		s.at += shift
		i := track.after(s.at)
		near := (i < len(track.looks) && track.looks[i].at-s.at < 60) || (i > 0 && s.at-track.looks[i-1].at < 60)
		if !near {
			looks = append(looks, s)
		}
	}
	sort.SliceStable(looks, func(i, j int) bool { return looks[i].at < looks[j].at })
	return newTrail(looks, track.origin, track.dense)
}
