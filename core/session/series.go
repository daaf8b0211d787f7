package session

import (
	"cmp"
	"slices"
	"sort"
	"strconv"

	"lastbeacon/core/aprs"
	"lastbeacon/core/endurance"
	"lastbeacon/core/evidence"
	"lastbeacon/core/report"
)

// mostPoints is how many points of a series a report keeps; longer ones are thinned evenly, first and last kept.
const mostPoints = 500

// fewestPoints is how often a value must have been told to be a series.
const fewestPoints = 3

// definitionsIn gathers what stations say of their telemetry in messages addressed to themselves.
func definitionsIn(ev *evidence.Evidence) map[string]*aprs.Definitions {
	all := map[string]*aprs.Definitions{}
	var p aprs.Packet
	for i := range ev.Receptions {
		r := &ev.Receptions[i]
		if info := r.InfoField(); len(info) == 0 || info[0] != ':' {
			continue
		}
		aprs.Decode(r.To, r.InfoField(), &p)
		if p.Kind != aprs.Message || string(p.Message.To) != r.From.String() {
			continue
		}
		d := all[r.From.String()]
		if d == nil {
			d = &aprs.Definitions{}
		}
		if d.Learn(&p.Message) {
			all[r.From.String()] = d
		}
	}
	return all
}

// A told is one quantity under one name from one source, as the unit told it over a run: the first of that name in its packets,
// or a further one.
type told struct {
	source  string
	reading aprs.Reading // Value is not used
	further int
}

// series gives each quantity that a unit told of itself over a run and that varied.
func (a *analysis) series(i int, run *endurance.Run) []report.Series {
	points := map[told][]report.SeriesPoint{}
	var p aprs.Packet
	var readings []aprs.Reading
	for _, n := range run.Transmissions {
		t := &a.units[i].Transmissions[n]
		r := t.Heard[0]
		aprs.Decode(r.To, r.InfoField(), &p)
		at := t.At.String()
		collect := func(source string) {
			for k, got := range readings {
				key := told{source, got, 0}
				key.reading.Value = 0
				for _, ahead := range readings[:k] {
					if ahead.Value = 0; ahead == key.reading {
						key.further++
					}
				}
				points[key] = append(points[key], report.SeriesPoint{At: at, V: got.Value})
			}
		}
		readings = aprs.AppendReadings(readings[:0], p.Comment)
		collect("comments")
		definitions := a.definitions[r.From.String()]
		if definitions == nil {
			definitions = &aprs.Definitions{}
		}
		readings = definitions.AppendReadings(readings[:0], p.Telemetry)
		collect("telemetry")
	}
	var out []report.Series
	for key, at := range points {
		if len(at) >= fewestPoints && varies(at) {
			out = append(out, seriesOf(key, at))
		}
	}
	sort.SliceStable(out, func(i, j int) bool {
		x, y := &out[i], &out[j]
		return cmp.Or(cmp.Compare(x.Source, y.Source), cmp.Compare(x.Name, y.Name), cmp.Compare(x.Unit, y.Unit)) < 0
	})
	return out
}

func varies(points []report.SeriesPoint) bool {
	return slices.ContainsFunc(points, func(p report.SeriesPoint) bool { return p.V != points[0].V })
}

func seriesOf(key told, points []report.SeriesPoint) report.Series {
	s := report.Series{Name: string(key.reading.Quantity), Unit: key.reading.Unit, Source: key.source,
		First: points[0].V, Last: points[len(points)-1].V, Points: fewer(points)}
	if key.reading.Label != "" {
		s.Name = textOf([]byte(key.reading.Label))
	}
	if key.further > 0 {
		s.Name += " " + strconv.Itoa(key.further+1)
	}
	return s
}

func fewer(points []report.SeriesPoint) []report.SeriesPoint {
	if len(points) <= mostPoints {
		return points
	}
	out := make([]report.SeriesPoint, mostPoints)
	for k := range out {
		out[k] = points[k*(len(points)-1)/(mostPoints-1)]
	}
	return out
}
