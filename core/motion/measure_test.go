//go:build measure

package motion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lastbeacon/core/evidence"
)

func (y *tally) merge(x *tally) {
	y.tracks += x.tracks
	y.spurious += x.spurious
	y.missed += x.missed
	y.periods += x.periods
	y.seconds += x.seconds
	y.labelled += x.labelled
	y.right += x.right
	y.errors = append(y.errors, x.errors...)
	y.boundaries += x.boundaries
	y.unmatched += x.unmatched
	y.held += x.held
	y.claimed += x.claimed
	y.width = append(y.width, x.width...)
	y.distance = append(y.distance, x.distance...)
	y.distances += x.distances
	y.distanceHeld += x.distanceHeld
}

func (y *tally) String() string {
	n := float64(max(y.tracks, 1))
	q := func(v []float64, p float64) float64 {
		if len(v) == 0 {
			return math.NaN()
		}
		slices.Sort(v)
		return v[int(p*float64(len(v)-1))]
	}
	return fmt.Sprintf("%7.2f | %6.1f | %5.2f | %5.2f | %5.1f / %5.1f | %5.2f | %5.1f %% of %4d | %5.0f | %+5.1f (%+.1f..%+.1f) %% | %5.1f %%",
		100*y.right/y.labelled, 100*y.labelled/y.seconds, float64(y.spurious)/n, float64(y.missed)/n,
		q(y.errors, 0.5), q(y.errors, 0.95), float64(y.unmatched)/n, 100*float64(y.held)/float64(max(y.claimed, 1)), y.claimed, q(y.width, 0.5),
		100*q(y.distance, 0.5), 100*q(y.distance, 0.05), 100*q(y.distance, 0.95), 100*float64(y.distanceHeld)/float64(max(y.distances, 1)))
}

const header = "agree % | label% | spur. | miss. | bound med/p95 | unm.  | inside claim    | width | distance median (p5..p95) | inside"

// TestMeasure prints how often timelines of simulated worlds are right. SEEDS sets the worlds per scenario (20), FIRST the
// first seed, DETAIL=1 a line per scenario.
func TestMeasure(t *testing.T) {
	seeds, first := number("SEEDS", 20), number("FIRST", 1)
	fmt.Println("class                  |", header)
	for _, c := range classes() {
		var all tally
		parts := make([]tally, len(journeys))
		for kind := range journeys {
			if !c.dense && journeys[kind].name == "messy" {
				continue
			}
			for seed := first; seed < first+seeds; seed++ {
				w := build(kind, uint64(seed))
				parts[kind].add(w, c.run(w, rand.New(rand.NewPCG(uint64(seed), 77))))
			}
			all.merge(&parts[kind])
		}
		fmt.Printf("%-22s | %v\n", c.name, &all)
		if os.Getenv("DETAIL") != "" {
			for kind := range journeys {
				fmt.Printf("   %-19s | %v\n", journeys[kind].name, &parts[kind])
			}
		}
	}
}

func number(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

type class struct {
	name  string
	dense bool
	run   func(*world, *rand.Rand) Timeline
}

func classes() []class {
	dense := func(step int, speeds bool) func(*world, *rand.Rand) Timeline {
		return func(w *world, _ *rand.Rand) Timeline { return OfTrack(w.track(step, speeds)) }
	}
	sparse := func(when func(*world, *rand.Rand) []int, how rounding, loss float64) func(*world, *rand.Rand) Timeline {
		return func(w *world, r *rand.Rand) Timeline { return OfBeacons(w.beacons(r, when(w, r), how, loss)) }
	}
	every := func(n int) func(*world, *rand.Rand) []int {
		return func(w *world, r *rand.Rand) []int { return w.every(r, n) }
	}
	silent := func(c func(*world, *rand.Rand) []int) func(*world, *rand.Rand) Timeline {
		return func(w *world, r *rand.Rand) Timeline { return OfBeacons(mute(w.beacons(r, c(w, r), hundredths, 0))) }
	}
	all := []class{
		{"dense 1 s", true, dense(1, false)}, {"dense 1 s speed", true, dense(1, true)},
		{"dense 10 s", true, dense(10, false)}, {"dense 10 s speed", true, dense(10, true)},
		{"30 s", false, sparse(every(30), hundredths, 0)}, {"30 s no speed", false, silent(every(30))},
		{"30 s fine", false, sparse(every(30), base91, 0)}, {"30 s lossy", false, sparse(every(30), hundredths, 0.3)},
		{"60 s", false, sparse(every(60), hundredths, 0)}, {"60 s no speed", false, silent(every(60))},
		{"60 s fine", false, sparse(every(60), base91, 0)},
		{"120 s", false, sparse(every(120), hundredths, 0)}, {"120 s no speed", false, silent(every(120))},
		{"300 s", false, sparse(every(300), hundredths, 0)}, {"300 s no speed", false, silent(every(300))},
		{"300 s fine", false, sparse(every(300), base91, 0)},
		{"600 s", false, sparse(every(600), hundredths, 0)}, {"1800 s", false, sparse(every(1800), hundredths, 0)},
		{"decaying", false, sparse((*world).decaying, hundredths, 0)}, {"decaying no speed", false, silent((*world).decaying)},
		{"decaying lossy", false, sparse((*world).decaying, hundredths, 0.3)},
		{"adaptive", false, sparse((*world).adaptive, hundredths, 0)}, {"adaptive no speed", false, silent((*world).adaptive)},
	}
	only := os.Getenv("ONLY")
	return slices.DeleteFunc(all, func(c class) bool { return !strings.HasPrefix(c.name, only) })
}

// mute takes speed and course away.
func mute(fixes []evidence.Fix) []evidence.Fix {
	for i := range fixes {
		fixes[i].Speed, fixes[i].Course = float32(math.NaN()), float32(math.NaN())
	}
	return fixes
}

// decaying gives the seconds at which a schedule beacons that starts at 60 s and doubles up to half an hour while the unit
// reports no movement.
func (w *world) decaying(r *rand.Rand) []int {
	const base, longest, moves = 60, 1800, 1.3
	var out []int
	due, interval := r.IntN(base), base
	for s := range w.truth {
		v := float64(w.fixes[s].Speed)
		if w.missing[s] || (s < due && !(v >= moves && interval > base)) {
			continue
		}
		if v >= moves {
			interval = base
		} else {
			interval = min(interval*2, longest)
		}
		out = append(out, s)
		due = s + interval
	}
	return out
}
