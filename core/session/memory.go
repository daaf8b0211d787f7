package session

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"time"

	"lastbeacon/core/clock"
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
	offsets   map[string][]skew.Offset
}

type digest [sha256.Size]byte

const mostRemembered = 500

func newMemory() memory {
	return memory{map[digest]motion.Timeline{}, map[digest]schedule.Schedule{}, map[string][]skew.Offset{}}
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
	if t, known := m.timelines[key]; known {
		return t
	}
	t := motionOf(track, beacons)
	if len(m.timelines) >= mostRemembered {
		clear(m.timelines)
	}
	m.timelines[key] = t
	return t
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

// fit gives the schedule behind the times.
func (m *memory) fit(times []clock.Instant, resolution time.Duration, t motion.Timeline) schedule.Schedule {
	key := digestOf(func(w func(uint64)) {
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
	})
	if s, known := m.schedules[key]; known {
		return s
	}
	s := schedule.Fit(times, resolution, t)
	if len(m.schedules) >= mostRemembered {
		clear(m.schedules)
	}
	m.schedules[key] = s
	return s
}

// digestOf digests the numbers that write is called with.
func digestOf(feed func(write func(uint64))) digest {
	h := sha256.New()
	var buf [4096]byte
	n := 0
	feed(func(v uint64) {
		binary.LittleEndian.PutUint64(buf[n:], v)
		if n += 8; n == len(buf) {
			h.Write(buf[:])
			n = 0
		}
	})
	h.Write(buf[:n])
	var d digest
	h.Sum(d[:0])
	return d
}
