package intake_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/clock"
	"lastbeacon/core/intake"
)

// beacons writes what a recorder hears of two stations with intervals of 120 s and 75 s: deaf between two moments, its clock
// ahead by step from a third on.
func beacons(deafFrom, deafUntil, setAt, step time.Duration) string {
	start := clock.At(time.Date(2031, 5, 2, 5, 0, 0, 0, time.UTC))
	var b strings.Builder
	for s := time.Duration(0); s < 3*time.Hour; s += time.Second {
		if s >= deafFrom && s < deafUntil {
			continue
		}
		at := start.Add(s)
		if s >= setAt {
			at = at.Add(step)
		}
		if s%(120*time.Second) == 0 {
			fmt.Fprintf(&b, "%v QX1ABC>APZ001:>a%d\n", at, s)
		}
		if s%(75*time.Second) == 7*time.Second {
			fmt.Fprintf(&b, "%v QX2ABC>APZ001:>b%d\n", at, s)
		}
	}
	return b.String()
}

func TestClockSetForward(t *testing.T) {
	const never = 1000 * time.Hour
	cases := []struct {
		name string
		text string
		want string // the line's stamp, "" for no note
	}{
		{"set forward by 7 h 13 min", beacons(0, 0, time.Hour+time.Second, 433*time.Minute), "2031-05-02T13:13:07Z"},
		{"set forward by 100 s", beacons(0, 0, time.Hour+time.Second, 100*time.Second), "2031-05-02T06:01:47Z"},
		{"asleep for 50 min", beacons(time.Hour, 110*time.Minute, never, 0), ""},
		{"asleep for an hour", beacons(time.Hour+time.Second, 2*time.Hour+time.Second, never, 0), ""},
		{"always awake", beacons(0, 0, never, 0), ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := read(t, c.text, intake.Settings{})
			n := noteOf(s, "time.clock-set")
			switch {
			case n == nil && c.want != "":
				t.Errorf("no note among %+v", s.Notes)
			case n != nil && (c.want == "" || !strings.HasPrefix(string(n.Excerpt), c.want)):
				t.Errorf("note on %q, want %q", n.Excerpt, c.want)
			}
		})
	}
}
