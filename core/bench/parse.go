package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/intake"
)

// Limits on a bench file, against files made to hurt.
const (
	MostBytes = 16 << 20
	MostDepth = 100
	MostUnits = 200
	MostRuns  = 500  // of a unit, and as many of saved reports
	MostNoted = 1000 // rules of a unit, events of a run
	MostText  = 1000 // bytes of one text of a unit, since reports repeat them in every comparison
)

// Parse reads and checks a bench file. An error names the place in the file and what would be right there.
func Parse(data []byte) (*Bench, error) {
	if len(data) > MostBytes {
		return nil, fmt.Errorf("the bench file is larger than %d MB", MostBytes>>20)
	}
	if err := checkDepth(data); err != nil {
		return nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	var b Bench
	if err := json.Unmarshal(data, &b); err != nil {
		return nil, Explain("the bench file", data, err)
	}
	if at, err := b.check(); err != nil {
		return nil, fmt.Errorf("%w%s", err, lineOf(data, at))
	}
	return &b, nil
}

// checkDepth refuses nesting deeper than any bench needs, before the decoder recurses into it.
func checkDepth(data []byte) error {
	depth, quoted, escaped := 0, false, false
	for _, c := range data {
		switch {
		case escaped:
			escaped = false
		case quoted && c == '\\':
			escaped = true
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			if depth++; depth > MostDepth {
				return fmt.Errorf("the bench file nests deeper than %d", MostDepth)
			}
		case c == '}' || c == ']':
			depth--
		}
	}
	return nil
}

// check gives the field that is wrong, and why.
func (b *Bench) check() (at string, err error) {
	if b.Schema != Schema {
		return "schema", fmt.Errorf("schema is %q; this program reads %q", b.Schema[:min(len(b.Schema), mostQuoted)], Schema)
	}
	c := checker{}
	c.most("units", len(b.Units), MostUnits)
	c.zone("display_zone", b.DisplayZone)
	for i := range b.Files {
		c.file(fmt.Sprintf("files[%d]", i), &b.Files[i])
	}
	names := map[string]bool{}
	for i := range b.Units[:min(len(b.Units), MostUnits)] {
		u := &b.Units[i]
		at := fmt.Sprintf("units[%d]", i)
		if u.Name == "" {
			c.fail(at+".name", "a unit needs a name")
		}
		if names[u.Name] {
			c.fail(at+".name", fmt.Sprintf("%q is the name of an earlier unit", u.Name))
		}
		names[u.Name] = true
		c.unit(at, u)
	}
	if b.Compare != nil {
		c.within("compare.margin_pct", b.Compare.MarginPct, 0, 100)
		c.within("compare.assumed_cv_pct", b.Compare.AssumedCVPct, 0, 100)
	}
	c.outlook(b.Outlook)
	if b.Options != nil {
		c.within("options.duplicate_window_s", b.Options.DuplicateWindowS, 0, 3600)
		c.zone("options.default_zone", b.Options.DefaultZone)
	}
	return c.at, c.err
}

// mostQuoted is how much of a text that is wrong is quoted, bytes.
const mostQuoted = 60

// A checker keeps the first thing found wrong, and the field where it stands.
type checker struct {
	at  string
	err error
}

func (c *checker) fail(at, why string) {
	if c.err == nil {
		c.at, c.err = at, fmt.Errorf("%s: %s", at, why[:min(len(why), 10*mostQuoted)])
	}
}

func (c *checker) most(at string, n, most int) {
	if n > most {
		c.fail(at, fmt.Sprintf("more than %d", most))
	}
}

// texts fails when v holds a text beyond MostText.
func (c *checker) texts(at string, v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		if v.Len() > MostText {
			c.fail(at, fmt.Sprintf("a text is longer than %d bytes", MostText))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			c.texts(at, v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			c.texts(at, v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			c.texts(at, v.Field(i))
		}
	}
}

func (c *checker) within(at string, v *float64, low, high float64) {
	if v != nil && !(*v >= low && *v <= high) {
		c.fail(at, fmt.Sprintf("%g is not between %g and %g", *v, low, high))
	}
}

func (c *checker) above(at string, v *float64, most float64) {
	if v != nil && !(*v > 0 && *v <= most) {
		c.fail(at, fmt.Sprintf("%g is not above 0 and at most %g", *v, most))
	}
}

func (c *checker) oneOf(at, v string, words ...string) {
	if v == "" {
		return
	}
	for _, w := range words {
		if v == w {
			return
		}
	}
	c.fail(at, fmt.Sprintf("%q is not one of %s", v, strings.Join(words, ", ")))
}

func (c *checker) time(at, v string) {
	t, err := clock.Parse(v)
	if err != nil {
		c.fail(at, fmt.Sprintf("%q is not a time such as 2031-05-02T05:40:00Z", v))
		return
	}
	if year := t.Time().Year(); year < 1970 || year > 9998 {
		c.fail(at, fmt.Sprintf("the year %d is not between 1970 and 9998", year))
	}
}

func (c *checker) span(at string, w Watch) {
	if w.From != nil {
		c.time(at+".from", *w.From)
	}
	if w.Until != nil {
		c.time(at+".until", *w.Until)
	}
	if c.err == nil && w.From != nil && w.Until != nil && instant(w.From) >= instant(w.Until) {
		c.fail(at, "it ends before it begins")
	}
}

func (c *checker) zone(at, v string) {
	if v == "" {
		return
	}
	if _, err := clock.ZoneNamed(v); err != nil {
		c.fail(at, fmt.Sprintf("%q is not a zone such as Europe/Oslo, UTC or +02:00", v))
	}
}

func (c *checker) file(at string, f *File) {
	c.zone(at+".zone", f.Zone)
	c.oneOf(at+".day_order", f.DayOrder, "dmy", "mdy", "ymd")
	c.oneOf(at+".half_day", f.HalfDay, "am", "pm")
	c.oneOf(at+".recorded_by", f.RecordedBy, "receiver", "unit", "companion")
	if f.Date != "" {
		if _, err := time.Parse(time.DateOnly, f.Date); err != nil {
			c.fail(at+".date", fmt.Sprintf("%q is not a date such as 2031-05-02", f.Date))
		}
	}
	for i, col := range f.Columns {
		where := fmt.Sprintf("%s.columns[%d]", at, i)
		if strings.TrimSpace(col.Header) == "" {
			c.fail(where+".header", "a column needs its header, or its number from 1")
		}
		c.oneOf(where+".meaning", col.Meaning, intake.Meanings()...)
	}
	offset := f.ClockOffsetS
	c.within(at+".clock_offset_s", &offset, -1e9, 1e9)
	for i, w := range f.Watched {
		c.span(fmt.Sprintf("%s.watched[%d]", at, i), w)
	}
}

func (c *checker) unit(at string, u *Unit) {
	c.oneOf(at+".first_beacon", u.FirstBeacon, "at_once", "after_fix", "after_interval", "unknown")
	for i, m := range u.Match {
		c.oneOf(fmt.Sprintf("%s.match[%d].encoding", at, i), m.Encoding, "plain", "compressed", "mic-e")
		c.span(fmt.Sprintf("%s.match[%d]", at, i), Watch{m.From, m.Until})
	}
	c.battery(at+".battery", u.Battery)
	c.tx(at+".tx", u.TX)
	if u.Conditions != nil {
		c.within(at+".conditions.temperature_c", u.Conditions.TemperatureC, -80, 100)
	}
	c.most(at+".match", len(u.Match), MostNoted)
	c.most(at+".runs", len(u.Runs), MostRuns)
	c.most(at+".saved", len(u.Saved), MostRuns)
	c.texts(at, reflect.ValueOf(u))
	for i := range u.Saved {
		c.saved(fmt.Sprintf("%s.saved[%d]", at, i), &u.Saved[i])
	}
	for i := range u.Runs {
		c.run(fmt.Sprintf("%s.runs[%d]", at, i), &u.Runs[i])
	}
}

func (c *checker) outlook(o *Outlook) {
	if o == nil {
		return
	}
	for i := range o.Packs {
		c.battery(fmt.Sprintf("outlook.packs[%d]", i), &o.Packs[i])
	}
	for i := range o.IntervalsS {
		c.above(fmt.Sprintf("outlook.intervals_s[%d]", i), &o.IntervalsS[i], 1e6)
	}
	for i := range o.Duties {
		at, d := fmt.Sprintf("outlook.duties[%d]", i), &o.Duties[i]
		c.within(at+".tx_pct", &d.TXPct, 0, 100)
		c.within(at+".rx_pct", &d.RXPct, 0, 100-max(d.TXPct, 0))
		c.above(at+".tx_ma", d.TXMA, 1e6)
		c.above(at+".rx_ma", d.RXMA, 1e6)
		c.above(at+".standby_ma", d.StandbyMA, 1e6)
	}
	if s := o.Shift; s != nil {
		c.above("outlook.shift.hours", &s.Hours, 10000)
		c.within("outlook.shift.reserve_pct", &s.ReservePct, 0, 1000)
		c.within("outlook.shift.spread_pct", &s.SpreadPct, 0, 100)
		units := float64(s.Units)
		c.within("outlook.shift.units", &units, 0, 1e5)
		repeats := float64(s.Repeats)
		c.within("outlook.shift.repeats", &repeats, 0, 20)
		c.within("outlook.shift.interval_s", &s.IntervalS, 0, 1e6)
		c.within("outlook.shift.voice_per_h", &s.VoicePerH, 0, 3600)
		c.within("outlook.shift.voice_s", &s.VoiceS, 0, 3600)
	}
}

func (c *checker) battery(at string, b *Battery) {
	if b == nil {
		return
	}
	c.oneOf(at+".supply", b.Supply, "pack", "usb_bank", "primary", "external")
	c.oneOf(at+".basis", b.Basis, "measured", "recharged", "printed", "printed_used", "unknown")
	c.above(at+".capacity_mah", b.CapacityMAh, 1e7)
	c.within(at+".tolerance_pct", b.TolerancePct, 0, 90)
	c.above(at+".nominal_v", b.NominalV, 1000)
	c.above(at+".energy_wh", b.EnergyWh, 1e6)
}

func (c *checker) tx(at string, t *TX) {
	if t == nil {
		return
	}
	c.oneOf(at+".power_basis", t.PowerBasis, "measured", "printed", "setting")
	c.oneOf(at+".modulation", t.Modulation, "afsk1200", "fsk9600", "lora")
	c.above(at+".power_w", t.PowerW, 10000)
	c.within(at+".meter_pct", t.MeterPct, 0, 90)
	c.above(at+".current_ma", t.CurrentMA, 1e6)
	c.within(at+".tx_delay_s", t.TXDelayS, 0, 60)
	c.within(at+".tx_tail_s", t.TXTailS, 0, 60)
	if t.LoRa != nil {
		c.oneOf(at+".lora.coding", t.LoRa.Coding, "4/5", "4/6", "4/7", "4/8")
		if t.LoRa.SF < 5 || t.LoRa.SF > 12 {
			c.fail(at+".lora.sf", fmt.Sprintf("%d is not between 5 and 12", t.LoRa.SF))
		}
		c.above(at+".lora.bandwidth_hz", &t.LoRa.BandwidthHz, 2e6)
	}
}

func (c *checker) run(at string, r *Run) {
	c.battery(at+".battery", r.Battery)
	c.above(at+".charge_used_mah", r.ChargeUsedMAh, 1e7)
	c.oneOf(at+".charge_basis", r.ChargeBasis, "recharged", "meter")
	if r.PowerOn != nil {
		c.moment(at+".power_on", *r.PowerOn)
	}
	c.most(at+".events", len(r.Events), MostNoted)
	for i, e := range r.Events {
		where := fmt.Sprintf("%s.events[%d]", at, i)
		c.moment(where, Moment{e.At, e.PrecisionS})
		c.oneOf(where+".what", e.What, "low_battery", "pack_changed", "charging", "settings_changed", "power_cycled",
			"seen_on", "seen_dead", "switched_off")
		if e.What == "" {
			c.fail(where+".what", "an event needs a kind")
		}
	}
	for i, w := range r.Exclude {
		c.span(fmt.Sprintf("%s.exclude[%d]", at, i), w)
	}
	if r.Typed != nil {
		c.moment(at+".typed.off", r.Typed.Off)
		c.within(at+".typed.transmissions", r.Typed.Transmissions, 0, 1e9)
	}
}

func (c *checker) moment(at string, m Moment) {
	c.time(at+".at", m.At)
	c.within(at+".precision_s", &m.PrecisionS, 0, 1e7)
}

// instant reads a time that check has passed; clock.None when there is none.
func instant(s *string) clock.Instant {
	if s == nil {
		return clock.None
	}
	t, err := clock.Parse(*s)
	if err != nil {
		return clock.None
	}
	return t
}
