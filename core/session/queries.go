package session

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
)

var errNothing = errors.New("nothing has been analysed yet")

// Lanes gives what the strips draw, run by run.
func (s *Session) Lanes() ([]byte, error) {
	if s.last == nil {
		return nil, errNothing
	}
	lanes := []report.Lane{}
	for i := range s.last.runs {
		for k := range s.last.runs[i] {
			lanes = append(lanes, s.last.lane(i, k))
		}
	}
	return json.Marshal(lanes)
}

func (a *analysis) lane(i, k int) report.Lane {
	run := &a.runs[i][k]
	l := report.Lane{Unit: a.units[i].Name, Run: k, Sent: []float64{}, Missed: []float64{}, Due: []report.Due{}, Silent: []report.Silence{}}
	for _, n := range run.Transmissions {
		l.Sent = append(l.Sent, float64(a.units[i].Transmissions[n].At))
	}
	for _, t := range run.MissedAt {
		l.Missed = append(l.Missed, float64(t))
	}
	for _, e := range run.Expected {
		l.Due = append(l.Due, report.Due{At: float64(e.At), Interval: e.Interval})
	}
	for _, d := range run.Deaf {
		l.Silent = append(l.Silent, report.Silence{Start: float64(d.Start), End: float64(d.End)})
	}
	l.Way, l.Places = a.way(i, k)
	l.Paces, l.Curve = a.paces(i, k)
	return l
}

// A query asks for receptions: of a unit, a run of it (from 0; -1 any), a station, a file or a line, in a stretch of time, and
// of those that became something only, such as copies.
type query struct {
	Unit    string   `json:"unit"`
	Run     *int     `json:"run"`
	Station string   `json:"station"`
	File    *int     `json:"file"` // place in the report's evidence
	Line    int      `json:"line"`
	From    *float64 `json:"from"` // Unix ms
	Until   *float64 `json:"until"`
	Why     string   `json:"why"` // as in an item; "" any
	Limit   int      `json:"limit"`
}

// An item is one line of evidence and what became of it.
type item struct {
	File         string  `json:"file"`
	FileID       int     `json:"file_id"`
	Line         int     `json:"line"`
	At           *string `json:"at"`
	Station      string  `json:"station"`
	Raw          string  `json:"raw"`
	Why          string  `json:"why"` // counted | copy | internet | unassigned
	Unit         string  `json:"unit"`
	Transmission int     `json:"transmission"`
}

// mostItems bounds an answer whatever limit is asked for.
const mostItems = 2000

// Packets gives the receptions that a query asks for, in order of time.
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
	items := []item{}
	claims := s.last.claims()
	for i := range s.last.evidence.Receptions {
		r := &s.last.evidence.Receptions[i]
		c, claimed := claims[r.Line]
		if !s.last.asked(&q, r, c, claimed) {
			continue
		}
		if len(items) == limit {
			break
		}
		items = append(items, item{File: s.last.evidence.Files[r.Line.File].Name, FileID: int(r.Line.File), Line: int(r.Line.No),
			At: timeOf(r.At), Station: r.From.String(), Raw: textOf(r.Raw), Why: why(r, c, claimed), Unit: c.unit, Transmission: c.transmission})
	}
	return json.Marshal(items)
}

// A lineClaim says which unit counts a line, as which transmission (from 1), in which run (from 0; -1 none), and whether the
// line is the one counted or a copy.
type lineClaim struct {
	claim
	run   int
	first bool
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
			for h, r := range u.Transmissions[n].Heard {
				all[r.Line] = lineClaim{claim{u.Name, n + 1}, runs[n], h == 0}
			}
		}
	}
	return all
}

func (a *analysis) asked(q *query, r *evidence.Reception, c lineClaim, claimed bool) bool {
	switch {
	case q.Unit != "" && (!claimed || c.unit != q.Unit):
		return false
	case q.Run != nil && *q.Run >= 0 && c.run != *q.Run:
		return false
	case q.Station != "" && r.From.String() != q.Station:
		return false
	case q.File != nil && int(r.Line.File) != *q.File:
		return false
	case q.Line > 0 && int(r.Line.No) != q.Line:
		return false
	case q.From != nil && float64(r.At) < *q.From:
		return false
	case q.Until != nil && float64(r.At) > *q.Until:
		return false
	}
	return q.Why == "" || why(r, c, claimed) == q.Why
}

func why(r *evidence.Reception, c lineClaim, claimed bool) string {
	switch {
	case claimed && c.first:
		return "counted"
	case claimed:
		return "copy"
	case r.Heard == evidence.Internet:
		return "internet"
	}
	return "unassigned"
}

// Export renders the last analysis: summary, json, csv, md or transmissions.
func (s *Session) Export(kind string) ([]byte, error) {
	if s.last == nil {
		return nil, errNothing
	}
	switch kind {
	case "summary":
		return report.Summary(s.last.report), nil
	case "json":
		return s.last.written()
	case "csv":
		return report.CSV(s.last.report), nil
	case "md":
		return report.Markdown(s.last.report), nil
	case "transmissions":
		return s.last.transmissions()
	}
	return nil, fmt.Errorf("there is no export %q", kind)
}

// written gives the report as JSON, with the bench that it was made under so that others can repeat it.
func (a *analysis) written() ([]byte, error) {
	text, err := report.JSON(a.report)
	if err != nil {
		return nil, err
	}
	bench, err := json.Marshal(a.bench)
	if err != nil {
		return nil, err
	}
	out := append(text[:len(text)-1:len(text)-1], `,"bench":`...)
	return append(append(out, bench...), '}'), nil
}

// transmissions writes one object a line for each transmission of each unit: those of a run under its number, others under 0.
func (a *analysis) transmissions() ([]byte, error) {
	var out bytes.Buffer
	for i := range a.units {
		run := make([]int, len(a.units[i].Transmissions))
		for k := range a.runs[i] {
			for _, n := range a.runs[i][k].Transmissions {
				run[n] = k + 1
			}
		}
		for n := range a.units[i].Transmissions {
			text, err := json.Marshal(a.transmission(i, n, run[n]))
			if err != nil {
				return nil, err
			}
			out.Write(append(text, '\n'))
		}
	}
	return out.Bytes(), nil
}

func (a *analysis) transmission(i, n, run int) report.Transmission {
	t := &a.units[i].Transmissions[n]
	o := report.Transmission{Unit: a.units[i].Name, Run: run, N: n + 1, At: t.At.String()}
	if t.Fix != nil {
		o.Lat, o.Lon = rounded(t.Fix.Place.Lat), rounded(t.Fix.Place.Lon)
	}
	for _, r := range t.Heard {
		o.Lines = append(o.Lines, report.LineRef{File: a.evidence.Files[r.Line.File].Name, Line: int(r.Line.No)})
	}
	return o
}
