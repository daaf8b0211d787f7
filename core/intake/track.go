package intake

import (
	"math"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// A trackPoint is one point on its way into a track. Speed is in m/s and Course in degrees, NaN when not given.
type trackPoint struct {
	at            clock.Instant
	lat, lon      float64
	speed, course float64
}

func noPoint() trackPoint {
	nan := math.NaN()
	return trackPoint{at: clock.None, lat: nan, lon: nan, speed: nan, course: nan}
}

// fix adds a point to the track, or gives the code of what is wrong with it.
func (rd *reading) fix(tr *evidence.Track, p trackPoint, line int) (fault string) {
	switch {
	case !(math.Abs(p.lat) <= 90 && math.Abs(p.lon) <= 180):
		return "fix.range"
	case !p.at.Known():
		return "fix.no-time"
	}
	if !(p.speed >= 0 && p.speed < 10000) {
		p.speed = math.NaN()
	}
	if !(p.course >= 0 && p.course <= 360) {
		p.course = math.NaN()
	}
	tr.Fixes = append(tr.Fixes, evidence.Fix{At: p.at, Place: geo.Place{Lat: p.lat, Lon: p.lon}, Speed: float32(p.speed),
		Course: float32(p.course), Line: rd.line(line)})
	rd.src.File.Fixes++
	rd.seen(p.at)
	return ""
}

// addTrack keeps a track that has fixes.
func (rd *reading) addTrack(tr evidence.Track) {
	if len(tr.Fixes) > 0 {
		tr.File = rd.src.File.ID
		rd.src.Tracks = append(rd.src.Tracks, tr)
	}
}

// isoTime reads a complete ISO 8601 time; without a zone it is UTC, as GPX and KML say.
func (rd *reading) isoTime(b []byte) clock.Instant {
	s, n := clock.ScanStamp(b)
	if n == 0 || n != len(b) || s.Date != clock.FullDate || s.Zone > clock.ZoneOffset {
		return clock.None
	}
	rd.dates.steps.add(s.Step, s.Of%time.Minute)
	rd.dates.state(utc)
	return clock.At(time.Date(s.Year, time.Month(s.Month), s.Day, 0, 0, 0, 0, time.UTC)).Add(s.Of - s.Offset)
}

// tally counts lines of which several points may share one: a line is unused when a point on it was refused and none taken.
type tally struct {
	line      int
	used, bad bool
	notUsed   int
}

func (t *tally) mark(line int, used bool) {
	if line != t.line {
		t.close()
		t.line = line
	}
	t.used, t.bad = t.used || used, t.bad || !used
}

func (t *tally) close() {
	if t.bad && !t.used {
		t.notUsed++
	}
	t.used, t.bad = false, false
}
