package endurance

import (
	"math"
	"math/rand/v2"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
	"lastbeacon/core/motion"
	"lastbeacon/core/traffic"
)

// epoch is when every made-up run begins.
const epoch = clock.Instant(1_935_000_000_000)

func second(s float64) clock.Instant { return epoch.Add(clock.Seconds(s)) }

// A trial is a made-up run: when it was on the air, in seconds after epoch, when its beacons went out, and how it is heard.
type trial struct {
	on, off  float64
	sent     []float64
	listened float64 // seconds after epoch at which the recorder stops, others being heard up to then
	step     float64 // s of the stamps
}

// parked spaces beacons from on to off by the intervals, the last repeating, with jitter of so many seconds.
func parked(r *rand.Rand, on, off, jitter float64, intervals ...float64) []float64 {
	var sent []float64
	at := on + intervals[0]
	for k := 1; at < off; k++ {
		sent = append(sent, at+math.Abs(jitter*r.NormFloat64()))
		at += intervals[min(k, len(intervals)-1)]
	}
	return sent
}

// hear gives the unit as heard: each beacon with the chance that p gives for it.
func (t *trial) hear(r *rand.Rand, p func(i int) float64) *traffic.Unit {
	u := &traffic.Unit{Name: "Heron"}
	line := int32(0)
	for i, s := range t.sent {
		if r.Float64() >= p(i) {
			continue
		}
		line++
		at := second(math.Floor(s/t.step) * t.step)
		u.Transmissions = append(u.Transmissions, heardAt(at, line))
	}
	return u
}

func heardAt(at clock.Instant, line int32) traffic.Transmission {
	nan := float32(math.NaN())
	return traffic.Transmission{
		At: at, Beacon: true, Volts: math.NaN(),
		Fix:   &evidence.Fix{At: at, Place: geo.Place{Lat: 60, Lon: 10}, Speed: nan, Course: nan},
		Heard: []*evidence.Reception{{At: at, Line: evidence.Line{No: line}}},
	}
}

// watch is a recorder that heard others from an hour before power-on until the end of the listening.
func (t *trial) watch() Watch {
	from, until := second(t.on-36000), second(t.listened)
	return Watch{
		Files:    []evidence.File{{First: from, Last: until, Resolution: t.step}},
		Presence: []evidence.Presence{{Spans: []evidence.Span{{Start: from, End: until}}}},
	}
}

// subject notes the power-on to half a minute.
func (t *trial) subject(u *traffic.Unit) Subject {
	noted := Moment{At: second(t.on), Precision: 30 * time.Second}
	return Subject{Unit: u, Timeline: standing(u), Notes: Notes{Runs: []NotedRun{{PowerOn: &noted}}}}
}

// standing is the timeline of a unit that never moved.
func standing(u *traffic.Unit) motion.Timeline {
	if len(u.Transmissions) == 0 {
		return motion.Timeline{}
	}
	first, last := u.Transmissions[0].At, u.Transmissions[len(u.Transmissions)-1].At
	nan := math.NaN()
	return motion.Timeline{Periods: []motion.Period{{
		State: motion.Stationary, Start: clock.Exactly(first), End: clock.Exactly(last), MeanSpeed: nan, MaxSpeed: nan,
	}}}
}

// one analyses a single subject that must give one run.
func one(s Subject, w Watch) Run {
	runs := Of([]Subject{s}, w)[0]
	if len(runs) != 1 {
		panic("not one run")
	}
	return runs[0]
}
