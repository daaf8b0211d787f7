package motion

import (
	"math"

	"lastbeacon/core/geo"
)

// How a unit moves and how its receiver errs, as a hidden Markov model: at any moment it stands, or it travels at one of a few
// paces. Standing, the place is constant; travelling, each component of the velocity is an Ornstein-Uhlenbeck process. The
// receiver's error is one too, because it wanders over minutes rather than jumping (Schumayer et al., Sensors 2020,
// 20(21) 6050). Each hypothesis about when the unit stopped and left carries a Kalman filter for place, velocity and
// error; the best few are kept (Viterbi's rule: of two that are in the same mode since the same moment, the likelier).

// A pace is a way of travelling.
type pace struct {
	speed float64 // m/s: standard deviation of each component of velocity
	turn  float64 // s: time over which a velocity is kept
	share float64 // of all trips
}

// paces: the drift of a boat, a walker, a bicycle, a vehicle, an express train or an aeroplane. Common practice, no source.
var paces = [...]pace{{0.22, 360, 0.03}, {0.9, 105, 0.35}, {3.2, 105, 0.3}, {10, 90, 0.3}, {50, 100, 0.02}}

// A mode is what a unit does: it stands, it travels at paces[mode-1], or it halts for a moment within such a trip.
type mode int

const (
	standing mode = 0
	halted   mode = mode(len(paces)) // added to the mode of the trip
	modes         = 1 + 2*len(paces)
)

func (m mode) travels() bool { return m > standing && m <= halted }
func (m mode) halts() bool   { return m > halted }
func (m mode) pace() pace    { return paces[(m-1)%halted] }

// usual gives the log probability that a trip goes at the pace of m.
func (m mode) usual() float64 { return logShares[(m-1)%halted] }

var logShares = func() (logs [len(paces)]float64) {
	for i, p := range paces {
		logs[i] = math.Log(p.share)
	}
	return logs
}()

// A model holds what is assumed about one timeline.
type model struct {
	wander      float64 // m: standard deviation of the slow error, each component
	wanderTime  float64 // s: its correlation time
	rough       float64 // m2: variance of the fast error of a fine fix
	change      float64 // s: mean time between changes of state
	shortest    float64 // s: least time of standing
	step        float64 // s: how finely a change is placed between fixes
	halts       bool    // whether halts within trips can be seen
	talkative   float64 // s: the longest usual time between looks while the unit travels, 0 when not known
	fine        float64 // s: how finely a change is placed anew
	doubts      int     // looks on either side of a change between which it may be
	pinned      float64 // s: the longest pause within which a change is placed anew
	speedStep   float64 // m/s: to which reported speeds are rounded
	speedWeight float64 // how much a reported speed counts, 0 to 1: neighbouring ones are alike
}

// A hypothesis is one story of stops and trips up to now, with what it says about place, velocity and error.
type hypothesis struct {
	mode   mode
	since  float64 // s: when the mode began
	mean   [3]geo.Vector
	cov    [6]float64 // place-place, place-velocity, place-error, velocity-velocity, velocity-error, error-error, m and s
	score  float64    // log likelihood
	strays int        // looks in a row that were passed over
	past   int        // the last of its changes, of those of the tracker
	step   int        // of the advance under way, up to which it is carried
}

// A change says which mode was taken up when. before is the one before it, -1 for none: as numbers, since the collector of garbage
// watches each copy of a pointer, and hypotheses are copied by the thousand.
type change struct {
	mode   mode
	at     float64
	before int
}

// A transition is what a stretch of time does to the filter in one mode.
type transition struct {
	keep, reach               float64 // velocity kept; metres of way per m/s of velocity
	placeVar, mixVar, paceVar float64
	errorKeep, errorVar       float64
}

func (m *model) transition(mode mode, dt float64) transition {
	t := transition{errorKeep: math.Exp(-dt / m.wanderTime)}
	if mode.travels() {
		t.keep = math.Exp(-dt / mode.pace().turn)
	}
	return m.completed(t, mode, dt)
}

// completed works out the rest of a transition from what is kept of velocity and error.
func (m *model) completed(t transition, mode mode, dt float64) transition {
	t.errorVar = m.wander * m.wander * (1 - t.errorKeep*t.errorKeep)
	if !mode.travels() {
		return t
	}
	p := mode.pace()
	power := p.speed * p.speed
	t.reach = p.turn * (1 - t.keep)
	t.paceVar = power * (1 - t.keep*t.keep)
	t.mixVar = power * p.turn * (1 - t.keep) * (1 - t.keep)
	t.placeVar = max(0, power*p.turn*(2*dt-p.turn*(3-4*t.keep+t.keep*t.keep)))
	return t
}

// predict carries h over a stretch of time.
func (h *hypothesis) predict(t *transition) {
	h.mean[2] = h.mean[2].Scale(t.errorKeep)
	if !h.mode.travels() { // hot: at rest only the error changes
		h.cov[2] *= t.errorKeep
		h.cov[5] = t.errorKeep*t.errorKeep*h.cov[5] + t.errorVar
		return
	}
	c := &h.cov // hot: in place, as a copy would cost a call in WebAssembly; each line takes only what is yet to change
	h.mean[0] = h.mean[0].Add(h.mean[1].Scale(t.reach))
	h.mean[1] = h.mean[1].Scale(t.keep)
	c[0] = c[0] + 2*t.reach*c[1] + t.reach*t.reach*c[3] + t.placeVar
	c[1] = t.keep*(c[1]+t.reach*c[3]) + t.mixVar
	c[2] = t.errorKeep * (c[2] + t.reach*c[4])
	c[3] = t.keep*t.keep*c[3] + t.paceVar
	c[4] = t.keep * t.errorKeep * c[4]
	c[5] = t.errorKeep*t.errorKeep*c[5] + t.errorVar
}

// strayCost is the log likelihood of a fix that has nothing to do with where the unit is: one in 500, anywhere within about
// a square kilometre.
const strayCost = -20

// observe corrects h by a place seen with the given variance; a place too far off to be believed is passed over at a cost.
// The likelihood is that of two dimensions: the third, up, holds nothing.
func (h *hypothesis) observe(place geo.Vector, variance float64) {
	c := &h.cov
	gain := [3]float64{c[0] + c[2], c[1] + c[4], c[2] + c[5]}
	total := gain[0] + gain[2] + variance
	off := place.Sub(h.mean[0]).Sub(h.mean[2])
	fit := -off.Dot(off)/(2*total) - math.Log(2*math.Pi*total)
	if fit < strayCost {
		h.score += strayCost
		if h.strays++; h.strays > 1 && h.mode.travels() {
			h.restart(place, variance)
		}
		return
	}
	h.score += fit
	h.strays = 0
	h.mean[0] = h.mean[0].Add(off.Scale(gain[0] / total))
	h.mean[1] = h.mean[1].Add(off.Scale(gain[1] / total))
	h.mean[2] = h.mean[2].Add(off.Scale(gain[2] / total))
	c[0] -= gain[0] * gain[0] / total
	c[1] -= gain[0] * gain[1] / total
	c[2] -= gain[0] * gain[2] / total
	c[3] -= gain[1] * gain[1] / total
	c[4] -= gain[1] * gain[2] / total
	c[5] -= gain[2] * gain[2] / total
}

// restart takes a traveller to a place that no way it could have gone leads to, after more than one such look: the looks are
// right and the hypothesis was not.
func (h *hypothesis) restart(place geo.Vector, variance float64) {
	slow, speed := h.cov[5], h.mode.pace().speed
	h.mean = [3]geo.Vector{place}
	h.cov = [6]float64{slow + variance, 0, -slow, speed * speed, 0, slow}
}

// speedFit gives the log likelihood of a reported speed (m/s), rounded to steps of a given size, in a mode: at rest receivers report
// up to about 0.6 m/s; a traveller also halts for a moment.
func speedFit(mode mode, speed, step float64) float64 {
	const rest, stray, halts = 0.35, 0.001, 0.06
	low, high := max(speed-step/2, 0), speed+step/2
	still := (math.Erf(high/(rest*math.Sqrt2)) - math.Erf(low/(rest*math.Sqrt2))) / (high - low)
	if !mode.travels() {
		return math.Log(still + stray)
	}
	s2 := 2 * (mode.pace().speed*mode.pace().speed + rest*rest)
	return math.Log((1-halts)*(math.Exp(-low*low/s2)-math.Exp(-high*high/s2))/(high-low) + halts*still + stray)
}
