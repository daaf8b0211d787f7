package sim

import "math/rand/v2"

// A Channel is how packets get lost on the way to one receiver.
type Channel struct {
	Loss   float64 // share of the packets lost, 0 to 1
	Burst  float64 // mean length of a bad spell in packets (Gilbert: all is lost in it); up to 1: losses are independent
	Sink   Sink
	Shadow Shadow
}

// A Sink is a loss that grows near the end of a run: over its last Share, Loss of the packets are lost.
type Sink struct{ Share, Loss float64 }

// A Shadow is ground that covers a unit under way: Every so many seconds on average, For at most so many.
type Shadow struct{ Every, For float64 }

// passes tells of each transmission whether it arrives.
func (c Channel) passes(seed uint64, l *Life) []bool {
	r := stream(seed, "channel", 0)
	shadows := c.Shadow.over(r, l.Way)
	bad := r.Float64() < c.Loss
	passes := make([]bool, len(l.Sent))
	for i, s := range l.Sent {
		bad = c.turns(r, bad)
		run := l.Runs[s.Run].span
		sunk := s.t > run.until-c.Sink.Share*(run.until-run.from) && r.Float64() < c.Sink.more(c.Loss)
		passes[i] = !bad && !sunk && !anyHolds(shadows, s.t)
	}
	return passes
}

// turns gives the state of the channel at the next packet.
func (c Channel) turns(r *rand.Rand, bad bool) bool {
	switch {
	case c.Loss >= 1:
		return true
	case c.Burst <= 1:
		return r.Float64() < c.Loss
	case bad:
		return r.Float64() >= 1/c.Burst
	default:
		return r.Float64() < c.Loss/(1-c.Loss)/c.Burst
	}
}

// more gives the share that a sunk channel loses of what the usual loss lets pass.
func (s Sink) more(usual float64) float64 {
	if s.Share == 0 || s.Loss <= usual {
		return 0
	}
	return (s.Loss - usual) / (1 - usual)
}

// over lays shadows over the moving parts of a way.
func (s Shadow) over(r *rand.Rand, w *Way) []span {
	if s.Every == 0 {
		return nil
	}
	var spans []span
	for _, leg := range w.stretches {
		if leg.mode == Parked {
			continue
		}
		for t := leg.from + s.Every*r.ExpFloat64(); t < leg.until; {
			until := t + between(r, s.For/4, s.For)
			spans = append(spans, span{t, min(until, leg.until)})
			t = until + s.Every*r.ExpFloat64()
		}
	}
	return spans
}
