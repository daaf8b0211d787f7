package session

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/report"
)

// parked writes a log of a unit that beacons every five minutes from a moment on, by a clock that is ahead.
func parked(from time.Time, beacons int, ahead time.Duration) []byte {
	var b strings.Builder
	for k := range beacons {
		at := from.Add(time.Duration(k)*5*time.Minute + ahead)
		fmt.Fprintf(&b, "%s QX1ABC-7>APZ001,WIDE1-1:!6203.90N/00938.10E[hill %d\n", at.Format(time.RFC3339), k)
	}
	return []byte(b.String())
}

func reportOn(t *testing.T, bench string, inputs ...input) *report.Report {
	t.Helper()
	var r report.Report
	if err := json.Unmarshal(answerTo(t, []byte(bench), inputs), &r); err != nil {
		t.Fatal(err)
	}
	return &r
}

// A power-on that cannot be is refused and asked again; one that may stand in another zone is asked.
func TestPowerOnIsRefusedOrAsked(t *testing.T) {
	for _, c := range []struct{ name, on, basis, flag, question string }{
		{"just before the first packet", "05:59:40Z", "power_on", "", ""},
		{"an hour after the first packet", "07:00:10Z", "first_heard", "start.power_on_late", "power_on_zone"},
		{"two hours before, to the minute", "03:59:40Z", "power_on", "start.power_on_quarter", "power_on_zone"},
		{"three quarters of an hour before", "05:15:20Z", "power_on", "start.power_on_quarter", "power_on_zone"},
		{"22 min before", "05:38:00Z", "power_on", "start.power_on_early", "power_on_zone"},
	} {
		bench := `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}],"first_beacon":"at_once",
			"runs":[{"power_on":{"at":"2031-05-02T` + c.on + `","precision_s":30}}]}]}`
		log := parked(time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC), 60, 0)
		r := reportOn(t, bench, input{"a.log", log})
		run := r.Units[0].Runs[0]
		if run.Start.Basis != c.basis {
			t.Errorf("%s: the start rests on %s, want %s", c.name, run.Start.Basis, c.basis)
		}
		for _, f := range run.Flags {
			if strings.HasPrefix(f.Code, "start.power_on") && (f.Code != c.flag || f.Text == "") {
				t.Errorf("%s: flag %q %q, want %q", c.name, f.Code, f.Text, c.flag)
			}
		}
		asked := slices.ContainsFunc(r.Questions, func(q report.Question) bool { return q.Code == "power_on_zone" && q.Ask != "" })
		flagged := slices.ContainsFunc(run.Flags, func(f report.Flag) bool { return f.Code == c.flag })
		if asked != (c.question != "") || flagged != (c.flag != "") {
			t.Errorf("%s: asked %v, flags %v", c.name, asked, run.Flags)
		}
	}
}

// An offset is suggested and asked until it is taken over, and then the transmissions of both files are the same. With a
// third log that agrees with one of two, the other one is named, wherever it stands in the list.
func TestClockOffsetIsAskedAndTaken(t *testing.T) {
	from := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC)
	unit := `"units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`
	hill, ridge := input{"hill.log", parked(from, 40, 0)}, input{"ridge.log", parked(from, 40, 95*time.Second)}
	top := input{"top.log", parked(from, 40, 96*time.Second)} // lines of its own
	for _, c := range []struct {
		name, files string
		inputs      []input
		asks        string // of which file, and against which
		seconds     float64
	}{
		{"two logs alone", "", []input{hill, ridge}, "clock_either ridge.log against hill.log", 95},
		{"taken over", `"files":[{"name":"ridge.log","clock_offset_s":95}],`, []input{hill, ridge}, "", 0},
		{"taken over for the other", `"files":[{"name":"hill.log","clock_offset_s":-95}],`, []input{hill, ridge}, "", 0},
		{"a third log agrees", "", []input{hill, ridge, top}, "clock_offset hill.log against ridge.log", -95},
	} {
		r := reportOn(t, `{"schema":"lastbeacon.bench/1",`+c.files+unit, c.inputs...)
		asks, seconds := "", 0.0
		for _, q := range r.Questions {
			if strings.HasPrefix(q.Code, "clock_") {
				f := r.Evidence[slices.IndexFunc(r.Evidence, func(f report.File) bool { return f.File == q.File })]
				asks += q.Code + " " + q.File + " against " + f.OffsetAgainst
				seconds = *f.SuggestedOffset.Best
				if f.OffsetBasis != "two_logs" || f.OffsetEither != (q.Code == "clock_either") || *f.SuggestedOffset.Low > c.seconds || *f.SuggestedOffset.High < c.seconds {
					t.Errorf("%s: %+v", c.name, f)
				}
			}
		}
		if asks != c.asks || seconds != c.seconds {
			t.Errorf("%s: asked %q by %g s, want %q by %g s", c.name, asks, seconds, c.asks, c.seconds)
		}
		if c.asks == "" && r.Units[0].Transmissions != 40 {
			t.Errorf("%s: %d transmissions, want 40", c.name, r.Units[0].Transmissions)
		}
	}
}

// A log that states no zone beside one in UTC with the same packets is asked about its zone, and stands beside it once that is said.
// While a question about its stamps is open, nothing is said of its clock, since the answer may move its times.
func TestZoneIsAskedFromAnotherLog(t *testing.T) {
	from := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC)
	unit := `"units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`
	written := func(layout string, ahead time.Duration) (b []byte) {
		for _, line := range strings.Split(strings.TrimSpace(string(parked(from, 40, ahead))), "\n") {
			stamp, packet, _ := strings.Cut(line, " ")
			at, err := time.Parse(time.RFC3339, stamp)
			if err != nil {
				t.Fatal(err)
			}
			b = fmt.Appendf(b, "%s %s\n", at.Format(layout), packet)
		}
		return b
	}
	hill := input{"hill.log", parked(from, 40, 0)}
	local, slashed := input{"local.log", written(time.DateTime, 2*time.Hour)}, input{"local.log", written("02/01/2006 15:04:05", 95*time.Second)}
	for _, c := range []struct {
		name, file string
		local      input
		asks, zone string
		sent       int
	}{
		{"no zone", "", local, "clock_zone", "+02:00", 0},
		{"the zone was said", `"files":[{"name":"local.log","zone":"+02:00"}],`, local, "", "", 40},
		{"the order of the date is open", "", slashed, "day_order", "", 80},
		{"the order was said", `"files":[{"name":"local.log","day_order":"dmy"}],`, slashed, "clock_either", "", 80},
	} {
		r := reportOn(t, `{"schema":"lastbeacon.bench/1",`+c.file+unit, hill, c.local)
		asks := ""
		for _, q := range r.Questions {
			if q.File == "local.log" && q.Unit == "" {
				asks += q.Code
			}
		}
		f := r.Evidence[slices.IndexFunc(r.Evidence, func(f report.File) bool { return f.File == "local.log" })]
		if asks != c.asks || f.SuggestedZone != c.zone || c.sent > 0 && r.Units[0].Transmissions != c.sent {
			t.Errorf("%s: asked %q, suggested %q, %d transmissions; want %q, %q, %d", c.name, asks, f.SuggestedZone, r.Units[0].Transmissions, c.asks, c.zone, c.sent)
		}
	}
}

// Two units that beacon at unlike rates are ranked at one rate once a transmit current can be had: what is missing for it is
// asked before the switches, and the verdict says what would help.
func TestWhatWouldSplitTheDrawIsAsked(t *testing.T) {
	beat := func(call string, every time.Duration, beacons int) []byte {
		var b strings.Builder
		for k := range beacons {
			at := time.Date(2031, 6, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(k)*every + time.Duration(k%2)*time.Second)
			fmt.Fprintf(&b, "%s %s>APZ123,WIDE1-1:!6203.90N/00938.10E[hill %d\n", at.Format(time.RFC3339), call, k)
		}
		return []byte(b.String())
	}
	logs := []input{{"a.log", beat("QX4AA-7", 2*time.Minute, 270)}, {"b.log", beat("QX4BB-9", time.Minute, 420)}}
	unit := func(name, call, more string) string {
		return `{"name":"` + name + `","match":[{"station":"` + call + `"}],"first_beacon":"at_once","battery":{"capacity_mah":2000,"basis":"printed"` + more +
			`},"tx":{"power_w":5,"power_basis":"measured"},"conditions":{"second_receiver":"off"},"runs":[{"power_on":{"at":"2031-06-01T07:59:30Z","precision_s":30}}]}`
	}
	bench := func(more string) string {
		watched := `"watched":[{"until":"2031-06-01T20:00:00Z"}]`
		return `{"schema":"lastbeacon.bench/1","files":[{"name":"a.log",` + watched + `},{"name":"b.log",` + watched + `}],"units":[` +
			unit("Heron", "QX4AA-7", more) + `,` + unit("Lapwing", "QX4BB-9", more) + `]}`
	}
	r := reportOn(t, bench(""), logs...)
	draw := r.Comparisons[0].Draw
	if draw.Verdict != "cannot_rank" || !strings.Contains(draw.Text, "nominal pack voltage of Heron and Lapwing") || strings.Contains(draw.Text, "schedules differ") {
		t.Errorf("without a voltage: %s %q", draw.Verdict, draw.Text)
	}
	if r.Questions[0].Code != "nominal_v" || r.Questions[1].Code != "nominal_v" {
		t.Errorf("asked first: %v", r.Questions)
	}
	r = reportOn(t, bench(`,"nominal_v":7.4`), logs...)
	draw = r.Comparisons[0].Draw
	if !strings.Contains(draw.Text, "at one rate") || slices.ContainsFunc(r.Questions, func(q report.Question) bool { return q.Code == "nominal_v" }) {
		t.Errorf("with a voltage: %s %q", draw.Verdict, draw.Text)
	}
}
