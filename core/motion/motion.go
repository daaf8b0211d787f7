package motion

import (
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// OfTrack gives the timeline of a recorded track, whose fixes may come in any order.
func OfTrack(fixes []evidence.Fix) Timeline { return of(fixes, true) }

// OfBeacons gives the timeline of the places that a unit sent, which may be minutes apart and rounded to Cell.
func OfBeacons(fixes []evidence.Fix) Timeline { return of(fixes, false) }

// knot is how finely (m/s) beacons tell a speed.
const knot = 1852.0 / 3600

// block is the length in seconds of what counts as one look at a unit with a dense track.
const block = 10

var (
	trackModel  = model{rough: 0.06, change: 400, shortest: 60, step: 10, halts: true, fine: 2.5, doubts: 6, pinned: 400, speedStep: 0.1, speedWeight: 0.5}
	beaconModel = model{rough: 1, change: 1200, shortest: 120, step: 30, fine: 5, doubts: 2, pinned: 150, speedStep: knot, speedWeight: 0.8}
)

func of(fixes []evidence.Fix, track bool) Timeline {
	fixes = clean(fixes)
	if len(fixes) < 2 {
		return Timeline{Dense: track}
	}
	origin := fixes[0].At
	all := sights(fixes, origin)
	if step := typicalStep(all); track && step <= densest {
		line := ofLooks(trackModel, blocks(all, block), max(60, 5*step), origin)
		line.Samples = samples(blocks(all, 5), origin, true)
		return line
	}
	looks := fresh(all)
	m := beaconModel
	m.talkative = talkative(looks)
	m.shortest = min(max(3*typicalStep(looks), 60), m.shortest)
	line := ofLooks(m, looks, longPause, origin)
	line.Dense = track
	line.Samples = samples(looks, origin, false)
	return line
}

// ofLooks gives the timeline without samples; what happened in a pause longer than that (s) is doubted.
func ofLooks(m model, looks []sight, pause float64, origin clock.Instant) Timeline {
	dense := m.halts
	last := looks[len(looks)-1].end
	m, story := m.modes(looks)
	spells := settle(spellsOf(story, last), looks)
	for i := 1; i < len(spells); i++ {
		spells[i].start = m.bound(spells[i-1], spells[i], looks, dense).inside(spells[i-1].start.best, spells[i].end.best, last)
		spells[i-1].end = spells[i].start
	}
	line := Timeline{Dense: dense, trail: newTrail(looks, origin, dense)}
	for _, s := range doubt(spells, looks, pause) {
		line.Periods = append(line.Periods, line.trail.measure(s.period(origin)))
	}
	return line
}

const (
	densest   = 35  // s: the longest usual step of a track that is followed look by look
	longPause = 600 // s between beacons after which what happened meanwhile is doubted
)

// talkative gives the time (s) within which nine of ten looks at a unit on its way are followed by the next, 0 when fewer than
// five such pairs were seen. Many radios send less often while they stand.
func talkative(looks []sight) float64 {
	const fast, share, least = 1.5, 0.9, 5 // m/s
	var gaps []float64
	for i := 1; i < len(looks); i++ {
		gap := looks[i].at - looks[i-1].at
		if hop(looks[i-1], looks[i]) > fast {
			gaps = append(gaps, gap)
		}
	}
	if len(gaps) < least {
		return 0
	}
	slices.Sort(gaps)
	return gaps[int(share*float64(len(gaps)-1))]
}
