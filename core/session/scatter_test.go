package session

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"lastbeacon/core/report"
)

// hours writes typed runs of so many hours each, begun day by day.
func hours(each ...float64) string {
	var runs []string
	for i, h := range each {
		runs = append(runs, fmt.Sprintf(`{"power_on":{"at":"2031-05-%02dT00:00:00Z","precision_s":30},"typed":{"off":{"at":"2031-05-%02dT%02d:%02d:00Z","precision_s":30},"transmissions":100}}`,
			i+1, i+1, int(h), int(60*h)%60))
	}
	return strings.Join(runs, ",")
}

var (
	spreadNamed = regexp.MustCompile(`(?:spread of|scattered by) ([\d.]+)\x{a0}%`)
	runsNamed   = regexp.MustCompile(`([\d,]+)\x{a0}runs of each`)
)

// The verdict and the plan for the next test rest on one spread from run to run, which both name: the one that was seen where
// enough runs show it. Where the verdict says how many runs would tell, the plan asks for as many.
func TestVerdictAndNextTestRestOnOneSpread(t *testing.T) {
	for _, c := range []struct {
		name, a, b, spread string
		seen               bool
	}{
		{"one run each", hours(10), hours(10.3), "3", false},
		{"three runs each that scatter", hours(10, 10.8, 9.3), hours(10.1, 9.4, 11), "7.7", true}, // pooled sd of the logarithms, by hand
		{"three runs each that hardly differ", hours(10, 10, 10), hours(10.1, 10.1, 10.1), "1", false},
	} {
		r := reportOn(t, `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","runs":[`+c.a+`]},{"name":"Lapwing","runs":[`+c.b+`]}]}`)
		verdict := r.Comparisons[0].Runtime
		if got := named(spreadNamed, verdict.Basis); got != c.spread {
			t.Errorf("%s: the verdict rests on %q, want %s %%: %s", c.name, got, c.spread, verdict.Basis)
		}
		next := nextTestOf(t, r)
		if got := named(spreadNamed, next.Text); got != c.spread || strings.Contains(next.Text, "was seen") != c.seen || strings.Contains(next.Text, "assumed") == c.seen {
			t.Errorf("%s: the next test rests on %q, want %s %%: %s", c.name, got, c.spread, next.Text)
		}
		if more := named(runsNamed, verdict.Text); more != "" && more != fmt.Sprint(next.Runs) {
			t.Errorf("%s: %s runs by the verdict, %d by the next test", c.name, more, next.Runs)
		}
	}
}

func named(by *regexp.Regexp, text string) string {
	if found := by.FindStringSubmatch(text); found != nil {
		return found[1]
	}
	return ""
}

func nextTestOf(t *testing.T, r *report.Report) *report.NextTest {
	t.Helper()
	if r.NextTest == nil {
		t.Fatal("no next test")
	}
	return r.NextTest
}
