package intake_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// listing writes what was heard of one unit from one hour of 2 May to another, a beacon every two minutes and a few seconds.
func listing(layout string, from, to float64, text func(int) string) (lines []string) {
	start := time.Date(2031, 5, 2, 10, 0, 7, 0, time.UTC)
	for k := range int(30 * to) {
		if h := float64(k) / 30; h >= from {
			at := start.Add(time.Duration(k*120+k*7%5) * time.Second)
			lines = append(lines, fmt.Sprintf("%s QX4AA-7>APZ123,WIDE1-1:!4903.50N/07201.75W>%s\n", at.Format(layout), text(k)))
		}
	}
	return lines
}

// Two overlapping pastes in one file are one list, in either direction and either order, with dates and without, whatever the
// step of the stamps. Only a unit that always sends the same leaves it open whether a list without dates tells of another day.
func TestOverlappingPastesInOneFile(t *testing.T) {
	counted := func(k int) string { return fmt.Sprint("Heron ", k) }
	same := func(int) string { return "Heron" }
	for _, layout := range []string{time.DateTime, "2006-01-02 15:04", time.TimeOnly, "15:04"} {
		for name, text := range map[string]func(int) string{"counted": counted, "same": same} {
			first, second := listing(layout, 0, 5, text), listing(layout, 2, 7, text)
			newFirst, newSecond := slices.Clone(first), slices.Clone(second)
			slices.Reverse(newFirst)
			slices.Reverse(newSecond)
			for order, lines := range map[string][]string{
				"oldest first": slices.Concat(first, second), "newest first": slices.Concat(newFirst, newSecond),
				"newest first, newest paste first": slices.Concat(newSecond, newFirst),
			} {
				src := readSettled(t, []byte(strings.Join(lines, "")), intake.Settings{Date: "2031-05-02", Zone: "UTC"})
				got := len(evidence.Gather([]*evidence.Source{src}).Receptions)
				span := src.File.Last.Sub(src.File.First).Round(time.Hour)
				want, wantSpan, code := 210, 7*time.Hour, "time.pasted"
				if dated := strings.HasPrefix(layout, "2006"); !dated && name == "same" {
					want, wantSpan, code = 300, src.File.Last.Sub(src.File.First).Round(time.Hour), "time.another-day"
				} else if dated && order == "newest first" {
					code = "time.out-of-order"
				}
				if got != want || span != wantSpan || noteOf(src, code) == nil {
					t.Errorf("%s, %s, %s: %d packets in %v, want %d in %v; notes %+v", layout, name, order, got, span, want, wantSpan, src.Notes)
				}
			}
		}
	}
}

// A clock put back makes the lines of a parked unit stand again where stamps tell minutes only: it is asked, and nothing is lost.
// Texts that differ show a second paste for what it is.
func TestHourPutBackIsNoPaste(t *testing.T) {
	for _, c := range []struct {
		name string
		text func(int) string
		want int
		ask  bool
	}{
		{"one text", func(int) string { return "Heron" }, 150, true},
		{"texts that differ", func(k int) string { return fmt.Sprint("Heron ", k) }, 150, true},
		{"the same lines again", func(k int) string { return fmt.Sprint("Heron ", k) }, 120, false},
	} {
		start := time.Date(2031, 10, 26, 0, 0, 20, 0, time.UTC)
		var b strings.Builder
		for k := range 150 { // put back by an hour after three hours
			at := start.Add(time.Duration(k) * 2 * time.Minute)
			if k >= 90 {
				at = at.Add(-time.Hour)
			}
			fmt.Fprintf(&b, "%s QX4AA-7>APZ123,WIDE1-1:!4903.50N/07201.75W>%s\n", at.Format("2006-01-02 15:04"), c.text(k))
		}
		if !c.ask {
			lines := listing("2006-01-02 15:04", 0, 3, c.text)
			b.Reset()
			b.WriteString(strings.Join(slices.Concat(lines, listing("2006-01-02 15:04", 2, 4, c.text)), ""))
		}
		src := readSettled(t, []byte(b.String()), intake.Settings{})
		got := len(evidence.Gather([]*evidence.Source{src}).Receptions)
		asked := slices.ContainsFunc(src.File.Ask, func(a evidence.Ask) bool { return a.Field == "zone" })
		if got != c.want || asked != c.ask {
			t.Errorf("%s: %d packets, want %d; asked %v; notes %+v", c.name, got, c.want, asked, src.Notes)
		}
		if c.ask && src.File.Last.Sub(src.File.First) != 298*time.Minute {
			t.Errorf("%s: %v to %v", c.name, src.File.First, src.File.Last)
		}
	}
}
