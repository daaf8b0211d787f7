//go:build measure

package endurance

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"
)

// Measures how often the claimed run time holds the truth, over made-up runs of each kind of schedule, loss and death.
// `make coverage` prints the table; RUNS sets how many runs a cell has.

// A kind makes the sent times of a run that is switched on at 0 and would live until off; it may move off to its next due
// time or just behind the last one.
type kind struct {
	name string
	make func(r *rand.Rand, death string) (trial, float64) // with the interval at the end
}

var kinds = []kind{
	{"fixed", func(r *rand.Rand, death string) (trial, float64) {
		period := []float64{60, 120, 180, 300, 600}[r.IntN(5)]
		return die(r, death, float64(40+r.IntN(80))*period, period), period
	}},
	{"decaying", func(r *rand.Rand, death string) (trial, float64) {
		ladder := []float64{60, 60, 120, 240, 480, 960, 1800}
		return die(r, death, float64(25+r.IntN(40))*1800, ladder...), 1800
	}},
	{"adaptive, parked", func(r *rand.Rand, death string) (trial, float64) {
		slow := []float64{300, 600, 900, 1200}[r.IntN(4)]
		return die(r, death, float64(30+r.IntN(50))*slow, slow), slow
	}},
}

// die ends the life of a unit near a moment: right there, at the next key-up, or just after the last one.
func die(r *rand.Rand, death string, near float64, intervals ...float64) trial {
	t := trial{step: 1, on: 60 * r.Float64()}
	near += t.on + intervals[len(intervals)-1]*r.Float64()
	due := parked(r, t.on, near+2*intervals[len(intervals)-1], 1, intervals...)
	next := slices.IndexFunc(due, func(at float64) bool { return at >= near })
	t.sent, t.off = due[:next], near
	switch death {
	case "at key-up":
		t.off = due[next]
	case "after sending":
		t.off = due[next-1] + 1
	}
	return t
}

// A losses gives the chance of being heard for each beacon of a run.
type losses struct {
	name string
	of   func(r *rand.Rand, n int) (share float64, at func(i int) float64)
}

var lossKinds = []losses{
	{"constant", func(r *rand.Rand, n int) (float64, func(int) float64) {
		p := []float64{1, 0.98, 0.95, 0.9, 0.8, 0.6}[r.IntN(6)]
		return p, func(int) float64 { return p }
	}},
	{"sinking", func(r *rand.Rand, n int) (float64, func(int) float64) {
		p := []float64{1, 0.95, 0.9, 0.8}[r.IntN(4)]
		return p / 2, func(i int) float64 {
			if i >= n-n/10 {
				return p / 2
			}
			return p
		}
	}},
	{"bursty", func(r *rand.Rand, n int) (float64, func(int) float64) {
		good := true
		return 0.85, func(int) float64 {
			if good = r.Float64() < map[bool]float64{true: 0.96, false: 0.25}[good]; good {
				return 0.98
			}
			return 0.05
		}
	}},
}

func runsPerCell() int {
	if n, err := strconv.Atoi(os.Getenv("RUNS")); err == nil && n > 0 {
		return n
	}
	return 2000
}

func TestCoverage(t *testing.T) {
	fmt.Println("| schedule | share heard | death | holds the truth % | called ended % | undecided % | median width s | rounded-out law s |")
	fmt.Println("|---|---|---|---|---|---|---|---|")
	for _, k := range kinds {
		for _, l := range lossKinds {
			for _, death := range []string{"random", "at key-up", "after sending"} {
				c := measure(k, l, death, runsPerCell())
				fmt.Println(c)
				if least := map[string]float64{"constant": 94, "sinking": 90}[l.name]; c.holds < least {
					t.Errorf("%s, %s, %s: %.1f %% hold the truth, want %v", k.name, l.name, death, c.holds, least)
				}
			}
		}
	}
}

// Where power-on was not noted the begin is claimed too, by the unit's habit.
func TestCoverageOfStarts(t *testing.T) {
	fmt.Println("| habit after power-on | holds the truth % | median width s |")
	fmt.Println("|---|---|---|")
	for _, h := range []struct {
		name  string
		habit FirstBeacon
		delay func(r *rand.Rand, period float64) float64
	}{
		{"beacons at once", AtOnce, func(r *rand.Rand, _ float64) float64 { return 3 + 12*r.Float64() }},
		{"after one interval", AfterInterval, func(r *rand.Rand, period float64) float64 { return period + 5*r.Float64() }},
		{"after a fix, 1 min in the middle", AfterFix, func(r *rand.Rand, _ float64) float64 { return 60 * math.Exp(0.7*r.NormFloat64()) }},
		{"after a fix, 5 min in the middle", AfterFix, func(r *rand.Rand, _ float64) float64 { return 300 * math.Exp(0.5*r.NormFloat64()) }},
	} {
		holds, n := 0.0, 0.0
		var widths []float64
		for i := range runsPerCell() {
			r := rand.New(rand.NewPCG(uint64(i), 13))
			tr, interval := kinds[0].make(r, "at key-up")
			first := tr.sent[0]
			tr.on = first - h.delay(r, interval)
			_, p := lossKinds[0].of(r, len(tr.sent))
			u := tr.hear(r, p)
			if len(u.Transmissions) < 3 {
				continue
			}
			tr.listened = tr.off + 60*interval
			s := tr.subject(u)
			s.Notes = Notes{FirstBeacon: h.habit}
			run := one(s, tr.watch())
			n++
			if life := tr.off - tr.on; run.Runtime.Low <= life && life <= run.Runtime.High {
				holds++
			}
			if run.State.Closed() {
				widths = append(widths, run.Runtime.High-run.Runtime.Low)
			}
		}
		fmt.Printf("| %s | %.1f | %.0f |\n", h.name, 100*holds/n, median(widths))
		if 100*holds/n < 94 {
			t.Errorf("%s: %.1f %% hold the truth, want 94", h.name, 100*holds/n)
		}
	}
}

type cell struct {
	what                    string
	holds, ended, undecided float64
	width, ideal            float64
}

func (c cell) String() string {
	return fmt.Sprintf("| %s | %.1f | %.1f | %.1f | %.0f | %.0f |", c.what, c.holds, c.ended, c.undecided, c.width, c.ideal)
}

func measure(k kind, l losses, death string, runs int) cell {
	c := cell{what: fmt.Sprintf("%s | %s | %s", k.name, l.name, death)}
	var widths, ideals []float64
	n := 0.0
	for i := range runs {
		r := rand.New(rand.NewPCG(uint64(i), 7))
		tr, interval := k.make(r, death)
		share, p := l.of(r, len(tr.sent))
		u := tr.hear(r, p)
		if len(u.Transmissions) < 3 {
			continue
		}
		tr.listened = tr.off + 60*interval
		s := tr.subject(u)
		s.Notes.Runs[0].PowerOn.At = second(tr.on + 60*r.Float64() - 30)
		if first := u.Transmissions[0].At; s.Notes.Runs[0].PowerOn.At > first {
			s.Notes.Runs[0].PowerOn.At = first
		}
		run := one(s, tr.watch())
		n++
		life := tr.off - tr.on
		if run.Runtime.Low <= life && life <= run.Runtime.High {
			c.holds++
		}
		if run.Schedule.Reason != "" {
			c.undecided++
		}
		if run.State.Closed() {
			c.ended++
			widths = append(widths, run.Runtime.High-run.Runtime.Low)
			law := fixedLaw(share, leastWeight, interval)
			j, _ := law.find(0.975)
			ideals = append(ideals, law[j].to+60)
		}
	}
	c.holds, c.ended, c.undecided = 100*c.holds/n, 100*c.ended/n, 100*c.undecided/n
	c.width, c.ideal = median(widths), median(ideals)
	return c
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return v[len(v)/2]
}
