package motion

import (
	"cmp"
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
	past   *change
}

// A change says which mode was taken up when.
type change struct {
	mode   mode
	at     float64
	before *change
}

// A transition is what a stretch of time does to the filter in one mode.
type transition struct {
	keep, reach               float64 // velocity kept; metres of way per m/s of velocity
	placeVar, mixVar, paceVar float64
	errorKeep, errorVar       float64
}

func (m *model) transition(mode mode, dt float64) transition {
	var t transition
	t.errorKeep = math.Exp(-dt / m.wanderTime)
	t.errorVar = m.wander * m.wander * (1 - t.errorKeep*t.errorKeep)
	if !mode.travels() {
		return t
	}
	p := mode.pace()
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
		if h.strays++; h.strays > 1 && h.mode.travels() {
			h.restart(place, variance)
		}
		return
	}
	h.score += fit
	h.strays = 0
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

// restart takes a traveller to a place that no way it could have gone leads to, after more than one such look: the looks are
// right and the hypothesis was not.
func (h *hypothesis) restart(place geo.Vector, variance float64) {
	slow, speed := h.cov[5], h.mode.pace().speed
	h.mean = [3]geo.Vector{place}
	h.cov = [6]float64{slow + variance, 0, -slow, speed * speed, 0, slow}
}

// speedFit gives the log likelihood of a reported speed (m/s) in a mode: at rest receivers report up to about 0.6 m/s; a
// traveller also halts for a moment.
func speedFit(mode mode, speed float64) float64 {
	const rest, stray, halts = 0.35, 0.001, 0.06
	still := math.Exp(-speed*speed/(2*rest*rest)) / (rest * 1.2533)
	if !mode.travels() {
		return math.Log(still + stray)
	}
	s2 := mode.pace().speed*mode.pace().speed + rest*rest
	return math.Log((1-halts)*speed/s2*math.Exp(-speed*speed/(2*s2)) + halts*still + stray)
}

// A tracker runs the filter over the looks.
type tracker struct {
	model
	live  []hypothesis
	spare []hypothesis // room for the next live
	order []int        // of live, by score
	now   float64
	base  float64 // log likelihood taken out of the scores
}

// modes gives the likeliest story as changes in order of time, the first at the first sight, under the receiver that makes the
// looks likeliest. The first looks of a long track are enough to tell the receiver.
func (m model) modes(all []sight) []change {
	const enough = 1500
	best, top := m, math.Inf(-1)
	candidates := receivers[:]
	if typicalStep(all) > 45 {
		candidates = receivers[:2] // between looks so far apart the wander is forgotten
	}
	for _, r := range candidates {
		m.wander, m.wanderTime = r.wander, r.time
		if _, score := m.story(all[:min(enough, len(all))]); score > top {
			best, top = m, score
		}
	}
	story, _ := best.story(all)
	return story
}

// receivers are the ways in which receivers err: standard deviation in metres and correlation time in seconds, the middling
// times first.
var receivers = []struct{ wander, time float64 }{{3.5, 150}, {7, 150}, {3.5, 60}, {3.5, 400}, {7, 60}, {7, 400}}

// story gives the likeliest story and its log likelihood.
func (m model) story(all []sight) ([]change, float64) {
	t := tracker{model: m}
	t.begin(all[0])
	for i := 1; i < len(all); i++ {
		t.advance(all[i].at)
		t.look(all[i])
	}
	best := t.best()
	return best.past.unroll(), t.base + best.score
}

func (t *tracker) begin(first sight) {
	t.now = first.at
	for mode := standing; mode <= halted; mode++ {
		h := hypothesis{mode: mode, since: t.now, past: &change{mode: mode, at: t.now}}
		h.mean[0] = first.place
		slow := t.wander * t.wander
		h.cov = [6]float64{slow + t.variance(first), 0, -slow, 0, 0, slow}
		if mode.travels() {
			h.score = math.Log(mode.pace().share)
			h.cov[3] = mode.pace().speed * mode.pace().speed
		}
		t.live = append(t.live, h)
	}
	t.hear(first)
}

// variance gives that of the fast error of a sight, its rounding included.
func (t *tracker) variance(s sight) float64 { return t.rough + s.cell*s.cell/12 }

// advance carries all hypotheses to the next look, in steps at each of which the unit may stop or leave.
func (t *tracker) advance(to float64) {
	const most = 12 // changes that may be placed between two looks
	n := min(max(math.Ceil((to-t.now)/t.step), 1), most)
	dt := (to - t.now) / n
	var ways [modes]transition
	for m := range ways {
		ways[m] = t.transition(mode(m), dt)
	}
	span := to - t.now // a change at any of the steps tells the same story: together they have the chance of the span
	quiet := 0.0       // nats per second
	if t.talkative > 0 && span > 3*t.talkative {
		quiet = 3 / span
	}
	for range int(n) {
		t.branch(span)
		for i := range t.live {
			t.live[i].predict(ways[t.live[i].mode])
			if t.live[i].mode != standing {
				t.live[i].score -= quiet * dt
			}
		}
		t.now += dt
	}
}

// branch adds the hypotheses that a traveller stops, halts or changes its pace just now, and that one at rest goes on.
func (t *tracker) branch(dt float64) {
	change, halt, resume := chance(dt, t.change), chance(dt, haltEvery), chance(dt, haltLasts)
	best := t.likeliest()
	stop := -1
	for m := standing + 1; int(m) < modes; m++ {
		i := best[m]
		if i < 0 {
			continue
		}
		if m.halts() {
			t.leave(i, m-halted, resume)
			continue
		}
		if stop < 0 || t.live[i].score > t.live[stop].score {
			stop = i
		}
		if t.halts {
			t.rest(i, m+halted, halt)
		}
	}
	for m := standing + 1; m.travels(); m++ {
		if best[standing] >= 0 {
			t.leave(best[standing], m, change+math.Log(m.pace().share))
		}
		if stop >= 0 && t.live[stop].mode != m {
			t.leave(stop, m, change+math.Log(m.pace().share)-3)
		}
	}
	if stop >= 0 {
		t.rest(stop, standing, change)
	}
}

const (
	haltEvery = 300.0 // s between halts of a trip
	haltLasts = 30.0  // s
)

// chance gives the log probability that something that happens every so often happens within dt.
func chance(dt, every float64) float64 { return math.Log(-math.Expm1(-dt / every)) }

// likeliest gives the best hypothesis of each mode that may end now, -1 for none.
func (t *tracker) likeliest() (best [modes]int) {
	for m := range best {
		best[m] = -1
	}
	for i, h := range t.live {
		ripe := h.mode != standing || t.now-h.since >= t.shortest || h.past.before == nil
		if b := best[h.mode]; ripe && (b < 0 || h.score > t.live[b].score) {
			best[h.mode] = i
		}
	}
	return best
}

// rest adds the hypothesis that the traveller i comes to rest.
func (t *tracker) rest(i int, mode mode, price float64) {
	h := t.live[i].take(mode, t.now, price)
	h.mean[1], h.cov[1], h.cov[3], h.cov[4] = geo.Vector{}, 0, 0, 0
	t.live = append(t.live, h)
}

// leave adds the hypothesis that the unit i goes on at another pace.
func (t *tracker) leave(i int, mode mode, price float64) {
	h := t.live[i].take(mode, t.now, price)
	h.mean[1], h.cov[1], h.cov[3], h.cov[4] = geo.Vector{}, 0, mode.pace().speed*mode.pace().speed, 0
	t.live = append(t.live, h)
}

func (h hypothesis) take(mode mode, at, price float64) hypothesis {
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

// prune keeps, in each mode, the likeliest few hypotheses that are not hopelessly behind: of two whose modes began nearly at
// once, as seen from now, the likelier. A halt that lasts is none.
func (t *tracker) prune() {
	const hopeless = 30
	best := t.best().score
	t.order = t.order[:0]
	for i, h := range t.live {
		if h.score >= best-hopeless && !(h.mode.halts() && t.now-h.since > t.shortest) {
			t.order = append(t.order, i)
		}
	}
	slices.SortFunc(t.order, func(a, b int) int {
		return cmp.Or(cmp.Compare(t.live[b].score, t.live[a].score), cmp.Compare(a, b))
	})
	var kept [modes]begun
	t.spare = t.spare[:0]
	for _, i := range t.order {
		if h := t.live[i]; kept[h.mode].admit(h.since, t.now) {
			h.score -= best
			t.spare = append(t.spare, h)
		}
	}
	t.live, t.spare = t.spare, t.live
	t.base += best
}

// begun holds when the kept hypotheses of one mode began.
type begun struct {
	since [12]float64
	n     int
}

// admit tells whether there is room for one more that began then, and takes it in.
func (b *begun) admit(since, now float64) bool {
	const alike = 0.1 // of the time since
	if b.n == len(b.since) {
		return false
	}
	for _, s := range b.since[:b.n] {
		if math.Abs(s-since) < alike*(now-since) {
			return false
		}
	}
	b.since[b.n] = since
	b.n++
	return true
}

// best gives the likeliest hypothesis.
func (t *tracker) best() *hypothesis {
	best := 0
	for i := range t.live {
		if t.live[i].score > t.live[best].score {
			best = i
		}
	}
	return &t.live[best]
}

// unroll gives the changes up to c in order of time.
func (c *change) unroll() []change {
	var out []change
	for ; c != nil; c = c.before {
		out = append(out, *c)
	}
	slices.Reverse(out)
	return out
}
