package sim

import (
	"math/rand/v2"
	"slices"
	"sort"
	"strings"

	"lastbeacon/core/ax25"
)

// A Repeater sends packets again that still have a hop of the WIDEn-N kind to go.
type Repeater struct {
	Call    string
	Hears   float64 // share of the packets that it hears, copies of other repeaters included
	Loss    float64 // share of its own transmissions that an ear loses
	Low     float64 // it sends between Low and High seconds later
	High    float64
	Held    float64 // share of the packets that it holds up
	HeldFor float64 // for at most so many seconds
}

// hops bounds how often a packet is repeated.
const hops = 3

// repeat adds the copies of all repeaters to the air. A repeater sends no packet twice, whichever copy of it comes first.
func (b *bench) repeat() {
	r := stream(b.seed, "repeaters", 0)
	type work struct{ origin, repeater int }
	done := map[work]bool{}
	fresh := b.air
	for range hops {
		var copies []packet
		for _, p := range fresh {
			for i, rep := range b.Repeaters {
				if c, ok := rep.copy(r, p); ok && !done[work{p.origin, i}] {
					done[work{p.origin, i}] = true
					copies = append(copies, c)
				}
			}
		}
		b.air = append(b.air, copies...)
		fresh = copies
	}
}

func (rep Repeater) copy(r *rand.Rand, p packet) (packet, bool) {
	path, ok := repeated(p.header.Path, call(rep.Call))
	if !ok || p.header.From == call(rep.Call) || r.Float64() >= rep.Hears {
		return packet{}, false
	}
	p.header.Path = path
	p.t += between(r, rep.Low, rep.High)
	if r.Float64() < rep.Held {
		p.t += between(r, 30, max(30, rep.HeldFor))
	}
	p.loss, p.copied = rep.Loss, true
	return p, true
}

// relays gives the packets of others that a station repeats while it lives, with their paths rewritten, and when it does so.
func (st Station) relays(r *rand.Rand, others []packet) (packets []packet, at []float64) {
	if st.Repeats == 0 {
		return nil, nil
	}
	for _, p := range others {
		path, ok := repeated(p.header.Path, call(st.Call))
		if ok && r.Float64() < st.Repeats {
			p.header.Path = path
			packets, at = append(packets, p), append(at, p.t+between(r, 1, 2))
		}
	}
	sort.Sort(byTime{packets, at})
	return packets, at
}

// byTime sorts packets by the moments at which they are repeated.
type byTime struct {
	packets []packet
	at      []float64
}

func (b byTime) Len() int           { return len(b.at) }
func (b byTime) Less(i, j int) bool { return b.at[i] < b.at[j] }
func (b byTime) Swap(i, j int) {
	b.packets[i], b.packets[j] = b.packets[j], b.packets[i]
	b.at[i], b.at[j] = b.at[j], b.at[i]
}

// repeated gives the path as a repeater leaves it: its call stands before an alias that has hops left and replaces one that
// has none. ok is false when there is nothing to repeat, or the repeater did so before. Source: APRS Digipeater Algorithm.
func repeated(path []ax25.Hop, by ax25.Call) (out []ax25.Hop, ok bool) {
	i := slices.IndexFunc(path, func(h ax25.Hop) bool { return !h.Used })
	if i < 0 || slices.ContainsFunc(path, func(h ax25.Hop) bool { return h.Call == by }) {
		return nil, false
	}
	alias, left, ok := strings.Cut(path[i].Call.String(), "-")
	if !ok || !strings.HasPrefix(alias, "WIDE") || len(left) != 1 || left[0] < '1' || left[0] > '7' {
		return nil, false
	}
	for _, hop := range path[:i] {
		out = append(out, ax25.Hop{Call: hop.Call, Used: true})
	}
	out = append(out, ax25.Hop{Call: by, Used: true})
	if left[0] > '1' {
		out = append(out, ax25.Hop{Call: call(alias + "-" + string(left[0]-1))})
	}
	return append(out, path[i+1:]...), true
}

// header makes the header of a station; Mic-E fills in the destination later.
func header(from, to, path string) ax25.Header {
	h := ax25.Header{From: call(from)}
	if to != "" {
		h.To = call(to)
	}
	for hop := range strings.SplitSeq(path, ",") {
		if hop != "" {
			h.Path = append(h.Path, ax25.Hop{Call: call(hop)})
		}
	}
	return h
}
