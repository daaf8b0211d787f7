package motion

import (
	"cmp"
	"math"
	"slices"

	"lastbeacon/core/geo"
)

// A tracker runs the filter over the looks.
type tracker struct {
	model
	live  []hypothesis
	spare []hypothesis // room for the next live
	order [modes]order // of live, mode by mode
	now   float64
	base  float64 // log likelihood taken out of the scores

	strides []*stride  // the last ones asked for
	oldest  int        // of them, once they are many
	pace    *stride    // of the last advance
	taken   int        // steps of it
	seen    int        // hypotheses that were looked at for likeliest in this advance
	ends    [modes]int // the likeliest of these in each mode that may end now, -1 for none
	stood   []int      // those of these that stand

	changes []change // of all that live, and of some that were dropped
	most    int      // how many changes there may be before those of the dropped are let go
	places  []int    // room for forget
}

// An order is the hypotheses of one mode, the likeliest first. Hot: its room stays, since the collector of garbage watches each copy of a
// pointer.
type order struct {
	room []ranked
	n    int
}

// A ranked hypothesis is named by its place.
type ranked struct {
	score float64
	at    int
}

// add puts in one more behind those that are as likely.
func (o *order) add(score float64, at int) {
	if o.n == len(o.room) {
		o.room = append(o.room, make([]ranked, 16)...)
	}
	k := o.n
	for ; k > 0 && o.room[k-1].score < score; k-- {
		o.room[k] = o.room[k-1]
	}
	o.room[k] = ranked{score, at}
	o.n++
}

// A stride is what 1, 2 ... steps of one length do in each mode, as far as they were asked for, on the way from one look to the next.
// Most looks come at a few intervals, so that one serves many.
type stride struct {
	span  float64 // s
	dt    float64
	steps int
	ways  [][modes]transition
	price prices
}

const (
	mostSteps   = 20 // how many changes may be placed between two looks
	mostStrides = 16
)

// modes gives the likeliest story as changes in order of time, the first at the first sight, and the receiver that makes the looks
// likeliest. Those that fall far behind are given up on the way.
func (m model) modes(all []sight) (model, []change) {
	candidates := receivers[:]
	if typicalStep(all) > 45 {
		candidates = receivers[:2] // between looks so far apart the wander is forgotten
	}
	trackers := make([]*tracker, len(candidates))
	for i, r := range candidates {
		m.wander, m.wanderTime = r.wander, r.time
		trackers[i] = &tracker{model: m}
		trackers[i].begin(all[0])
	}
	const stretch = 32 // looks between two comparisons
	for i := 1; i < len(all); i += stretch {
		for _, t := range trackers {
			t.follow(all[i:min(i+stretch, len(all))])
		}
		trackers = likely(trackers)
	}
	best := slices.MaxFunc(trackers, func(a, b *tracker) int { return cmp.Compare(a.score(), b.score()) })
	return best.model, best.unroll(best.best().past)
}

// likely leaves out the trackers that are hopelessly behind the likeliest.
func likely(all []*tracker) []*tracker {
	const hopeless = 12
	top := math.Inf(-1)
	for _, t := range all {
		top = max(top, t.score())
	}
	return slices.DeleteFunc(all, func(t *tracker) bool { return t.score() < top-hopeless })
}

// receivers are the ways in which receivers err: standard deviation in metres and correlation time in seconds, the middling
// times first.
var receivers = []struct{ wander, time float64 }{{3.5, 150}, {7, 150}, {3.5, 60}, {3.5, 400}, {7, 60}, {7, 400}}

// follow takes in looks in order of time.
func (t *tracker) follow(looks []sight) {
	for _, s := range looks {
		t.advance(s.at)
		t.look(s)
	}
}

// score gives the log likelihood of the likeliest story.
func (t *tracker) score() float64 { return t.base + t.best().score }

func (t *tracker) begin(first sight) {
	t.now = first.at
	for mode := standing; mode <= halted; mode++ {
		h := resting(first.place, t.wander, t.variance(first))
		h.mode, h.since, h.past = mode, t.now, t.changed(mode, -1)
		if mode.travels() {
			h.score = mode.usual()
			h.cov[3] = mode.pace().speed * mode.pace().speed
		}
		t.live = append(t.live, h)
	}
	t.hear(first)
}

// variance gives that of the fast error of a sight, its rounding included.
func (m *model) variance(s sight) float64 { return m.rough + s.cell*s.cell/12 }

// advance carries all hypotheses to the next look, in steps at each of which the unit may stop or leave. Hot: each is carried over all
// steps at once, and before that only when another branches off.
func (t *tracker) advance(to float64) {
	span := to - t.now // a change at any of the steps tells the same story: together they have the chance of the span
	quiet := 0.0       // nats per second
	if t.talkative > 0 && span > 3*t.talkative {
		quiet = 3 / span
	}
	t.pace = t.stride(span)
	t.seen, t.ends, t.stood = 0, noEnds, t.stood[:0]
	for t.taken = 0; t.taken < t.pace.steps; t.taken++ {
		t.branch(&t.pace.price)
		if quiet > 0 {
			t.hush(quiet * t.pace.dt)
		}
		t.now += t.pace.dt
	}
	for i := range t.live {
		t.carry(&t.live[i])
		t.live[i].step = 0
	}
}

// hush takes so much from those that do not stand.
func (t *tracker) hush(cost float64) {
	for i := range t.live {
		if t.live[i].mode != standing {
			t.live[i].score -= cost
		}
	}
}

// carry predicts a hypothesis over the steps taken that it has not been carried over yet.
func (t *tracker) carry(h *hypothesis) {
	if steps := t.taken - h.step; steps > 0 {
		h.predict(&t.over(steps)[h.mode])
		h.step = t.taken
	}
}

// over gives what so many steps do in each mode.
func (t *tracker) over(steps int) *[modes]transition {
	p := t.pace
	for n := len(p.ways); n < steps; n++ {
		p.ways = append(p.ways, [modes]transition{})
		one, before, next := &p.ways[0], &p.ways[n-1], &p.ways[n]
		for m := range t.kinds() {
			kept := transition{keep: one[m].keep * before[m].keep, errorKeep: one[m].errorKeep * before[m].errorKeep}
			next[m] = t.completed(kept, mode(m), float64(n+1)*p.dt)
		}
	}
	return &p.ways[steps-1]
}

// stride gives the steps over a span (s). Hot: the last ones asked for are kept.
func (t *tracker) stride(span float64) *stride {
	for _, p := range t.strides {
		if p.span == span {
			return p
		}
	}
	if len(t.strides) < mostStrides {
		t.strides = append(t.strides, &stride{})
	}
	p := t.strides[t.oldest]
	t.oldest = (t.oldest + 1) % mostStrides
	n := min(max(math.Ceil(span/t.step), 1), mostSteps)
	p.span, p.dt, p.steps, p.ways = span, span/n, int(n), append(p.ways[:0], [modes]transition{})
	for m := range t.kinds() {
		p.ways[0][m] = t.transition(mode(m), p.dt)
	}
	p.price = prices{change: chance(span, t.change), halt: chance(span, haltEvery), resume: chance(span, haltLasts)}
	return p
}

// kinds is how many of the modes there are.
func (m *model) kinds() int {
	if m.halts {
		return modes
	}
	return int(halted) + 1
}

// Prices are the log probabilities of a change of state, a halt and its end between two looks.
type prices struct{ change, halt, resume float64 }

// branch adds the hypotheses that a traveller stops, halts or changes its pace just now, and that one at rest goes on.
func (t *tracker) branch(price *prices) {
	best := t.likeliest()
	stop := -1
	for m := standing + 1; int(m) < t.kinds(); m++ {
		i := best[m]
		if i < 0 {
			continue
		}
		if m.halts() {
			t.leave(i, m-halted, price.resume)
			continue
		}
		if stop < 0 || t.live[i].score > t.live[stop].score {
			stop = i
		}
		if t.halts {
			t.rest(i, m+halted, price.halt)
		}
	}
	for m := standing + 1; m.travels(); m++ {
		if best[standing] >= 0 {
			t.leave(best[standing], m, price.change+m.usual())
		}
		if stop >= 0 && t.live[stop].mode != m {
			t.leave(stop, m, price.change+m.usual()-3)
		}
	}
	if stop >= 0 {
		t.rest(stop, standing, price.change)
	}
}

const (
	haltEvery = 300.0 // s between halts of a trip
	haltLasts = 30.0  // s
)

// chance gives the log probability that something that happens every so often happens within dt.
func chance(dt, every float64) float64 { return math.Log(-math.Expm1(-dt / every)) }

var noEnds = func() (none [modes]int) {
	for m := range none {
		none[m] = -1
	}
	return none
}()

// likeliest gives the best hypothesis of each mode that may end now, -1 for none. Hot: which of those under way it is stays from step to
// step until a likelier one branches off, so that only new ones are looked at; those that stand must have stood for a while.
func (t *tracker) likeliest() *[modes]int {
	for ; t.seen < len(t.live); t.seen++ {
		h := &t.live[t.seen]
		if h.mode == standing {
			t.stood = append(t.stood, t.seen)
		} else if b := t.ends[h.mode]; b < 0 || h.score > t.live[b].score {
			t.ends[h.mode] = t.seen
		}
	}
	best := -1
	for _, i := range t.stood {
		h := &t.live[i]
		ripe := t.now-h.since >= t.shortest || t.changes[h.past].before < 0
		if ripe && (best < 0 || h.score > t.live[best].score) {
			best = i
		}
	}
	t.ends[standing] = best
	return &t.ends
}

// rest adds the hypothesis that the traveller i comes to rest.
func (t *tracker) rest(i int, mode mode, price float64) {
	h := t.take(i, mode, price)
	h.mean[1], h.cov[1], h.cov[3], h.cov[4] = geo.Vector{}, 0, 0, 0
}

// leave adds the hypothesis that the unit i goes on at another pace.
func (t *tracker) leave(i int, mode mode, price float64) {
	h := t.take(i, mode, price)
	h.mean[1], h.cov[1], h.cov[3], h.cov[4] = geo.Vector{}, 0, mode.pace().speed*mode.pace().speed, 0
}

// take adds a copy of the hypothesis i that changes its mode now. Hot: changes are made by the hundred, most are soon forgotten.
func (t *tracker) take(i int, mode mode, price float64) *hypothesis {
	t.carry(&t.live[i])
	if len(t.live) == cap(t.live) {
		t.live = slices.Grow(t.live, 1)
	}
	t.live = t.live[:len(t.live)+1] // no pointer is written
	h := &t.live[len(t.live)-1]
	*h = t.live[i]
	h.mode, h.since, h.score, h.past = mode, t.now, h.score+price, t.changed(mode, h.past)
	return h
}

// changed notes that a mode is taken up now and gives the place of that.
func (t *tracker) changed(mode mode, before int) int {
	t.changes = append(t.changes, change{mode, t.now, before})
	return len(t.changes) - 1
}

// forget lets the changes go that no live hypothesis has gone through, once there are many.
func (t *tracker) forget() {
	const few = 4096
	if len(t.changes) <= max(few, t.most) {
		return
	}
	t.places = slices.Grow(t.places[:0], len(t.changes))[:len(t.changes)]
	places := t.places // of those that stay, from 1
	clear(places)
	for i := range t.live {
		for c := t.live[i].past; c >= 0 && places[c] == 0; c = t.changes[c].before {
			places[c] = 1
		}
	}
	kept := 0
	for i, c := range t.changes {
		if places[i] == 0 {
			continue
		}
		if c.before >= 0 {
			c.before = places[c.before] - 1
		}
		t.changes[kept] = c
		kept++
		places[i] = kept
	}
	for i := range t.live {
		t.live[i].past = places[t.live[i].past] - 1
	}
	t.changes, t.most = t.changes[:kept], 2*kept
}

// oneMore gives s with room for one more, into which it is copied once; append would copy it twice.
func oneMore(s []hypothesis) []hypothesis {
	if len(s) == cap(s) {
		s = slices.Grow(s, 1)
	}
	return s[:len(s)+1]
}

// look weighs all hypotheses by a sight and drops those far behind.
func (t *tracker) look(s sight) {
	variance := t.variance(s)
	for i := range t.live {
		t.live[i].observe(s.place, variance)
	}
	t.hear(s)
	t.prune()
	t.forget()
}

func (t *tracker) hear(s sight) {
	if math.IsNaN(s.speed) || t.speedWeight == 0 {
		return
	}
	var fits [modes]float64
	for m := range fits {
		fits[m] = t.speedWeight * speedFit(mode(m), s.speed, t.speedStep)
	}
	for i := range t.live {
		t.live[i].score += fits[t.live[i].mode]
	}
}

// prune keeps, in each mode, the likeliest few hypotheses that are not hopelessly behind: of two whose modes began nearly at
// once, as seen from now, the likelier. A halt that lasts is none.
func (t *tracker) prune() {
	const hopeless = 30
	best := t.best().score
	t.rank(best - hopeless)
	spare := t.spare[:0]
	for m := range t.order {
		kept := noneBegun
		for _, r := range t.order[m].room[:t.order[m].n] {
			if h := &t.live[r.at]; kept.admit(h.since, t.now) {
				spare = oneMore(spare)
				next := &spare[len(spare)-1]
				*next = *h
				next.score -= best
			}
		}
	}
	t.live, t.spare = spare, t.live
	t.base += best
}

// rank sorts the hypotheses of each mode whose score is at least so much. Hot: sorted as they come, since each mode has few.
func (t *tracker) rank(least float64) {
	for m := range t.order {
		t.order[m].n = 0
	}
	for i := range t.live {
		h := &t.live[i]
		if h.score < least || h.mode.halts() && t.now-h.since > t.shortest {
			continue
		}
		t.order[h.mode].add(h.score, i)
	}
}

// begun holds when the kept hypotheses of one mode began, and infinity where there is room.
type begun struct {
	since [12]float64
	n     int
}

var noneBegun = func() (b begun) {
	for i := range b.since {
		b.since[i] = math.Inf(1)
	}
	return b
}()

// admit tells whether there is room for one more that began then, and takes it in. Hot: four are compared at a turn of the loop.
func (b *begun) admit(since, now float64) bool {
	const alike = 0.1 // of the time since
	if b.n == len(b.since) {
		return false
	}
	near := alike * (now - since)
	for i := 0; i < b.n; i += 4 {
		s := (*[4]float64)(b.since[i:])
		if math.Abs(s[0]-since) < near || math.Abs(s[1]-since) < near || math.Abs(s[2]-since) < near || math.Abs(s[3]-since) < near {
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

// unroll gives the changes up to one in order of time.
func (t *tracker) unroll(last int) []change {
	var out []change
	for c := last; c >= 0; c = t.changes[c].before {
		out = append(out, t.changes[c])
	}
	slices.Reverse(out)
	return out
}
