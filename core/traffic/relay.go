package traffic

import (
	"bytes"
	"slices"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
)

// Relay fills in, for each unit, the packets of others that carry its call as a used hop. Copies of one relayed packet
// count once. Where only the unit's own packets were kept of a large file, the survey's count stands in, without lengths.
func (reg *Register) Relay(units []Unit) {
	owners := map[ax25.Call][]int{}
	for i, u := range units {
		for _, call := range u.calls {
			owners[call] = append(owners[call], i)
		}
	}
	tallies := map[ax25.Call]*relayed{}
	var read reader
	for i := range reg.ev.Receptions {
		read.relay(&reg.ev.Receptions[i], owners, tallies)
	}
	surveyed := map[ax25.Call]int{}
	for _, s := range reg.ev.Stations {
		surveyed[s.Call] = s.Relayed
	}
	for call, members := range owners {
		t := tallies[call]
		if t == nil {
			t = &relayed{}
		}
		packets := t.packets
		if lines := surveyed[call]; lines > t.lines {
			packets = max(packets, lines)
		}
		for _, u := range members {
			units[u].Relayed += packets
			units[u].RelayedBytes += t.bytes * packets / max(1, t.packets)
			units[u].RelayedShared = units[u].RelayedShared || len(members) > 1 && packets > 0
		}
	}
}

// relayed sums up what one call repeated. recent holds the last packets, so that copies count once.
type relayed struct {
	packets, lines, bytes int
	recent                []*evidence.Reception
}

// relay looks for used hops of r that are calls of units.
func (d *reader) relay(r *evidence.Reception, owners map[ax25.Call][]int, tallies map[ax25.Call]*relayed) {
	for i, hop := range relayHops(r, &d.header) {
		if !hop.Used || owners[hop.Call] == nil || hop.Call == r.From {
			continue
		}
		t := tallies[hop.Call]
		if t == nil {
			t = &relayed{}
			tallies[hop.Call] = t
		}
		t.add(r, i+1, d.header.RadioHops())
	}
}

// RelayedBy tells whether r is a packet of another station that one of the calls repeated. It parses into header.
func RelayedBy(r *evidence.Reception, header *ax25.Header, calls []ax25.Call) bool {
	return slices.ContainsFunc(relayHops(r, header), func(hop ax25.Hop) bool {
		return hop.Used && hop.Call != r.From && slices.Contains(calls, hop.Call)
	})
}

// relayHops gives the hops on the radio of a packet that was repeated, nil of any other.
func relayHops(r *evidence.Reception, header *ax25.Header) []ax25.Hop {
	if r.Heard != evidence.Repeated || !bytes.Contains(r.Raw[:r.Info], []byte{'*'}) {
		return nil
	}
	if _, err := ax25.ParseHeader(r.Raw, header); err != nil {
		return nil
	}
	if heard, _ := aprs.Routing(header); heard != aprs.Repeated {
		return nil
	}
	return header.Path[:header.RadioHops()]
}

// add counts a packet that left the unit as the hop-th of its used hops.
func (t *relayed) add(r *evidence.Reception, hop, hops int) {
	t.lines++
	t.recent = slices.DeleteFunc(t.recent, func(o *evidence.Reception) bool { return r.At.Sub(o.At) > usualWindow })
	for _, o := range t.recent {
		if o.From == r.From && bytes.Equal(trimmed(o.InfoField()), trimmed(r.InfoField())) {
			return
		}
	}
	t.recent = append(t.recent, r)
	t.packets++
	t.bytes += addressBytes*(2+max(hop, hops)) + frameBytes + len(r.InfoField())
}
