package endurance

import (
	"math"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/schedule"
)

// fewestWaits is how many runs with a noted power-on must agree on when a unit sends its first beacon.
const fewestWaits = 2

// learnHabit gives runs without a noted power-on the habit of the first beacon that the noted runs of the unit show, where
// nobody stated it.
func learnHabit(all []*draft) {
	if len(all) == 0 || all[0].habit != NotKnown {
		return
	}
	habit := habitOf(all)
	for _, d := range all {
		d.habit = habit
	}
}

// habitOf gives what the waits between power-on and first beacon show. A unit that beacons at once was heard within half a
// minute now and then; one that waits an interval never, and so often that it cannot each time be the first beacon at once that
// was lost: the runs' losses are counted together, since a product is greatest where all lose alike. Waits that fit neither, as for a
// fix, teach nothing.
func habitOf(all []*draft) FirstBeacon {
	atOnce, waited, heard, missed := 0, 0, 0, 0
	for _, d := range all {
		intervals, known := d.firstWait()
		switch {
		case !known:
		case intervals == 0:
			atOnce++
		case intervals == 1:
			waited++
			l := d.lossOver(d.counted(d.beats), nil)
			heard, missed = heard+l.heard, missed+l.missed
		case intervals < 0:
			return NotKnown
		}
	}
	switch {
	case atOnce >= fewestWaits:
		return AtOnce
	case atOnce == 0 && waited >= fewestWaits && allLost(heard, missed, waited) <= excludedBelow:
		return AfterInterval
	}
	return NotKnown
}

// firstWait gives how many whole intervals after a noted power-on the first beacon was heard, -1 when it was no whole number
// of them; known is false where nobody noted it, or not precisely enough to tell.
func (d *draft) firstWait() (intervals int, known bool) {
	if d.charge.powerOn == nil || len(d.beats) == 0 || !countable(d.Schedule) || d.Schedule.Kind == schedule.Adaptive {
		return 0, false
	}
	on, step := *d.charge.powerOn, d.Schedule.Interval.Best
	slack := (on.Precision + d.resolution + clock.Seconds(4*d.Schedule.Jitter)).Seconds()
	if bootTime+2*slack >= step/2 {
		return 0, false
	}
	wait := d.beats[0].due.Sub(on.At).Seconds()
	n := math.Floor((wait + slack) / step)
	if n < 0 || wait-n*step > bootTime+slack {
		return -1, true
	}
	return int(n), true
}

// waitedFor tells whether so long a time before the first packet is the one interval that the unit waits.
func (d *draft) waitedFor(before, precision time.Duration) bool {
	return d.habit != AtOnce && (before-clock.Seconds(d.step())).Abs() <= precision+time.Minute
}
