package report

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// Markdown writes the report as a document that others can check: verdicts first, then what they rest on.
func Markdown(r *Report) []byte {
	d := document{}
	title := r.Title
	if title == "" {
		title = "Battery test of beaconing radios"
	}
	d.line("# %s", cell(title))
	d.line("Lastbeacon %s, schema %s. Times are UTC. Brackets hold 95 %%.", r.Version, r.Schema)
	for i := range r.Comparisons {
		d.comparison(&r.Comparisons[i], 2)
	}
	for i := range r.Kinds {
		d.comparison(&r.Kinds[i], 2)
	}
	for i := range r.Units {
		d.unit(&r.Units[i])
	}
	d.outlook(r.Outlook)
	if r.NextTest != nil {
		d.line("## The next test")
		d.line("%s", cell(r.NextTest.Text))
	}
	d.evidence(r)
	d.notes(r.Notes)
	d.list("Still asked", len(r.Questions), func(i int) string { return r.Questions[i].Ask + " " + r.Questions[i].Why })
	d.list("Cautions", len(r.Cautions), func(i int) string { return r.Cautions[i].Text })
	return d.out.Bytes()
}

// A document collects Markdown; blocks are set apart by blank lines.
type document struct{ out bytes.Buffer }

func (d *document) line(format string, args ...any) {
	fmt.Fprintf(&d.out, format+"\n\n", args...)
}

func (d *document) table(head []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	d.row(head)
	d.row(strings.Split(strings.Repeat("---,", len(head)-1)+"---", ","))
	for _, r := range rows {
		d.row(r)
	}
	d.out.WriteByte('\n')
}

func (d *document) row(cells []string) {
	for _, c := range cells {
		d.out.WriteString("| " + cell(c) + " ")
	}
	d.out.WriteString("|\n")
}

func (d *document) list(head string, n int, item func(int) string) {
	if n == 0 {
		return
	}
	d.line("## %s", head)
	for i := range n {
		fmt.Fprintf(&d.out, "- %s\n", cell(item(i)))
	}
	d.out.WriteByte('\n')
}

// cell makes a text harmless inside Markdown: marks that would start a structure are escaped.
func cell(s string) string {
	return strings.NewReplacer("\\", "\\\\", "|", "\\|", "<", "&lt;", "`", "\\`", "[", "\\[", "*", "\\*", "_", "\\_").Replace(clean(s))
}

func (d *document) comparison(c *Comparison, level int) {
	name := c.A + " and " + c.B
	if c.Label != "" {
		name += ", " + c.Label
	}
	d.line("%s %s", strings.Repeat("#", level), cell(name))
	for _, v := range []Verdict{c.Runtime, c.Draw} {
		d.line("%s", cell(strings.TrimSpace(v.Text+" "+v.Basis)))
	}
	if c.Alike.Text != "" {
		d.line("%s", cell(c.Alike.Text))
	}
	var rows [][]string
	for _, k := range c.Conditions {
		rows = append(rows, []string{k.Name, strings.ReplaceAll(k.State, "_", " "), k.A, k.B, k.Text})
	}
	d.table([]string{"Condition", "State", c.A, c.B, "Why"}, rows)
	for i := range c.Groups {
		d.comparison(&c.Groups[i], level+1)
	}
}

func (d *document) unit(u *Unit) {
	d.line("## %s", cell(u.Name))
	if n, all := u.savedOnly(); all {
		d.line("%d transmissions heard, from a saved report.", n)
	} else {
		d.line("%d packets heard, of these %d transmissions and %d copies.", u.Heard, u.Transmissions, u.Duplicates)
	}
	var rows [][]string
	for n := range u.Runs {
		r := &u.Runs[n]
		rows = append(rows, []string{strconv.Itoa(n + 1), r.Label, moments(r.Start.Earliest, r.Start.Best, r.Start.Latest),
			moments(r.End.Earliest, r.End.Best, r.End.Latest), strings.ReplaceAll(r.End.State, "_", " "), durations(r.Runtime),
			strconv.Itoa(r.Transmissions), numbers(r.Missed, ""), numbers(r.Rate, ""), numbers(meanMA(r), "")})
	}
	d.table([]string{"Run", "Test", "Start", "End", "How it ended", "Run time", "Heard", "Missed", "Sent per h", "Mean mA"}, rows)
	for n := range u.Runs {
		d.run(u, n)
	}
	if u.IdleAndBeacon != nil && u.IdleAndBeacon.Text != "" {
		d.line("%s", cell(u.IdleAndBeacon.Text))
	}
}

func (d *document) run(u *Unit, n int) {
	r := &u.Runs[n]
	d.line("### %s, run %d", cell(u.Name), n+1)
	if len(r.Schedules) == 0 {
		d.line("%s", cell(r.Schedule.Text))
	}
	for i := range r.Schedules {
		d.line("From %s: %s", short(&r.Schedules[i].From), cell(r.Schedules[i].Schedule.Text))
	}
	if r.Draw != nil && r.Draw.Text != "" {
		d.line("%s", cell(r.Draw.Text))
	}
	for _, f := range r.Flags {
		d.line("%s", cell(f.Text))
	}
	if r.Now != nil {
		d.line("%s", cell(r.Now.Text))
	}
	d.periods(r.Periods)
	var parts [][]string
	for _, p := range r.Budget {
		basis := "found or stated"
		if p.Assumed {
			basis = "assumed"
		}
		parts = append(parts, []string{p.Name, p.Type, basis, strconv.FormatFloat(p.RelativePct, 'f', 2, 64)})
	}
	d.table([]string{"Part of the uncertainty", "Type", "Basis", "Relative standard uncertainty, %"}, parts)
}

func (d *document) periods(periods []Period) {
	var rows [][]string
	for _, p := range periods {
		row := []string{p.State, short(&p.Start), short(&p.End), strconv.Itoa(p.Transmissions), numbers(p.Missed, "")}
		if p.Interval == nil {
			row = append(row, "", "", "", "")
		} else {
			row = append(row, Duration(p.Interval.Min), Duration(p.Interval.Median), Duration(p.Interval.Mean), Duration(p.Interval.Max))
		}
		rows = append(rows, append(row, numbers(p.Rate, ""), numbers(p.Distance, "")))
	}
	d.table([]string{"Period", "From", "To", "Heard", "Missed", "Shortest", "Median", "Mean", "Longest", "Sent per h", "Metres"}, rows)
}

func (d *document) outlook(all []Outlook) {
	d.list("Outlook", len(all), func(i int) string { return all[i].Text })
}

func (d *document) evidence(r *Report) {
	d.line("## Evidence")
	var rows [][]string
	for _, f := range r.Evidence {
		rows = append(rows, []string{f.File, f.Format, strconv.Itoa(f.Lines), strconv.Itoa(f.Packets), strconv.Itoa(f.Fixes),
			strconv.Itoa(f.NotUsed), f.Zone + ", " + f.ZoneBasis, f.SHA256})
	}
	d.table([]string{"File", "Format", "Lines", "Packets", "Fixes", "Not used", "Zone", "SHA-256"}, rows)
	for i := range r.Evidence {
		if used := columnsUsed(&r.Evidence[i]); used != "" {
			d.line("Columns of %s: %s.", clean(r.Evidence[i].File), used)
		}
	}
}

func (d *document) notes(notes []Note) {
	d.list("Notes", len(notes), func(i int) string {
		n := notes[i]
		where := n.File
		if n.Line > 0 {
			where += ":" + strconv.Itoa(n.Line)
		}
		return fmt.Sprintf("%s: %s (%d) %s", where, n.Text, n.Count, n.Help)
	})
}
