package report

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// Summary writes the report for a terminal: evidence, units, verdicts, and what is asked.
func Summary(r *Report) []byte {
	var out bytes.Buffer
	title := "Lastbeacon " + r.Version
	if r.Title != "" {
		title = clean(r.Title)
	}
	fmt.Fprintln(&out, title)
	summariseEvidence(&out, r)
	for i := range r.Units {
		summariseUnit(&out, &r.Units[i])
	}
	if len(r.Units) == 0 {
		summariseStations(&out, r)
		summariseProposals(&out, r)
	}
	for i := range r.Comparisons {
		summariseComparison(&out, &r.Comparisons[i])
	}
	for i := range r.Kinds {
		summariseComparison(&out, &r.Kinds[i])
	}
	for i := range r.Outlook {
		fmt.Fprintf(&out, "\nOutlook: %s\n", clean(r.Outlook[i].Text))
	}
	if r.NextTest != nil {
		fmt.Fprintf(&out, "\nNext test: %s\n", r.NextTest.Text)
	}
	summariseQuestions(&out, r.Questions)
	if len(r.Cautions) > 0 {
		fmt.Fprintln(&out)
	}
	for _, c := range r.Cautions {
		fmt.Fprintf(&out, "Caution: %s\n", c.Text)
	}
	return out.Bytes()
}

// asked is how many questions a terminal is given, the most useful first.
const asked = 3

func summariseQuestions(out *bytes.Buffer, all []Question) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintln(out, "\nAsked")
	for _, q := range all[:min(asked, len(all))] {
		fmt.Fprintf(out, "  %s %s\n", clean(q.Ask), clean(q.Why))
	}
	if more := len(all) - asked; more > 0 {
		fmt.Fprintf(out, "  and %d more, in the report\n", more)
	}
}

func summariseEvidence(out *bytes.Buffer, r *Report) {
	fmt.Fprintln(out, "\nEvidence")
	for _, f := range r.Evidence {
		fmt.Fprintf(out, "  %-20s %s: %d lines, %d packets, %d fixes", clean(f.File), f.Format, f.Lines, f.Packets, f.Fixes)
		if f.Readings > 0 {
			fmt.Fprintf(out, ", %d readings", f.Readings)
		}
		if f.NotUsed > 0 {
			fmt.Fprintf(out, ", %d not used", f.NotUsed)
		}
		if f.Again > 0 {
			fmt.Fprintf(out, ", %d read before", f.Again)
		}
		fmt.Fprintln(out)
		if used := columnsUsed(&f); used != "" {
			fmt.Fprintf(out, "  %-20s columns: %s\n", "", used)
		}
	}
	fmt.Fprintf(out, "  %d stations heard\n", r.StationsAll)
}

// listed is how many stations a terminal is given; the report has them all up to its own limit.
const listed = 40

func summariseStations(out *bytes.Buffer, r *Report) {
	if len(r.Stations) == 0 {
		return
	}
	fmt.Fprintln(out, "\nStations")
	for _, s := range r.Stations[:min(listed, len(r.Stations))] {
		fmt.Fprintf(out, "  %-10s %6d heard, %d transmissions, %s to %s", clean(s.Station), s.Heard, s.Transmissions, short(s.First), short(s.Last))
		if s.TypicalInterval != nil {
			fmt.Fprintf(out, ", typically %s apart", Duration(*s.TypicalInterval))
		}
		for _, c := range s.Comments {
			fmt.Fprintf(out, ", %q", clean(c))
		}
		fmt.Fprintln(out)
	}
	if more := r.StationsAll - listed; more > 0 {
		fmt.Fprintf(out, "  and %d more\n", more)
	}
}

func summariseProposals(out *bytes.Buffer, r *Report) {
	if len(r.Proposals) == 0 {
		return
	}
	fmt.Fprintln(out, "\nUnits that the evidence suggests; put them into a bench file to get their runs")
	for _, p := range r.Proposals {
		fmt.Fprintf(out, "  %-20s %s\n", clean(p.Name), clean(p.Text))
	}
}

// savedOnly tells whether nothing of a unit is known but runs of saved reports, and how many transmissions these had heard.
func (u *Unit) savedOnly() (transmissions int, all bool) {
	for i := range u.Runs {
		transmissions += u.Runs[i].Transmissions
	}
	return transmissions, u.Heard == 0 && len(u.Runs) > 0 && !slices.ContainsFunc(u.Runs, func(r Run) bool { return r.Saved == nil })
}

func summariseUnit(out *bytes.Buffer, u *Unit) {
	if n, all := u.savedOnly(); all {
		fmt.Fprintf(out, "\n%s: %d transmissions heard, from a saved report\n", clean(u.Name), n)
	} else {
		fmt.Fprintf(out, "\n%s: %d packets heard, %d transmissions, %d copies\n", clean(u.Name), u.Heard, u.Transmissions, u.Duplicates)
	}
	for n := range u.Runs {
		summariseRun(out, &u.Runs[n], n)
	}
	if s := u.IdleAndBeacon; s != nil && s.Text != "" {
		fmt.Fprintf(out, "  %s\n", clean(s.Text))
	}
}

func summariseRun(out *bytes.Buffer, run *Run, n int) {
	label := ""
	if run.Label != "" {
		label = ", " + clean(run.Label)
	}
	fmt.Fprintf(out, "  run %d%s\n", n+1, label)
	line := func(name, text string) {
		if text != "" {
			fmt.Fprintf(out, "    %-11s%s\n", name, text)
		}
	}
	line("start", moments(run.Start.Earliest, run.Start.Best, run.Start.Latest)+", "+strings.ReplaceAll(run.Start.Basis, "_", " "))
	line("last heard", short(run.LastHeard))
	line("end", moments(run.End.Earliest, run.End.Best, run.End.Latest)+", "+strings.ReplaceAll(run.End.State, "_", " "))
	line("run time", durations(run.Runtime))
	line("beacons", fmt.Sprintf("%d heard, missed %s; sent per hour %s", run.Transmissions, numbers(run.Missed, ""), numbers(run.Rate, "")))
	if len(run.Schedules) == 0 {
		line("schedule", clean(run.Schedule.Text))
	}
	for i := range run.Schedules {
		s := &run.Schedules[i]
		line("schedule", "from "+short(&s.From)+": "+clean(s.Schedule.Text))
	}
	if run.Draw != nil {
		line("draw", clean(run.Draw.Text))
	}
	for _, f := range run.Flags {
		line("note", clean(f.Text))
	}
	if run.Now != nil {
		line("now", clean(run.Now.Text))
	}
}

func summariseComparison(out *bytes.Buffer, c *Comparison) {
	label := ""
	if c.Label != "" {
		label = ", " + clean(c.Label)
	}
	fmt.Fprintf(out, "\n%s and %s%s\n", clean(c.A), clean(c.B), label)
	fmt.Fprintf(out, "  run time   %s\n", clean(c.Runtime.Text))
	fmt.Fprintf(out, "  draw       %s\n", clean(c.Draw.Text))
	if c.Alike.Text != "" {
		fmt.Fprintf(out, "  schedules  %s\n", clean(c.Alike.Text))
	}
	if c.LikeForLike != "" {
		fmt.Fprintf(out, "  fairness   %s: %s\n", clean(c.LikeForLike), clean(c.Fairness))
	}
	for _, k := range c.Conditions {
		fmt.Fprintf(out, "  %-10s %s\n", strings.ReplaceAll(k.State, "_", " "), clean(k.Text))
	}
	for i := range c.Groups {
		summariseComparison(out, &c.Groups[i])
	}
}

// short gives a time to the second without the T, "not known" for none.
func short(s *string) string {
	if s == nil || len(*s) < 19 {
		return "not known"
	}
	return strings.Replace((*s)[:19], "T", " ", 1) + "Z"
}

func moments(earliest, best, latest *string) string {
	switch {
	case best == nil && earliest == nil && latest == nil:
		return "not known"
	case best == nil && earliest != nil && latest == nil:
		return "after " + short(earliest)
	case best == nil && earliest == nil:
		return "before " + short(latest)
	case best == nil:
		return "between " + short(earliest) + " and " + short(latest)
	case earliest == nil || latest == nil || *earliest == *latest:
		return short(best)
	}
	return fmt.Sprintf("%s (%s to %s)", short(best), short(earliest)[11:], short(latest)[11:])
}
