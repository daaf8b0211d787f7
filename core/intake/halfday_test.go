package intake_test

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// A 12-hour clock without AM and PM is followed through noon and midnight where the order of the lines shows it, in lists of
// either direction; a file of a 24-hour clock stays as it is.
func TestTwelveHourClockWithoutHalves(t *testing.T) {
	for _, c := range []struct {
		name         string
		from         int // hour of the first line
		hours        float64
		layout       string
		newest       bool
		right, shown bool
	}{
		{"through noon", 8, 9, "2006-01-02 03:04:05", false, true, true},
		{"through noon, newest first", 8, 9, "2006-01-02 03:04:05", true, true, true},
		{"through midnight", 20, 7, "2006-01-02 03:04:05", false, true, true},
		{"through midnight, newest first", 20, 7, "2006-01-02 03:04:05", true, true, true},
		{"two days", 8, 50, "2006-01-02 03:04:05", false, true, true},
		{"two days, newest first", 9, 50, "2006-01-02 03:04:05", true, true, true},
		{"from noon", 12, 9, "2006-01-02 03:04:05", false, true, false},
		{"24 hours", 8, 9, "2006-01-02 15:04:05", false, true, true},
		{"24 hours, two days, newest first", 9, 50, "2006-01-02 15:04:05", true, true, true},
	} {
		first, last, lines := everyTwoMinutes(c.from, c.hours, c.layout)
		if c.newest {
			slices.Reverse(lines)
		}
		src := readSettled(t, []byte(strings.Join(lines, "")), intake.Settings{})
		f := src.File
		if right := f.First.Time().Equal(first) && f.Last.Time().Equal(last); right != c.right {
			t.Errorf("%s: %v to %v, want %v to %v", c.name, f.First, f.Last, first, last)
		}
		noted := func(code string) bool {
			return slices.ContainsFunc(src.Notes, func(n evidence.Note) bool { return n.Code == code })
		}
		if said := noted("time.half-day"); said != strings.Contains(c.layout, "03") {
			t.Errorf("%s: a 12-hour clock is noted: %v", c.name, said)
		}
		if open := noted("time.half-day-open"); open == c.shown {
			t.Errorf("%s: left open: %v", c.name, open)
		}
		if noted("time.out-of-order") {
			t.Errorf("%s: lines are called out of order", c.name)
		}
	}
}

// Where no line shows the half of the day, it is asked of the first line, and the answer moves all of them: with dates and
// without, in lists of either direction. Spans are right whatever the answer.
func TestHalfOfTheDayIsAsked(t *testing.T) {
	for _, c := range []struct {
		name   string
		from   int // hour of the first line
		hours  float64
		layout string
		newest bool
		asked  string // half taken meanwhile, of the line that stands first
		answer string
	}{
		{"past noon", 12, 9, "2006-01-02 03:04:05", false, "pm", "pm"},
		{"past midnight", 0, 9, "2006-01-02 03:04:05", false, "pm", "am"},
		{"no dates, through noon", 8, 9, "03:04:05", false, "am", "am"},
		{"no dates, through midnight", 20, 9, "03:04:05", false, "am", "pm"},
		{"no dates, through noon, newest first", 8, 9, "03:04:05", true, "pm", "pm"},
		{"no dates, through midnight, newest first", 20, 9, "03:04:05", true, "pm", "am"},
		{"no dates, two days", 8, 50, "03:04:05", false, "am", "am"},
		{"no dates, two days, newest first", 9, 50, "03:04:05", true, "pm", "am"},
		{"never past one o'clock, so that only an answer tells", 15, 5, "2006-01-02 03:04:05", false, "", "pm"},
		{"24 hours, the answer does not fit", 8, 9, "2006-01-02 15:04:05", false, "", "pm"},
	} {
		first, last, lines := everyTwoMinutes(c.from, c.hours, c.layout)
		set := intake.Settings{Date: first.Format(time.DateOnly)}
		if c.newest {
			set.Date = last.Format(time.DateOnly)
			slices.Reverse(lines)
		}
		content := []byte(strings.Join(lines, ""))
		src := readSettled(t, content, set)
		taken := ""
		for _, a := range src.File.Ask {
			if a.Field == "half_day" {
				taken = a.Taken
				if len(a.Samples) != 2 || a.Lines[0].No != 1 {
					t.Errorf("%s: asked with %+v", c.name, a)
				}
			}
		}
		if taken != c.asked {
			t.Errorf("%s: taken for %q, want %q", c.name, taken, c.asked)
		}
		if span := src.File.Last.Sub(src.File.First); span != last.Sub(first) {
			t.Errorf("%s: spans %v, want %v", c.name, span, last.Sub(first))
		}
		set.Half = c.answer
		src = readSettled(t, content, set)
		if f := src.File; !f.First.Time().Equal(first) || !f.Last.Time().Equal(last) || len(f.Ask) != 0 {
			t.Errorf("%s: answered, %v to %v, want %v to %v; asks %+v", c.name, f.First, f.Last, first, last, f.Ask)
		}
		if odd := noteOf(src, "time.half-day-set") != nil; odd != strings.Contains(c.layout, "15") {
			t.Errorf("%s: the answer is called odd: %v", c.name, odd)
		}
	}
}

// everyTwoMinutes gives the lines of a log that begins at this hour, half a minute past, and their first and last time.
func everyTwoMinutes(from int, hours float64, layout string) (first, last time.Time, lines []string) {
	first = time.Date(2031, 6, 1, from, 0, 33, 0, time.UTC)
	for at := first; at.Sub(first).Hours() < hours; at = at.Add(2 * time.Minute) {
		lines = append(lines, fmt.Sprintf("%s QX4AA-7>APZ123,WIDE1-1:!4903.50N/07201.75W>Heron %d\n", at.Format(layout), len(lines)))
		last = at
	}
	return first, last, lines
}

// readSettled reads as often as the file asks for it.
func readSettled(t *testing.T, content []byte, set intake.Settings) *evidence.Source {
	t.Helper()
	for range 4 {
		s, err := intake.Read(bytes.NewReader(content), "a.log", 0, set, everything)
		var again *intake.ReadAgain
		if !errors.As(err, &again) {
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		set = again.Settings
	}
	t.Fatal("the file asks to be read again for ever")
	return nil
}
