package sentence

import (
	"math"
	"testing"

	"lastbeacon/core/estimate"
)

const noAlarm = " This is a test reading, no safety alarm: silence does not show that somebody is in trouble, nor do beacons show that all is well."

func TestWhatTheOutlookWaitsFor(t *testing.T) {
	same(t, "by an earlier run", OutlookOf(Now{Runs: 1, Earliest: "4 May 17:10", Best: "4 May 17:40", Latest: "4 May 18:20"}),
		"By its earlier run like this one it should end between 4 May 17:10 and 4 May 18:20, about 4 May 17:40.")
	same(t, "nobody knows its start", OutlookOf(Now{Runs: 2}), "When it should end is not foretold: that waits for when it was switched on, which nobody noted.")
	same(t, "none has ended", OutlookOf(Now{}),
		"When it should end is not foretold: that waits for a run of it that ended, on a pack of the same charge and at about the same rate of beacons.")
}

func TestNowOf(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		n    Now
		want string
	}{
		{"heard to the end", Now{ListenedUntil: "1 Jun 16:02", Chance: 1}, "It was heard up to the end of the listening, 1 Jun 16:02."},
		{"nothing due yet", Now{ListenedUntil: "1 Jun 16:02", Since: 101, Chance: 1},
			"At 1 Jun 16:02, the end of the listening, it was last heard 101 s before: no beacon that was due since was missed."},
		{"two missed", Now{ListenedUntil: "1 Jun 16:02", Since: 2640, Missed: 2, Chance: 0.04971},
			"At 1 Jun 16:02, the end of the listening, it was last heard 44 min before: 2 due beacons were not heard, which loss alone does to a unit that still sends in 5.0 % of cases."},
		{"hardly by loss", Now{ListenedUntil: "1 Jun 16:02", Since: 600, Missed: 1, Chance: 0.0001},
			"At 1 Jun 16:02, the end of the listening, it was last heard 10 min before: 1 due beacon was not heard, which loss alone does to a unit that still sends in less than 0.1 % of cases."},
		{"silent by habit", Now{ListenedUntil: "1 Jun 16:02", Since: 600, Missed: 3, Chance: nan},
			"At 1 Jun 16:02, the end of the listening, it was last heard 10 min before: 3 due beacons were not heard, as is usual for this unit or this source at rest."},
		{"no schedule", Now{ListenedUntil: "1 Jun 16:02", Since: 600, Missed: -1, Chance: nan},
			"At 1 Jun 16:02, the end of the listening, it was last heard 10 min before: what was due since is not known, for no schedule is decided."},
		{"slowing, foretold by two", Now{ListenedUntil: "1 Jun 16:02", SlowingSince: "1 Jun 11:06", Earliest: "1 Jun 16:11", Best: "1 Jun 16:37", Latest: "1 Jun 17:07", Runs: 2},
			"It was heard up to the end of the listening, 1 Jun 16:02. It has sent at longer intervals than its shortest since 1 Jun 11:06. By its 2 earlier runs like this one it should end between 1 Jun 16:11 and 1 Jun 17:07, about 1 Jun 16:37."},
		{"outlasted", Now{ListenedUntil: "1 Jun 16:02", Runs: 1, Outlasted: true},
			"It was heard up to the end of the listening, 1 Jun 16:02. By its earlier run like this one it should have ended before; it has outlasted it."},
	} {
		same(t, c.name, NowOf(c.n), c.want+noAlarm)
	}
}

func TestAlikeOf(t *testing.T) {
	for _, c := range []struct {
		name string
		a    Alike
		want string
	}{
		{"intervals", Alike{A: "Heron", B: "Lapwing", Verdict: "different", When: "1 Jun 11:10", IntervalA: estimate.Exact(120), IntervalB: estimate.Exact(240), Running: true},
			"Their beacon schedules differ, certain since 1 Jun 11:10: Heron beacons every 2 min, Lapwing every 4 min. Set them alike now and begin the test anew, rather than after the packs are spent."},
		{"one slows down", Alike{A: "Heron", B: "Lapwing", Verdict: "different", When: "1 Jun 11:10", IntervalA: estimate.Exact(60), IntervalB: estimate.Exact(60), SlowsB: true},
			"Their beacon schedules differ, certain since 1 Jun 11:10: Lapwing lengthens its interval at rest, Heron was not heard to."},
		{"both slow down", Alike{A: "Heron", B: "Lapwing", Verdict: "different", When: "1 Jun 11:10", SlowsA: true, SlowsB: true},
			"Their beacon schedules differ, certain since 1 Jun 11:10."},
	} {
		same(t, c.name, AlikeOf(c.a), c.want)
	}
}
