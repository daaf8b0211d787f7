//go:build measure

package session

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lastbeacon/core/clock"
	"lastbeacon/core/report"
	"lastbeacon/core/sim"
)

// Whole benches, from the files to the report: how often what the report claims holds what was simulated. `make coverage`
// prints the table; BENCHES sets how many benches, FROM the first seed, and MISSES=quantity lists the cases that miss.

// A tallied counts one quantity under one circumstance. absent: not claimed, or open on a side.
type tallied struct {
	n, held, absent int
	widths          []float64
}

type cellOf struct{ quantity, circumstance string }

// A meter gathers rows.
type meter struct {
	rows map[cellOf]*tallied
	show string // quantity whose misses are listed
}

// A subject is what a claim is about: the bench and the run.
type subject struct {
	w    *world
	what string
}

func (m *meter) row(quantity, circumstance string) *tallied {
	c := cellOf{quantity, circumstance}
	if m.rows[c] == nil {
		m.rows[c] = &tallied{}
	}
	return m.rows[c]
}

// claim counts an interval that should hold the truth; infinite limits are open, an unknown one is not counted as a miss.
func (m *meter) claim(s subject, quantity string, low, high, truth float64, known bool) {
	held := known && low <= truth && truth <= high
	for _, c := range []string{"all", s.w.kind, s.w.trouble} {
		r := m.row(quantity, c)
		if !known || math.IsInf(low, 0) || math.IsInf(high, 0) {
			r.absent++
		} else if truth != 0 {
			r.widths = append(r.widths, (high-low)/math.Abs(truth))
		}
		if known {
			r.n++
			if held {
				r.held++
			}
		}
	}
	if known && !held && m.show != "" && slices.ContainsFunc(strings.Split(m.show, ";"), func(q string) bool { return strings.HasPrefix(quantity, q) }) {
		fmt.Printf("MISS seed %d %s, %s, loss %.2f, %s: %s [%g, %g] truth %g\n", s.w.seed, s.w.trouble, s.w.kind, s.w.loss, s.what, quantity, low, high, truth)
	}
}

func (m *meter) estimate(s subject, quantity string, e *report.Estimate, truth float64) {
	if e == nil {
		m.claim(s, quantity, 0, 0, truth, false)
		return
	}
	low, high := math.Inf(-1), math.Inf(1)
	if e.Low != nil {
		low = *e.Low
	}
	if e.High != nil {
		high = *e.High
	}
	m.claim(s, quantity, slightly(low, -1), slightly(high, 1), truth, true)
}

// slightly gives room for the six digits of the report.
func slightly(v, sign float64) float64 { return v + sign*2e-6*math.Abs(v) }

// moment counts bounds of a time, in seconds; the width is relative to an hour.
func (m *meter) moment(s subject, quantity string, earliest, latest *string, truth clock.Instant) {
	low, high := math.Inf(-1), math.Inf(1)
	if earliest != nil {
		low = since(truth, *earliest) - 0.0015
	}
	if latest != nil {
		high = since(truth, *latest) + 0.0015
	}
	m.claim(s, quantity, low+3600, high+3600, 3600, true)
}

func since(truth clock.Instant, at string) float64 {
	t, err := clock.Parse(at)
	if err != nil {
		panic(err)
	}
	return t.Sub(truth).Seconds()
}

// right counts something that is right or wrong.
func (m *meter) right(s subject, quantity string, ok bool) {
	truth := 0.0
	if !ok {
		truth = 1
	}
	m.claim(s, quantity, 0, 0, truth, true)
}

func fromEnv(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

func TestCoverageOfReports(t *testing.T) {
	m := &meter{rows: map[cellOf]*tallied{}, show: os.Getenv("MISSES")}
	from := fromEnv("FROM", 0)
	for seed := from; seed < from+fromEnv("BENCHES", 300); seed++ {
		w := newWorld(uint64(seed))
		if os.Getenv("TROUBLE") != "" && w.trouble != os.Getenv("TROUBLE") || os.Getenv("KIND") != "" && w.kind != os.Getenv("KIND") {
			continue
		}
		s, text := analysed(t, w.text(), w.inputs)
		var r report.Report
		if err := json.Unmarshal(text, &r); err != nil {
			t.Fatal(err)
		}
		m.report(w, s, &r)
	}
	m.print(t)
}

func (m *meter) report(w *world, s *Session, r *report.Report) {
	for _, told := range w.truth.Units {
		i := slices.IndexFunc(r.Units, func(u report.Unit) bool { return u.Name == told.Name })
		u := &r.Units[i]
		whole := len(u.Runs) == len(told.Runs)
		m.right(subject{w, told.Name}, "runs found", whole || w.trouble == "swap not noted" && len(told.Runs) == 2)
		for k := range u.Runs {
			if k >= len(told.Runs) {
				continue
			}
			x := subject{w, fmt.Sprintf("%s, run %d", told.Name, k)}
			lived := told.Runs[k]
			if !whole && w.trouble == "swap not noted" {
				m.right(x, "swap doubted", !u.Runs[k].Rankable)
				continue
			}
			m.right(x, "no restart suspected", !slices.ContainsFunc(u.Runs[k].Events, func(e report.Event) bool { return e.Basis == "suspected" }))
			m.times(x, &u.Runs[k], &lived)
			m.counts(x, &u.Runs[k], len(s.last.runs[i][k].Afterlife), &lived)
			m.costs(x, &u.Runs[k], &lived)
			m.schedule(x, s, i, k, &u.Runs[k], &lived)
		}
		if sp := u.IdleAndBeacon; sp.Resolved {
			radio := w.radios[slices.IndexFunc(w.radios[:], func(r radio) bool { return r.name == told.Name })]
			m.estimate(subject{w, told.Name}, "idle current", sp.IdleMA, radio.idle)
			m.estimate(subject{w, told.Name}, "charge per beacon", sp.MAhPerBeacon, radio.beacon)
		}
	}
	for i := range r.Comparisons {
		m.comparison(w, &r.Comparisons[i])
		for k := range r.Comparisons[i].Groups {
			m.comparison(w, &r.Comparisons[i].Groups[k])
		}
	}
}

func (m *meter) times(x subject, run *report.Run, lived *sim.RunTruth) {
	end := clock.Instant(lived.End)
	m.moment(x, "start", run.Start.Earliest, run.Start.Latest, clock.Instant(lived.Start))
	m.moment(x, "end", run.End.Earliest, run.End.Latest, end)
	m.estimate(x, "run time", run.Runtime, lived.RuntimeS)
	if run.End.State != "ended" && run.End.State != "noted" {
		return
	}
	listened := x.w.logEnds[strings.Split(x.what, ",")[0]+lived.Label]
	late := since(end, *run.End.Latest)
	m.right(x, "ended, truly", lived.Cause == "spent" && (end < listened && late > -1800 || run.End.State == "noted"))
}

// counts compares what was sent. Heard and missed together are what was sent between the first and the last packet.
func (m *meter) counts(x subject, run *report.Run, late int, lived *sim.RunTruth) {
	if run.FirstHeard == nil {
		return
	}
	start := clock.Instant(lived.Start)
	first, last := since(start, *run.FirstHeard), since(start, *run.LastHeard)
	step := x.w.resolution()
	sentBy := func(at float64) float64 { // what had left the unit when the recorder wrote this stamp
		n := 0.0
		for _, t := range lived.Sent {
			if t+0.7 < at+step+0.2 {
				n++
			}
		}
		return n
	}
	sum := func(e *report.Estimate, n float64) *report.Estimate {
		if e == nil {
			return nil
		}
		low, best, high := *e.Low+n, *e.Best+n, *e.High+n
		return &report.Estimate{Low: &low, Best: &best, High: &high}
	}
	heard := float64(run.Transmissions - late)
	m.estimate(x, "heard and missed", sum(run.Missed, heard), sentBy(last)-sentBy(first)+1)
	m.estimate(x, "sent", run.Sent, float64(len(lived.Sent)))
	if share, fit := x.w.share(); fit && run.ShareHeard != nil {
		m.estimate(x, "share heard", run.ShareHeard, share)
	}
	rate, until := lived.RatePerH, math.Inf(1)
	if run.End.State != "ended" && run.End.State != "noted" {
		rate, until = sentBy(last)/last*3600, last+0.001
	}
	m.estimate(x, "rate", run.Rate, rate)
	for _, p := range run.Periods {
		from, to := since(start, p.Start), min(until, since(start, p.End))
		if p.State == "unknown" || to-from < 60 {
			continue
		}
		n := 0.0
		for _, t := range lived.Sent {
			if at := t + 0.7; at >= from && at < to {
				n++
			}
		}
		m.estimate(x, "rate of a period, "+p.State, p.Rate, n/(to-from)*3600)
	}
}

func (m *meter) costs(x subject, run *report.Run, lived *sim.RunTruth) {
	if lived.Cause != "spent" && x.w.trouble != "charge put back" || run.Draw == nil {
		return
	}
	if d := run.Draw; d.MeanMA != nil {
		m.estimate(x, "mean current", d.MeanMA, lived.MeanMA)
		m.estimate(x, "charge per transmission", d.MAhPerTransmission, lived.UsedMAh/float64(len(lived.Sent)))
	} else {
		m.claim(x, "mean current", 0, 0, lived.MeanMA, false)
	}
}

func (m *meter) schedule(x subject, s *Session, i, k int, run *report.Run, lived *sim.RunTruth) {
	kind := run.Schedule.Kind
	truly := lived.Schedule.Kind
	alias := func(said string) bool {
		return said == truly || said == "fixed" && (truly == "adaptive" || truly == "decaying") || said == "adaptive" && truly == "fixed"
	}
	m.right(x, "kind, forced", alias(s.last.runs[i][k].Schedule.Nearest.String()))
	if kind == "undecided" {
		m.claim(x, "kind, decided", 0, 0, 0, false)
		return
	}
	m.right(x, "kind, decided", alias(kind))
	if f, ok := lived.Schedule.Settings.(sim.Fixed); ok && kind == "fixed" && len(lived.Sent) > 1 {
		m.estimate(x, "fixed interval", run.Schedule.Interval, kept(lived.Sent, f.Every))
		m.right(x, "fixed interval within 1 %", math.Abs(*run.Schedule.Interval.Best/f.Every-1) < 0.01)
	}
}

// kept gives the mean interval of what was sent, sleep left out.
func kept(sent []float64, every float64) float64 {
	sum, n := 0.0, 0.0
	for i := 1; i < len(sent); i++ {
		if gap := sent[i] - sent[i-1]; gap < 1.5*every {
			sum, n = sum+gap, n+1
		}
	}
	return sum / n
}

// A mean is one unit as a comparison should see it: the means over its runs.
type mean struct{ life, ma, rate float64 }

func (w *world) mean(name, label string) (u mean) {
	i := slices.IndexFunc(w.radios[:], func(r radio) bool { return r.name == name })
	t := w.truth.Units[slices.IndexFunc(w.truth.Units, func(u sim.UnitTruth) bool { return u.Name == name })]
	n := 0.0
	for _, run := range t.Runs {
		if label != "" && run.Label != label {
			continue
		}
		n++
		ma := w.radios[i].idle + w.radios[i].beacon*run.RatePerH
		u.ma, u.rate, u.life = u.ma+ma, u.rate+run.RatePerH, u.life+math.Log(w.radios[i].holds/ma)
	}
	return mean{math.Exp(u.life / n), u.ma / n, u.rate / n}
}

func (m *meter) comparison(w *world, c *report.Comparison) {
	if c.Label == "" && len(c.Groups) > 0 || w.trouble == "asleep when parked" || strings.HasPrefix(w.trouble, "swap") {
		return
	}
	x := subject{w, c.A + " and " + c.B + " " + c.Label}
	a, b := w.mean(c.A, c.Label), w.mean(c.B, c.Label)
	m.estimate(x, "run time ratio", c.Runtime.Ratio, a.life/b.life)
	m.estimate(x, "draw ratio", c.Draw.Ratio, a.ma/b.ma)
	m.estimate(x, "rate ratio", c.RateRatio, a.rate/b.rate)
	longer := map[string]bool{"a_lasts_longer": a.life > b.life, "b_lasts_longer": b.life > a.life}
	if ok, claimed := longer[c.Runtime.Verdict]; claimed {
		m.right(x, "verdict: lasts longer", ok)
	}
	ra, rb := w.radios[0], w.radios[1]
	toA, toB := a.rate, b.rate
	for _, k := range c.Conditions {
		if k.Check == "transmit_rate" && k.State == "corrected" {
			toA = (a.rate + b.rate) / 2
			toB = toA
		}
	}
	more := ra.idle+ra.beacon*toA > rb.idle+rb.beacon*toB
	if c.A == rb.name {
		more = rb.idle+rb.beacon*toA > ra.idle+ra.beacon*toB
	}
	if ok, claimed := map[string]bool{"a_draws_more": more, "b_draws_more": !more}[c.Draw.Verdict]; claimed {
		m.right(x, "verdict: draws more", ok)
	}
	if e := c.AtEqualRate; e != nil {
		pa, pb := ra.idle+ra.beacon*e.RatePerH, rb.idle+rb.beacon*e.RatePerH
		if c.A == rb.name {
			pa, pb = pb, pa
		}
		m.estimate(x, "draw ratio at one rate", e.Ratio, pa/pb)
	}
	same := w.rules[len(w.rules)-1]
	if c.Label != "" {
		n, _ := strconv.Atoi(strings.TrimPrefix(c.Label, "test "))
		same = w.rules[n-1]
	}
	if c.Alike.Verdict == "different" {
		m.right(x, "schedules different", same[0] != same[1])
	}
}

// fewest claims make a line of a circumstance that falls short.
const fewest = 6

// floors are the least shares in percent below which a quantity is an error; others want 94.
var floors = map[string]float64{"mean current": 93, "charge per transmission": 93, "draw ratio": 93, "idle current": 93, "charge per beacon": 93,
	"draw ratio at one rate": 93, "ended, truly": 99, "verdict: lasts longer": 97.5, "verdict: draws more": 97.5, "kind, decided": 99}

func (m *meter) print(t *testing.T) {
	cells := slices.SortedFunc(maps.Keys(m.rows), func(a, b cellOf) int {
		return cmp.Or(cmp.Compare(a.quantity, b.quantity), -cmp.Compare(m.rows[a].n+m.rows[a].absent, m.rows[b].n+m.rows[b].absent), cmp.Compare(a.circumstance, b.circumstance))
	})
	fmt.Println("| quantity | circumstance | n | holds the truth % | median relative width % | not given or open % |")
	fmt.Println("|---|---|---|---|---|---|")
	for _, c := range cells {
		r := m.rows[c]
		all := float64(max(r.n, r.absent, len(r.widths)+r.absent))
		width := math.NaN()
		if slices.Sort(r.widths); len(r.widths) > 0 {
			width = 100 * r.widths[len(r.widths)/2]
		}
		share := 100 * float64(r.held) / float64(r.n)
		least := cmp.Or(floors[c.quantity], 94)
		if slices.Contains(troubles, c.circumstance) && (r.n < fewest || share >= least) {
			continue
		}
		fmt.Printf("| %s | %s | %d | %.1f | %.2g | %.0f |\n", c.quantity, c.circumstance, r.n, share, width, 100*float64(r.absent)/all)
		if c.circumstance == "all" && share < least {
			t.Errorf("%s: %.1f %% hold the truth, want %g", c.quantity, share, least)
		}
	}
}
