package session

import (
	"cmp"
	"math"
	"slices"

	"lastbeacon/core/ax25"
	"lastbeacon/core/bench"
	"lastbeacon/core/clock"
	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/motion"
	"lastbeacon/core/traffic"
)

// habits are what a unit's packets tell of how it transmits: the seconds that one transmission takes on the air, what it sends
// for others, and the path that most of its packets asked for.
type habits struct {
	airtime   estimate.Estimate
	answers   int               // messages acknowledged or refused
	forOthers estimate.Estimate // seconds on the air for others: those answers, and packets repeated
	path      string
	pathKnown bool
}

// unknownDelay is by how much transmit delay and tail together may differ from their defaults where nobody stated them, in
// seconds: from a delay of 200 ms without tail to the 500 ms that KISS begins with and a tail of 100 ms.
const unknownDelay = 0.2

func (g *gathered) habitsOf(unit int, known *bench.Unit) habits {
	u := &g.units[unit]
	modem, stated := known.Modem()
	key := both(g.keys[unit], contentOf(modem, stated, u.Relayed, u.RelayedBytes, u.RelayedShared))
	return g.habits.of(key, func() habits { return habitsUnder(u, modem, stated) })
}

func habitsUnder(u *traffic.Unit, modem ax25.Modem, stated bool) habits {
	var h habits
	var header ax25.Header
	var buf [ax25.MaxPath]ax25.Hop
	paths := map[string]int{}
	var seconds []float64
	answering := 0.0
	for i := range u.Transmissions {
		first := u.Transmissions[i].Heard[0]
		info, err := ax25.ParseHeader(first.Raw, &header)
		if err != nil {
			continue
		}
		sent, certain := ax25.AsSent(header, buf[:0])
		if certain {
			paths[pathText(sent.Path)]++
		}
		if d, ok := modem.Airtime(sent, first.Raw[info:]); ok {
			seconds = append(seconds, d.Seconds())
			if u.Transmissions[i].Ack {
				h.answers++
				answering += d.Seconds()
			}
		}
	}
	h.path, h.pathKnown = mostFrequent(paths)
	if len(seconds) > 0 {
		h.airtime = meanOf(seconds, stated)
	}
	repeating, ok := modem.Frames(u.Relayed, u.RelayedBytes)
	if n := h.answers + u.Relayed; n > 0 && ok && !u.RelayedShared && (u.Relayed == 0 || u.RelayedBytes > 0) {
		h.forOthers = lasting(answering+repeating.Seconds(), float64(n), stated)
	}
	return h
}

func meanOf(seconds []float64, stated bool) estimate.Estimate {
	sum := 0.0
	for _, s := range seconds {
		sum += s
	}
	return lasting(sum/float64(len(seconds)), 1, stated)
}

// lasting gives the seconds that n transmissions take, exactly where the delay is stated.
func lasting(seconds, n float64, stated bool) estimate.Estimate {
	if stated {
		return estimate.Exact(seconds)
	}
	return estimate.Of(seconds-n*unknownDelay, seconds, seconds+n*unknownDelay)
}

func pathText(path []ax25.Hop) string {
	var text []byte
	for i, hop := range path {
		if i > 0 {
			text = append(text, ',')
		}
		text = hop.Call.AppendTo(text)
	}
	return string(text)
}

// mostFrequent gives the text that was counted most often; of equal ones the first in alphabetical order.
func mostFrequent(counts map[string]int) (text string, any bool) {
	most := 0
	for t, n := range counts {
		if n > most || n == most && t < text {
			text, most = t, n
		}
	}
	return text, most > 0
}

// load gives what the draw of a run is worked out from.
func (a *analysis) load(unit int, run *endurance.Run) draw.Load {
	l := draw.Load{Time: run.Runtime, Sent: run.Sent, Rate: run.Rate, AirtimeS: a.habits[unit].airtime, Mixed: !oneCharge(run),
		Noted: run.State == endurance.NotedEnd || run.State == endurance.Stopped}
	if run.State == endurance.Stopped && run.Start.Best.Known() && run.End.Best.Known() {
		l.Over = secondsBetween(run.Start, run.End)
	}
	if run.Rankable || run.State.Closed() {
		l.Relayed = a.relayedIn(unit, run)
	}
	return l
}

// oneCharge tells whether nothing speaks against a run being one full charge.
func oneCharge(run *endurance.Run) bool {
	return !slices.ContainsFunc(run.Flags, func(f endurance.Flag) bool { return endurance.DoubtsCharge(f.Code) })
}

// mayCompare tells whether a run may enter a ratio: a closed one that is rankable, or one without an end, as a least value.
func mayCompare(run *endurance.Run) bool {
	return run.Rankable || run.Runtime.Known && math.IsInf(run.Runtime.High, 1) && oneCharge(run)
}

// tooCoarse tells whether nothing but the width of its run time keeps a run from being compared.
func tooCoarse(run *endurance.Run) bool {
	return !mayCompare(run) && oneCharge(run) && slices.ContainsFunc(run.Flags, func(f endurance.Flag) bool { return f.Code == endurance.FlagCoarse })
}

// relayedIn shares out what a unit repeated for others over its runs by their length.
func (a *analysis) relayedIn(unit int, run *endurance.Run) int {
	all := 0.0
	for i := range a.runs[unit] {
		all += a.runs[unit][i].Runtime.Best
	}
	if all <= 0 || !run.Runtime.Known {
		return 0
	}
	return int(math.Round(float64(a.units[unit].Relayed) * run.Runtime.Best / all))
}

// secondsBetween gives the time between two moments known within bounds.
func secondsBetween(start, end clock.Between) estimate.Estimate {
	best := end.Best.Sub(start.Best).Seconds()
	spread := 0.0
	for _, b := range []clock.Between{start, end} {
		if w, ok := b.Width(); ok {
			spread += w.Seconds() * w.Seconds() / 4
		}
	}
	half := math.Sqrt(spread)
	return estimate.Of(best-half, best, best+half)
}

// subject gives what the comparison needs of one unit.
func (a *analysis) subject(i int) compare.Subject {
	s := compare.Subject{Name: a.units[i].Name, Kind: a.bench.Units[i].Kind, Split: a.splits[i]}
	for k := range a.runs[i] {
		run := &a.runs[i][k]
		s.Runs = append(s.Runs, compare.Run{Label: run.Label, Rankable: mayCompare(run), Coarse: tooCoarse(run), Time: run.Runtime, Rate: run.Rate,
			Draw: a.draws[i][k], Pack: a.bench.Units[i].Draw(run.Noted).Battery.Pack, Facts: a.facts(i, run)})
	}
	for k := range a.finished[i] {
		s.Runs = append(s.Runs, a.finished[i][k].compared())
	}
	return s
}

// facts gathers the circumstances of a run: what was noted, and what the evidence shows.
func (a *analysis) facts(i int, run *endurance.Run) compare.Facts {
	u := &a.bench.Units[i]
	f := stated(u)
	f.Start, f.End, f.AirtimeS = run.Start.Best, run.End.Best, a.habits[i].airtime
	f.From, f.To = run.FirstHeard, run.LastHeard
	f.Path, f.PathKnown, f.Schedule = a.habits[i].path, a.habits[i].pathKnown, run.Schedule.Kind.String()
	f.MovingPct, f.FixPct, f.BusyPct = movingShare(run.Periods), fixShare(&a.units[i]), a.gathered.busy.of(run, func() estimate.Estimate { return a.busy(run) })
	f.Relayed, f.RelaysKnown = a.units[i].Relayed, a.units[i].Heard > 0
	return f
}

// stated gives the circumstances that people noted of a unit.
func stated(u *bench.Unit) compare.Facts {
	var f compare.Facts
	if tx := u.Transmit(); tx.PowerW > 0 {
		f.PowerW, f.PowerMeasured, f.MeterPct = tx.PowerW, tx.PowerBasis == "measured", tx.MeterPct
	}
	if c := u.Conditions; c != nil {
		f.Fix, f.SecondReceiver, f.Audio, f.PowerSaver = c.Fix, c.SecondReceiver, c.Audio, c.PowerSaver
		f.AutoPowerOff, f.Repeating, f.Antenna = c.AutoPowerOff, c.Repeating, c.Antenna
		if c.TemperatureC != nil {
			f.TemperatureC = estimate.Exact(*c.TemperatureC)
		}
	}
	return f
}

func fixShare(u *traffic.Unit) estimate.Estimate {
	if math.IsNaN(u.CurrentFixPct) {
		return estimate.Unknown
	}
	return estimate.Exact(u.CurrentFixPct)
}

// movingShare gives the percentage of the known time that a run spent moving.
func movingShare(periods []endurance.Tally) estimate.Estimate {
	moving, known := 0.0, 0.0
	for _, p := range periods {
		s := p.End.Best.Sub(p.Start.Best).Seconds()
		if p.State != motion.Unknown {
			known += s
		}
		if p.State == motion.Moving {
			moving += s
		}
	}
	if known <= 0 {
		return estimate.Unknown
	}
	return estimate.Exact(100 * moving / known)
}

// busy gives the percentage of a run in which packets of others were heard on the channel. It counts what the receivers held,
// and is unknown where only some stations were held.
func (a *analysis) busy(run *endurance.Run) estimate.Estimate {
	from, to := run.FirstHeard, run.LastHeard
	if !from.Known() || to <= from || a.partial {
		return estimate.Unknown
	}
	at, _ := slices.BinarySearchFunc(a.evidence.Receptions, from, func(r evidence.Reception, t clock.Instant) int { return cmp.Compare(r.At, t) })
	seconds := 0.0
	for i := at; i < len(a.evidence.Receptions) && a.evidence.Receptions[i].At <= to; i++ {
		if !a.ours.have(a.evidence.Receptions[i].Line) {
			seconds += a.airtime(i)
		}
	}
	return estimate.Exact(100 * seconds / to.Sub(from).Seconds())
}

// airtime gives how long the i-th reception took on the channel in seconds, with the airtime of the usual 1200 baud modem; 0 where it
// was never there or that cannot be told. Each run asks for those of all packets meanwhile.
func (h *heard) airtime(i int) float64 {
	if h.onAir == nil {
		h.onAir = make([]float64, len(h.evidence.Receptions))
	}
	if h.onAir[i] == 0 {
		h.onAir[i] = airtimeOf(&h.evidence.Receptions[i], &h.header)
	}
	return max(0, h.onAir[i])
}

// airtimeOf is airtime of a reception, -1 where there is none. header is used for the work.
func airtimeOf(r *evidence.Reception, header *ax25.Header) float64 {
	if r.Heard == evidence.Internet {
		return -1
	}
	modem, _ := (&bench.Unit{}).Modem()
	info, err := ax25.ParseHeader(r.Raw, header)
	if err != nil {
		return -1
	}
	header.Path = header.Path[:header.RadioHops()]
	if d, ok := modem.Airtime(*header, r.Raw[info:]); ok {
		return d.Seconds()
	}
	return -1
}
