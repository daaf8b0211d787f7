package session

import (
	"math"
	"unicode/utf8"

	"lastbeacon/core/clock"
	"lastbeacon/core/estimate"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
)

// estimateOf gives the report's form: null when unknown, a null limit where a side is open.
func estimateOf(e estimate.Estimate) *report.Estimate {
	if !e.Known {
		return nil
	}
	return &report.Estimate{Low: numberOf(e.Low), Best: numberOf(e.Best), High: numberOf(e.High)}
}

// numberOf gives null for what is no number.
func numberOf(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// positive gives null for zero too: for parameters that a kind of schedule does not have.
func positive(v float64) *float64 {
	if v <= 0 {
		return nil
	}
	return numberOf(v)
}

func timeOf(t clock.Instant) *string {
	if !t.Known() {
		return nil
	}
	s := t.String()
	return &s
}

// textOf shows raw bytes: as UTF-8 where they are, else as Latin-1.
func textOf(raw []byte) string {
	if utf8.Valid(raw) {
		return string(raw)
	}
	runes := make([]rune, len(raw))
	for i, b := range raw {
		runes[i] = rune(b)
	}
	return string(runes)
}

func fileOf(i int, f *evidence.File, again int) report.File {
	out := report.File{ID: i, File: f.Name, SHA256: f.SHA256, Kind: string(f.Kind), Format: f.Format, Bytes: f.Bytes,
		Lines: f.Lines, Packets: f.Packets, Fixes: f.Fixes, Readings: f.Readings, NotUsed: f.NotUsed, Empty: f.Empty,
		Again: again, First: timeOf(f.First), Last: timeOf(f.Last), Zone: f.Zone, ZoneBasis: f.ZoneBasis,
		TimeResolution: f.Resolution}
	for _, a := range f.Ask {
		ask := report.Ask{Field: a.Field, Choices: a.Choices, Taken: a.Taken, Why: a.Why}
		for k, line := range a.Lines {
			ask.Lines = append(ask.Lines, int(line.No))
			ask.Samples = append(ask.Samples, textOf(a.Samples[k]))
		}
		out.Asks = append(out.Asks, ask)
	}
	for _, c := range f.Columns {
		out.Columns = append(out.Columns, report.Column{No: c.No, Header: textOf([]byte(c.Header)), Sample: textOf(c.Sample), Meaning: c.Meaning, Said: c.Said})
	}
	return out
}

func noteOf(ev *evidence.Evidence, n *evidence.Note) report.Note {
	return report.Note{File: ev.Files[n.Line.File].Name, Line: int(n.Line.No), Column: int(n.Column), Code: n.Code, Text: n.Text,
		Help: n.Help, Excerpt: textOf(n.Excerpt), Count: int(n.Count), Unused: n.Unused}
}

func stationOf(s *evidence.Station, units []string) report.Station {
	return report.Station{Station: s.Call.String(), Destinations: s.Destinations, Comments: s.Comments, Sample: textOf([]byte(s.Sample)), Heard: s.Heard,
		Duplicates: s.Duplicates, Transmissions: s.Heard - s.Internet - s.Duplicates, First: timeOf(s.First), Last: timeOf(s.Last),
		TypicalInterval: positive(s.Typical), Internet: s.Internet, Units: units}
}

// exactOf gives a figure that has no bounds, nil where it is not known.
func exactOf(e estimate.Estimate) *float64 {
	if !e.Known {
		return nil
	}
	return numberOf(e.Best)
}
