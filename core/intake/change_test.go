package intake_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"lastbeacon/core/intake"
)

// A log written by a clock of a zone comes back to the instants it was written at, hours before and after that zone's clock
// change, oldest and newest first, with dates and without, with copies that came in some seconds late. The changes are those of
// package time's IANA data, which says on its own what a clock showed.
func TestLogsAcrossClockChanges(t *testing.T) {
	changes := []struct{ zone, middle string }{
		{"Europe/Oslo", "2031-10-26T01:00:00Z"}, {"Europe/Oslo", "2031-03-30T01:00:00Z"},
		{"America/St_Johns", "2031-11-02T04:30:00Z"}, {"America/New_York", "2031-03-09T07:00:00Z"},
		{"Australia/Lord_Howe", "2031-04-05T15:00:00Z"}, {"Pacific/Chatham", "2031-04-05T14:00:00Z"},
	}
	for _, c := range changes {
		for _, form := range []string{time.DateTime, time.TimeOnly} {
			for _, backwards := range []bool{false, true} {
				t.Run(fmt.Sprint(c.zone, c.middle, form, backwards), func(t *testing.T) {
					loc, _ := time.LoadLocation(c.zone)
					middle, _ := time.Parse(time.RFC3339, c.middle)
					var stamps, want []string
					for at := middle.Add(-4 * time.Hour); at.Before(middle.Add(4 * time.Hour)); at = at.Add(293 * time.Second) {
						for _, late := range []time.Duration{0, 7 * time.Second, 2 * time.Second} {
							stamps = append(stamps, at.Add(late).In(loc).Format(form))
							want = append(want, at.Add(late).UTC().Format(time.RFC3339))
						}
					}
					first := middle.Add(-4 * time.Hour)
					if backwards {
						slices.Reverse(stamps)
						slices.Reverse(want)
						first = middle.Add(4 * time.Hour)
					}
					got, s := times(t, intake.Settings{Zone: c.zone, Date: first.In(loc).Format(time.DateOnly)}, stamps...)
					for i := range want {
						if got[i] != want[i] {
							t.Fatalf("line %d, %s: got %s, want %s", i+1, stamps[i], got[i], want[i])
						}
					}
					if n := noteOf(s, "time.out-of-order"); n != nil {
						t.Errorf("called out of order: %+v", n)
					}
				})
			}
		}
	}
}
