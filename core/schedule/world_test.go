package schedule

import (
	"math"
	"math/rand/v2"
	"slices"

	"lastbeacon/core/clock"
	"lastbeacon/core/motion"
)

// A made is a made-up unit: what it did, second by second, what was heard of it, and the truth to be found. The maker
// shares no code with the inference.
type made struct {
	kind     Kind
	times    []clock.Instant
	timeline motion.Timeline
	sent     int       // between the first and the last heard, with both
	heard    []float64 // when these that were heard were sent, s; without strays

	period              float64 // fixed, with the mean send delay, for which the clock waits
	base, longest       float64
	hold                int
	slow, fast          float64
	slowSpeed, topSpeed float64
	corners             bool
	turnMin, turnSlope  float64
	holdback            float64
	late                float64 // mean delay of sending
}

// A maker makes units from one seed.
type maker struct {
	rng    *rand.Rand
	speed  []float64 // m/s, each second
	course []float64
	rest   []bool // at one place on purpose
	delay  float64
	jitter float64
}

func (k *maker) among(values ...float64) float64 { return values[k.rng.IntN(len(values))] }

func (k *maker) within(low, high float64) float64 { return low + k.rng.Float64()*(high-low) }

// travel lays a journey: parked, mixed or always moving; on foot, in town, on the road or all of these.
func (k *maker) travel(seconds int) {
	manner := k.rng.IntN(3)
	style := k.rng.IntN(4)
	resting := manner == 0 || manner == 1 && k.rng.Float64() < 0.6
	heading := math.Floor(k.within(0, 360))
	for len(k.speed) < seconds {
		if resting {
			length := seconds
			if manner == 1 {
				length = int(k.within(300, 5400))
			}
			k.stay(length)
			resting = false
			continue
		}
		length := seconds
		if manner == 1 {
			length = int(k.within(600, 5400))
		}
		heading = k.drive(length, style, heading)
		resting = manner == 1
	}
	k.speed, k.course, k.rest = k.speed[:seconds], k.course[:seconds], k.rest[:seconds]
}

func (k *maker) stay(length int) {
	held := 0.0
	if n := len(k.course); n > 0 {
		held = k.course[n-1]
	}
	for range length {
		k.add(math.Abs(k.rng.NormFloat64())*0.08, held, true)
	}
}

func (k *maker) drive(length, style int, heading float64) float64 {
	speed := 0.0
	for driven := 0; driven < length; {
		s := style
		if style == 3 {
			s = k.rng.IntN(3)
		}
		target, leg := 0.0, 0
		switch s {
		case 0:
			target, leg = k.within(3, 7)/3.6, int(k.within(15, 120))
		case 1:
			target, leg = k.within(13, 60)/3.6, int(k.within(15, 150))
		case 2:
			target, leg = k.within(50, 118)/3.6, int(k.within(40, 200))
		}
		for range leg {
			speed += clamped(target-speed, 1.1)
			k.add(max(0, speed+k.rng.NormFloat64()*0.12), heading, false)
		}
		driven += leg
		if k.rng.Float64() < 0.7 {
			turn := k.within(25, 110)
			if k.rng.IntN(2) == 0 {
				turn = -turn
			}
			heading = math.Mod(heading+math.Floor(turn)+360, 360)
		}
	}
	return heading
}

func clamped(v, most float64) float64 { return math.Max(-most, math.Min(most, v)) }

func (k *maker) add(speed, course float64, rest bool) {
	k.speed, k.course, k.rest = append(k.speed, speed), append(k.course, course), append(k.rest, rest)
}

// fixed sends every period. The clock either runs on or waits until the packet is on the air.
func (k *maker) fixed(period float64) []float64 {
	var sent []float64
	for due := k.within(0, period); due < float64(len(k.speed)); due += period {
		delay := k.rng.Float64() * k.delay
		sent = append(sent, due+delay)
		due += delay
	}
	return sent
}

func (k *maker) decaying(base float64, hold int, longest float64) []float64 {
	var sent []float64
	at, count := k.within(0, 60), 0
	for at < float64(len(k.speed)) {
		at += k.rng.Float64() * k.delay
		sent = append(sent, at)
		wait := base
		for c := hold; c <= count; c++ {
			wait = math.Min(wait*2, longest)
		}
		due, moved := at+wait, false
		for s := int(at); s < len(k.rest) && float64(s) < due; s++ {
			if !k.rest[s] {
				due, moved = math.Min(due, math.Max(at+base, float64(s))), true
			}
		}
		count++
		if moved {
			count = 0
		}
		at = due
	}
	return sent
}

func (k *maker) adaptive(u *made) []float64 {
	var sent []float64
	last, heading := k.within(0, 60)-u.slow, k.course[0]
	for s := range k.speed {
		v, since := k.speed[s], float64(s)-last
		wait := u.slow
		if v >= u.slowSpeed {
			wait = math.Min(u.slow, math.Max(u.fast, u.fast*u.topSpeed/v))
		}
		turn := math.Abs(math.Mod(k.course[s]-heading+540, 360) - 180)
		if u.corners && v >= u.slowSpeed && turn > u.turnMin+u.turnSlope/v && since > u.holdback {
			wait = 0
		}
		if since >= wait {
			last, heading = float64(s)+k.rng.Float64()*k.delay, k.course[s]
			sent = append(sent, last)
		}
	}
	return sent
}

func (k *maker) irregular(mean float64) []float64 {
	var sent []float64
	for at := k.within(0, mean); at < float64(len(k.speed)); at += 5 + k.rng.ExpFloat64()*(mean-5) {
		sent = append(sent, at)
	}
	return sent
}

// hear loses packets, singly or in bursts, blurs and rounds the times, and adds strays sent by hand.
func (k *maker) hear(u *made, sent []float64) {
	loss := k.within(0, 0.4)
	if k.rng.IntN(4) == 0 {
		loss = k.within(0, 0.05)
	}
	bursty, bad := k.rng.IntN(3) == 0, false
	first, last := -1, -1
	for i := range sent {
		lost := k.rng.Float64() < loss
		if bursty {
			switch {
			case bad && k.rng.Float64() < 0.3:
				bad = false
			case !bad && k.rng.Float64() < 0.3*loss/(1-loss):
				bad = true
			}
			lost = bad
		}
		if !lost {
			if first < 0 {
				first = i
			}
			last = i
			u.heard = append(u.heard, sent[i])
			u.times = append(u.times, stamp(sent[i]+k.within(-0.5, 0.5)*k.jitter))
		}
	}
	u.sent = last - first + 1
	if k.rng.IntN(10) == 0 {
		for range 1 + len(sent)/40 {
			u.times = append(u.times, stamp(k.within(0, float64(len(k.speed)))))
		}
	}
	slices.Sort(u.times)
}

func stamp(second float64) clock.Instant { return origin + 1000*clock.Instant(math.Floor(second)) }

// watch gives the timeline that a recorded track would give: a sample every five seconds.
func (k *maker) watch() motion.Timeline {
	m := motion.Timeline{Dense: true}
	for s := 0; s < len(k.speed); s += 5 {
		course := k.course[s]
		if k.rest[s] {
			course = math.NaN()
		}
		m.Samples = append(m.Samples, motion.Sample{At: stamp(float64(s)), Speed: k.speed[s], Course: course})
	}
	from := 0
	for s := 1; s <= len(k.rest); s++ {
		if s < len(k.rest) && k.rest[s] == k.rest[from] {
			continue
		}
		state := motion.Moving
		if k.rest[from] {
			state = motion.Stationary
		}
		m.Periods = append(m.Periods, motion.Period{
			State: state, Start: clock.Exactly(stamp(float64(from))), End: clock.Exactly(stamp(float64(s))),
		})
		from = s
	}
	return m
}

// makeUnit makes one unit of any kind. The truth is what can be told: a unit whose rule showed only one interval is fixed.
func makeUnit(seed uint64) made {
	k := &maker{rng: rand.New(rand.NewPCG(seed, 0x5eed))}
	k.jitter, k.delay = k.among(0, 0, 1, 2, 3, 5), k.among(0, 0, 0.5, 2)
	u := made{late: k.delay / 2}
	k.travel(int(k.within(9000, 32400)))
	var sent []float64
	switch pick := k.rng.Float64(); {
	case pick < 0.4:
		u.kind, u.period = Fixed, k.among(30, 45, 60, 60, 120, 180, 300, 600, 900, 1200)*k.within(0.995, 1.005)
		sent = k.fixed(u.period)
	case pick < 0.67:
		sent = k.makeDecaying(&u)
	case pick < 0.93:
		sent = k.makeAdaptive(&u)
	default:
		u.kind = Irregular
		sent = k.irregular(k.among(60, 120, 300, 600))
	}
	k.hear(&u, sent)
	u.timeline = k.watch()
	u.label(sent)
	if u.kind == Fixed {
		u.period = meanGap(sent, u.period)
	}
	return u
}

func (k *maker) makeDecaying(u *made) []float64 {
	u.kind, u.hold = Decaying, 1+k.rng.IntN(5)
	u.base = k.among(30, 60, 120, 180) * k.within(0.995, 1.005)
	u.longest = u.base * k.among(4, 8, 16)
	if k.rng.IntN(4) == 0 {
		u.longest = k.among(1800, 1920)
	}
	return k.decaying(u.base, u.hold, u.longest)
}

func (k *maker) makeAdaptive(u *made) []float64 {
	u.kind = Adaptive
	u.fast, u.topSpeed = k.among(30, 45, 60, 90, 120), k.among(40, 60, 70, 80, 90, 100, 110)/3.6
	u.slow, u.slowSpeed = k.among(300, 600, 900, 1200, 1800), k.among(3, 5, 5, 8, 10)/3.6
	u.corners = k.rng.Float64() < 0.8
	u.turnMin, u.turnSlope, u.holdback = k.among(15, 28, 30), k.among(0, 120, 240, 255)/3.6, k.among(5, 15, 30)
	return k.adaptive(u)
}

// label replaces a truth that the heard gaps cannot show: fewer than three of them tell the rule from a fixed one.
func (u *made) label(sent []float64) {
	switch {
	case u.kind == Decaying && u.offBeat(u.longest) < 3:
		u.kind, u.period = Fixed, u.longest
	case u.kind == Decaying && longer(sent, 1.3*u.base) < 2:
		u.kind, u.period = Fixed, u.base
	case u.kind == Adaptive && u.offBeat(u.slow) < 3:
		u.kind, u.period = Fixed, u.slow
	case u.kind == Adaptive && u.offBeat(u.fast) < 3:
		u.kind, u.period = Fixed, u.fast
	}
}

// offBeat counts the heard gaps that are no multiple of an interval, with the mean delay of sending in it.
func (u *made) offBeat(interval float64) int {
	n := 0
	interval += u.late
	for i := 1; i < len(u.heard); i++ {
		gap := u.heard[i] - u.heard[i-1]
		if math.Abs(gap-interval*math.Max(1, math.Round(gap/interval))) > math.Max(6, 0.005*gap) {
			n++
		}
	}
	return n
}

// meanGap gives the period with the mean delay of sending in it: the mean of the sent gaps that are about one period.
func meanGap(sent []float64, period float64) float64 {
	sum, n := 0.0, 0.0
	for i := 1; i < len(sent); i++ {
		if gap := sent[i] - sent[i-1]; math.Abs(gap-period) < 3.5 {
			sum += gap
			n++
		}
	}
	return sum / math.Max(n, 1)
}

func longer(sent []float64, than float64) int {
	n := 0
	for i := 1; i < len(sent); i++ {
		if sent[i]-sent[i-1] > than {
			n++
		}
	}
	return n
}
