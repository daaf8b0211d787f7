package motion

import (
	"fmt"
	"math"
	"math/rand/v2"

	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// A world is a journey of which everything is known, second by second, and what a receiver carried along would have said.
// Receiver errors: an Ornstein-Uhlenbeck process per direction with a standard deviation of 3 to 8 m and a correlation time of
// 60 to 600 s, white noise of 0.2 to 0.6 m, up to two outliers an hour (published receiver studies lie within this band).
type world struct {
	name    string
	noise   string
	start   clock.Instant
	legs    []leg
	truth   []State // per second
	fixes   []evidence.Fix
	missing []bool // per second: the receiver had no fix
	speed   []float64
	place   []geo.Vector
}

// A leg is one true period, in seconds.
type leg struct {
	state      State
	start, end int
	metres     float64
}

// A gait is how a means of travel moves: its mean speed lies between slow and fast.
type gait struct {
	slow, fast, spread, acceleration float64
	haltEvery                        float64 // s
	haltShort, haltLong              float64 // s
	turnEvery                        float64 // s: sharp turns
}

var gaits = map[string]gait{
	"ped":   {0.9, 1.7, 0.15, 1, 500, 8, 17, 160},
	"bike":  {2.8, 6.5, 0.22, 0.7, 350, 8, 45, 200},
	"car":   {9, 21, 0.25, 1.5, 240, 15, 50, 160},
	"drift": {0.17, 0.4, 0.12, 0.02, 1e9, 0, 0, 1e9},
}

// A journey says which legs follow each other: a means of travel or "stop" with the shortest and longest duration in seconds.
type journey []struct {
	how         string
	short, long float64
}

func trips(how string, n int, short, long, stopShort, stopLong float64) journey {
	j := journey{{"stop", 240, 1000}}
	for range n {
		j = append(j, journey{{how, short, long}, {"stop", stopShort, stopLong}}...)
	}
	return j
}

var journeys = []struct {
	name  string
	place geo.Place
	legs  journey
}{
	{"ped", geo.Place{Lat: 25.55, Lon: 72.21}, trips("ped", 5, 340, 1400, 300, 900)},
	{"bike", geo.Place{Lat: -42, Lon: 13}, trips("bike", 4, 900, 1800, 90, 1400)},
	{"car", geo.Place{Lat: 61, Lon: -30}, trips("car", 4, 320, 1500, 600, 1800)},
	{"drift", geo.Place{Lat: 11.66, Lon: 17.4}, trips("drift", 2, 1200, 2400, 900, 2500)},
	{"night", geo.Place{Lat: -13.5, Lon: 47.5}, journey{{"stop", 240, 600}, {"car", 800, 1200}, {"stop", 25000, 30000}, {"ped", 600, 1000},
		{"stop", 600, 1000}, {"car", 800, 1200}, {"stop", 500, 900}}},
	{"dateline", geo.Place{Lat: -17, Lon: 179.95}, journey{{"stop", 300, 350}, {"car", 350, 500}, {"stop", 300, 400}, {"car", 350, 500},
		{"stop", 300, 400}, {"ped", 450, 600}, {"stop", 900, 1500}, {"bike", 500, 700}, {"stop", 300, 400}}},
	{"pole", geo.Place{Lat: 89.9, Lon: -170}, journey{{"stop", 300, 600}, {"ped", 500, 800}, {"stop", 600, 900}, {"bike", 300, 500}, {"stop", 600, 900}}},
	{"gaps", geo.Place{Lat: -3.4, Lon: -135}, journey{{"stop", 400, 600}, {"bike", 500, 700}, {"stop", 1300, 1600}, {"car", 900, 1100}, {"stop", 600, 900},
		{"ped", 700, 900}, {"stop", 700, 900}, {"bike", 600, 800}, {"stop", 1800, 2300}}},
	{"messy", geo.Place{Lat: 3.9, Lon: -138.6}, trips("ped", 3, 400, 800, 300, 800)},
	{"allstop", geo.Place{Lat: 48, Lon: 11}, journey{{"stop", 12000, 18000}}},
	{"allmove", geo.Place{Lat: 52, Lon: 0.01}, journey{{"car", 4500, 6000}}},
}

// build makes the world of a journey; the same seed gives the same world.
func build(kind int, seed uint64) *world {
	r := rand.New(rand.NewPCG(seed, uint64(kind)+1000))
	w := &world{name: journeys[kind].name, start: 1_800_000_000_000 + clock.Instant(r.IntN(86400))*1000}
	t := traveller{r: r, heading: r.Float64() * 2 * math.Pi}
	for _, l := range journeys[kind].legs {
		t.leg(l.how, int(l.short+r.Float64()*(l.long-l.short)))
	}
	w.legs, w.speed = t.legs, t.speeds
	w.receive(r, t.path, journeys[kind].place)
	switch w.name {
	case "gaps":
		w.drop()
	case "messy":
		w.mess(r)
	}
	return w
}

// A traveller walks through a plane; path holds metres east and north at each second.
type traveller struct {
	r             *rand.Rand
	east, north   float64
	heading       float64
	path          [][2]float64
	speeds        []float64
	legs          []leg
	speed, wanted float64
}

func (t *traveller) leg(how string, n int) {
	l := leg{state: Stationary, start: len(t.path), end: len(t.path) + n}
	if how != "stop" {
		l.state = Moving
	}
	g := gaits[how]
	mean := g.slow + t.r.Float64()*(g.fast-g.slow)
	swing, halt := 0.0, 0.0
	for i := range n {
		swing += -swing/40 + g.spread*math.Sqrt(2.0/40)*t.r.NormFloat64()
		if halt--; halt < 0 && t.r.Float64() < 1/g.haltEvery {
			halt = g.haltShort + t.r.Float64()*(g.haltLong-g.haltShort)
		}
		t.wanted = mean * max(0.3, 1+swing)
		if halt > 0 {
			t.wanted = 0
		}
		brake := g.acceleration * float64(n-i)
		t.speed += min(max(min(t.wanted, brake)-t.speed, -g.acceleration*1.5), g.acceleration)
		if how == "stop" {
			t.speed = 0
		}
		t.steer(g)
		t.east += t.speed * math.Sin(t.heading)
		t.north += t.speed * math.Cos(t.heading)
		l.metres += t.speed
		t.path = append(t.path, [2]float64{t.east, t.north})
		t.speeds = append(t.speeds, t.speed)
	}
	t.legs = append(t.legs, l)
}

func (t *traveller) steer(g gait) {
	t.heading += 0.06 * t.r.NormFloat64()
	if t.r.Float64() < 1/g.turnEvery {
		t.heading += (0.8 + t.r.Float64()) * float64(1-2*t.r.IntN(2))
	}
}

// receive lays the path on the earth and adds the receiver's errors.
func (w *world) receive(r *rand.Rand, path [][2]float64, at geo.Place) {
	sigma, tau := 3+5*r.Float64(), 60*math.Pow(10, r.Float64())
	white, strays := 0.2+0.4*r.Float64(), 2*r.Float64()/3600
	keep := math.Exp(-1 / tau)
	w.noise = fmt.Sprintf("sigma %.1f m, tau %.0f s, white %.2f m", sigma, tau, white)
	east, north := axesAt(at)
	origin := at.Vector()
	var e, n, strayE, strayN, stray float64
	e, n = sigma*r.NormFloat64(), sigma*r.NormFloat64()
	for s, p := range path {
		e = keep*e + sigma*math.Sqrt(1-keep*keep)*r.NormFloat64()
		n = keep*n + sigma*math.Sqrt(1-keep*keep)*r.NormFloat64()
		if stray--; stray <= 0 {
			strayE, strayN = 0, 0
			if r.Float64() < strays {
				size, way := 60+200*r.Float64(), 2*math.Pi*r.Float64()
				strayE, strayN, stray = size*math.Sin(way), size*math.Cos(way), float64(1+r.IntN(5))
			}
		}
		true_ := origin.Add(east.Scale(p[0])).Add(north.Scale(p[1]))
		seen := true_.Add(east.Scale(e + strayE + white*r.NormFloat64())).Add(north.Scale(n + strayN + white*r.NormFloat64()))
		speed := math.Abs(w.speed[s] + 0.1*r.NormFloat64())
		course := 360 * r.Float64()
		if s > 0 && w.speed[s] > 0.3 {
			d := [2]float64{p[0] - path[s-1][0], p[1] - path[s-1][1]}
			course = full(math.Atan2(d[0], d[1]) * 180 / math.Pi)
		}
		w.place = append(w.place, true_)
		w.fixes = append(w.fixes, evidence.Fix{
			At: w.start + clock.Instant(s)*1000, Place: seen.Place(), Speed: float32(speed), Course: float32(course),
		})
		w.missing = append(w.missing, false)
	}
	for _, l := range w.legs {
		for range l.end - l.start {
			w.truth = append(w.truth, l.state)
		}
	}
}

// axesAt gives unit vectors east and north.
func axesAt(p geo.Place) (east, north geo.Vector) {
	sinLat, cosLat := math.Sincos(p.Lat * math.Pi / 180)
	sinLon, cosLon := math.Sincos(p.Lon * math.Pi / 180)
	return geo.Vector{X: -sinLon, Y: cosLon}, geo.Vector{X: -sinLat * cosLon, Y: -sinLat * sinLon, Z: cosLat}
}

// drop takes the receiver's sight away: within a stop, within a trip, across an arrival and a departure.
func (w *world) drop() {
	hide := func(from, to int) {
		for s := max(from, 0); s < min(to, len(w.missing)); s++ {
			w.missing[s] = true
		}
	}
	hide(w.legs[2].start+60, w.legs[2].end-60)
	hide(w.legs[3].start+120, w.legs[3].start+360)
	hide(w.legs[5].end-150, w.legs[5].end+150)
	hide(w.legs[7].start-120, w.legs[7].start+200)
	hide(w.legs[1].start+100, w.legs[1].start+130)
}

// mess doubles some fixes, swaps some and loses some single ones.
func (w *world) mess(r *rand.Rand) {
	for s := 1; s < len(w.fixes); s++ {
		switch r.IntN(50) {
		case 0:
			w.missing[s] = true
		case 1:
			w.fixes[s], w.fixes[s-1] = w.fixes[s-1], w.fixes[s]
		case 2:
			w.fixes[s].At = w.fixes[s-1].At
		}
	}
}

// track gives every step-th fix, with or without the receiver's speed.
func (w *world) track(step int, speeds bool) []evidence.Fix {
	var out []evidence.Fix
	for s := 0; s < len(w.fixes); s += step {
		if w.missing[s] {
			continue
		}
		f := w.fixes[s]
		if !speeds {
			f.Speed, f.Course = float32(math.NaN()), float32(math.NaN())
		}
		out = append(out, f)
	}
	return out
}

// A rounding is how a beacon's place is sent.
type rounding int

const (
	hundredths rounding = iota // hundredths of a minute
	base91
)

// beacon gives the fix of second s as sent: place rounded, speed in whole knots.
func (w *world) beacon(s int, how rounding) evidence.Fix {
	f := w.fixes[s]
	f.Speed = float32(math.Round(float64(f.Speed)/knot) * knot)
	f.Course = float32(math.Round(float64(f.Course)))
	f.Cell = geo.Cell{Lat: 1.0 / 6000, Lon: 1.0 / 6000}
	if how == base91 {
		f.Cell = geo.Cell{Lat: 1.0 / 380926, Lon: 1.0 / 190463}
	}
	f.Place.Lat = math.Round(f.Place.Lat/f.Cell.Lat) * f.Cell.Lat
	f.Place.Lon = math.Round(f.Place.Lon/f.Cell.Lon) * f.Cell.Lon
	return f
}

// every gives the seconds at which a fixed schedule beacons.
func (w *world) every(r *rand.Rand, interval int) []int {
	var out []int
	for s := r.IntN(min(interval, len(w.truth))); s < len(w.truth); s += interval {
		if !w.missing[s] {
			out = append(out, s)
		}
	}
	return out
}

// adaptive gives the seconds at which a speed-following schedule beacons, corner beacons included.
func (w *world) adaptive(r *rand.Rand) []int {
	const slowRate, fastRate, slow, fast, turn, slope, turnTime = 1800, 60, 1.4, 25.0, 28, 11, 15
	var out []int
	last, lastCourse := -r.IntN(slowRate), 0.0
	for s := range w.truth {
		if w.missing[s] {
			continue
		}
		v, rate := float64(w.fixes[s].Speed), float64(slowRate)
		since := float64(s - last)
		if v > slow {
			rate = min(max(fastRate*fast/v, fastRate), slowRate)
			limit := turn + slope/v*10
			swing := math.Abs(math.Remainder(float64(w.fixes[s].Course)-lastCourse, 360))
			if swing > limit && since >= turnTime {
				rate = 0
			}
		}
		if since >= rate || len(out) == 0 && s > 60 {
			out = append(out, s)
			last, lastCourse = s, float64(w.fixes[s].Course)
		}
	}
	return out
}

// beacons gives what would be heard of the unit, each beacon lost with the given probability.
func (w *world) beacons(r *rand.Rand, when []int, how rounding, loss float64) []evidence.Fix {
	var out []evidence.Fix
	for _, s := range when {
		if r.Float64() >= loss {
			out = append(out, w.beacon(s, how))
		}
	}
	return out
}
