package session

import (
	"encoding/json"
	"slices"
	"sort"

	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
	"lastbeacon/core/traffic"
)

// A query asks for receptions: of a unit, a run of it (from 0; -1 any) or one of several runs, of stations, of a file or what
// stands around a line of it, in a stretch of time, and of those that became something only, such as copies.
type query struct {
	Unit     string   `json:"unit"`
	Run      *int     `json:"run"`
	Among    []runRef `json:"among"`
	Stations []string `json:"stations"`
	By       []string `json:"by"`   // stations that repeated packets of others: those packets
	File     *int     `json:"file"` // place in the report's evidence
	Line     int      `json:"line"`
	From     *float64 `json:"from"` // Unix ms
	Until    *float64 `json:"until"`
	Why      string   `json:"why"` // as in an item, or again, answer, contested; "" any that counts
	Limit    int      `json:"limit"`
}

// A runRef names a run of a unit, from 0; -1 any.
type runRef struct {
	Unit string `json:"unit"`
	Run  int    `json:"run"`
}

// An item is one line of evidence and what became of it.
type item struct {
	File         string          `json:"file"`
	FileID       int             `json:"file_id"`
	Line         int             `json:"line"`
	At           *string         `json:"at"`
	Station      string          `json:"station"`
	Raw          string          `json:"raw"`
	Why          string          `json:"why"` // counted | copy | internet | untimed | unassigned | again | not used
	Unit         string          `json:"unit"`
	Transmission int             `json:"transmission"`
	Of           *report.LineRef `json:"of"` // the line that counts, of one that stood already
}

// mostItems bounds an answer whatever limit is asked for.
const mostItems = 2000

// around is how many lines before and after the one that is asked for are shown with it.
const around = 5

// Packets gives the receptions that a query asks for, in order of time; around a line, in order of lines.
func (s *Session) Packets(request []byte) ([]byte, error) {
	if s.last == nil {
		return nil, errNothing
	}
	var q query
	if err := json.Unmarshal(request, &q); err != nil {
		return nil, err
	}
	limit := mostItems
	if q.Limit > 0 {
		limit = min(q.Limit, mostItems)
	}
	items := s.last.items(&q)
	return json.Marshal(items[:min(len(items), limit)])
}

func (a *analysis) items(q *query) []item {
	if q.Why == "again" {
		return a.repeats(q)
	}
	items := []item{}
	claims := a.claims()
	by := callsOf(q.By)
	var header ax25.Header
	for i := range a.evidence.Receptions {
		r := &a.evidence.Receptions[i]
		c := claims[r.Line]
		if !q.about(r) || !q.claimed(c) || len(by) > 0 && !traffic.RelayedBy(r, &header, by) {
			continue
		}
		if q.Why != "" && q.Why != why(r, c) && !(q.Why == "contested" && c.contested) && !(q.Why == "answer" && c.answer) {
			continue
		}
		if items = append(items, a.item(r, why(r, c), c)); len(items) == mostItems && q.Line == 0 {
			break
		}
	}
	if q.Line > 0 {
		items = append(items, a.unusedAround(q)...)
		sort.SliceStable(items, func(i, j int) bool { return items[i].Line < items[j].Line })
	}
	return items
}

// repeats gives the lines of a file that stood already elsewhere.
func (a *analysis) repeats(q *query) []item {
	items := []item{}
	for i := range a.evidence.Repeats {
		r := &a.evidence.Repeats[i]
		if !q.about(&r.Reception) {
			continue
		}
		o := a.item(&r.Reception, "again", lineClaim{})
		o.Of = &report.LineRef{File: a.evidence.Files[r.Of.File].Name, Line: int(r.Of.No)}
		items = append(items, o)
	}
	return items
}

// unusedAround gives the lines around one that were not used, as far as notes quote them.
func (a *analysis) unusedAround(q *query) []item {
	var items []item
	for i := range a.evidence.Notes {
		n := &a.evidence.Notes[i]
		if r := (evidence.Reception{Line: n.Line, Raw: n.Excerpt}); n.Unused && q.about(&r) {
			items = append(items, a.item(&r, "not used", lineClaim{}))
		}
	}
	return items
}

func (a *analysis) item(r *evidence.Reception, why string, c lineClaim) item {
	return item{File: a.evidence.Files[r.Line.File].Name, FileID: int(r.Line.File), Line: int(r.Line.No), At: timeOf(r.At),
		Station: r.From.String(), Raw: textOf(r.Raw), Why: why, Unit: c.unit, Transmission: c.transmission}
}

func callsOf(texts []string) (calls []ax25.Call) {
	for _, t := range texts {
		if c, ok := ax25.ParseCall([]byte(t)); ok {
			calls = append(calls, c)
		}
	}
	return calls
}

// A lineClaim says which unit counts a line, as which transmission (from 1; 0 none), in which run (from 0; -1 none), and whether
// the line is the one counted or a copy.
type lineClaim struct {
	claim
	run               int
	first             bool
	contested, answer bool // the transmission fits another unit too; it answers a message
}

func (a *analysis) claims() map[evidence.Line]lineClaim {
	all := map[evidence.Line]lineClaim{}
	for i := range a.units {
		u := &a.units[i]
		runs := make([]int, len(u.Transmissions))
		for n := range runs {
			runs[n] = -1
		}
		for k := range a.runs[i] {
			for _, n := range a.runs[i][k].Transmissions {
				runs[n] = k
			}
		}
		for n := range u.Transmissions {
			t := &u.Transmissions[n]
			for h, r := range t.Heard {
				all[r.Line] = lineClaim{claim{u.Name, n + 1}, runs[n], h == 0, h == 0 && t.Contested, h == 0 && t.Ack}
			}
		}
		for _, line := range u.Aside {
			all[line] = lineClaim{claim: claim{unit: u.Name}, run: -1}
		}
	}
	return all
}

// about tells whether a query asks for the station, the place in the files and the time of a line.
func (q *query) about(r *evidence.Reception) bool {
	switch {
	case len(q.Stations) > 0 && !slices.Contains(q.Stations, r.From.String()),
		q.File != nil && int(r.Line.File) != *q.File,
		q.Line > 0 && (int(r.Line.No) < q.Line-around || int(r.Line.No) > q.Line+around),
		q.From != nil && float64(r.At) < *q.From,
		q.Until != nil && float64(r.At) > *q.Until:
		return false
	}
	return true
}

// claimed tells whether a query asks for lines of this unit and run.
func (q *query) claimed(c lineClaim) bool {
	is := func(unit string, run int) bool { return c.unit == unit && (run < 0 || c.run == run) }
	if q.Unit != "" {
		run := -1
		if q.Run != nil {
			run = *q.Run
		}
		return is(q.Unit, run)
	}
	return len(q.Among) == 0 || slices.ContainsFunc(q.Among, func(a runRef) bool { return is(a.Unit, a.Run) })
}

func why(r *evidence.Reception, c lineClaim) string {
	switch {
	case c.first:
		return "counted"
	case c.transmission > 0:
		return "copy"
	case r.Heard == evidence.Internet:
		return "internet"
	case c.unit != "":
		return "untimed"
	}
	return "unassigned"
}
