package evidence

import (
	"encoding/binary"
	"slices"
	"sort"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// A Survey sums up every station of a stream of receptions in flat memory: about 160 bytes a station, at most MaxStations of
// them, and at most textRoom bytes of comments. Sums do not depend on what is kept of the stream.
type Survey struct {
	index map[ax25.Call]int32
	cards [][]card // blocks of fixed size, so that growing copies nothing
	n     int
	texts textStore
	// Over counts receptions of stations beyond MaxStations.
	Over int
}

// MaxStations bounds how many call signs a Survey tells apart.
const MaxStations = 150_000

const cardBlock = 1024

// card is what a Survey remembers of one station; gaps and recent are rings.
type card struct {
	call                             ax25.Call
	gapAt, recentAt                  uint8
	heard, internet, copies, relayed uint32
	first, last, sent                clock.Instant // sent: the last one that was no copy
	recent                           [2]mark
	gaps                             [12]uint16 // seconds + 1 between transmissions; 0 is empty
	commentHash                      [3]uint32
	commentText                      [3]uint32
	firstText                        uint32
	commentCount                     [3]uint16
	to                               [2]ax25.Call
	toCount                          [2]uint16
}

// mark is a transmission that copies may follow: its time and its information.
type mark struct {
	at   uint32 // Unix seconds
	hash uint32 // lowest bit: heard direct by the file's own receiver
}

// copyWindow is how long after a transmission the same information is taken for a copy of it, in seconds.
const copyWindow = 30

// NewSurvey gives an empty Survey.
func NewSurvey() *Survey {
	return &Survey{index: map[ax25.Call]int32{}, texts: newTextStore()}
}

// Add counts one reception and the comment of its packet.
func (s *Survey) Add(r *Reception, comment []byte) {
	c := s.card(r.From)
	if c == nil {
		s.Over++
		return
	}
	c.heard++
	if r.Heard == Internet {
		c.internet++
	}
	c.sawTo(r.To)
	if len(comment) > 0 {
		c.sawComment(comment, &s.texts)
	}
	if r.At.Known() {
		c.sawAt(r)
	}
}

// Relayed counts a packet of another station that carries call as a used hop.
func (s *Survey) Relayed(call ax25.Call) {
	if c := s.card(call); c != nil {
		c.relayed++
	}
}

// Len gives how many call signs were seen, aliases of hops included.
func (s *Survey) Len() int { return s.n }

func (s *Survey) card(call ax25.Call) *card {
	if i, ok := s.index[call]; ok {
		return &s.cards[i/cardBlock][i%cardBlock]
	}
	if s.n == MaxStations {
		return nil
	}
	if s.n%cardBlock == 0 {
		s.cards = append(s.cards, make([]card, 0, cardBlock))
	}
	last := &s.cards[len(s.cards)-1]
	*last = append(*last, card{call: call, first: clock.None, last: clock.None, sent: clock.None})
	s.index[call] = int32(s.n)
	s.n++
	return &(*last)[len(*last)-1]
}

// sawAt folds copies and notes the gap to the transmission before.
func (c *card) sawAt(r *Reception) {
	if c.first == clock.None || r.At < c.first || c.first < clock.Set && r.At >= clock.Set {
		c.first = r.At
	}
	c.last = max(c.last, r.At)
	if r.Heard == Internet {
		return
	}
	own := r.Heard == Direct && r.Receiver.Zero()
	h := uint32(Hash(r.InfoField())>>32)&^1 | b2u(own)
	at := uint32(r.At / 1000)
	for _, m := range c.recent {
		if m.at != 0 && m.hash&^1 == h&^1 && apart(m.at, at) <= copyWindow && !(own && m.hash&1 == 1) {
			c.copies++
			return
		}
	}
	c.recent[c.recentAt] = mark{at, h}
	c.recentAt = (c.recentAt + 1) % uint8(len(c.recent))
	if c.sent != clock.None {
		if gap := max(r.At-c.sent, c.sent-r.At) + 500; gap/1000 < 65535 {
			c.gaps[c.gapAt] = uint16(gap/1000) + 1
			c.gapAt = (c.gapAt + 1) % uint8(len(c.gaps))
		}
	}
	c.sent = r.At
}

func (c *card) sawTo(to ax25.Call) {
	least := 0
	for i := range c.to {
		if c.to[i] == to {
			c.toCount[i] += room(c.toCount[i])
			return
		}
		if c.toCount[i] < c.toCount[least] {
			least = i
		}
	}
	if c.toCount[least] > 1 {
		c.toCount[least]--
		return
	}
	c.to[least], c.toCount[least] = to, 1
}

// sawComment counts a comment. Its text is stored for the station's first one and when one comes again, so that comments
// that differ each time (telemetry, counters) do not fill the store.
func (c *card) sawComment(comment []byte, texts *textStore) {
	h := uint32(Hash(comment)>>32) | 1
	least := 0
	for i := range c.commentHash {
		if c.commentHash[i] == h {
			c.commentCount[i] += room(c.commentCount[i])
			if c.commentText[i] == 0 {
				c.commentText[i] = texts.put(comment)
			}
			return
		}
		if c.commentCount[i] < c.commentCount[least] {
			least = i
		}
	}
	if c.commentCount[least] > 1 {
		c.commentCount[least]--
		return
	}
	first := c.commentCount == [3]uint16{}
	c.commentHash[least], c.commentCount[least], c.commentText[least] = h, 1, 0
	if first {
		c.commentText[least] = texts.put(comment)
		c.firstText = c.commentText[least]
	}
}

// Stations gives what was summed up, by call sign. Calls seen only as hops are left out.
func (s *Survey) Stations() []Station {
	all := make([]Station, 0, s.n)
	for _, block := range s.cards {
		for i := range block {
			if block[i].heard > 0 {
				all = append(all, block[i].station(&s.texts))
			}
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Call.Compare(all[j].Call) < 0 })
	return all
}

func (c *card) station(texts *textStore) Station {
	s := Station{
		Call: c.call, Heard: int(c.heard), Internet: int(c.internet), First: c.first, Last: c.last, Typical: c.typical(),
		Duplicates: int(c.copies), Relayed: int(c.relayed), Comments: c.comments(texts), Destinations: c.destinations(),
	}
	if len(s.Comments) == 0 && c.firstText != 0 {
		s.Sample = string(texts.get(c.firstText))
	}
	return s
}

// typical gives the median of the last gaps in seconds, 0 of fewer than three.
func (c *card) typical() float64 {
	var buf [len(c.gaps)]int
	g := buf[:0]
	for _, gap := range c.gaps {
		if gap > 0 {
			g = append(g, int(gap)-1)
		}
	}
	if len(g) < 3 {
		return 0
	}
	slices.Sort(g)
	return (float64(g[(len(g)-1)/2]) + float64(g[len(g)/2])) / 2
}

func (c *card) comments(texts *textStore) []string {
	order := []int{0, 1, 2}
	sort.SliceStable(order, func(i, j int) bool { return c.commentCount[order[j]] < c.commentCount[order[i]] })
	var out []string
	for _, i := range order {
		if c.commentText[i] != 0 {
			out = append(out, string(texts.get(c.commentText[i])))
		}
	}
	return out
}

func (c *card) destinations() []string {
	var out []string
	for i := range c.to {
		if c.toCount[i] > 0 {
			out = append(out, c.to[i].String())
		}
	}
	if len(out) == 2 && c.toCount[1] > c.toCount[0] {
		out[0], out[1] = out[1], out[0]
	}
	return out
}

// textStore holds each text once, in one stretch of bytes that never grows beyond textRoom.
type textStore struct {
	index map[uint64]uint32
	bytes []byte // length, text, length, text ...; offset 0 is no text
}

const (
	textRoom = 4 << 20
	textLong = 100 // bytes kept of one text
)

func newTextStore() textStore { return textStore{index: map[uint64]uint32{}, bytes: []byte{0}} }

// put gives the place of text, 0 when the store is full.
func (t *textStore) put(text []byte) uint32 {
	text = text[:min(len(text), textLong)]
	h := Hash(text)
	if at, ok := t.index[h]; ok {
		return at
	}
	if len(t.bytes)+len(text)+1 > textRoom {
		return 0
	}
	at := uint32(len(t.bytes))
	t.bytes = append(append(t.bytes, byte(len(text))), text...)
	t.index[h] = at
	return at
}

func (t *textStore) get(at uint32) []byte { return t.bytes[at+1:][:t.bytes[at]] }

// Hash tells texts apart in memory; nothing that is saved depends on it. It runs several times a line, so it takes eight bytes
// in one step: each is folded in as FNV-1a does a byte (draft-eastlake-fnv), and the high half, which the multiplication mixes
// best, goes into the low one.
func Hash(b []byte) uint64 {
	h := uint64(0xcbf29ce484222325) ^ uint64(len(b))
	for ; len(b) >= 8; b = b[8:] {
		h = mixed(h, binary.LittleEndian.Uint64(b))
	}
	rest := uint64(0)
	for i, c := range b {
		rest |= uint64(c) << (8 * i)
	}
	h = mixed(h, rest)
	return mixed(h, 0)
}

func mixed(h, word uint64) uint64 {
	h = (h ^ word) * 0x9e3779b97f4a7c15
	return h ^ h>>32
}

func apart(a, b uint32) uint32 { return max(a, b) - min(a, b) }

// room is 1 while a count can grow.
func room(n uint16) uint16 {
	if n == 65535 {
		return 0
	}
	return 1
}

func b2u(b bool) uint32 {
	if b {
		return 1
	}
	return 0
}
