package schedule

const leastMoving = 300.0 // s of movement below which no speed can have set an interval

// Values that people type, as starting points; a fine search follows where one value is as good as its neighbour. The
// published sets have corner slopes of 0 to 255 degrees times miles or kilometres per hour.
var (
	usualSlow      = []float64{300, 600, 900, 1200, 1800}
	usualFast      = []float64{15, 20, 30, 45, 60, 90, 120, 180, 300}
	usualSlowSpeed = []float64{3 / 3.6, 5 / 3.6, 2.24, 8 / 3.6, 10 / 3.6, 4.47}
	usualTurn      = []float64{10, 15, 20, 28, 35}
	usualSlope     = []float64{0, 120 / 3.6, 240 / 3.6, 114}
	usualMetres    = []float64{200, 300, 420, 600, 800, 1000, 1300, 1700, 2300, 3300}
	usualBlur      = []float64{0, 0.01, 0.02, 0.04, 0.08, 0.15}
	usualHoldback  = []float64{5, 10, 15, 30, 60}
)

// sightAdaptive makes a first fit of an adaptive schedule: one round of every parameter. It gives no rule when the unit
// hardly moved or its speed is not known.
func (f *filter) sightAdaptive(w *way) fit {
	if w.movingTime(f.s.at[0], f.s.last()) < leastMoving || !w.laid() {
		return fit{}
	}
	start := f.guessed()
	start.stray = 0.1
	slows := f.restIntervals(w)
	f.at = f.window(w)
	var best fit
	for _, holdback := range []float64{0, 5, 15, 30} {
		for _, fast := range []float64{30, 75} {
			for _, metres := range usualMetres {
				f.better(&best, plainAdapt(w, slows[0], fast, metres, holdback), start)
			}
		}
	}
	for _, blur := range []float64{0.05, 0.02} {
		best = f.improved(best, 1)
		f.turnScrews(&best, slows)
		f.sharpen(&best, blur)
	}
	f.at = f.s.at
	best.tally = f.over(best.rule, best.noise)
	f.trySlow(&best, slows)
	for _, delay := range usualDelay {
		r := *best.rule.(*adaptRule)
		r.delay = delay
		f.better(&best, &r, best.noise)
	}
	return f.improved(best, 2)
}

// sharpen gives the rule a new blur, for better or worse.
func (f *filter) sharpen(best *fit, blur float64) {
	r := *best.rule.(*adaptRule)
	r.blur = blur
	*best = fit{&r, best.noise, f.over(&r, best.noise)}
}

func (f *filter) trySlow(best *fit, slows []float64) {
	for _, slow := range slows {
		r := *best.rule.(*adaptRule)
		r.slow = slow
		f.better(best, &r, best.noise)
	}
}

// fitAdaptive goes on from a first fit until no parameter gets better.
func (f *filter) fitAdaptive(best fit, w *way) fit {
	slows := f.restIntervals(w)
	for range 4 {
		before := best.tally.logL
		f.turnScrews(&best, slows)
		best = f.improved(best, 1)
		if best.tally.logL < before+0.5 {
			break
		}
	}
	f.refine(&best)
	return f.improved(best, 3)
}

func plainAdapt(w *way, slow, fast, metres, holdback float64) *adaptRule {
	return &adaptRule{
		slow: slow, fast: fast, slowSpeed: 5 / 3.6, fastSpeed: metres / fast,
		corner: corner{on: holdback > 0, min: 28, slope: 240 / 3.6, holdback: holdback},
		blur:   0.12,
		way:    w,
	}
}

// turnScrews moves each parameter over its usual values, the others kept; the product of fast interval and fast speed is
// kept while the fast interval moves, because it is what most beacons show.
func (f *filter) turnScrews(best *fit, slows []float64) {
	try := func(change func(r *adaptRule)) {
		r := *best.rule.(*adaptRule)
		if change(&r); r != *best.rule.(*adaptRule) {
			f.better(best, &r, best.noise)
		}
	}
	for _, by := range []float64{0.6, 0.75, 0.85, 0.93, 0.97, 1.03, 1.08, 1.18, 1.35, 1.6} {
		try(func(r *adaptRule) { r.fastSpeed *= by })
	}
	for _, by := range []float64{1. / 3, 0.5, 2, 3} {
		try(func(r *adaptRule) { r.fast *= by })
	}
	for _, fast := range usualFast {
		try(func(r *adaptRule) { r.fast, r.fastSpeed = fast, r.fast*r.fastSpeed/fast })
	}
	f.trySlow(best, slows)
	for _, speed := range usualSlowSpeed {
		try(func(r *adaptRule) { r.slowSpeed = speed })
	}
	for _, delay := range usualDelay {
		try(func(r *adaptRule) {
			r.slow, r.fast, r.fastSpeed = r.slow+r.delay-delay, r.fast+r.delay-delay, r.fastSpeed*r.fast/(r.fast+r.delay-delay)
			r.delay = delay
		})
	}
	for _, blur := range usualBlur {
		try(func(r *adaptRule) { r.blur = blur })
	}
	try(func(r *adaptRule) { r.uncapped = !r.uncapped })
	try(func(r *adaptRule) { r.corner.on = !r.corner.on })
	for _, turn := range usualTurn {
		try(func(r *adaptRule) { r.corner.min = turn })
	}
	for _, slope := range usualSlope {
		try(func(r *adaptRule) { r.corner.slope = slope })
	}
	for _, holdback := range usualHoldback {
		try(func(r *adaptRule) { r.corner.holdback = holdback })
	}
}

// refine moves the intervals and the product by small shares.
func (f *filter) refine(best *fit) {
	for _, share := range []float64{0.02, 0.01, 0.004} {
		for _, by := range []float64{1 + share, 1 / (1 + share)} {
			for _, change := range []func(r *adaptRule){
				func(r *adaptRule) { r.fastSpeed *= by },
				func(r *adaptRule) { r.fast *= by; r.fastSpeed /= by },
				func(r *adaptRule) { r.slow *= by },
			} {
				r := *best.rule.(*adaptRule)
				change(&r)
				f.better(best, &r, best.noise)
			}
		}
	}
}

// restIntervals gives candidate slow intervals: the clusters of the gaps at rest and their halves, and the usual ones.
func (f *filter) restIntervals(w *way) []float64 {
	var rest, all []float64
	for i, g := range f.s.gaps {
		if w.movingTime(f.s.at[i], f.s.at[i+1]) == 0 && g > 60 {
			rest = append(rest, g)
		}
	}
	if len(rest) > 0 {
		for _, c := range clusters(rest) {
			all = append(all, c, c/2, c/3)
		}
		all = all[:min(len(all), 12)]
	}
	if len(all) == 0 {
		all = append(all, 600)
	}
	return append(all[:1], distinct(append(all[1:], usualSlow...), 0, 0.004)...)
}
