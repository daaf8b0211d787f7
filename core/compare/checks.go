package compare

import (
	"math"
	"strings"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/draw"
	"lastbeacon/core/estimate"
)

// Tolerances beyond which a condition is no longer alike (common practice; the reasons stand in DEVELOPERS.md).
const (
	rateTolerance    = 0.02 // relative; wider is forgiven when it changes the draw by less than drawTolerance
	drawTolerance    = 0.02
	powerToleranceDB = 0.5
	airTolerance     = 0.05
	shareTolerance   = 5.0  // percentage points
	warmTolerance    = 5.0  // K, above coldBelow
	coldTolerance    = 2.0  // K
	coldBelow        = 20.0 // °C
	overlapTolerance = 0.8  // share of the shorter run
	sameHours        = time.Hour
)

// conditionsOf judges two runs.
func (g *group) conditionsOf(a, b Run) []Condition {
	rate := g.rate(a, b)
	list := []Condition{
		rate, power(a.Facts, b.Facts), g.airtime(a, b), path(a.Facts, b.Facts, g.airtime(a, b)),
		schedules(a.Facts, b.Facts, rate.State), fix(a.Facts, b.Facts), movement(a.Facts, b.Facts),
		overlap(a, b), channel(a.Facts, b.Facts), g.repeating(a.Facts, b.Facts),
		words(SecondReceiver, a.Facts.SecondReceiver, b.Facts.SecondReceiver),
		words(Audio, a.Facts.Audio, b.Facts.Audio), words(PowerSaver, a.Facts.PowerSaver, b.Facts.PowerSaver),
		pack(a, b), temperature(a.Facts, b.Facts), voltage(a, b),
		words(AutoPowerOff, a.Facts.AutoPowerOff, b.Facts.AutoPowerOff),
	}
	if noted(a.Facts.Antenna) && noted(b.Facts.Antenna) {
		list = append(list, antenna(a.Facts, b.Facts))
	}
	return list
}

func (g *group) splits() bool { return g.splitA.Resolved && g.splitB.Resolved }

// rate compares what was sent per hour. A difference is corrected where both units' charge per beacon is known, and
// forgiven where it changes the draw by less than 2 %.
func (g *group) rate(a, b Run) Condition {
	c := Condition{Check: TransmitRate, State: NotNoted}
	switch {
	case silent(a.Rate) && silent(b.Rate):
		c.State, c.A, c.B = Match, perHour(0), perHour(0)
		return c
	case silent(a.Rate) && b.Rate.Positive() || silent(b.Rate) && a.Rate.Positive():
		c.State, c.A, c.B = Mismatch, perHour(a.Rate.Best), perHour(b.Rate.Best)
		if g.splits() {
			c.State = Corrected
		}
		return c
	case !a.Rate.Positive() || !b.Rate.Positive() || a.Rate.Open() || b.Rate.Open():
		return c
	}
	c.A, c.B = perHour(a.Rate.Best), perHour(b.Rate.Best)
	c.Gap, c.GapUnit = a.Rate.Best/b.Rate.Best, "ratio"
	limits := over(a.Rate, b.Rate)
	apart := math.Abs(math.Log(c.Gap))
	switch {
	case apart <= rateTolerance && limits.High/limits.Low < 1.25:
		c.State = Match
	case limits.Low <= 1 && limits.High >= 1 && limits.High/limits.Low >= 1.25:
		c.State = NotNoted // known too coarsely to say either
	case changesLittle(g.splitA, a, a.Rate.Best-b.Rate.Best) && changesLittle(g.splitB, b, a.Rate.Best-b.Rate.Best):
		c.State, c.Reason = Match, "changes_little"
	case g.splits():
		c.State = Corrected
	default:
		c.State = Mismatch
	}
	return c
}

// silent tells whether nothing was sent.
func silent(rate estimate.Estimate) bool { return rate.Known && rate.Low == 0 && rate.High == 0 }

// changesLittle tells whether so many more beacons an hour change a run's draw by less than 2 %.
func changesLittle(s draw.Split, r Run, beacons float64) bool {
	ma := r.Draw.MeanMA
	return s.Resolved && ma.Known && !ma.Open() && s.Beacon*math.Abs(beacons) < drawTolerance*ma.Best
}

func perHour(v float64) Value { return Value{Number: v, Unit: "/h"} }

// power compares measured RF powers; names such as "high" are no watts.
func power(a, b Facts) Condition {
	c := Condition{Check: RFPower, State: NotNoted, A: Value{a.PowerW, "W", ""}, B: Value{b.PowerW, "W", ""}}
	if !(a.PowerW > 0 && b.PowerW > 0) {
		return c
	}
	c.Gap, c.GapUnit = math.Abs(draw.Decibels(a.PowerW, b.PowerW)), "dB"
	switch {
	case !a.PowerMeasured || !b.PowerMeasured:
		c.Reason = "label_only"
	case c.Gap <= powerToleranceDB:
		c.State = Match
	default:
		c.State = Mismatch
	}
	return c
}

// airtime compares the time on the air of one transmission. A difference that changes the draw by less than 2 % is forgiven,
// a larger one corrected where both units' charge per beacon is known.
func (g *group) airtime(a, b Run) Condition {
	x, y := a.Facts.AirtimeS, b.Facts.AirtimeS
	c := Condition{Check: Airtime, State: NotNoted}
	if !x.Positive() || !y.Positive() {
		return c
	}
	c.A, c.B = Value{x.Best, "s", ""}, Value{y.Best, "s", ""}
	c.Gap, c.GapUnit = x.Best/y.Best, "ratio"
	off := math.Abs(c.Gap - 1)
	switch {
	case off <= airTolerance:
		c.State = Match
	case changesLittle(g.splitA, a, a.Rate.Best*off) && changesLittle(g.splitB, b, b.Rate.Best*off):
		c.State, c.Reason = Corrected, "changes_little"
	case g.splits():
		c.State = Corrected
	default:
		c.State = Mismatch
	}
	return c
}

// path compares the number of entries asked for; their cost is time on the air, so that check may forgive it.
func path(a, b Facts, air Condition) Condition {
	c := Condition{Check: Path, State: NotNoted}
	if !a.PathKnown || !b.PathKnown {
		return c
	}
	c.A, c.B = Value{Text: a.Path}, Value{Text: b.Path}
	switch {
	case entries(a.Path) == entries(b.Path):
		c.State = Match
	case air.State == Match || air.State == Corrected && air.Reason != "":
		c.State, c.Reason = Corrected, "changes_little"
	case air.State == Corrected:
		c.State = Corrected
	default:
		c.State = Mismatch
	}
	return c
}

func entries(path string) int {
	if path == "" {
		return 0
	}
	return strings.Count(path, ",") + 1
}

// schedules compares the rules; a different rule matters by the rate it makes.
func schedules(a, b Facts, rate State) Condition {
	c := Condition{Check: Schedule, State: NotNoted, A: Value{Text: a.Schedule}, B: Value{Text: b.Schedule}}
	unknown := func(s string) bool { return s == "" || s == "undecided" }
	switch {
	case unknown(a.Schedule) || unknown(b.Schedule):
	case rate == NotNoted || rate == Mismatch || rate == Corrected:
		c.State = rate
	case a.Schedule == b.Schedule:
		c.State = Match
	default:
		c.State = Corrected
	}
	return c
}

// fix compares the share of beacons with a current position, else what was noted; searching costs as much as having one.
func fix(a, b Facts) Condition {
	if a.FixPct.Known && b.FixPct.Known {
		return points(Fix, a.FixPct, b.FixPct)
	}
	return words(Fix, a.Fix, b.Fix)
}

// movement compares the share of the run spent moving. With a fixed schedule it does not change the transmissions.
func movement(a, b Facts) Condition {
	c := points(Motion, a.MovingPct, b.MovingPct)
	if c.State == Mismatch && a.Schedule == "fixed" && b.Schedule == "fixed" {
		c.State, c.Reason = Corrected, "fixed_schedule"
	}
	return c
}

// channel compares how much of the time others filled the channel; each such packet wakes a receiver.
func channel(a, b Facts) Condition { return points(ChannelLoad, a.BusyPct, b.BusyPct) }

// points compares two shares in percent.
func points(check string, a, b estimate.Estimate) Condition {
	c := Condition{Check: check, State: NotNoted}
	if !a.Sound() || !b.Sound() {
		return c
	}
	c.A, c.B = Value{a.Best, "%", ""}, Value{b.Best, "%", ""}
	c.Gap, c.GapUnit = math.Abs(a.Best-b.Best), "points"
	c.State = Match
	if c.Gap > shareTolerance {
		c.State = Mismatch
	}
	return c
}

// overlap compares when the runs took place: side by side they share channel, weather and hour. Apart is not a mismatch,
// for one pack cannot be in two units at once; but then nobody knows that the channel was the same.
func overlap(ra, rb Run) Condition {
	a, b := ra.Facts.seen(), rb.Facts.seen()
	c := Condition{Check: Overlap, State: NotNoted}
	if !known(a.Start) || !known(a.End) || !known(b.Start) || !known(b.End) {
		return c
	}
	both := min(a.End, b.End).Sub(max(a.Start, b.Start))
	shorter := min(a.End.Sub(a.Start), b.End.Sub(b.Start))
	if shorter <= 0 {
		return c
	}
	c.A, c.B = runHours(ra), runHours(rb)
	c.Gap, c.GapUnit = 100*max(0, both.Seconds()/shorter.Seconds()), "%"
	const day = 24 * 60 * 60 * 1000
	shift := time.Duration(((int64(a.Start)-int64(b.Start))%day+day)%day) * time.Millisecond
	shift = min(shift, 24*time.Hour-shift)
	switch {
	case c.Gap >= 100*overlapTolerance:
		c.State = Match
	case both <= 0 && shift <= sameHours:
		c.State, c.Reason = Match, "same_hours"
	default:
		c.Reason = "apart"
	}
	return c
}

// seen takes the first and the last packet for the bounds of a run that are not known.
func (f Facts) seen() Facts {
	if !known(f.Start) {
		f.Start = f.From
	}
	if !known(f.End) {
		f.End = f.To
	}
	return f
}

// runHours gives the run time as the verdict gives it, else from the best start to the best end.
func runHours(r Run) Value {
	if t := r.Time; t.Sound() && !t.Open() {
		return Value{Number: t.Best / 3600, Unit: "h"}
	}
	f := r.Facts.seen()
	return Value{Number: f.End.Sub(f.Start).Hours(), Unit: "h"}
}

func known(t clock.Instant) bool { return t != 0 && t.Known() }

// repeating asks whether the units worked for others. What was repeated counts as transmissions where both are split.
func (g *group) repeating(a, b Facts) Condition {
	c := Condition{Check: Repeating, State: NotNoted}
	if noted(a.Repeating) {
		c.A = Value{Text: a.Repeating}
	}
	if noted(b.Repeating) {
		c.B = Value{Text: b.Repeating}
	}
	if a.RelaysKnown && b.RelaysKnown {
		c.A, c.B = Value{float64(a.Relayed), "packets", c.A.Text}, Value{float64(b.Relayed), "packets", c.B.Text}
	}
	switch {
	case noted(a.Repeating) && noted(b.Repeating) && a.Repeating != b.Repeating:
		c.State = Mismatch
		if g.splits() && a.RelaysKnown && b.RelaysKnown {
			c.State = Corrected
		}
	case noted(a.Repeating) && noted(b.Repeating):
		c.State = Match
	case a.RelaysKnown && b.RelaysKnown && a.Relayed == 0 && b.Relayed == 0:
		c.State = Match
	case a.RelaysKnown && b.RelaysKnown && g.splits():
		c.State = Corrected
	case a.RelaysKnown && b.RelaysKnown:
		c.State = Mismatch
	}
	return c
}

// words compares two notes.
func words(check, a, b string) Condition {
	c := Condition{Check: check, State: NotNoted}
	if noted(a) {
		c.A = Value{Text: a}
	}
	if noted(b) {
		c.B = Value{Text: b}
	}
	switch {
	case !noted(a) || !noted(b):
	case strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)):
		c.State = Match
	default:
		c.State = Mismatch
	}
	return c
}

// antenna compares free words; other words are no proof of another load, so they do not forbid a ranking.
func antenna(a, b Facts) Condition {
	c := words(Antenna, a.Antenna, b.Antenna)
	if c.State == Mismatch {
		c.State, c.Reason = NotNoted, "other_words"
	}
	return c
}

func noted(s string) bool { return s != "" && s != "unknown" }

// pack asks whether the capacity is taken out of the draw: the same pack, or charges that were measured.
func pack(a, b Run) Condition {
	c := Condition{Check: PackCheck, State: NotNoted, A: packValue(a), B: packValue(b)}
	measured := func(r Run) bool { return r.Draw.Charge.MAh.Known && !r.Draw.Charge.Inferred }
	switch {
	case a.Pack != "" && a.Pack == b.Pack:
		c.State, c.Reason = Match, "same_pack"
	case measured(a) && measured(b) && math.Round(c.A.Number) == math.Round(c.B.Number):
		c.State = Match
	case measured(a) && measured(b):
		c.State = Corrected
	case a.Draw.Charge.MAh.Known && b.Draw.Charge.MAh.Known && (measured(a) || measured(b)):
		c.Reason = "one_label"
	case a.Draw.Charge.MAh.Known && b.Draw.Charge.MAh.Known:
		c.Reason = "label_only"
	}
	return c
}

func packValue(r Run) Value {
	v := Value{Text: r.Pack}
	if s := r.Draw.Supply; v.Text == "" && s != draw.Pack {
		v.Text = string(s)
	}
	if r.Draw.Charge.MAh.Known {
		v.Number, v.Unit = r.Draw.Charge.MAh.Best, "mAh"
	}
	return v
}

// temperature compares the air around the units; the cold makes cells differ more.
func temperature(a, b Facts) Condition {
	x, y := a.TemperatureC, b.TemperatureC
	c := Condition{Check: Temperature, State: NotNoted}
	if !x.Sound() || !y.Sound() {
		return c
	}
	c.A, c.B = Value{x.Best, "°C", ""}, Value{y.Best, "°C", ""}
	c.Gap, c.GapUnit = math.Abs(x.Best-y.Best), "K"
	limit := warmTolerance
	if min(x.Best, y.Best) < coldBelow {
		limit = coldTolerance
	}
	c.State = Match
	if c.Gap > limit {
		c.State = Mismatch
	}
	return c
}

// voltage compares the packs' voltage classes; different ones are compared by power.
func voltage(a, b Run) Condition {
	x, y := a.Draw.Volts, b.Draw.Volts
	c := Condition{Check: Voltage, State: NotNoted}
	if !(x > 0 && y > 0) {
		return c
	}
	c.A, c.B = Value{x, "V", ""}, Value{y, "V", ""}
	c.State = Match
	if max(x, y)/min(x, y) > 1+voltageClass {
		c.State, c.Reason = Corrected, "energy"
	}
	return c
}
