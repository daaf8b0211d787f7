package endurance

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
)

// dying simulates units of about 72 beacons that die at a key-up or just after one, and gives how often the plain 95 % law
// and the one rounded out to due times hold the end, in percent.
func dying(p float64, justAfter bool, runs int) (plain, rounded float64) {
	r := rand.New(rand.NewPCG(uint64(1000*p), 5))
	for range runs {
		var heard []bool
		for range 72 {
			heard = append(heard, r.Float64() < p)
		}
		first, last := 0, len(heard)-1
		for first < last && !heard[first] {
			first++
		}
		for last > first && !heard[last] {
			last--
		}
		end := float64(len(heard) - last)
		if justAfter {
			end--
		}
		l := lossOf(heard[first+1 : last+1])
		l.bursts = false
		after := silentLaw(&l)
		if after.quantile(0.025) <= end && end <= after.quantile(0.975) {
			plain++
		}
		if i, _ := after.find(0.975); end <= after[i].to {
			rounded++
		}
	}
	return 100 * plain / float64(runs), 100 * rounded / float64(runs)
}

func silentLaw(l *loss) law {
	var out law
	unheard := l.silence()
	for k := 0.0; unheard.chance() > leastWeight && len(out) < mostGaps; k++ {
		out = append(out, gap{k, k + 1, unheard.chance(), 0})
		unheard.miss()
	}
	return out
}

// The plain law fails units that die at key-up, as the published simulation says; rounded out to due times it does not. The
// tolerance of 2 belongs to that simulation, 2 more to this one.
func TestDeathAtKeyUp(t *testing.T) {
	for _, a := range answers(t, "death-") {
		shares := numbers(t, a.Inputs["p"])
		plain := numbers(t, a.Expected["coverage_pct"])
		var rounded []float64
		if raw := a.Expected["rounded_out_to_due_times_pct"]; raw != nil {
			rounded = numbers(t, raw)
		}
		for i, p := range shares {
			gotPlain, gotRounded := dying(p, a.ID == "death-02", 1500)
			close(t, a.ID+" plain law", gotPlain, plain[i], 4)
			if rounded != nil {
				close(t, a.ID+" rounded out", gotRounded, rounded[i], 4)
			}
			if gotRounded < 94 {
				t.Errorf("%s, %.2f heard: rounded out holds %.1f %%, want 94", a.ID, p, gotRounded)
			}
		}
	}
}

func numbers(t *testing.T, raw json.RawMessage) []float64 {
	t.Helper()
	var v []float64
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// How many intervals a run must hold so that its end alone gives a half-width of at most 5 % and 2.5 % of the run time.
func TestIntervalsNeeded(t *testing.T) {
	for _, a := range answers(t, "end-15", "end-16", "end-17", "end-18", "end-19", "end-20", "end-21") {
		l := fixedLaw(a.number(t, a.Inputs, "p"), 1e-14, 1)
		low, high := l.quantile(0.025), l.quantile(0.975)
		for name, share := range map[string]float64{"n5": 0.05, "n2_5": 0.025} {
			need := math.Ceil((high-low)/2/share - 1e-9)
			if want := a.number(t, a.Expected, name); need != want {
				t.Errorf("%s %s = %v, want %v", a.ID, name, need, want)
			}
		}
	}
}
