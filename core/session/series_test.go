package session

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// Two voltages in one comment are two series, and never one that leaps between them.
func TestTwoVoltagesAreTwoSeries(t *testing.T) {
	var b strings.Builder
	for k := range 20 {
		at := time.Date(2031, 5, 2, 6, 0, 0, 0, time.UTC).Add(time.Duration(k) * time.Minute)
		fmt.Fprintf(&b, "%s QX1ABC-7>APZ001:!6203.90N/00938.10E[%.2fV %.2fV Bat=%.2f\n", at.Format(time.RFC3339), 8.2-0.01*float64(k), 12.4-0.02*float64(k), 4.1-0.01*float64(k))
	}
	r := reportOn(t, `{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`, input{"a.log", []byte(b.String())})
	got := ""
	for _, s := range r.Units[0].Runs[0].Series {
		got += fmt.Sprintf("%s %g to %g %s in %d;", s.Name, s.First, s.Last, s.Unit, len(s.Points))
	}
	if want := "Bat 4.1 to 3.91 V in 20;voltage 8.2 to 8.01 V in 20;voltage 2 12.4 to 12.02 V in 20;"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
