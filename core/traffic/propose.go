package traffic

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// A Proposal is a unit that the evidence suggests. Strong: it beacons like a unit under test, which is mostly heard direct,
// at least ten times, with its position, and at no wild intervals but where it stays. A gateway is none.
type Proposal struct {
	Spec          Spec
	Transmissions int
	Strong        bool
	First, Last   clock.Instant
	Typical       float64 // seconds between transmissions, median; 0 when fewer than three
	Direct        float64 // share heard direct, 0 to 1
	Shares        bool    // another unit is proposed under the same call sign
}

// What makes a proposal strong.
const (
	leastTransmissions = 10
	leastOfComment     = 5
	slowestTypical     = 3600.0 // s
	mostProposals      = 200
	longestName        = 24 // characters
)

// Propose gives the units that the evidence suggests, the strong ones first, then by transmissions: one for each station
// heard on the air, or, where one station shows several comments each with a steady schedule of its own, one for each.
func (reg *Register) Propose() []Proposal {
	var all []Proposal
	f := folder{texts: map[string]string{}}
	gateways := reg.gateways()
	for i := range reg.stations {
		s := &reg.stations[i]
		f.window = usualWindow
		clear(f.texts)
		groups := f.fold(s.air)
		trains := trainsOf(&f, groups)
		s.sent = len(groups)
		for _, t := range trains {
			p := t.proposal(s.call)
			s.typical = p.Typical
			p.Shares = len(trains) > 1
			p.Strong = p.Strong && !gateways[s.call]
			all = append(all, p)
		}
		if len(trains) > 1 {
			whole := train{sent: f.sent}
			s.typical = typical(whole.sorted())
		}
	}
	passersBy(all)
	sort.SliceStable(all, func(i, j int) bool {
		a, b := &all[i], &all[j]
		if a.Strong != b.Strong {
			return a.Strong
		}
		return cmp.Or(cmp.Compare(b.Transmissions, a.Transmissions), strings.Compare(a.Spec.Name, b.Spec.Name)) < 0
	})
	return unique(all[:min(len(all), mostProposals)])
}

// A Folded station was heard on the air so many times at known times, and sent so many transmissions, typically so many seconds
// apart: the median, 0 when fewer than three.
type Folded struct {
	Heard, Transmissions int
	Typical              float64
}

// Folded gives by its call what was proposed of each station: its transmissions over all files, copies folded, which the sums of
// single files do not tell.
func (reg *Register) Folded() map[ax25.Call]Folded {
	all := map[ax25.Call]Folded{}
	for i := range reg.stations {
		s := &reg.stations[i]
		all[s.call] = Folded{len(s.air), s.sent, s.typical}
	}
	return all
}

// gateways gives the stations that passed on to the internet what they heard.
func (reg *Register) gateways() map[ax25.Call]bool {
	all := map[ax25.Call]bool{}
	last := ax25.Call{}
	for i := range reg.ev.Receptions {
		if r := &reg.ev.Receptions[i]; r.Receiver != last && r.Receiver != r.From {
			last = r.Receiver
			all[last] = true
		}
	}
	return all
}

// passersBy takes the strength from what was heard for less than a quarter of the time of the longest heard strong one: a
// vehicle on its way through, not a radio under test.
func passersBy(all []Proposal) {
	longest := time.Duration(0)
	for _, p := range all {
		if p.Strong {
			longest = max(longest, p.Last.Sub(p.First))
		}
	}
	for i := range all {
		all[i].Strong = all[i].Strong && 4*all[i].Last.Sub(all[i].First) >= longest
	}
}

// A train is a row of transmissions that one radio may have sent. comment is "" when the station is one radio.
type train struct {
	comment string
	sent    []sent
}

type sent struct {
	at       clock.Instant
	direct   bool
	position bool
	place    geo.Place // of a position
	print    fingerprint
	comment  string
}

// trainsOf splits a station's transmissions by comment where that shows several radios. The trains stand until the next station's.
func trainsOf(f *folder, groups []*group) []train {
	if len(groups) == 0 {
		return nil
	}
	f.sent = slices.Grow(f.sent[:0], len(groups))[:len(groups)]
	whole := train{sent: f.sent}
	counts := map[string]int{}
	for i, g := range groups {
		first, says := g.first(), g.shown
		if first != g.heard[0] {
			says = show(f.read(first), nil)
		}
		whole.sent[i] = sent{at: first.At, direct: first.Heard == evidence.Direct, position: says.position, place: says.place,
			comment: f.readable(says.comment)}
		counts[whole.sent[i].comment]++
	}
	comments := whole.comments(counts)
	if len(comments) < 2 { // as of nearly all stations, of which nothing more need be known
		return []train{whole}
	}
	for i, g := range groups {
		whole.sent[i].print = f.fingerprint(g)
	}
	var parts []train
	for _, c := range comments {
		part := train{comment: c}
		for _, s := range whole.sent {
			if s.comment == c {
				part.sent = append(part.sent, s)
			}
		}
		parts = append(parts, part)
	}
	if !several(parts) {
		return []train{whole}
	}
	return parts
}

// comments gives those that came often enough, in the order first heard.
func (t *train) comments(counts map[string]int) (all []string) {
	for i := range t.sent {
		if c := t.sent[i].comment; c != "" && counts[c] >= leastOfComment {
			all = append(all, c)
			counts[c] = 0
		}
	}
	return all
}

// readable is readable of a comment, which comes again and again.
func (f *folder) readable(comment []byte) string {
	text, known := f.texts[string(comment)]
	if !known {
		text = readable(comment)
		f.texts[string(comment)] = text
	}
	return text
}

// readable gives the longest stretch of a comment that is text, without blanks around it: a rule must survive being written
// down.
func readable(comment []byte) string {
	longest := ""
	for part := range strings.SplitSeq(strings.ToValidUTF8(string(comment), "\x00"), "\x00") {
		if part = strings.TrimSpace(part); len(part) > len(longest) {
			longest = part
		}
	}
	return longest
}

// infrastructure tells the symbols of repeaters, gateways and weather stations, in either symbol table. Source: APRS
// Protocol Reference 1.0.1, appendix 2.
func infrastructure(symbol [2]byte) bool {
	return symbol[1] == '#' || symbol[1] == '&' || symbol[1] == '_'
}

// several tells whether the parts are different radios: any two send their positions in different form, or each keeps a
// schedule of its own and they differ in place, path, in that together they keep none, in that one goes on without the other,
// or in that they stand unevenly between each other. A radio that takes turns between two texts shows none of these.
func several(parts []train) bool {
	for i, p := range parts {
		for _, q := range parts[:i] {
			if !p.unlike(q) && !(p.steady() && q.steady() && p.differs(q)) {
				return false
			}
		}
	}
	return true
}

// unlike tells whether both send positions, in another encoding or under another symbol.
func (t *train) unlike(o train) bool {
	a, b := t.sent[0].print, o.sent[0].print
	return a.encoding != "" && b.encoding != "" && (a.encoding != b.encoding || a.symbol != b.symbol)
}

func (t *train) differs(o train) bool {
	a, b := t.sent[0].print, o.sent[0].print
	if a.encoding == "" || b.encoding == "" { // a status beside the positions of the same radio
		return false
	}
	if a.encoding != b.encoding || a.symbol != b.symbol || a.to != b.to || a.path != "" && b.path != "" && a.path != b.path {
		return true
	}
	if a.placed && b.placed && geo.Distance(a.place, b.place) > 500 && t.overlaps(o) {
		return true
	}
	both := t.with(o)
	return !both.steady() || !t.overlaps(o) || t.outlives(&o) || o.outlives(t) || both.offBeat()
}

// with gives the transmissions of both in order of time.
func (t *train) with(o train) train {
	both := train{sent: slices.Concat(t.sent, o.sent)}
	sort.SliceStable(both.sent, func(i, j int) bool { return both.sent[i].at < both.sent[j].at })
	return both
}

// outlives tells whether t went on alone, before or after o: a radio that takes turns between texts would not fall silent with
// one of them for so many of its intervals.
func (t *train) outlives(o *train) bool {
	alone := func(sent int, silence time.Duration) bool {
		return sent >= leastAlone && silence.Seconds() >= leastAlone*middle(o.gaps())
	}
	first, last := o.sent[0].at, o.sent[len(o.sent)-1].at
	before := sort.Search(len(t.sent), func(i int) bool { return t.sent[i].at >= first })
	after := sort.Search(len(t.sent), func(i int) bool { return t.sent[i].at > last })
	return alone(before, first.Sub(t.sent[0].at)) || alone(len(t.sent)-after, t.sent[len(t.sent)-1].at.Sub(last))
}

// leastAlone is how many transmissions, and intervals of the other, make a radio of its own.
const leastAlone = 8

// offBeat tells whether the way from one comment to the next is longer than the way back by more than chance gives: a radio
// that takes turns between two texts keeps one interval.
func (t *train) offBeat() bool {
	var there, back []float64
	for i := 1; i < len(t.sent); i++ {
		gap := t.sent[i].at.Sub(t.sent[i-1].at).Seconds()
		switch {
		case t.sent[i].comment == t.sent[i-1].comment:
		case t.sent[i].comment == t.sent[0].comment:
			back = append(back, gap)
		default:
			there = append(there, gap)
		}
	}
	if len(there) < leastAlone || len(back) < leastAlone {
		return false
	}
	away := math.Abs(middle(there) - middle(back))
	return away >= leastOff && away > 8*math.Hypot(unsure(there), unsure(back))
}

// unsure gives how far chance moves the middle of the values: their median distance from it over the root of their number.
func unsure(of []float64) float64 {
	mid := middle(of)
	off := make([]float64, len(of))
	for i, v := range of {
		off[i] = math.Abs(v - mid)
	}
	return middle(off) / math.Sqrt(float64(len(of)))
}

// leastOff in seconds is more than stamps of whole seconds and texts of other lengths make between the two ways.
const leastOff = 1.5

func middle(of []float64) float64 {
	sorted := slices.Clone(of)
	slices.Sort(sorted)
	if len(sorted) == 0 {
		return 0
	}
	return sorted[len(sorted)/2]
}

func (t *train) overlaps(o train) bool {
	return t.sent[0].at < o.sent[len(o.sent)-1].at && o.sent[0].at < t.sent[len(t.sent)-1].at
}

func (t *train) gaps() []float64 {
	gaps := make([]float64, 0, len(t.sent))
	for i := 1; i < len(t.sent); i++ {
		gaps = append(gaps, t.sent[i].at.Sub(t.sent[i-1].at).Seconds())
	}
	return gaps
}

// steady tells whether the gaps are whole multiples of one interval, or lengthen in doublings: two of three of them near
// a multiple, up to eight, of the low quarter of the gaps.
func (t *train) steady() bool {
	gaps := t.gaps()
	if len(gaps) < leastOfComment-1 {
		return false
	}
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	unit := sorted[len(sorted)/4]
	near := 0
	for _, g := range gaps {
		n := math.Round(g / unit)
		if n >= 1 && n <= 32 && math.Abs(g-n*unit) <= max(3, 0.08*unit) {
			near++
		}
	}
	return unit >= 8 && 3*near >= 2*len(gaps)
}

func (t *train) proposal(call ax25.Call) Proposal {
	p := Proposal{
		Spec:          Spec{Name: name(t.comment, call), Rules: []Rule{{Station: call.String(), Comment: t.comment, From: clock.None, Until: clock.None}}},
		Transmissions: len(t.sent),
		First:         t.sent[0].at,
		Last:          t.sent[len(t.sent)-1].at,
	}
	positions := 0
	for _, s := range t.sent {
		if s.direct {
			p.Direct += 1 / float64(len(t.sent))
		}
		if s.position {
			positions++
		}
	}
	gaps := t.sorted()
	p.Typical = typical(gaps)
	p.Strong = len(t.sent) >= leastTransmissions && p.Direct >= 0.5 && 5*positions >= 4*len(t.sent) && (regular(gaps) || regular(t.gapsOnTheWay()))
	return p
}

// sorted gives the gaps between transmissions, the shortest first.
func (t *train) sorted() []float64 {
	gaps := t.gaps()
	slices.Sort(gaps)
	return gaps
}

// typical gives the median of gaps, sorted; 0 of fewer than two.
func typical(gaps []float64) float64 {
	if len(gaps) < 2 {
		return 0
	}
	return (gaps[(len(gaps)-1)/2] + gaps[len(gaps)/2]) / 2
}

// onTheSpot is within how many metres a station has stayed where it was, whatever its receiver makes of that.
const onTheSpot = 50

// gapsOnTheWay gives the gaps, sorted, of a station that moved, those aside between which it stayed where it was, for trackers lengthen
// their interval there; none where fewer than a strong proposal needs are left.
func (t *train) gapsOnTheWay() []float64 {
	var gaps []float64
	for i := 1; i < len(t.sent); i++ {
		a, b := &t.sent[i-1], &t.sent[i]
		if a.position && b.position && geo.Chord(a.place, b.place) > onTheSpot {
			gaps = append(gaps, b.at.Sub(a.at).Seconds())
		}
	}
	if len(gaps) < leastTransmissions {
		return nil
	}
	slices.Sort(gaps)
	return gaps
}

// regular tells whether gaps, sorted, look like beacons and not like somebody passing by: nine of ten within six times the
// typical one, and that no longer than an hour.
func regular(gaps []float64) bool {
	if len(gaps) == 0 {
		return false
	}
	usual := gaps[len(gaps)/2]
	return usual >= 5 && usual <= slowestTypical && gaps[len(gaps)*9/10] <= 6*usual
}

// name gives a unit a name: its comment when it has one of its own, else its call.
func name(comment string, call ax25.Call) string {
	if comment == "" {
		return call.String()
	}
	if r := []rune(comment); len(r) > longestName {
		comment = strings.TrimSpace(string(r[:longestName]))
	}
	return comment
}

// unique makes names differ, by the call first and a number then.
func unique(all []Proposal) []Proposal {
	taken := map[string]bool{}
	for i := range all {
		s := &all[i].Spec
		if taken[s.Name] {
			s.Name += " (" + s.Rules[0].Station + ")"
		}
		for n, base := 2, s.Name; taken[s.Name]; n++ {
			s.Name = base + " " + strconv.Itoa(n)
		}
		taken[s.Name] = true
	}
	return all
}
