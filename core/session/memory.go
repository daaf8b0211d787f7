package session

import (
	"math"
	"slices"
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
// alone finds motion and schedule at once.
type memory struct {
	timelines recall[digest, motion.Timeline]
	schedules recall[digest, schedule.Schedule]
	segments  recall[digest, []schedule.Segment]
	misses    recall[digest, schedule.Misses]
	alikes    recall[digest, schedule.Likeness]
	readings  recall[digest, []schedule.Reading]
	pairs     recall[digest, compare.Comparison]
	lasted    recall[digest, compare.Verdict]
	worded    recall[digest, worded]
	repeats   recall[float64, int]
	said      recall[compare.Condition, said]
	draws     recall[digest, draw.Draw]
	offsets   recall[digest, []skew.Offset]
	gathered  *gathered
}

// How much is kept: of what is small, of what takes tens of kilobytes each, and of what takes hundreds.
const (
	mostRemembered = 500
	mostSaid       = 2000
	mostLarge      = 100
	mostHuge       = 20
)

// age lets go of what earlier analyses needed and the last ones did not. It is called between analyses, so that none loses
// amid its work what it has just found, however many units it has.
func (m *memory) age() {
	m.timelines.age(mostLarge)
	m.schedules.age(mostRemembered)
	m.segments.age(mostRemembered)
	m.misses.age(mostRemembered)
	m.alikes.age(mostRemembered)
	m.readings.age(mostRemembered)
	m.pairs.age(mostLarge)
	m.lasted.age(mostRemembered)
	m.worded.age(mostLarge)
	m.repeats.age(mostRemembered)
	m.said.age(mostSaid)
	m.draws.age(mostRemembered)
	m.offsets.age(mostRemembered)
	if m.gathered != nil {
		m.gathered.heard.age()
	}
}

// A recall keeps what was found under each key, in two generations: what was found or asked for lately, and what was before.
type recall[K comparable, T any] struct{ now, before map[K]T }

// of gives what is known under a key, or finds it.
func (r *recall[K, T]) of(key K, find func() T) T {
	if v, known := r.now[key]; known {
		return v
	}
	v, known := r.before[key]
	if !known {
		v = find()
	}
	if r.now == nil {
		r.now = map[K]T{}
	}
	r.now[key] = v
	return v
}

// age begins a new generation when the present one has grown large, and lets the one before go.
func (r *recall[K, T]) age(most int) {
	if len(r.now) > most {
		r.now, r.before = nil, r.now
	}
}

// timeline gives how a unit moved, from the track that travelled with it and from its own beacons; key is the digest of both.
func (m *memory) timeline(track, beacons []evidence.Fix, key digest) motion.Timeline {
	return m.timelines.of(key, func() motion.Timeline { return motionOf(track, beacons) })
}

// fixesOf digests what motion is found from.
func fixesOf(fixes []evidence.Fix) digest {
	return digestOf(func(w func(uint64)) {
		for i := range fixes {
			f := &fixes[i]
			for _, v := range [...]float64{f.Place.Lat, f.Place.Lon, f.Cell.Lat, float64(f.Speed), float64(f.Course)} {
				w(math.Float64bits(v))
			}
			w(uint64(f.At))
		}
	})
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
	return m.schedules.of(digestOf(heardUnder(times, resolution, t)), func() schedule.Schedule {
		return schedule.Fit(times, resolution, t)
	})
}

// Segments gives the schedules behind the times, one after the other.
func (m *memory) Segments(times []clock.Instant, resolution time.Duration, t motion.Timeline) []schedule.Segment {
	return m.segments.of(digestOf(heardUnder(times, resolution, t)), func() []schedule.Segment {
		return m.Fit(times, resolution, t).Segments(times, resolution, t)
	})
}

// Missed gives what was missed between the times under a schedule.
func (m *memory) Missed(times []clock.Instant, s schedule.Schedule, t motion.Timeline) schedule.Misses {
	return m.misses.of(both(contentOf(s.Bare()), digestOf(heardUnder(times, 0, t))), func() schedule.Misses { return schedule.Missed(times, s, t) })
}

// draw gives what a run took.
func (m *memory) draw(load draw.Load, set draw.Settings) draw.Draw {
	return m.draws.of(contentOf(load, set), func() draw.Draw { return draw.Of(load, set) })
}

// alike judges whether two units beacon alike.
func (m *memory) alike(a, b observed) schedule.Likeness {
	return m.alikes.of(both(a.key, b.key), func() schedule.Likeness { return schedule.Alike(a.Observed, b.Observed) })
}

// comparisons compares all pairs; those whose units and settings are as before are known. about digests each of them, and keys tell what
// each was made of, before all pairs were judged together.
func (m *memory) comparisons(subjects []compare.Subject, about []digest, set compare.Settings) (all []compare.Comparison, keys []digest) {
	lived := make([]times, len(subjects))
	for i := range subjects {
		lived[i] = timesOf(&subjects[i], set)
	}
	all = compare.All(len(subjects), func(i, j int) compare.Comparison {
		key := both(about[i], about[j])
		keys = append(keys, key)
		lasted := func(labels []string, find func() compare.Verdict) compare.Verdict {
			return m.lasted.of(both(both(lived[i].under(labels), lived[j].under(labels)), contentOf(labels)), find)
		}
		return m.pairs.of(key, func() compare.Comparison { return compare.PairKnowing(subjects[i], subjects[j], set, lasted) })
	})
	return all, keys
}

// times digests what verdicts on the run times of a unit rest on (compare.Lasted), run by run.
type times struct {
	unit   digest
	labels []string
	runs   []digest
}

func timesOf(s *compare.Subject, set compare.Settings) times {
	t := times{unit: contentOf(s.Name, set)}
	for i := range s.Runs {
		r := &s.Runs[i]
		t.labels = append(t.labels, r.Label)
		t.runs = append(t.runs, contentOf(r.Label, r.Rankable, r.Coarse, r.Time, r.Pack, r.Draw.Supply, r.Facts.Start, r.Facts.End))
	}
	return t
}

// under digests the runs under some labels; a test without one may stand for all runs.
func (t times) under(labels []string) digest {
	d := t.unit
	for i, label := range t.labels {
		if slices.Contains(labels, label) || slices.Contains(labels, "") {
			d = both(d, t.runs[i])
		}
	}
	return d
}

// heardUnder feeds a digest with what a schedule is found from.
func heardUnder(times []clock.Instant, resolution time.Duration, t motion.Timeline) func(w func(uint64)) {
	return func(w func(uint64)) {
		w(uint64(resolution))
		w(uint64(len(times)))
		for _, at := range times {
			w(uint64(at))
		}
		if t.Dense {
			w(1)
		}
		for i := range t.Periods {
			p := &t.Periods[i]
			for _, at := range []clock.Instant{clock.Instant(p.State), p.Start.Earliest, p.Start.Best, p.Start.Latest, p.End.Earliest, p.End.Best, p.End.Latest} {
				w(uint64(at))
			}
		}
		for i := range t.Samples {
			w(uint64(t.Samples[i].At))
			w(math.Float64bits(t.Samples[i].Speed))
			w(math.Float64bits(t.Samples[i].Course))
		}
	}
}
