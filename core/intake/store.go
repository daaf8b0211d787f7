package intake

import (
	"slices"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// store holds the receptions of one file as far as the Keep policy lets it, sums up all of them, and notes when each
// receiver gave a sign of life.
type store struct {
	src      *evidence.Source
	keep     Keep
	held     int64
	blocks   [][]evidence.Reception // those held, in blocks, so that growing copies nothing
	arena    []byte                 // Raw of receptions is cut from here
	packet   aprs.Packet
	current  evidence.Reception  // the one at work; kept here so that it is not allocated anew for each line
	again    bool                // it stands in a list that was pasted again
	presence []evidence.Presence // the first is that of the file itself
	receiver map[ax25.Call]int
	spans    int
	many     bool // receivers were left out
}

// receptionCost is what holding one reception takes beside its raw bytes.
const receptionCost = 104

const (
	arenaChunk = 64 << 10
	blockSize  = 1024
	maxSpans   = 200_000
)

func newStore(src *evidence.Source, keep Keep) store {
	src.Whole, src.Survey = true, evidence.NewSurvey()
	return store{src: src, keep: keep, receiver: map[ax25.Call]int{}, presence: make([]evidence.Presence, 1)}
}

// add takes one packet: its header, its raw monitor form and the offset of its information. It gives the flaw of the
// information, "" when it is sound. raw may be reused by the caller.
func (s *store) add(at clock.Instant, line evidence.Line, h *ax25.Header, raw []byte, info int) (flaw string) {
	how, gateway := aprs.Routing(h)
	r := &s.current
	*r = evidence.Reception{At: at, Line: line, From: h.From, To: h.To, Receiver: gateway, Heard: evidence.Heard(how), Again: s.again, Info: int32(info), Raw: raw}
	aprs.Decode(h.To, raw[info:], &s.packet)
	s.src.Survey.Add(r, s.packet.Comment)
	s.relays(h)
	s.sign(r)
	s.src.File.Packets++
	if s.keep.Each != nil {
		s.keep.Each(r, &s.packet)
	}
	if s.wants(r) {
		s.hold(*r)
	}
	return s.packet.Flaw
}

// relays counts the stations whose calls are used hops. Aliases are counted too, and left out of the stations since nobody
// sends as WIDE2-1.
func (s *store) relays(h *ax25.Header) {
	radio := h.RadioHops()
	for i := range h.Path[:radio] {
		if h.Path[i].Used && h.Path[i].Call != h.From {
			s.src.Survey.Relayed(h.Path[i].Call)
		}
	}
}

// sign notes that the file, and the gateway that heard the packet on the air, were alive.
func (s *store) sign(r *evidence.Reception) {
	if !r.At.Known() {
		return
	}
	s.presence[0].See(r.At)
	s.presence[0].Heard(r.From)
	if r.Receiver.Zero() || r.Heard == evidence.Internet {
		return
	}
	i, ok := s.receiver[r.Receiver]
	if !ok {
		if s.spans >= maxSpans || (!s.src.Whole && !s.asked(r.From)) {
			s.many = s.many || s.spans >= maxSpans
			return
		}
		i = len(s.presence)
		s.receiver[r.Receiver] = i
		s.presence = append(s.presence, evidence.Presence{Receiver: r.Receiver})
	}
	p := &s.presence[i]
	before := len(p.Spans)
	if s.spans >= maxSpans && before >= 2 {
		p.Settle() // makes room where spans have grown together
		s.spans -= before - len(p.Spans)
		before = len(p.Spans)
	}
	p.See(r.At)
	p.Heard(r.From)
	s.spans += len(p.Spans) - before
}

// comment notes that the recorder's software wrote a line at that time.
func (s *store) comment(at clock.Instant) {
	if at.Known() {
		s.presence[0].See(at)
		s.presence[0].Comments = true
	}
}

func (s *store) asked(call ax25.Call) bool { return s.keep.Station != nil && s.keep.Station(call) }

// wants tells whether the reception is to be held, and lets go of the others when the budget is spent.
func (s *store) wants(r *evidence.Reception) bool {
	if s.src.Whole {
		if s.held+cost(r) <= s.keep.Budget {
			return true
		}
		s.letGo()
	}
	return s.asked(r.From)
}

func cost(r *evidence.Reception) int64 { return int64(len(r.Raw)) + receptionCost }

func (s *store) hold(r evidence.Reception) {
	if len(r.Raw) > cap(s.arena)-len(s.arena) {
		s.arena = make([]byte, 0, max(arenaChunk, len(r.Raw)))
	}
	from := len(s.arena)
	s.arena = append(s.arena, r.Raw...)
	r.Raw = s.arena[from:len(s.arena):len(s.arena)]
	s.held += cost(&r)
	n := len(s.blocks)
	if n == 0 || len(s.blocks[n-1]) == blockSize {
		s.blocks = append(s.blocks, make([]evidence.Reception, 0, blockSize))
		n++
	}
	s.blocks[n-1] = append(s.blocks[n-1], r)
}

// letGo keeps only what was asked for, copied, so that the memory of the rest is free.
func (s *store) letGo() {
	all := s.blocks
	s.src.Whole, s.blocks, s.arena, s.held = false, nil, nil, 0
	wanted := map[ax25.Call]bool{}
	for _, block := range all {
		for i := range block {
			if s.asked(block[i].From) {
				wanted[block[i].Receiver] = true
				s.hold(block[i])
			}
		}
	}
	s.forget(wanted)
}

// forget drops the presence of gateways that heard none of the stations asked for.
func (s *store) forget(wanted map[ax25.Call]bool) {
	kept := s.presence[:1:1]
	s.spans = 0
	s.receiver = map[ax25.Call]int{}
	for _, p := range s.presence[1:] {
		if wanted[p.Receiver] {
			s.receiver[p.Receiver] = len(kept)
			s.spans += len(p.Spans)
			kept = append(kept, p)
		}
	}
	s.presence = kept
}

// finish hands the receptions and the presence over.
func (s *store) finish() {
	s.src.Receptions = slices.Concat(s.blocks...)
	for i := range s.presence {
		p := &s.presence[i]
		p.File = s.src.File.ID
		p.Settle()
		if len(p.Spans) > 0 {
			s.src.Presence = append(s.src.Presence, *p)
		}
	}
}
