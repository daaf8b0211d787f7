package traffic

import (
	"bytes"
	"slices"
	"time"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
	"lastbeacon/core/geo"
)

// Windows within which a reception may be a copy. The standard gives repeaters 28 to 30 s (APRS Protocol Reference 1.2
// draft c, p.10; APRS Digipeater Algorithm); measured copies came up to 191 s late.
const (
	usualWindow  = 30 * time.Second
	lateWindow   = 10 * time.Minute // a copy that its own content dates
	prefixWindow = 10 * time.Second // a copy with bytes added or trimmed
	leastPrefix  = 12               // bytes that such a copy shares at least
)

// A group is what was heard of one transmission, in order of time.
type group struct {
	heard []*evidence.Reception
	key   []byte // information of the first, without line end and trailing blanks
	to    ax25.Call
	dated bool // its own time or running number tells it from the next
	shown shown
}

// shown is what a packet says of its station.
type shown struct {
	comment  []byte
	position bool // its own place, of what may be a unit
	place    geo.Place
}

// A folder joins the receptions of one station to transmissions.
type folder struct {
	reader
	window time.Duration     // within which equal receptions are copies
	groups []*group          // the first of those made
	made   []*group          // for any station, used again for the next
	dated  map[string]*group // by their bytes
	texts  map[string]string // by comment, what of it is text
	sent   []sent
	last   map[ear]*evidence.Reception
}

// An ear is one receiver in one file.
type ear struct {
	file     evidence.FileID
	receiver ax25.Call
}

// fold groups receptions of one station, given in order of time and heard on the air. The groups stand until the next station's.
func (f *folder) fold(all []*evidence.Reception) []*group {
	f.window = min(f.window, f.spacing(all))
	f.groups = f.groups[:0]
	clear(f.dated)
	for _, r := range all {
		if g := f.original(r); g != nil {
			g.heard = append(g.heard, r)
			continue
		}
		f.open(r)
	}
	return f.groups
}

func (f *folder) open(r *evidence.Reception) {
	p, n := f.read(r), len(f.groups)
	if n == len(f.made) {
		f.made = append(f.made, &group{})
	}
	g := f.made[n]
	*g = group{
		heard: append(g.heard[:0], r), // its room serves all stations: a large log has thousands
		key:   trimmed(r.InfoField()),
		to:    r.To.Base(),
		dated: p.Stamp.Kind != aprs.NoStamp || sequence(p).Known(),
		shown: show(p, g.shown.comment),
	}
	f.groups = f.made[:n+1]
	if g.dated {
		if f.dated == nil {
			f.dated = map[string]*group{}
		}
		f.dated[string(g.key)] = g
	}
}

// show copies the comment into room, since it may stand in the packet's own.
func show(p *aprs.Packet, room []byte) shown {
	return shown{append(room[:0], p.Comment...), p.OwnPlace() && p.Kind != aprs.Weather && !infrastructure(p.Symbol), p.Place}
}

// original finds the transmission that r is a copy of: the nearest before it that fits, nil when there is none.
func (f *folder) original(r *evidence.Reception) *group {
	key := trimmed(r.InfoField())
	for _, g := range slices.Backward(f.groups) {
		since := r.At.Sub(g.heard[0].At)
		if since > f.window {
			break
		}
		if g.to == r.To.Base() && g.holds(r, key, since) && !g.heardDirectAt(r) {
			return g
		}
	}
	if g := f.dated[string(key)]; g != nil && r.Heard == evidence.Repeated && g.to == r.To.Base() && r.At.Sub(g.heard[0].At) <= lateWindow {
		return g
	}
	return nil
}

// holds tells whether information is that of the group: the same bytes; or, for another receiver or behind a repeater, the
// same begin, since gateways append text and trim bytes.
func (g *group) holds(r *evidence.Reception, key []byte, since time.Duration) bool {
	if bytes.Equal(g.key, key) {
		return true
	}
	short, long := g.key, key
	if len(short) > len(long) {
		short, long = long, short
	}
	if len(short) < leastPrefix || since > prefixWindow || !bytes.HasPrefix(long, short) {
		return false
	}
	return r.Heard == evidence.Repeated || !slices.ContainsFunc(g.heard, func(h *evidence.Reception) bool { return sameEar(h, r) })
}

// heardDirectAt tells whether the receiver of r has the group's transmission direct already, at another time: r, heard
// direct too, is then another transmission, however equal its bytes.
func (g *group) heardDirectAt(r *evidence.Reception) bool {
	return r.Heard == evidence.Direct && slices.ContainsFunc(g.heard, func(h *evidence.Reception) bool {
		return h.Heard == evidence.Direct && sameEar(h, r) && h.At != r.At
	})
}

func sameEar(a, b *evidence.Reception) bool {
	return a.Line.File == b.Line.File && a.Receiver == b.Receiver
}

// at is the time of the earliest direct reception, else of the earliest.
func (g *group) at() clock.Instant { return g.first().At }

func (g *group) first() *evidence.Reception {
	for _, r := range g.heard {
		if r.Heard == evidence.Direct {
			return r
		}
	}
	return g.heard[0]
}

// transmission gives the group with the reception that counts in front.
func (g *group) transmission() Transmission {
	first := g.first()
	heard := []*evidence.Reception{first}
	for _, r := range g.heard {
		if r != first {
			heard = append(heard, r)
		}
	}
	return Transmission{At: first.At, Heard: heard}
}

// trimmed cuts what gateways cut: line ends and blanks at the end.
func trimmed(info []byte) []byte {
	n := len(info)
	for n > 0 && (info[n-1] == ' ' || info[n-1] == '\r' || info[n-1] == '\n') {
		n--
	}
	return info[:n]
}

// spacing gives half the time between transmissions with equal bytes, from those that one receiver heard direct: a parked
// unit that beacons every 20 s must not have two transmissions folded because two receivers missed one each. At least 2 s,
// and long when too few are seen to tell.
func (f *folder) spacing(all []*evidence.Reception) time.Duration {
	const fewest = 3
	if len(all) <= fewest {
		return time.Hour
	}
	if f.last == nil {
		f.last = map[ear]*evidence.Reception{}
	}
	clear(f.last)
	var gaps []time.Duration
	for _, r := range all {
		if r.Heard != evidence.Direct {
			continue
		}
		e := ear{r.Line.File, r.Receiver}
		if before := f.last[e]; before != nil && r.At > before.At && bytes.Equal(r.InfoField(), before.InfoField()) {
			gaps = append(gaps, r.At.Sub(before.At))
		}
		f.last[e] = r
	}
	if len(gaps) < fewest {
		return time.Hour
	}
	slices.Sort(gaps)
	return max(2*time.Second, gaps[len(gaps)/10]/2)
}
