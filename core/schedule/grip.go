package schedule

// A grip tells how well a fixed period holds what was heard, at rest and in movement: whether there is room for a rule that
// follows the motion.
type grip struct {
	offBeat       int // heard gaps that are no multiple of the period
	resting       int // single periods heard at rest
	moving        int // single periods heard in movement
	row           int // of those at rest, the most in a row
	restedPeriods float64
}

const fewestSingle = 5

func (f *filter) grip(fixed fit, w *way) grip {
	period := fixed.rule.(fixedRule).period
	g := grip{
		offBeat:       f.offBeat(period, max(min(fixed.noise.sd, 0.03*period), f.cell/4)),
		restedPeriods: w.longestRest(f.s.at[0], f.s.last()) / period,
	}
	row := 0
	for _, m := range f.trace(fixed)[1:] {
		single := m.role == onTime && m.steps == 1
		moved := w.movingTime(m.at-period, m.at)
		if !single || moved > 0 {
			row = 0
		}
		switch {
		case single && moved == 0:
			g.resting++
			row++
			g.row = max(g.row, row)
		case single && moved > period-1:
			g.moving++
		}
	}
	return g
}

// noDecay: the unit never rested for two periods, or kept to the period, beacon after beacon, for longer at rest than any
// hold lasts.
func (g grip) noDecay() bool {
	return g.offBeat < fewestOffBeat && (g.row > mostHold+1 || g.restedPeriods < 2)
}

// noAdaptation: the unit kept to the period in movement, and at rest too if it rested.
func (g grip) noAdaptation() bool {
	return g.offBeat < fewestOffBeat && g.moving >= fewestSingle && (g.resting >= fewestSingle || g.restedPeriods < 3)
}
