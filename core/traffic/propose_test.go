package traffic

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lastbeacon/core/ax25"
)

// Two radios under one call sign and one radio with two texts, all else alike: what tells them apart is which of them goes on
// alone, and where one stands between the other's beacons.
func TestOneCallWithTwoComments(t *testing.T) {
	const position = "!6204.10N/00938.20E>"
	for _, c := range []struct {
		name  string
		count int
		want  []string // the rules' comments
		sent  func(i int) []heard
	}{
		{"turns between two texts", 300, []string{""}, func(i int) []heard {
			return []heard{{float64(i) * 60, 0, position + []string{"red radio", "blue radio"}[i%2]}}
		}},
		{"every tenth beacon with another text", 300, []string{""}, func(i int) []heard {
			text := "red radio"
			if i%10 == 0 {
				text = "blue radio"
			}
			return []heard{{float64(i) * 60, 0, position + text}}
		}},
		{"a status five seconds after each position", 300, []string{""}, func(i int) []heard {
			return []heard{{float64(i) * 120, 0, position + "red radio"}, {float64(i)*120 + 5, 0, ">blue radio"}}
		}},
		{"half an interval apart, one goes on alone", 150, []string{"blue radio", "red radio"}, func(i int) []heard {
			both := []heard{{float64(i) * 120, 0, position + "red radio"}}
			if i < 130 {
				both = append(both, heard{float64(i)*120 + 60, 0, position + "blue radio"})
			}
			return both
		}},
		{"nearly half an interval apart to the end", 150, []string{"blue radio", "red radio"}, func(i int) []heard {
			return []heard{{float64(i) * 120, 0, position + "red radio"}, {float64(i)*120 + 57, 0, position + "blue radio"}}
		}},
		{"a tenth of an interval apart", 150, []string{"blue radio", "red radio"}, func(i int) []heard {
			return []heard{{float64(i) * 120, 0, position + "red radio"}, {float64(i)*120 + 12, 0, position + "blue radio"}}
		}},
		{"half an interval apart to the end, which nothing tells from turns", 150, []string{""}, func(i int) []heard {
			return []heard{{float64(i) * 120, 0, position + "red radio"}, {float64(i)*120 + 60, 0, position + "blue radio"}}
		}},
	} {
		for seed := range uint64(20) {
			r := rand.New(rand.NewPCG(seed, 7))
			var all []heard
			for i := range c.count {
				for _, h := range c.sent(i) {
					if r.Float64() < 0.9 {
						all = append(all, heard{math.Floor(h.at + r.Float64()), 0, "QX1ABC-7>APZ001,WIDE1-1:" + h.line})
					}
				}
			}
			var got []string
			for _, p := range NewRegister(evidenceOf(t, all)).Propose() {
				got = append(got, p.Spec.Rules[0].Comment)
			}
			if slices.Sort(got); !slices.Equal(got, c.want) {
				t.Errorf("%s, seed %d: %s", c.name, seed, fmt.Sprintf("%q", got))
				break
			}
		}
	}
}

// What a station's list and its proposal call typical is the same: the median over all of its transmissions, however many came last
// at other intervals.
func TestTypicalIntervalOfAStation(t *testing.T) {
	var all []heard
	for i := range 40 {
		at := 120 * float64(i)
		if i >= 25 {
			at = 120*25 + 900*float64(i-25)
		}
		all = append(all, heard{at, 0, "QX1ABC-7>APZ001,WIDE1-1:!6204.10N/00938.20E>hut"}, heard{at + 2, 0, "QX1ABC-7>APZ001,QD1RDG*:!6204.10N/00938.20E>hut"})
	}
	reg := NewRegister(evidenceOf(t, all))
	proposed := reg.Propose()
	call, _ := ax25.ParseCall([]byte("QX1ABC-7"))
	if got := reg.Folded()[call]; got != (Folded{80, 40, 120}) || proposed[0].Typical != 120 {
		t.Errorf("folded %v, proposed %v s apart", got, proposed[0].Typical)
	}
}
