package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
)

// runColumns are the runs table's columns: name with unit, and the cell of one run.
var runColumns = []struct {
	name string
	cell func(u *Unit, n int) string
}{
	{"unit", func(u *Unit, _ int) string { return textCell(u.Name) }},
	{"run", func(_ *Unit, n int) string { return strconv.Itoa(n + 1) }},
	{"label", func(u *Unit, n int) string { return textCell(u.Runs[n].Label) }},
	{"start_earliest_utc", func(u *Unit, n int) string { return deref(u.Runs[n].Start.Earliest) }},
	{"start_best_utc", func(u *Unit, n int) string { return deref(u.Runs[n].Start.Best) }},
	{"start_latest_utc", func(u *Unit, n int) string { return deref(u.Runs[n].Start.Latest) }},
	{"start_basis", func(u *Unit, n int) string { return u.Runs[n].Start.Basis }},
	{"last_heard_utc", func(u *Unit, n int) string { return deref(u.Runs[n].LastHeard) }},
	{"end_earliest_utc", func(u *Unit, n int) string { return deref(u.Runs[n].End.Earliest) }},
	{"end_best_utc", func(u *Unit, n int) string { return deref(u.Runs[n].End.Best) }},
	{"end_latest_utc", func(u *Unit, n int) string { return deref(u.Runs[n].End.Latest) }},
	{"end_state", func(u *Unit, n int) string { return u.Runs[n].End.State }},
	{"runtime_low_s", func(u *Unit, n int) string { return limit(u.Runs[n].Runtime, low) }},
	{"runtime_best_s", func(u *Unit, n int) string { return limit(u.Runs[n].Runtime, best) }},
	{"runtime_high_s", func(u *Unit, n int) string { return limit(u.Runs[n].Runtime, high) }},
	{"rankable", func(u *Unit, n int) string { return strconv.FormatBool(u.Runs[n].Rankable) }},
	{"transmissions_heard", func(u *Unit, n int) string { return strconv.Itoa(u.Runs[n].Transmissions) }},
	{"missed_low", func(u *Unit, n int) string { return limit(u.Runs[n].Missed, low) }},
	{"missed_best", func(u *Unit, n int) string { return limit(u.Runs[n].Missed, best) }},
	{"missed_high", func(u *Unit, n int) string { return limit(u.Runs[n].Missed, high) }},
	{"share_heard", func(u *Unit, n int) string { return limit(u.Runs[n].ShareHeard, best) }},
	{"rate_sent_per_h_low", func(u *Unit, n int) string { return limit(u.Runs[n].Rate, low) }},
	{"rate_sent_per_h_best", func(u *Unit, n int) string { return limit(u.Runs[n].Rate, best) }},
	{"rate_sent_per_h_high", func(u *Unit, n int) string { return limit(u.Runs[n].Rate, high) }},
	{"schedule", func(u *Unit, n int) string { return u.Runs[n].Schedule.Kind }},
	{"interval_s", func(u *Unit, n int) string { return limit(u.Runs[n].Schedule.Interval, best) }},
	{"charge_mah", func(u *Unit, n int) string { return limit(charge(&u.Runs[n]), best) }},
	{"charge_basis", func(u *Unit, n int) string { return chargeBasis(&u.Runs[n]) }},
	{"mean_current_low_ma", func(u *Unit, n int) string { return limit(meanMA(&u.Runs[n]), low) }},
	{"mean_current_best_ma", func(u *Unit, n int) string { return limit(meanMA(&u.Runs[n]), best) }},
	{"mean_current_high_ma", func(u *Unit, n int) string { return limit(meanMA(&u.Runs[n]), high) }},
}

// CSV writes the runs table: one row a run, units in the header, an empty cell for what is not known. Text that a spreadsheet
// would run as a formula gets an apostrophe in front, and control characters are written out.
func CSV(r *Report) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	row := make([]string, len(runColumns))
	for i, c := range runColumns {
		row[i] = c.name
	}
	_ = w.Write(row)
	for i := range r.Units {
		for n := range r.Units[i].Runs {
			for k, c := range runColumns {
				row[k] = c.cell(&r.Units[i], n)
			}
			_ = w.Write(row)
		}
	}
	w.Flush()
	return out.Bytes()
}

// textCell guards a text, also where a spreadsheet of another locale would begin a cell at a comma or semicolon within it.
func textCell(s string) string {
	var b strings.Builder
	before := ';'
	for _, r := range clean(s) {
		if strings.ContainsRune("=+-@＝＋－＠", r) && (before == ';' || before == ',') {
			b.WriteByte('\'')
		}
		b.WriteRune(r)
		before = r
	}
	return b.String()
}

func deref(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

func low(e *Estimate) *float64  { return e.Low }
func best(e *Estimate) *float64 { return e.Best }
func high(e *Estimate) *float64 { return e.High }

func limit(e *Estimate, of func(*Estimate) *float64) string {
	if e == nil || of(e) == nil || math.IsInf(*of(e), 0) {
		return ""
	}
	return strconv.FormatFloat(Round(*of(e), Digits), 'f', -1, 64)
}

func charge(r *Run) *Estimate {
	if r.Charge == nil {
		return nil
	}
	return r.Charge.MAh
}

func chargeBasis(r *Run) string {
	if r.Charge == nil {
		return ""
	}
	return r.Charge.Basis
}

func meanMA(r *Run) *Estimate {
	if r.Draw == nil {
		return nil
	}
	return r.Draw.MeanMA
}
