package schedule

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"lastbeacon/core/clock"
)

// A score counts how often something was right.
type score struct{ right, all int }

func (s *score) count(ok bool) {
	s.all++
	if ok {
		s.right++
	}
}

func (s score) share() float64 { return float64(s.right) / float64(max(1, s.all)) }

// scores of the identification, by name, in the order in which they appeared.
type scores struct {
	names []string
	of    map[string]*score
}

func (s *scores) count(name string, ok bool) {
	if s.of == nil {
		s.of = map[string]*score{}
	}
	if s.of[name] == nil {
		s.of[name] = &score{}
		s.names = append(s.names, name)
	}
	s.of[name].count(ok)
}

func close(got, want, share float64) bool { return math.Abs(got/want-1) <= share }

// judge compares a fitted schedule with the truth.
func (s *scores) judge(got Schedule, u made) {
	s.count("forced", got.Nearest == u.kind)
	s.count("decided", got.Kind != Undecided)
	if got.Kind == Undecided {
		return
	}
	s.count("right when decided", got.Kind == u.kind)
	if got.Kind != u.kind {
		return
	}
	resolved := func(name string) bool { return slices.Contains(got.Resolved, name) }
	switch u.kind {
	case Fixed:
		s.count("fixed period within 1 %", close(got.Interval.Best, u.period, 0.01))
		s.count("fixed limits", got.Interval.Low <= u.period && u.period <= got.Interval.High)
	case Decaying:
		s.count("base within 3 %", close(got.Interval.Best, u.base, 0.03))
		if resolved("longest_s") {
			s.count("longest within 3 %, resolved", close(got.Longest, u.longest, 0.03))
		}
		if resolved("beacons_before_decay") {
			s.count("hold, resolved", got.BeaconsBeforeDecay == u.hold)
		}
	case Adaptive:
		if resolved("metres_between_beacons") {
			s.count("metres within 5 %, resolved", close(got.MetresBetween(), u.fast*u.topSpeed, 0.05))
		}
		if resolved("slow_interval_s") {
			s.count("slow within 3 %, resolved", close(got.Slow, u.slow, 0.03))
		}
		if resolved("fast_interval_s") {
			s.count("fast within 5 %, resolved", close(got.Fast, u.fast, 0.05))
		}
	}
	if u.kind != Irregular {
		true := float64(len(u.heard)) / float64(u.sent)
		s.count("share heard limits", got.Received.Low <= true && true <= got.Received.High)
	}
}

// TestIdentification measures the inference on made-up units. SCHEDULE_CASES sets how many (default 40), SCHEDULE_SEED the
// first seed, SCHEDULE_STEP the seconds that the stamps are cut to; with more than the default the scores are printed and held against what is promised.
func TestIdentification(t *testing.T) {
	cases, seed := number("SCHEDULE_CASES", 40), number("SCHEDULE_SEED", 1000)
	step := number("SCHEDULE_STEP", 1)
	var s scores
	var spent []time.Duration
	for i := range cases {
		u := makeUnit(uint64(seed + i))
		if len(u.times) < 2 {
			continue
		}
		for i, t := range u.times {
			u.times[i] = t - t%(1000*clock.Instant(step))
		}
		began := time.Now()
		got := Fit(u.times, time.Duration(step)*time.Second, u.timeline)
		spent = append(spent, time.Since(began))
		s.judge(got, u)
		if os.Getenv("SCHEDULE_SHOW") != "" && got.Kind == Fixed && u.kind == Fixed && (u.period < got.Interval.Low || u.period > got.Interval.High) {
			fmt.Printf("%d: period %.3f outside %.3f %.3f %.3f, jitter %.2f cell %g %d heard late %g\n", seed+i, u.period, got.Interval.Low, got.Interval.Best, got.Interval.High, got.Jitter, got.cell, len(u.times), u.late)
		}
		if os.Getenv("SCHEDULE_SHOW") != "" && (got.Nearest != u.kind || got.Kind == Undecided) {
			fmt.Printf("%d: %v, got %v nearest %v rival %v lead %.1f, %d heard, %s\n",
				seed+i, u.kind, got.Kind, got.Nearest, got.Rival, got.Lead, len(u.times), got.Reason)
		}
	}
	least := map[string]float64{
		"forced": 0.95, "right when decided": 0.97, "fixed period within 1 %": 0.97, "base within 3 %": 0.93,
	}
	for _, name := range s.names {
		if testing.Verbose() {
			fmt.Printf("%-32s %4d of %4d  %.1f %%\n", name, s.of[name].right, s.of[name].all, 100*s.of[name].share())
		}
		if s.of[name].share() < least[name] {
			t.Errorf("%s: %.3f, want at least %.3f", name, s.of[name].share(), least[name])
		}
	}
	slices.Sort(spent)
	if testing.Verbose() {
		fmt.Printf("time a case: median %v, 90 %% %v, most %v\n", spent[len(spent)/2], spent[len(spent)*9/10], spent[len(spent)-1])
	}
}

func number(variable string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(variable)); err == nil {
		return n
	}
	return otherwise
}
