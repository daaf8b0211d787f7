package evidence_test

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

func call(s string) ax25.Call {
	c, ok := ax25.ParseCall([]byte(s))
	if !ok {
		panic(s)
	}
	return c
}

// source makes a file of receptions written "second station text"; the second "-" is no time.
func source(id evidence.FileID, sum string, resolution float64, lines ...string) *evidence.Source {
	s := &evidence.Source{Whole: true, Survey: evidence.NewSurvey()}
	s.File = evidence.File{ID: id, Name: fmt.Sprintf("file %d", id), SHA256: sum, Resolution: resolution, Packets: len(lines)}
	for i, l := range lines {
		f := strings.SplitN(l, " ", 3)
		at := clock.None
		if f[0] != "-" {
			var sec int64
			fmt.Sscan(f[0], &sec)
			at = clock.Instant(sec * 1000)
		}
		raw := f[1] + ">APZ001:>" + f[2]
		r := evidence.Reception{At: at, Line: evidence.Line{File: id, No: int32(i + 1)}, From: call(f[1]), To: call("APZ001"), Info: int32(len(f[1]) + 8), Raw: []byte(raw)}
		s.Receptions = append(s.Receptions, r)
		s.Survey.Add(&r, []byte(f[2]))
	}
	return s
}

func lines(ev *evidence.Evidence) string {
	var out []string
	for _, r := range ev.Receptions {
		out = append(out, fmt.Sprintf("%d:%d", r.Line.File, r.Line.No))
	}
	return strings.Join(out, " ")
}

func TestGather(t *testing.T) {
	cases := []struct {
		name    string
		sources []*evidence.Source
		want    string // receptions as file:line
		again   string
		heard   int // of QX1ABC
	}{
		{"by time, then line", []*evidence.Source{source(0, "a", 1, "20 QX1ABC a", "10 QX1ABC b"), source(1, "b", 1, "10 QX2ABC c", "15 QX1ABC d")},
			"0:2 1:1 1:2 0:1", "[0 0]", 3},
		{"the same file twice", []*evidence.Source{source(0, "a", 1, "10 QX1ABC a", "20 QX1ABC b"), source(1, "a", 1, "10 QX1ABC a", "20 QX1ABC b")},
			"0:1 0:2", "[0 2]", 2},
		{"two pastes that overlap", []*evidence.Source{source(0, "a", 1, "10 QX1ABC a", "20 QX1ABC b"), source(1, "b", 1, "20 QX1ABC b", "30 QX1ABC c")},
			"0:1 0:2 1:2", "[0 1]", 3},
		{"a line twice in one file", []*evidence.Source{source(0, "a", 1, "10 QX1ABC a", "20 QX1ABC b", "10 QX1ABC a")}, "0:1 0:2", "[1]", 2},
		{"equal lines of one minute are two packets", []*evidence.Source{source(0, "a", 60, "60 QX1ABC a", "60 QX1ABC a")}, "0:1 0:2", "[0]", 2},
		{"minute stamps in two files: the greater count", []*evidence.Source{source(0, "a", 60, "60 QX1ABC a"), source(1, "b", 60, "60 QX1ABC a", "60 QX1ABC a")},
			"0:1 1:2", "[0 1]", 2},
		{"same second, other bytes", []*evidence.Source{source(0, "a", 1, "10 QX1ABC a", "10 QX1ABC b")}, "0:1 0:2", "[0]", 2},
		{"lines without time are all kept", []*evidence.Source{source(0, "a", 1, "- QX1ABC a", "- QX1ABC a")}, "0:1 0:2", "[0]", 2},
		{"nothing", nil, "", "[]", 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			ev := evidence.Gather(c.sources)
			heard := 0
			for _, s := range ev.Stations {
				if s.Call == call("QX1ABC") {
					heard = s.Heard
				}
			}
			if lines(ev) != c.want || fmt.Sprint(ev.Again) != c.again || heard != c.heard {
				t.Errorf("got %s again %v heard %d, want %s again %s heard %d", lines(ev), ev.Again, heard, c.want, c.again, c.heard)
			}
		})
	}
}

// Overlapping pastes must not change what a station's row says, in whatever order the files come.
func TestGatherIsTheSameForPartsAndWhole(t *testing.T) {
	var all []string
	for i := range 100 {
		all = append(all, fmt.Sprintf("%d QX%dABC %d", 1000+i*30, i%3, i))
	}
	station := func(sources ...*evidence.Source) string {
		ev := evidence.Gather(sources)
		out := ""
		for _, s := range ev.Stations {
			out += fmt.Sprintf("%v %d %d %v %v %v; ", s.Call, s.Heard, s.Duplicates, s.First, s.Last, s.Typical)
		}
		return out
	}
	whole := station(source(0, "w", 1, all...))
	parts := station(source(0, "p", 1, all[:60]...), source(1, "q", 1, all[40:]...))
	swapped := station(source(0, "q", 1, all[40:]...), source(1, "p", 1, all[:60]...))
	if whole != parts || whole != swapped {
		t.Errorf("whole   %s\nparts   %s\nswapped %s", whole, parts, swapped)
	}
}

func TestSurvey(t *testing.T) {
	s := evidence.NewSurvey()
	add := func(at int64, info string, heard evidence.Heard, comment string) {
		r := evidence.Reception{At: clock.Instant(at*1000 + 1e12), From: call("QX1ABC"), To: call("APZ001"), Heard: heard, Raw: []byte(info)}
		s.Add(&r, []byte(comment))
	}
	for i := range int64(6) {
		add(i*120, fmt.Sprint("a", i), evidence.Direct, "hill pack")
		add(i*120+2, fmt.Sprint("a", i), evidence.Repeated, "hill pack") // a copy
	}
	add(725, "x", evidence.Internet, "")
	s.Relayed(call("QX1ABC"))
	s.Relayed(call("WIDE1-1"))
	got := s.Stations()
	if len(got) != 1 || got[0].Heard != 13 || got[0].Duplicates != 6 || got[0].Internet != 1 || got[0].Typical != 120 || got[0].Relayed != 1 ||
		fmt.Sprint(got[0].Comments) != "[hill pack]" || got[0].Last != 1e12+725000 {
		t.Errorf("got %+v", got)
	}
}

// A parked tracker sends the same bytes each time; heard by the file's own receiver, each is a transmission.
func TestSurveyCountsEqualDirectPackets(t *testing.T) {
	s := evidence.NewSurvey()
	for i := range 10 {
		s.Add(&evidence.Reception{At: clock.Instant(i * 20000), From: call("QX1ABC"), Raw: []byte("same")}, nil)
	}
	if got := s.Stations()[0]; got.Typical != 20 || got.Duplicates != 0 {
		t.Errorf("got %+v", got)
	}
}

// A station with a counter in its comment has comments, though none comes again.
func TestSurveyKeepsASampleOfCommentsThatDiffer(t *testing.T) {
	s := evidence.NewSurvey()
	for i := range 30 {
		s.Add(&evidence.Reception{At: clock.Instant(i * 60000), From: call("QX1ABC"), Raw: fmt.Append(nil, i)}, fmt.Appendf(nil, "hill pack %d", i))
	}
	if got := s.Stations()[0]; len(got.Comments) != 0 || got.Sample != "hill pack 0" {
		t.Errorf("comments %q, sample %q", got.Comments, got.Sample)
	}
}

// 100,000 stations must stay affordable in the page's memory, and comments that differ each time must not pile up.
func TestSurveyStaysFlat(t *testing.T) {
	before := heap()
	s := evidence.NewSurvey()
	r := evidence.Reception{To: call("APZ001"), Raw: []byte("x")}
	for i := range 200_000 {
		r.From, r.At = call(fmt.Sprintf("Q%dX", i%100_000)), clock.Instant(i)
		s.Add(&r, fmt.Appendf(nil, "comment %d", i))
	}
	if grown := heap() - before; s.Len() != 100_000 || grown > 32<<20 {
		t.Errorf("%d stations take %d MB", s.Len(), grown>>20)
	} else {
		t.Logf("%d stations take %d MB", s.Len(), grown>>20)
	}
	runtime.KeepAlive(s)
}

func heap() int64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

func TestPresence(t *testing.T) {
	var p evidence.Presence
	for _, s := range []int64{0, 300, 1200, 1199, 500, 2000} {
		p.See(clock.Instant(s * 1000))
	}
	p.Settle()
	if got := fmt.Sprint(p.Spans); got != "[{1970-01-01T00:00:00Z 1970-01-01T00:08:20Z} {1970-01-01T00:19:59Z 1970-01-01T00:20:00Z} {1970-01-01T00:33:20Z 1970-01-01T00:33:20Z}]" {
		t.Error(got)
	}
}
