package motion

import (
	"math"
	"slices"

	"lastbeacon/core/geo"
)

// How a unit moves and how its receiver errs, as a hidden Markov model: at any moment it stands, or it travels at one of a few
// paces. Standing, the place is constant; travelling, each component of the velocity is an Ornstein-Uhlenbeck process. The
// receiver's error is one too, because it wanders over minutes rather than jumping (J. F. Schumayer et al., Sensors 2020,
// 20(21) 6050). Each hypothesis about when the unit stopped and left carries a Kalman filter for place, velocity and
// error; the best few are kept (Viterbi's rule: of two that are in the same mode since the same moment, the likelier).

// A pace is a way of travelling.
type pace struct {
	speed float64 // m/s: standard deviation of each component of velocity
	turn  float64 // s: time over which a velocity is kept
}

// paces: index 0 is standing. Drift of a boat at anchor's end, a walker, a bicycle, a vehicle. Common practice, no source.
var paces = [...]pace{{}, {0.22, 240}, {0.9, 70}, {3.2, 70}, {10, 60}}

const standing = 0

// A model holds what is assumed about one timeline.
type model struct {
	wander      float64 // m: standard deviation of the slow error, each component
	wanderTime  float64 // s: its correlation time
	rough       float64 // m2: variance of the fast error of a fine fix
	change      float64 // s: mean time between changes of state
	shortest    float64 // s: least time of standing
	step        float64 // s: how finely a change is placed between fixes
	speedWeight float64 // how much a reported speed counts, 0 to 1: neighbouring ones are alike
}

// A hypothesis is one story of stops and trips up to now, with what it says about place, velocity and error.
type hypothesis struct {
	mode  int
	since float64 // s: when the mode began
	mean  [3]geo.Vector
	cov   [6]float64 // place-place, place-velocity, place-error, velocity-velocity, velocity-error, error-error, m and s
	score float64    // log likelihood
	past  *change
}

// A change says which mode was taken up when.
type change struct {
	mode   int
	at     float64
	before *change
}

// A transition is what a stretch of time does to the filter in one mode.
type transition struct {
	keep, reach               float64 // velocity kept; metres of way per m/s of velocity
	placeVar, mixVar, paceVar float64
	errorKeep, errorVar       float64
}

func (m *model) transition(mode int, dt float64) transition {
	var t transition
	t.errorKeep = math.Exp(-dt / m.wanderTime)
	t.errorVar = m.wander * m.wander * (1 - t.errorKeep*t.errorKeep)
	if mode == standing {
		return t
	}
	p := paces[mode]
	power := p.speed * p.speed
	t.keep = math.Exp(-dt / p.turn)
	t.reach = p.turn * (1 - t.keep)
	t.paceVar = power * (1 - t.keep*t.keep)
	t.mixVar = power * p.turn * (1 - t.keep) * (1 - t.keep)
	t.placeVar = max(0, power*p.turn*(2*dt-p.turn*(3-4*t.keep+t.keep*t.keep)))
	return t
}

// predict carries h over a stretch of time.
func (h *hypothesis) predict(t transition) {
	c := h.cov
	h.mean[0] = h.mean[0].Add(h.mean[1].Scale(t.reach))
	h.mean[1] = h.mean[1].Scale(t.keep)
	h.mean[2] = h.mean[2].Scale(t.errorKeep)
	h.cov[0] = c[0] + 2*t.reach*c[1] + t.reach*t.reach*c[3] + t.placeVar
	h.cov[1] = t.keep*(c[1]+t.reach*c[3]) + t.mixVar
	h.cov[2] = t.errorKeep * (c[2] + t.reach*c[4])
	h.cov[3] = t.keep*t.keep*c[3] + t.paceVar
	h.cov[4] = t.keep * t.errorKeep * c[4]
	h.cov[5] = t.errorKeep*t.errorKeep*c[5] + t.errorVar
}

// strayCost is the log likelihood of a fix that has nothing to do with where the unit is: one in 500, anywhere within about
// a square kilometre.
const strayCost = -20

// observe corrects h by a place seen with the given variance; a place too far off to be believed is passed over at a cost.
// The likelihood is that of two dimensions: the third, up, holds nothing.
func (h *hypothesis) observe(place geo.Vector, variance float64) {
	c := h.cov
	gain := [3]float64{c[0] + c[2], c[1] + c[4], c[2] + c[5]}
	total := gain[0] + gain[2] + variance
	off := place.Sub(h.mean[0]).Sub(h.mean[2])
	fit := -off.Dot(off)/(2*total) - math.Log(2*math.Pi*total)
	if fit < strayCost {
		h.score += strayCost
		return
	}
	h.score += fit
	for i := range h.mean {
		h.mean[i] = h.mean[i].Add(off.Scale(gain[i] / total))
	}
	h.cov[0] -= gain[0] * gain[0] / total
	h.cov[1] -= gain[0] * gain[1] / total
	h.cov[2] -= gain[0] * gain[2] / total
	h.cov[3] -= gain[1] * gain[1] / total
	h.cov[4] -= gain[1] * gain[2] / total
	h.cov[5] -= gain[2] * gain[2] / total
}

// speedFit gives the log likelihood of a reported speed (m/s) in a mode: at rest receivers report up to about 0.6 m/s; a
// traveller also halts for a moment.
func speedFit(mode int, speed float64) float64 {
	const rest, stray, halts = 0.35, 0.001, 0.1
	still := math.Exp(-speed*speed/(2*rest*rest)) / (rest * 1.2533)
	if mode == standing {
		return math.Log(still + stray)
	}
	s2 := paces[mode].speed*paces[mode].speed + rest*rest
	return math.Log((1-halts)*speed/s2*math.Exp(-speed*speed/(2*s2)) + halts*still + stray)
}

// A tracker runs the filter over the looks.
type tracker struct {
	model
	live []hypothesis
	now  float64
}

// modes gives the likeliest story as changes in order of time; the first begins at the first sight.
func (m model) modes(all []sight) []change {
	t := tracker{model: m}
	t.begin(all[0])
	for i := 1; i < len(all); i++ {
		t.advance(all[i].at)
		t.look(all[i])
	}
	return t.story()
}

func (t *tracker) begin(first sight) {
	t.now = first.at
	for mode := range paces {
		h := hypothesis{mode: mode, since: t.now, past: &change{mode: mode, at: t.now}}
		h.mean[0] = first.place
		slow := t.wander * t.wander
		v := paces[mode].speed
		h.cov = [6]float64{slow + t.variance(first), 0, -slow, v * v, 0, slow}
		if mode != standing {
			h.score = -math.Log(float64(len(paces) - 1))
		}
		t.live = append(t.live, h)
	}
	t.hear(first)
}

// variance gives that of the fast error of a sight, its rounding included.
func (t *tracker) variance(s sight) float64 { return t.rough + s.cell*s.cell/12 }

// advance carries all hypotheses to the next look, in steps at each of which the unit may stop or leave.
func (t *tracker) advance(to float64) {
	const most = 60 // changes that may be placed between two looks
	n := min(max(math.Ceil((to-t.now)/t.step), 1), most)
	dt := (to - t.now) / n
	var ways [len(paces)]transition
	for mode := range ways {
		ways[mode] = t.transition(mode, dt)
	}
	for range int(n) {
		t.branch(dt)
		for i := range t.live {
			t.live[i].predict(ways[t.live[i].mode])
		}
		t.now += dt
	}
}

// branch adds the hypotheses that the unit stops, or leaves at each of the paces, just now.
func (t *tracker) branch(dt float64) {
	price := math.Log(-math.Expm1(-dt / t.change))
	stop, leave := -1, -1
	for i, h := range t.live {
		switch {
		case h.mode != standing:
			if stop < 0 || h.score > t.live[stop].score {
				stop = i
			}
		case t.now-h.since >= t.shortest || h.past.before == nil:
			if leave < 0 || h.score > t.live[leave].score {
				leave = i
			}
		}
	}
	if stop >= 0 {
		h := t.live[stop].take(standing, t.now, price)
		h.mean[1], h.cov[1], h.cov[3], h.cov[4] = geo.Vector{}, 0, 0, 0
		t.live = append(t.live, h)
	}
	for mode := standing + 1; mode < len(paces) && leave >= 0; mode++ {
		h := t.live[leave].take(mode, t.now, price-math.Log(float64(len(paces)-1)))
		h.cov[3] = paces[mode].speed * paces[mode].speed
		t.live = append(t.live, h)
	}
}

func (h hypothesis) take(mode int, at, price float64) hypothesis {
	h.mode, h.since, h.score = mode, at, h.score+price
	h.past = &change{mode: mode, at: at, before: h.past}
	return h
}

// look weighs all hypotheses by a sight and drops those far behind.
func (t *tracker) look(s sight) {
	variance := t.variance(s)
	for i := range t.live {
		t.live[i].observe(s.place, variance)
	}
	t.hear(s)
	t.prune()
}

func (t *tracker) hear(s sight) {
	if math.IsNaN(s.speed) || t.speedWeight == 0 {
		return
	}
	for i := range t.live {
		t.live[i].score += t.speedWeight * speedFit(t.live[i].mode, s.speed)
	}
}

// prune keeps, in each mode, the likeliest few hypotheses that are not hopelessly behind.
func (t *tracker) prune() {
	const hopeless, keep = 18, 8
	slices.SortStableFunc(t.live, func(a, b hypothesis) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	var kept [len(paces)]int
	best, n := t.live[0].score, 0
	for _, h := range t.live {
		if h.score < best-hopeless || kept[h.mode] >= keep {
			continue
		}
		kept[h.mode]++
		h.score -= best
		t.live[n] = h
		n++
	}
	t.live = t.live[:n]
}

// story unrolls the past of the best hypothesis.
func (t *tracker) story() []change {
	best := t.live[0]
	for _, h := range t.live {
		if h.score > best.score {
			best = h
		}
	}
	var out []change
	for c := best.past; c != nil; c = c.before {
		out = append(out, *c)
	}
	slices.Reverse(out)
	return out
}
