package sim

import (
	"math"
	"math/rand/v2"
	"sort"

	"lastbeacon/core/geo"
)

// A Mode is how a unit is carried.
type Mode uint8

const (
	Parked Mode = iota
	Foot
	Bike
	Car
)

func (m Mode) String() string { return [...]string{"parked", "foot", "bike", "car"}[m] }

// A Leg is one part of a journey: For seconds in one mode. Toward is the general course in degrees, 1 to 360; 0 lets the
// leg wander.
type Leg struct {
	Mode   Mode
	For    float64
	Toward float64
}

// A Journey is what a unit does from the scenario's begin. After its last leg the unit stays where it is.
type Journey []Leg

// A gait is how a mode moves. Speeds m/s, times seconds, angles degrees.
type gait struct {
	cruise, spread float64 // speed and its standard deviation
	settle         float64 // time over which the speed wanders
	push           float64 // m/s gained or lost in a second
	turnEvery      float64 // mean time between turns
	bend           float64 // standard deviation of a turn
	swing          float64 // degrees turned in a second at most
	haltEvery      float64 // mean time between short halts, 0 none
	haltFor        float64 // longest of them
}

// gaits are made up; they only have to be plausible.
var gaits = [...]gait{
	Foot: {cruise: 1.3, spread: 0.2, settle: 60, push: 0.5, turnEvery: 100, bend: 40, swing: 30, haltEvery: 900, haltFor: 30},
	Bike: {cruise: 5, spread: 1, settle: 60, push: 0.7, turnEvery: 80, bend: 45, swing: 20, haltEvery: 600, haltFor: 30},
	Car:  {cruise: 15, spread: 4, settle: 45, push: 1.5, turnEvery: 60, bend: 45, swing: 12, haltEvery: 300, haltFor: 45},
}

// A step is where and how fast the unit is at one second of a moving leg.
type step struct {
	place         geo.Place
	speed, course float64
}

// A stretch is one leg as it was travelled. Parked: place only.
type stretch struct {
	span
	mode   Mode
	steps  []step // one a second, the last at the end; nil when parked
	last   step   // where the stretch ends and how the unit points there
	metres float64
}

// A Way is a journey as it was travelled: place, speed and course at any second.
type Way struct{ stretches []stretch }

// Travel walks a journey that starts at home. Neighbouring parked legs are one stretch.
func Travel(r *rand.Rand, home geo.Place, journey Journey) *Way {
	w := &Way{}
	at, now := 0.0, step{place: home, course: between(r, 0, 360)}
	for _, leg := range append(journey[:len(journey):len(journey)], Leg{For: never}) {
		s := stretch{span: span{at, at + leg.For}, mode: leg.Mode}
		if leg.Mode != Parked {
			s.steps, s.metres = gaits[leg.Mode].walk(r, now, leg)
			now = s.steps[len(s.steps)-1]
		}
		now.speed = 0
		s.last = now
		w.add(s)
		at = s.until
	}
	return w
}

func (w *Way) add(s stretch) {
	if n := len(w.stretches); n > 0 && s.mode == Parked && w.stretches[n-1].mode == Parked {
		w.stretches[n-1].until = s.until
		return
	}
	w.stretches = append(w.stretches, s)
}

// A walker is a unit on a moving leg.
type walker struct {
	gait
	r      *rand.Rand
	toward float64
	now    step
	wish   float64 // the speed it would like to have
	aim    float64 // the course it turns to
	haltAt float64 // when the next short halt begins
	goAt   float64 // when the current one ends
	scale  scale
}

// walk makes the steps of one moving leg and gives the metres travelled.
func (g gait) walk(r *rand.Rand, from step, leg Leg) ([]step, float64) {
	w := walker{gait: g, r: r, toward: leg.Toward, now: from, wish: g.cruise}
	w.turn()
	w.haltAt = w.untilHalt()
	steps, metres := make([]step, int(leg.For)+1), 0.0
	steps[0] = from
	for i := 1; i < len(steps); i++ {
		w.second(float64(i), leg.For-float64(i))
		metres += w.now.speed
		steps[i] = w.now
	}
	return steps, metres
}

// second moves on by one second; left is what remains of the leg, so that it ends at rest.
func (w *walker) second(t, left float64) {
	if w.r.Float64() < 1/w.turnEvery {
		w.turn()
	}
	if t >= w.haltAt {
		w.goAt = t + between(w.r, 5, w.haltFor)
		w.haltAt = w.goAt + w.untilHalt()
	}
	w.wish += (w.cruise-w.wish)/w.settle + w.spread*math.Sqrt(2/w.settle)*w.r.NormFloat64()
	target := min(max(0.2*w.cruise, w.wish), w.push*left)
	if t < w.goAt {
		target = 0
	}
	w.now.speed += min(w.push, max(-w.push, target-w.now.speed))
	change := math.Mod(w.aim-w.now.course+540, 360) - 180
	w.now.course = math.Mod(w.now.course+min(w.swing, max(-w.swing, change))+360, 360)
	w.now.place = w.scale.ahead(w.now.place, w.now.speed, w.now.course)
}

// turn picks a new course: about the leg's own, else about the one it has.
func (w *walker) turn() {
	about := w.toward
	if about == 0 {
		about = w.now.course
	}
	w.aim = math.Mod(about+w.bend*w.r.NormFloat64()+720, 360)
}

func (w *walker) untilHalt() float64 {
	if w.haltEvery == 0 {
		return never
	}
	return 20 + w.haltEvery*w.r.ExpFloat64()
}

// A scale turns metres into degrees about one latitude, on the WGS-84 ellipsoid.
type scale struct{ lat, perLat, perLon float64 }

// at fits the scale to a latitude; a thousandth of a degree changes it by less than 4e-5.
func (s *scale) at(lat float64) {
	if s.perLat != 0 && math.Abs(lat-s.lat) < 1e-3 {
		return
	}
	const a, e2 = 6378137.0, 0.00669437999014132
	sin, cos := math.Sincos(lat * math.Pi / 180)
	w := 1 - e2*sin*sin
	n := a / math.Sqrt(w) // radius across the meridian; along it n*(1-e2)/w
	s.lat, s.perLat, s.perLon = lat, n*(1-e2)/w*math.Pi/180, n*cos*math.Pi/180
}

// ahead gives the place that lies some metres from p in a direction in degrees.
func (s *scale) ahead(p geo.Place, metres, course float64) geo.Place {
	sin, cos := math.Sincos(course * math.Pi / 180)
	return s.shift(p, metres*sin, metres*cos)
}

// shift gives the place east and north of p by so many metres.
func (s *scale) shift(p geo.Place, east, north float64) geo.Place {
	s.at(p.Lat)
	lon := p.Lon + east/s.perLon
	if lon > 180 {
		lon -= 360
	} else if lon < -180 {
		lon += 360
	}
	return geo.Place{Lat: p.Lat + north/s.perLat, Lon: lon}
}

// at gives the stretch in which t lies.
func (w *Way) at(t float64) *stretch {
	i := sort.Search(len(w.stretches), func(i int) bool { return t < w.stretches[i].until })
	return &w.stretches[min(i, len(w.stretches)-1)]
}

// pointer gives the speed in m/s and the course in degrees at t.
func (w *Way) pointer(t float64) (speed, course float64) {
	s := w.step(t)
	return s.speed, s.course
}

// step gives place, speed and course at t.
func (w *Way) step(t float64) step {
	s := w.at(t)
	if s.steps == nil {
		return s.last
	}
	i := max(0, min(int(t-s.from), len(s.steps)-1))
	here, f := s.steps[i], t-s.from-float64(i)
	if i+1 == len(s.steps) || f <= 0 {
		return here
	}
	next := s.steps[i+1]
	here.place.Lat += f * (next.place.Lat - here.place.Lat)
	here.place.Lon += f * (next.place.Lon - here.place.Lon)
	return here
}

// restsUntil gives the end of the parked leg in which t lies; t itself when the unit is under way.
func (w *Way) restsUntil(t float64) float64 {
	if s := w.at(t); s.mode == Parked {
		return s.until
	}
	return t
}

// movesAfter gives the first moment at or after t at which the unit is under way.
func (w *Way) movesAfter(t float64) float64 {
	for i := range w.stretches {
		if s := &w.stretches[i]; s.mode != Parked && s.until > t {
			return max(t, s.from)
		}
	}
	return never
}

// parked gives the stretches in which the unit stands at one place for at least some seconds.
func (w *Way) parked(least float64) []span {
	var spans []span
	for _, s := range w.stretches {
		if s.mode == Parked && s.until-s.from >= least {
			spans = append(spans, s.span)
		}
	}
	return spans
}
