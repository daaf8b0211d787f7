package session

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/report"
)

// A run that goes on has an outlook: the end that an earlier run foretells, be it in the same log or in a saved report, else what
// that waits for; and another pack is refused by what is lacking.
func TestOutlookOfARunThatGoesOn(t *testing.T) {
	r, _ := stillRunning(t, 1)
	for _, c := range []struct{ unit, want string }{{"Heron", "should end between"}, {"Lapwing", "waits for a run of it that ended"}} {
		for _, u := range r.Units {
			if u.Name == c.unit && !strings.Contains(u.Runs[len(u.Runs)-1].Now.Outlook, c.want) {
				t.Errorf("%s: %q", c.unit, u.Runs[len(u.Runs)-1].Now.Outlook)
			}
		}
	}
}

func TestSavedRunForetellsTheEnd(t *testing.T) {
	const bench = `{"schema":"lastbeacon.bench/1","outlook":{"packs":[{"capacity_mah":3000,"basis":"printed"}]},
		"units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`
	others := func(from time.Time, n int) []byte { // somebody else is heard on, so that the silence of Heron shows
		return []byte(strings.ReplaceAll(string(parked(from, n, 0)), "QX1ABC-7", "QN9HUT"))
	}
	first, second := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC), time.Date(2031, 5, 4, 6, 0, 0, 0, time.UTC)
	ended := append(parked(first, 144, 0), others(first.Add(10*time.Second), 200)...)
	going := append(parked(second, 60, 0), others(second.Add(10*time.Second), 60)...)
	noted := strings.Replace(bench, `"match"`, `"first_beacon":"at_once","runs":[{"power_on":{"at":"2031-05-02T05:59:50Z","precision_s":30}}],"match"`, 1)
	earlier := input{"earlier.json", exportedJSON(t, []byte(noted), input{"first.log", ended})}

	alone, after := reportOn(t, bench, input{"second.log", going}), reportOn(t, bench, earlier, input{"second.log", going})
	if o := alone.Outlook[0]; o.Refused != "running" || !strings.Contains(o.Text, "had not ended when the listening did") {
		t.Errorf("without an earlier run: %q %q", o.Refused, o.Text)
	}
	if o := lastRun(after).Now.Outlook; !strings.Contains(o, "waits for when it was switched on") {
		t.Errorf("nobody noted the power-on: %q", o)
	}
	after = reportOn(t, strings.Replace(noted, "2031-05-02", "2031-05-04", 1), earlier, input{"second.log", going})
	now := lastRun(after).Now
	if now == nil || now.ExpectedEnd == nil || !strings.Contains(now.Outlook, "should end between") {
		t.Fatalf("with a saved run: %+v", now)
	}
	// The earlier run lasted 12 h, its beacons five minutes apart.
	if got := instantOf(t, *now.ExpectedEnd.Best).Time().Sub(second); got < 11*time.Hour+45*time.Minute || got > 12*time.Hour+15*time.Minute {
		t.Errorf("foretold after %v, want about 12 h", got)
	}
}

// A run is called ended, or is said to go on, in its end and in how it stands alike.
func TestOneWordForARunThatJustEnded(t *testing.T) {
	from := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC)
	log := append(parked(from, 100, 0), []byte(strings.ReplaceAll(string(parked(from.Add(10*time.Second), 104, 0)), "QX1ABC-7", "QN9HUT"))...)
	run := lastRun(reportOn(t, `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`, input{"a.log", log}))
	if run.End.State != "ended" || run.Now == nil {
		t.Fatalf("%s, now %+v", run.End.State, run.Now)
	}
	if run.Now.ExpectedEnd != nil || run.Now.Outlook != "" || !strings.Contains(run.Now.Text, "That is called its end.") {
		text, _ := json.Marshal(run.Now)
		t.Errorf("an ended run is said to go on: %s", text)
	}
}

func lastRun(r *report.Report) report.Run {
	runs := r.Units[0].Runs
	for i := range runs {
		if runs[i].Saved == nil {
			return runs[i]
		}
	}
	return report.Run{}
}
