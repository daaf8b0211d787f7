package intake_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// everything is a Keep that holds all of a small file.
var everything = intake.Keep{Budget: 64 << 20}

// read reads text as a file of its own and fails the test where reading fails or the lines do not add up.
func read(t *testing.T, text string, set intake.Settings) *evidence.Source {
	t.Helper()
	s, err := intake.Read(strings.NewReader(text), "unknown", 0, set, everything)
	if err != nil {
		t.Fatal(err)
	}
	addsUp(t, s)
	return s
}

// addsUp checks that used, unused and empty lines can be those of the file, and that the sums fit what is held.
func addsUp(t *testing.T, s *evidence.Source) {
	t.Helper()
	f := s.File
	if used := f.Lines - f.NotUsed - f.Empty; used < 0 || f.NotUsed < 0 || f.Empty < 0 {
		t.Errorf("lines %d, not used %d, empty %d", f.Lines, f.NotUsed, f.Empty)
	}
	unused := 0
	for _, n := range s.Notes {
		if n.Count < 1 || n.Text == "" || n.Help == "" {
			t.Errorf("note %+v has no count or no words", n)
		}
		if n.Unused {
			unused += int(n.Count)
		}
	}
	if unused < f.NotUsed {
		t.Errorf("%d lines were not used, notes speak of %d", f.NotUsed, unused)
	}
	if s.Whole && len(s.Receptions) != f.Packets {
		t.Errorf("%d receptions are held of %d packets", len(s.Receptions), f.Packets)
	}
}

// show writes receptions as time, heard, receiver and raw text.
func show(s *evidence.Source) []string {
	var out []string
	for _, r := range s.Receptions {
		out = append(out, fmt.Sprintf("%v %q", r.At, r.Raw))
	}
	return out
}

const packet = "QX1ABC-7>APZ001,WIDE1-1:!6001.00N/01000.00E>hill pack"

// Forms that people's logs take; no standard, common practice.
func TestMonitorForms(t *testing.T) {
	at := "2031-05-02T05:40:12Z"
	cases := []struct {
		name, text, at, raw string
		set                 intake.Settings
	}{
		{"igate log", "2031-05-02T05:40:12.345Z " + packet, "2031-05-02T05:40:12.345Z", packet, intake.Settings{}},
		{"terminal log in brackets", "[2031-05-02 07:40:12 CEST] " + packet, at, packet, intake.Settings{}},
		{"listing with a colon", "2031-05-02 07:40:12 CEST: " + packet, at, packet, intake.Settings{}},
		{"zone that was set", "2031-05-02 07:40:12 " + packet, at, packet, intake.Settings{Zone: "Europe/Oslo"}},
		{"place in the stamp", "2031-05-02 07:40:12 Europe/Oslo " + packet, at, packet, intake.Settings{}},
		{"epoch", "1935466812 " + packet, at, packet, intake.Settings{}},
		{"epoch and colon", "1935466812.500: " + packet, "2031-05-02T05:40:12.500Z", packet, intake.Settings{}},
		{"comma", "2031-05-02T05:40:12Z," + packet, at, packet, intake.Settings{}},
		{"quoted row", `"2031-05-02T05:40:12Z","` + packet + `"`, at, packet, intake.Settings{}},
		{"time of day and a date that was set", "05:40:12 " + packet, at, packet, intake.Settings{Date: "2031-05-02"}},
		{"12-hour clock", "5/2/2031, 5:40:12 AM " + packet, at, packet, intake.Settings{DayOrder: "mdy"}},
		{"port tag ahead", "[0] 2031-05-02T05:40:12Z " + packet, at, packet, intake.Settings{}},
		{"port tag behind", "2031-05-02T05:40:12Z [1.2] " + packet, at, packet, intake.Settings{}},
		{"words ahead", "rx level 40 2031-05-02T05:40:12Z port1: " + packet, at, packet, intake.Settings{}},
		{"date behind time", "2031-05-02 05:40:12 UTC R " + packet, at, packet, intake.Settings{}},
		{"mail quote", "> 2031-05-02T05:40:12Z " + packet, at, packet, intake.Settings{}},
		{"entities", "2031-05-02T05:40:12Z QX1ABC-7&gt;APZ001,WIDE1-1:!6001.00N/01000.00E&gt;hill pack", at, packet, intake.Settings{}},
		{"entities by number", "2031-05-02T05:40:12Z QX1ABC-7&#62;APZ001,WIDE1-1:!6001.00N/01000.00E&#x3e;hill&#32;pack", at, packet, intake.Settings{}},
		{"no-break blanks", "2031-05-02\u00a005:40:12\u00a0UTC\u00a0" + packet, at, packet, intake.Settings{}},
		{"frame type and stamp inside the header", "QX1ABC-7>APZ001,WIDE1-1 <UI> [2031-05-02 05:40:12Z]:!6001.00N/01000.00E>hill pack", at, packet, intake.Settings{}},
		{"two lines", "QX1ABC-7>APZ001,WIDE1-1 <<UI>> [2031-05-02 05:40:12Z]:\n!6001.00N/01000.00E>hill pack", at, packet, intake.Settings{}},
		{"stamp behind the header, two lines", "QX1ABC-7>APZ001,WIDE1-1: 2031-05-02 05:40:12Z\n!6001.00N/01000.00E>hill pack", at, packet, intake.Settings{}},
		{"tags and a stamp behind the header, two lines", "QX1ABC-7>APZ001,WIDE1-1: <UI> [2031-05-02 07:40:12 +02:00]:\n!6001.00N/01000.00E>hill pack", at, packet, intake.Settings{}},
		{"spelled on two lines", "fm QX1ABC-7 to APZ001 via WIDE1-1 ctl UI pid F0 [2031-05-02 05:40:12Z]\n!6001.00N/01000.00E>hill pack", at, packet, intake.Settings{}},
		{"third party on two lines", "QX1ABC-7>APZ001 <UI> [2031-05-02 05:40:12Z]:\n}QX2ABC>APZ002,TCPIP,QX1ABC-7*:>on duty", at, "QX1ABC-7>APZ001:}QX2ABC>APZ002,TCPIP,QX1ABC-7*:>on duty", intake.Settings{}},
		{"status with arrows on two lines", "QX1ABC-7>APZ001 <UI> [2031-05-02 05:40:12Z]:\n>ridge>valley:done", at, "QX1ABC-7>APZ001:>ridge>valley:done", intake.Settings{}},
		{"stamp on a line of its own", "2031-05-02 05:40:12 UTC\n" + packet, at, packet, intake.Settings{}},
		{"escaped bytes", "2031-05-02T05:40:12Z QX1ABC-7>UPQRST:`(_fn\"<0x1c>>/]hill", at, "QX1ABC-7>UPQRST:`(_fn\"\x1c>/]hill", intake.Settings{}},
		{"backslash bytes", "2031-05-02T05:40:12Z QX1ABC-7>UPQRST:`(_fn\"\\x1c>/]hill", at, "QX1ABC-7>UPQRST:`(_fn\"\x1c>/]hill", intake.Settings{}},
		{"escapes that print are text", "2031-05-02T05:40:12Z QX1ABC-7>APZ001:><0x41> \\x42", at, "QX1ABC-7>APZ001:><0x41> \\x42", intake.Settings{}},
		{"raw Mic-E bytes", "2031-05-02T05:40:12Z QX1ABC-7>UPQRST:`(_fn\"\x7f\x1d/]hill", at, "QX1ABC-7>UPQRST:`(_fn\"\x7f\x1d/]hill", intake.Settings{}},
		{"trailing blank stays", "2031-05-02T05:40:12Z QX1ABC-7>APZ001:>on duty \r", at, "QX1ABC-7>APZ001:>on duty ", intake.Settings{}},
		{"UTF-8 mark", "\ufeff2031-05-02T05:40:12Z " + packet, at, packet, intake.Settings{}},
		{"no time", packet, "unknown", packet, intake.Settings{}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := read(t, c.text+"\n", c.set)
			want := fmt.Sprintf("%s %q", c.at, c.raw)
			if got := show(s); len(got) != 1 || got[0] != want {
				t.Errorf("got  %v\nwant %s\nnotes %+v", got, want, s.Notes)
			}
		})
	}
}

// Where most packets stand on one line, a header still finds its information on the next one, and takes nothing else for it.
func TestTwoLinesAmongOthers(t *testing.T) {
	const header, info = "QX1ABC-7>APZ001,WIDE1-1:", "!6001.00N/01000.00E>hill pack"
	cases := []struct {
		name, behind string
		raw          string
		packets      int
		unused       int
	}{
		{"its information", info, packet, 4, 0},
		{"a message", ":QX9ABC   :hello{1", header + ":QX9ABC   :hello{1", 4, 0},
		{"another packet", "2031-05-02T05:40:13Z QX3ABC>APZ001:>b", header, 5, 0},
		{"a packet without a stamp", "QX3ABC>APZ001:>b", header, 5, 0},
		{"words", "modem restarted", header, 4, 1},
		{"a position that is cut off", "!6001.00N/010", header, 4, 1},
		{"a blank line", "\n" + info, header, 4, 1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			one := "2031-05-02T05:40:11Z QX2ABC>APZ001:>a\n"
			s := read(t, one+one+"2031-05-02T05:40:12Z "+header+"\n"+c.behind+"\n"+one, intake.Settings{})
			want := fmt.Sprintf("2031-05-02T05:40:12Z %q", c.raw)
			if got := show(s); len(got) != c.packets || got[2] != want || s.File.NotUsed != c.unused {
				t.Errorf("got %v, %d not used, want %d with %s and %d; notes %+v", got, s.File.NotUsed, c.packets, want, c.unused, s.Notes)
			}
		})
	}
}

// The bar marks the column that the note must name.
func TestMonitorNotes(t *testing.T) {
	cases := []struct {
		name, line, code string
		unused           bool
	}{
		{"no packet", "2031-05-02T05:40:12Z ‸started recording", "header.no-arrow", true},
		{"no source", "2031-05-02T05:40:12Z  ‸>APZ001:hello", "header.no-source", true},
		{"no end", "2031-05-02T05:40:12Z QX1ABC-7>APZ001,WIDE1-1‸", "header.no-end", true},
		{"empty destination", "2031-05-02T05:40:12Z QX1ABC-7>‸,WIDE1-1:hello", "header.destination", true},
		{"long destination", "2031-05-02T05:40:12Z QX1ABC-7>‸APZ0012345:hello", "header.destination", true},
		{"empty hop", "2031-05-02T05:40:12Z QX1ABC-7>APZ001,WIDE1-1,‸,WIDE2-1:hello", "header.hop", true},
		{"only the wrapped packet has a header", "2031-05-02T05:40:12Z QX1ABC APZ001:}QX2ABC‸>APZ002,TCPIP,QX1ABC*:>a", "header.no-source", true},
		{"no time", "‸" + packet, "time.missing", false},
		{"unsure zone", "2031-05-02 05:40:12 ‸CST " + packet, "time.unsure-zone", false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			column := strings.Index(c.line, "‸") + 1
			line := strings.Replace(c.line, "‸", "", 1)
			good := "2031-05-02T05:40:11Z " + packet + "\n"
			s := read(t, good+line+"\n"+good, intake.Settings{})
			for _, n := range s.Notes {
				if n.Code == c.code {
					if n.Line.No != 2 || int(n.Column) != column || n.Unused != c.unused || string(n.Excerpt) != line {
						t.Errorf("got %+v, want line 2, column %d, unused %v", n, column, c.unused)
					}
					return
				}
			}
			t.Errorf("no note %s among %+v", c.code, s.Notes)
		})
	}
}

// Mail wraps a pasted log at 72 columns: what stands on the second line is no packet of its own, and is called what it is.
func TestWrappedPaste(t *testing.T) {
	const first = "2031-05-02T05:40:12Z QX1ABC-7>APZ001,WIDE1-1,WIDE2-1:!6203.90N/00938.10E[hill"
	for _, c := range []struct {
		name, text string
		wrapped    int // notes of lines that go on
		packets    int
	}{
		{"indented", first + "\n  pack on the desk\n", 1, 1},
		{"quoted", "> " + first + "\n> pack on the desk\n", 1, 1},
		{"neither", first + "\npack on the desk\n", 1, 1},
		{"over three lines", first + "\n  pack on the\n  desk\n", 2, 1},
		{"within the header", "2031-05-02T05:40:12Z QX1ABC-7>APZ001,WIDE1-1,\n  WIDE2-1:!6203.90N/00938.10E[hill\n", 1, 0},
		{"a remark behind a short line", "2031-05-02T05:40:12Z QX1ABC-7>APZ001:>on\nstopped recording\n", 0, 1},
		{"a remark behind a blank line", first + "\n\n  stopped recording\n", 0, 1},
		{"a remark with a stamp", first + "\n2031-05-02T05:41:00Z stopped recording\n", 0, 1},
		{"a damaged packet", first + "\n  QX1ABC-7>:!6203.90N/00938.10E[hill\n", 0, 1},
	} {
		s := read(t, first+"\n\n"+c.text, intake.Settings{})
		n := 0
		for _, note := range s.Notes {
			if note.Code == "line.wrapped" {
				n += int(note.Count)
			}
		}
		if n != c.wrapped || len(s.Receptions) != c.packets+1 {
			t.Errorf("%s: %d packets, %d lines that go on, want %d and %d; notes %+v", c.name, len(s.Receptions)-1, n, c.packets, c.wrapped, s.Notes)
		}
	}
}

// times reads lines of which each is a stamp, and gives what became of it.
func times(t *testing.T, set intake.Settings, stamps ...string) ([]string, *evidence.Source) {
	t.Helper()
	var b strings.Builder
	for i, st := range stamps {
		if strings.HasPrefix(st, "#") {
			fmt.Fprintln(&b, st)
			continue
		}
		fmt.Fprintf(&b, "%s QX1ABC-7>APZ001:>%d\n", st, i)
	}
	s := read(t, b.String(), set)
	var got []string
	for _, r := range s.Receptions {
		got = append(got, r.At.String())
	}
	return got, s
}

func TestClocks(t *testing.T) {
	cases := []struct {
		name   string
		set    intake.Settings
		stamps []string
		want   []string
		codes  []string // notes that must be there
		ask    string   // field:taken
	}{
		{"over midnight", intake.Settings{Date: "2031-05-02"},
			[]string{"23:59:50", "00:00:10", "12:00:00"},
			[]string{"2031-05-02T23:59:50Z", "2031-05-03T00:00:10Z", "2031-05-03T12:00:00Z"}, []string{"time.no-zone"}, ""},
		{"a late line from before midnight", intake.Settings{Date: "2031-05-02"},
			[]string{"23:59:50", "00:00:10", "23:59:58", "00:00:20"},
			[]string{"2031-05-02T23:59:50Z", "2031-05-03T00:00:10Z", "2031-05-02T23:59:58Z", "2031-05-03T00:00:20Z"}, nil, ""},
		{"newest first is no row of midnights", intake.Settings{Date: "2031-05-03"},
			[]string{"00:02:00", "00:01:00", "00:00:10", "23:59:50", "23:58:00", "23:57:00"},
			[]string{"2031-05-03T00:02:00Z", "2031-05-03T00:01:00Z", "2031-05-03T00:00:10Z", "2031-05-02T23:59:50Z", "2031-05-02T23:58:00Z", "2031-05-02T23:57:00Z"}, nil, ""},
		{"no date is asked", intake.Settings{},
			[]string{"23:59:50", "00:00:10"},
			[]string{"2000-01-01T23:59:50Z", "2000-01-02T00:00:10Z"}, []string{"time.no-date"}, "date:2000-01-01"},
		{"date from a comment", intake.Settings{},
			[]string{"# opened 2031-05-02 05:00:00 UTC", "05:40:12"}, []string{"2031-05-02T05:40:12Z"}, nil, ""},
		{"day first by a late line of the first lines", intake.Settings{},
			[]string{"02/05/2031 05:40:12", "23/05/2031 05:40:12"}, []string{"2031-05-02T05:40:12Z", "2031-05-23T05:40:12Z"}, nil, ""},
		{"month first", intake.Settings{},
			[]string{"05/02/2031 05:40:12", "05/23/2031 05:40:12"}, []string{"2031-05-02T05:40:12Z", "2031-05-23T05:40:12Z"}, nil, ""},
		{"order told by midnight", intake.Settings{},
			[]string{"05/02/2031 23:59:12", "05/03/2031 00:01:12"}, []string{"2031-05-02T23:59:12Z", "2031-05-03T00:01:12Z"}, nil, ""},
		{"order asked", intake.Settings{},
			[]string{"02/05/2031 05:40:12", "02/05/2031 05:41:12"}, []string{"2031-05-02T05:40:12Z", "2031-05-02T05:41:12Z"}, nil, "day_order:dmy"},
		{"year first by a value", intake.Settings{},
			[]string{"31-05-02 05:40:12", "45-05-02 05:40:12"}, []string{"2031-05-02T05:40:12Z", "2045-05-02T05:40:12Z"}, nil, ""},
		{"year first told by midnight", intake.Settings{},
			[]string{"31-05-02 23:59:12", "31-05-03 00:01:12"}, []string{"2031-05-02T23:59:12Z", "2031-05-03T00:01:12Z"}, nil, ""},
		{"day first told by midnight between dashes", intake.Settings{},
			[]string{"30-04-31 23:59:12", "01-05-31 00:01:12"}, []string{"2031-04-30T23:59:12Z", "2031-05-01T00:01:12Z"}, nil, ""},
		{"year first or last is asked", intake.Settings{},
			[]string{"31-05-02 05:40:12", "31-05-02 05:41:12"}, []string{"2031-05-02T05:40:12Z", "2031-05-02T05:41:12Z"}, nil, "day_order:ymd"},
		{"year last was said", intake.Settings{DayOrder: "dmy"},
			[]string{"31-05-02 05:40:12", "31-05-02 05:41:12"}, []string{"2002-05-31T05:40:12Z", "2002-05-31T05:41:12Z"}, nil, ""},
		{"year first was said", intake.Settings{DayOrder: "ymd"},
			[]string{"31-05-02 05:40:12", "31-05-02 05:41:12"}, []string{"2031-05-02T05:40:12Z", "2031-05-02T05:41:12Z"}, nil, ""},
		{"year first was said of a year that stands last", intake.Settings{DayOrder: "ymd"},
			[]string{"23/05/2031 05:40:12"}, []string{"2031-05-23T05:40:12Z"}, []string{"time.day-order"}, ""},
		{"days that no calendar has", intake.Settings{},
			[]string{"2031-02-28 05:40:12", "2031-02-30 05:41:12", "30 Feb 2031 05:42:12", "[31-13-45 05:43:12]"}, []string{"2031-02-28T05:40:12Z", "2031-02-28T05:41:12Z", "2031-02-28T05:42:12Z", "2031-02-28T05:43:12Z"}, []string{"time.no-such-day"}, ""},
		{"no year", intake.Settings{Date: "2031-12-31"},
			[]string{"Dec 31 23:59:50", "Jan  1 00:00:10"}, []string{"2031-12-31T23:59:50Z", "2032-01-01T00:00:10Z"}, nil, ""},
		{"clock put forward", intake.Settings{Zone: "Europe/Oslo"},
			[]string{"2031-03-30 01:59:50", "2031-03-30 03:00:10"}, []string{"2031-03-30T00:59:50Z", "2031-03-30T01:00:10Z"}, nil, ""},
		{"clock put back", intake.Settings{Zone: "Europe/Oslo"},
			[]string{"2031-10-26 02:59:50", "2031-10-26 02:00:10", "2031-10-26 02:30:00", "2031-10-26 03:00:10"},
			[]string{"2031-10-26T00:59:50Z", "2031-10-26T01:00:10Z", "2031-10-26T01:30:00Z", "2031-10-26T02:00:10Z"}, []string{"time.twice"}, ""},
		{"clock put back in a log that began before", intake.Settings{Zone: "Europe/Oslo"},
			[]string{"2031-10-26 01:30:00", "2031-10-26 02:00:10", "2031-10-26 02:30:00", "2031-10-26 02:00:20", "2031-10-26 02:30:00"},
			[]string{"2031-10-25T23:30:00Z", "2031-10-26T00:00:10Z", "2031-10-26T00:30:00Z", "2031-10-26T01:00:20Z", "2031-10-26T01:30:00Z"}, []string{"time.twice"}, ""},
		{"clock put back, newest first", intake.Settings{Zone: "Europe/Oslo"},
			[]string{"2031-10-26 03:00:10", "2031-10-26 02:30:00", "2031-10-26 02:00:10", "2031-10-26 02:59:50", "2031-10-26 02:10:00"},
			[]string{"2031-10-26T02:00:10Z", "2031-10-26T01:30:00Z", "2031-10-26T01:00:10Z", "2031-10-26T00:59:50Z", "2031-10-26T00:10:00Z"}, nil, ""},
		{"an hour back without zone is asked and follows on", intake.Settings{},
			[]string{"2031-10-26 02:57:50", "2031-10-26 02:58:50", "2031-10-26 02:59:50", "2031-10-26 02:00:50", "2031-10-26 02:01:50"},
			[]string{"2031-10-26T02:57:50Z", "2031-10-26T02:58:50Z", "2031-10-26T02:59:50Z", "2031-10-26T03:00:50Z", "2031-10-26T03:01:50Z"}, []string{"time.hour-back"}, "zone:UTC"},
		{"a little disorder means nothing", intake.Settings{Zone: "UTC"},
			[]string{"2031-10-26 02:09:50", "2031-10-26 02:00:50"}, []string{"2031-10-26T02:09:50Z", "2031-10-26T02:00:50Z"}, nil, ""},
		{"much disorder is noted", intake.Settings{Zone: "UTC"},
			[]string{"2031-10-26 02:59:50", "2031-10-26 02:00:50"}, []string{"2031-10-26T02:59:50Z", "2031-10-26T02:00:50Z"}, []string{"time.out-of-order"}, ""},
		{"clock only in comment lines", intake.Settings{},
			[]string{"# server 2 May 2031 05:40:00 GMT", "", "", "# server 2 May 2031 05:40:20 GMT", "", "# server 2 May 2031 05:40:40 GMT"},
			[]string{"2031-05-02T05:40:00Z", "2031-05-02T05:40:00Z", "2031-05-02T05:40:20Z"}, []string{"time.from-comments"}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, s := times(t, c.set, c.stamps...)
			if strings.Join(got, " ") != strings.Join(c.want, " ") {
				t.Errorf("got  %v\nwant %v", got, c.want)
			}
			for _, code := range c.codes {
				if noteOf(s, code) == nil {
					t.Errorf("no note %s among %+v", code, s.Notes)
				}
			}
			ask := ""
			for _, a := range s.File.Ask {
				ask += a.Field + ":" + a.Taken
				if len(a.Lines) == 0 || len(a.Samples) != len(a.Lines) {
					t.Errorf("ask %+v shows no lines", a)
				}
			}
			if ask != c.ask {
				t.Errorf("asked %q, want %q", ask, c.ask)
			}
		})
	}
}

func noteOf(s *evidence.Source, code string) *evidence.Note {
	for i := range s.Notes {
		if s.Notes[i].Code == code {
			return &s.Notes[i]
		}
	}
	return nil
}

func TestResolution(t *testing.T) {
	minutes, always00, millis := []string{}, []string{}, []string{}
	for i := range 25 {
		minutes = append(minutes, fmt.Sprintf("2031-05-02 05:%02d", i))
		always00 = append(always00, fmt.Sprintf("2031-05-02 05:%02d:00", i))
		millis = append(millis, fmt.Sprintf("2031-05-02 05:%02d:07.%03d", i, i))
	}
	for _, c := range []struct {
		name   string
		stamps []string
		want   float64
	}{
		{"minutes", minutes, 60},
		{"seconds that are always 00", always00, 60},
		{"few seconds that are 00 may be chance", always00[:3], 1},
		{"milliseconds", millis, 0.001},
		{"comment lines 20 s apart", []string{"# 2031-05-02 05:40:00Z", "", "# 2031-05-02 05:40:20Z", "", "# 2031-05-02 05:40:40Z"}, 20},
	} {
		if _, s := times(t, intake.Settings{}, c.stamps...); s.File.Resolution != c.want {
			t.Errorf("%s: resolution %v s, want %v", c.name, s.File.Resolution, c.want)
		}
	}
}

func TestReadAgainWhenALateLineOverturnsTheOrder(t *testing.T) {
	var b strings.Builder
	for i := range 2000 {
		fmt.Fprintf(&b, "05/02/2031 %02d:%02d:12 %s\n", i/120, i/2%60, packet)
	}
	fmt.Fprintf(&b, "05/23/2031 05:40:12 %s\n", packet)
	_, err := intake.Read(strings.NewReader(b.String()), "a", 0, intake.Settings{Zone: "UTC"}, everything)
	var again *intake.ReadAgain
	if !errors.As(err, &again) || !errors.Is(err, intake.ErrReadAgain) {
		t.Fatalf("err = %v, want a ReadAgain", err)
	}
	if again.Settings.DayOrder != "mdy" || again.Settings.Zone != "UTC" || again.Line.No != 2001 {
		t.Errorf("got %+v", again)
	}
	s, err := intake.Read(strings.NewReader(b.String()), "a", 0, again.Settings, everything)
	if err != nil || s.File.Last.String() != "2031-05-23T05:40:12Z" || len(s.File.Ask) != 0 {
		t.Errorf("second reading: %v, %+v", err, s.File)
	}
}

// A list that runs over midnight long after its first lines tells the order of its dates.
func TestReadAgainWhenALateMidnightTellsTheOrder(t *testing.T) {
	var b strings.Builder
	for i := range 5000 {
		at := time.Date(2031, 11, 7, 18, 0, 0, 0, time.UTC).Add(time.Duration(i) * 6 * time.Second)
		fmt.Fprintf(&b, "%s %s\n", at.Format("01/02/2006 03:04:05 PM"), packet)
	}
	_, err := intake.Read(strings.NewReader(b.String()), "a", 0, intake.Settings{Zone: "UTC"}, everything)
	var again *intake.ReadAgain
	if !errors.As(err, &again) || again.Settings.DayOrder != "mdy" {
		t.Fatalf("err = %v, want to read again with the month first", err)
	}
	s, err := intake.Read(strings.NewReader(b.String()), "a", 0, again.Settings, everything)
	if err != nil || s.File.Last.String() != "2031-11-08T02:19:54Z" || len(s.File.Ask) != 0 {
		t.Errorf("second reading: %v, %+v", err, s.File)
	}
}

func TestDateFromTheFilesName(t *testing.T) {
	for name, want := range map[string]string{
		"ridge-2031-05-02.log": "2031-05-02", "20310502.txt": "2031-05-02", "log_2031_05_02_a.txt": "2031-05-02", "ridge.log": "2000-01-01", "120310502.log": "2000-01-01",
	} {
		s, err := intake.Read(strings.NewReader("05:40:12 "+packet), name, 0, intake.Settings{}, everything)
		if err != nil || len(s.File.Ask) != 1 || s.File.Ask[0].Taken != want || !strings.HasPrefix(s.File.First.String(), want) {
			t.Errorf("%s: %v %+v, want %s", name, err, s.File, want)
		}
	}
}

func TestPresenceOfCommentsAndGateways(t *testing.T) {
	text := "# 2031-05-02T05:00:00Z alive\n" +
		"2031-05-02T05:05:00Z QX1ABC-7>APZ001,qAR,QL2GW:>a\n" +
		"2031-05-02T06:05:00Z QX1ABC-7>APZ001,qAR,QL2GW:>a\n" +
		"2031-05-02T06:10:00Z QX1ABC-7>APZ001,TCPIP*,qAC,QL3SRV:>a\n"
	s := read(t, text, intake.Settings{})
	if got := fmt.Sprint(s.Presence); got != "[{0  [{2031-05-02T05:00:00Z 2031-05-02T05:05:00Z} {2031-05-02T06:05:00Z 2031-05-02T06:10:00Z}] true QX1ABC-7 false} "+
		"{0 QL2GW [{2031-05-02T05:05:00Z 2031-05-02T05:05:00Z} {2031-05-02T06:05:00Z 2031-05-02T06:05:00Z}] false QX1ABC-7 false}]" {
		t.Error(got)
	}
}

func TestLineEndsAndEncodings(t *testing.T) {
	line := "2031-05-02T05:40:12Z " + packet
	wide := func(order ...int) string {
		out := []byte{0xff, 0xfe}
		for _, c := range []byte(line + "\r\n" + line + "é\r\n") {
			out = append(out, c, 0)
		}
		if order != nil {
			for i := 0; i+1 < len(out); i += 2 {
				out[i], out[i+1] = out[i+1], out[i]
			}
		}
		return string(out)
	}
	for name, text := range map[string]string{
		"LF": line + "\n" + line + "\n", "CR LF": line + "\r\n" + line + "\r\n", "CR": line + "\r" + line + "\r", "no end": line + "\n" + line,
		"UTF-16 little": wide(), "UTF-16 big": wide(1),
	} {
		s := read(t, text, intake.Settings{})
		if s.File.Packets != 2 || s.File.Lines != 2 {
			t.Errorf("%s: %+v", name, s.File)
		}
	}
}

func TestLongLinesAreSkippedAndCounted(t *testing.T) {
	long := strings.Repeat("x", 10<<20)
	s := read(t, "2031-05-02T05:40:12Z "+packet+"\n"+long+"\n2031-05-02T05:40:13Z "+packet+"\n", intake.Settings{})
	if n := noteOf(s, "line.too-long"); s.File.Packets != 2 || s.File.NotUsed != 1 || n == nil || n.Line.No != 2 {
		t.Errorf("%+v %+v", s.File, s.Notes)
	}
}

func TestKeepPastTheBudget(t *testing.T) {
	var b bytes.Buffer
	for i := range 3000 {
		fmt.Fprintf(&b, "2031-05-02T05:%02d:%02dZ QX%dABC>APZ001,qAR,QL%dGW:>%d\n", i/60, i%60, i%5, i%5, i)
	}
	text := b.String()
	keep := intake.Keep{Budget: 50_000, Station: func(c ax25.Call) bool { return c.String() == "QX3ABC" }}
	s, err := intake.Read(strings.NewReader(text), "a", 0, intake.Settings{}, keep)
	if err != nil {
		t.Fatal(err)
	}
	addsUp(t, s)
	if s.Whole || len(s.Receptions) != 600 || s.File.Packets != 3000 || len(s.Survey.Stations()) != 5 {
		t.Errorf("whole %v, %d held of %d, %d stations", s.Whole, len(s.Receptions), s.File.Packets, len(s.Survey.Stations()))
	}
	for i, r := range s.Receptions {
		if r.From.String() != "QX3ABC" || !strings.HasSuffix(string(r.Raw), fmt.Sprintf(":>%d", 5*i+3)) {
			t.Fatalf("reception %d is %v %q", i, r.From, r.Raw)
		}
	}
}
