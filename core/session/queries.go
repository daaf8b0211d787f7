package session

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

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

// Export renders the last analysis: summary, json, csv, md or transmissions.
func (s *Session) Export(kind string) ([]byte, error) {
	if s.last == nil {
		return nil, errNothing
	}
	switch kind {
	case "summary":
		return report.Summary(s.last.report), nil
	case "json":
		parts, err := s.last.written()
		return slices.Concat(parts...), err
	case "csv":
		return report.CSV(s.last.report), nil
	case "md":
		return report.Markdown(s.last.report), nil
	case "transmissions":
		return s.last.transmissions()
	}
	return nil, fmt.Errorf("there is no export %q", kind)
}

// written gives the report as JSON, with the bench that it was made under so that others can repeat it, in pieces that follow each
// other. Units and comparisons, which are most of it, are written when they are worded and only put in their place here.
func (a *analysis) written() ([][]byte, error) {
	rest := *a.report
	rest.Units, rest.Comparisons = nil, nil
	text, err := report.JSON(&rest)
	if err != nil {
		return nil, err
	}
	bench, err := json.Marshal(a.bench)
	if err != nil {
		return nil, err
	}
	const units, comparisons = `"units":[`, `],"comparisons":[`
	place := bytes.LastIndex(text, []byte(units+comparisons+"]")) + len(units) // little follows it
	parts := [][]byte{text[:place]}
	for i, t := range a.spoken {
		if t.err != nil {
			return nil, fmt.Errorf("unit %d: %w", i, t.err)
		}
		parts = listed(parts, i, t.text)
	}
	parts = append(parts, []byte(comparisons))
	for i, w := range a.words {
		if w.err != nil {
			return nil, fmt.Errorf("comparison %d: %w", i, w.err)
		}
		parts = listed(parts, i, w.text)
	}
	return append(parts, text[place+len(comparisons):len(text)-1], []byte(`,"bench":`), bench, []byte{'}'}), nil
}

// listed adds the i-th item of a list.
func listed(parts [][]byte, i int, text []byte) [][]byte {
	if i > 0 {
		parts = append(parts, []byte{','})
	}
	return append(parts, text)
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
