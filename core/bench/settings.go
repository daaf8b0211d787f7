package bench

import (
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/compare"
	"lastbeacon/core/draw"
	"lastbeacon/core/endurance"
	"lastbeacon/core/evidence"
	"lastbeacon/core/traffic"
)

// Traffic gives the settings of the traffic stage.
func (b *Bench) Traffic() traffic.Settings {
	var set traffic.Settings
	for i := range b.Units {
		spec := traffic.Spec{Name: b.Units[i].Name}
		for _, m := range b.Units[i].Match {
			spec.Rules = append(spec.Rules, traffic.Rule{Station: m.Station, Comment: m.Comment, Destination: m.Destination,
				Symbol: m.Symbol, Encoding: m.Encoding, From: instant(m.From), Until: instant(m.Until)})
		}
		set.Specs = append(set.Specs, spec)
	}
	if b.Options != nil && b.Options.DuplicateWindowS != nil {
		set.Window = clock.Seconds(*b.Options.DuplicateWindowS)
	}
	return set
}

// FileOf finds what the bench says of a file: by its SHA-256, else by its name. It is nil when the bench says nothing.
func (b *Bench) FileOf(name, sha256 string) *File {
	for i := range b.Files {
		if f := &b.Files[i]; f.SHA256 != nil && sha256 != "" && *f.SHA256 == sha256 {
			return f
		}
	}
	for i := range b.Files {
		if f := &b.Files[i]; f.Name == name && (f.SHA256 == nil || sha256 == "") {
			return f
		}
	}
	return nil
}

// Stated gives the stretches in which the recorder of the file was watched.
func (f *File) Stated(id evidence.FileID) []endurance.Stated {
	var all []endurance.Stated
	for _, w := range f.Watched {
		all = append(all, endurance.Stated{File: id, Span: w.span()})
	}
	return all
}

func (w Watch) span() evidence.Span {
	return evidence.Span{Start: instant(w.From), End: instant(w.Until)}
}

// Offset gives how far the file's clock is ahead.
func (f *File) Offset() time.Duration { return clock.Seconds(f.ClockOffsetS) }

var habits = map[string]endurance.FirstBeacon{
	"at_once": endurance.AtOnce, "after_fix": endurance.AfterFix, "after_interval": endurance.AfterInterval,
}

// Notes gives what is known of the unit's runs.
func (u *Unit) Notes() endurance.Notes {
	n := endurance.Notes{FirstBeacon: habits[u.FirstBeacon]}
	for i := range u.Runs {
		n.Runs = append(n.Runs, u.Runs[i].noted())
	}
	return n
}

func (r *Run) noted() endurance.NotedRun {
	n := endurance.NotedRun{Label: r.Label}
	if r.PowerOn != nil {
		at := r.PowerOn.moment()
		n.PowerOn = &at
	}
	for _, e := range r.Events {
		n.Events = append(n.Events, endurance.Event{Moment: Moment{e.At, e.PrecisionS}.moment(),
			What: endurance.What(e.What), Basis: endurance.Noted, Text: e.Text})
	}
	for _, w := range r.Exclude {
		n.Exclude = append(n.Exclude, w.span())
	}
	if r.Typed != nil {
		n.Typed = &endurance.Typed{Off: r.Typed.Off.moment(), Transmissions: -1}
		if r.Typed.Transmissions != nil {
			n.Typed.Transmissions = int(*r.Typed.Transmissions)
		}
	}
	return n
}

func (m Moment) moment() endurance.Moment {
	return endurance.Moment{At: instant(&m.At), Precision: clock.Seconds(m.PrecisionS)}
}

// Draw gives the settings of one run of the unit by its place among the noted runs; -1 is a run that nobody noted.
func (u *Unit) Draw(run int) draw.Settings {
	set := draw.Settings{Battery: u.Battery.Battery()}
	if run < 0 || run >= len(u.Runs) {
		return set
	}
	r := &u.Runs[run]
	set.Instrument = r.Instrument
	if r.Battery != nil {
		set.Battery = r.Battery.over(set.Battery)
	}
	if r.ChargeUsedMAh != nil {
		set.ChargeUsedMAh = *r.ChargeUsedMAh
		set.ChargeBasis = draw.Recharged
		if r.ChargeBasis == "meter" {
			set.ChargeBasis = draw.Metered
		}
	}
	return set
}

// Battery gives b as the draw stage knows it; nil is a battery of which nothing is stated.
func (b *Battery) Battery() draw.Battery {
	if b == nil {
		return draw.Battery{}
	}
	return b.over(draw.Battery{})
}

// over lays what is stated over the battery given.
func (b *Battery) over(under draw.Battery) draw.Battery {
	if b.Pack != "" {
		under.Pack = b.Pack
	}
	if b.Supply != "" {
		under.Supply = draw.Supply(b.Supply)
	}
	if b.Basis != "" {
		under.Basis = draw.Basis(b.Basis)
	}
	set(&under.CapacityMAh, b.CapacityMAh)
	set(&under.TolerancePct, b.TolerancePct)
	set(&under.NominalV, b.NominalV)
	set(&under.EnergyWh, b.EnergyWh)
	return under
}

func set(to *float64, from *float64) {
	if from != nil {
		*to = *from
	}
}

// Transmit gives how the unit transmits.
func (u *Unit) Transmit() draw.Transmit {
	var tx draw.Transmit
	if t := u.TX; t != nil {
		tx.PowerBasis = t.PowerBasis
		set(&tx.PowerW, t.PowerW)
		set(&tx.MeterPct, t.MeterPct)
		set(&tx.CurrentMA, t.CurrentMA)
	}
	return tx
}

// Defaults of an AFSK transmitter where nothing is stated (defaults of the AX.25 parameters, 300 ms and 100 ms).
const (
	defaultDelayS = 0.3
	defaultTailS  = 0.1
)

// Modem gives the unit's modulation, and whether the transmit delay was stated: it is over half of a short transmission. A LoRa
// modem has none unless stated, since its own preamble does that work.
func (u *Unit) Modem() (m ax25.Modem, stated bool) {
	delay, tail := defaultDelayS, defaultTailS
	m.Baud = 1200
	if t := u.TX; t != nil {
		stated = t.TXDelayS != nil
		if t.Modulation == "lora" && t.LoRa != nil {
			delay, tail, stated = 0, 0, true
		}
		set(&delay, t.TXDelayS)
		set(&tail, t.TXTailS)
		if t.Modulation == "fsk9600" {
			m.Baud = 9600
		}
		if t.Modulation == "lora" && t.LoRa != nil {
			m.LoRa = &ax25.LoRa{Spreading: t.LoRa.SF, Bandwidth: t.LoRa.BandwidthHz, Coding: codings[t.LoRa.Coding]}
		}
	}
	m.Delay, m.Tail = clock.Seconds(delay), clock.Seconds(tail)
	return m, stated
}

var codings = map[string]int{"4/5": 5, "4/6": 6, "4/7": 7, "4/8": 8}

// Settings gives what was stated before the test.
func (b *Bench) Settings() compare.Settings {
	s := compare.Settings{Stated: clock.None}
	c := b.Compare
	if c == nil {
		return s
	}
	if c.AssumedCVPct != nil {
		s.CV = *c.AssumedCVPct / 100
	}
	if c.MarginPct != nil {
		s.Margin = *c.MarginPct / 100
	}
	if t, err := time.Parse(time.DateOnly, c.Stated); err == nil {
		s.Stated = clock.At(t)
	}
	return s
}
