package session

import (
	"math"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/schedule"
	"lastbeacon/core/skew"
)

// memory keeps what is costly to find by the content it was found from, so that an edit which leaves a unit's transmissions
// alone finds motion and schedule at once. It forgets everything when it has grown too large.
type memory struct {
	timelines map[digest]motion.Timeline
	schedules map[digest]schedule.Schedule
	segments  map[digest][]schedule.Segment
	misses    map[digest]schedule.Misses
	alikes    map[digest]schedule.Likeness
	readings  map[digest][]schedule.Reading
	pairs     map[digest]compare.Comparison
	draws     map[digest]draw.Draw
	offsets   map[digest][]skew.Offset
	gathered  *gathered
}

const mostRemembered = 500

func newMemory() memory {
	return memory{timelines: map[digest]motion.Timeline{}, schedules: map[digest]schedule.Schedule{},
		segments: map[digest][]schedule.Segment{}, misses: map[digest]schedule.Misses{}, alikes: map[digest]schedule.Likeness{},
		readings: map[digest][]schedule.Reading{}, pairs: map[digest]compare.Comparison{}, draws: map[digest]draw.Draw{}, offsets: map[digest][]skew.Offset{}}
}

// timeline gives how a unit moved, from the track that travelled with it and from its own beacons.
func (m *memory) timeline(track, beacons []evidence.Fix) motion.Timeline {
	key := digestOf(func(w func(uint64)) {
		w(uint64(len(track)))
		for _, fixes := range [][]evidence.Fix{track, beacons} {
			for i := range fixes {
				f := &fixes[i]
				for _, v := range []float64{f.Place.Lat, f.Place.Lon, f.Cell.Lat, float64(f.Speed), float64(f.Course)} {
					w(math.Float64bits(v))
				}
				w(uint64(f.At))
			}
		}
	})
	return remembered(m.timelines, key, func() motion.Timeline { return motionOf(track, beacons) })
}

func motionOf(track, beacons []evidence.Fix) motion.Timeline {
	switch {
	case len(track) == 0:
		return motion.OfBeacons(beacons)
	case len(beacons) == 0:
		return motion.OfTrack(track)
	}
	return motion.Join(motion.OfTrack(track), motion.OfBeacons(beacons))
}

// Fit gives the schedule behind the times.
func (m *memory) Fit(times []clock.Instant, resolution time.Duration, t motion.Timeline) schedule.Schedule {
	return remembered(m.schedules, digestOf(heardUnder(times, resolution, t)), func() schedule.Schedule {
		return schedule.Fit(times, resolution, t)
	})
}

// Segments gives the schedules behind the times, one after the other.
func (m *memory) Segments(times []clock.Instant, resolution time.Duration, t motion.Timeline) []schedule.Segment {
	return remembered(m.segments, digestOf(heardUnder(times, resolution, t)), func() []schedule.Segment {
		return m.Fit(times, resolution, t).Segments(times, resolution, t)
	})
}

// Missed gives what was missed between the times under a schedule.
func (m *memory) Missed(times []clock.Instant, s schedule.Schedule, t motion.Timeline) schedule.Misses {
	return remembered(m.misses, both(contentOf(s.Bare()), digestOf(heardUnder(times, 0, t))), func() schedule.Misses { return schedule.Missed(times, s, t) })
}

// draw gives what a run took.
func (m *memory) draw(load draw.Load, set draw.Settings) draw.Draw {
	return remembered(m.draws, contentOf(load, set), func() draw.Draw { return draw.Of(load, set) })
}

// alike judges whether two units beacon alike.
func (m *memory) alike(a, b observed) schedule.Likeness {
	return remembered(m.alikes, both(a.key, b.key), func() schedule.Likeness { return schedule.Alike(a.Observed, b.Observed) })
}

// comparisons compares all pairs; those whose units and settings are as before are known.
func (m *memory) comparisons(subjects []compare.Subject, set compare.Settings) []compare.Comparison {
	of := make([]digest, len(subjects))
	for i := range subjects {
		of[i] = contentOf(subjects[i], set)
	}
	return compare.All(len(subjects), func(i, j int) compare.Comparison {
		return remembered(m.pairs, both(of[i], of[j]), func() compare.Comparison { return compare.Pair(subjects[i], subjects[j], set) })
	})
}

// remembered gives what is known under a key, or finds it.
func remembered[K comparable, T any](known map[K]T, key K, find func() T) T {
	if v, ok := known[key]; ok {
		return v
	}
	v := find()
	if len(known) >= mostRemembered {
		clear(known)
	}
	known[key] = v
	return v
}

// heardUnder feeds a digest with what a schedule is found from.
func heardUnder(times []clock.Instant, resolution time.Duration, t motion.Timeline) func(w func(uint64)) {
	return func(w func(uint64)) {
		w(uint64(resolution))
		w(uint64(len(times)))
		for _, at := range times {
			w(uint64(at))
		}
		for i := range t.Periods {
			w(uint64(t.Periods[i].State))
			w(uint64(t.Periods[i].Start.Best))
		}
		for i := range t.Samples {
			w(uint64(t.Samples[i].At))
			w(math.Float64bits(t.Samples[i].Speed))
			w(math.Float64bits(t.Samples[i].Course))
		}
	}
}
