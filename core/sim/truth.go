package sim

import (
	"encoding/json"
	"math"

	"lastbeacon/core/clock"
)

// A Truth is what a simulated bench really did.
type Truth struct {
	Seed  uint64      `json:"seed"`
	Units []UnitTruth `json:"units"`
}

// UnitTruth is what one unit did.
type UnitTruth struct {
	Name    string     `json:"name"`
	Station string     `json:"station"`
	Runs    []RunTruth `json:"runs"`
}

// RunTruth is one charge. Spans are in seconds, charge in mAh, current in mA. End is the last moment at which the unit could
// have transmitted; what it sent in its afterlife counts neither in Sent nor in the charge.
type RunTruth struct {
	Label        string        `json:"label"`
	Start        When          `json:"start"`
	End          When          `json:"end"`
	Cause        string        `json:"cause"`
	RuntimeS     float64       `json:"runtime_s"`
	AwakeS       float64       `json:"awake_s"`
	IdleMA       float64       `json:"idle_ma"`
	AsleepMA     float64       `json:"asleep_ma"`
	MAhPerBeacon float64       `json:"mah_per_beacon"`
	PrintedMAh   float64       `json:"printed_mah"`
	CapacityMAh  float64       `json:"capacity_mah"`
	UsedMAh      float64       `json:"used_mah"`
	MeanMA       float64       `json:"mean_ma"`
	RatePerH     float64       `json:"rate_per_h"`
	Schedule     ScheduleTruth `json:"schedule"`
	Periods      []PeriodTruth `json:"periods"`
	Sent         []float64     `json:"sent_s"`      // seconds after Start
	Relayed      int           `json:"relayed"`     // packets of others, each at the charge of a beacon
	Afterlife    []float64     `json:"afterlife_s"` // seconds after Start
}

// ScheduleTruth names the rule and its settings, as the rule's type has them.
type ScheduleTruth struct {
	Kind     string `json:"kind"`
	Settings Rule   `json:"settings"`
}

// PeriodTruth is a stretch of one state within a run.
type PeriodTruth struct {
	State   string  `json:"state"` // stationary, moving
	Start   When    `json:"start"`
	End     When    `json:"end"`
	Metres  float64 `json:"distance_m"` // along the way
	Carried string  `json:"carried"`
}

// When is an instant that stands in JSON as RFC 3339, UTC.
type When clock.Instant

// MarshalText writes RFC 3339.
func (w When) MarshalText() ([]byte, error) { return clock.Instant(w).AppendTo(nil), nil }

// UnmarshalText reads RFC 3339.
func (w *When) UnmarshalText(b []byte) error {
	t, err := clock.Parse(string(b))
	*w = When(t)
	return err
}

// UnmarshalJSON reads kind and settings.
func (s *ScheduleTruth) UnmarshalJSON(b []byte) error {
	var raw struct {
		Kind     string
		Settings json.RawMessage
	}
	if err := json.Unmarshal(b, &raw); err != nil {
		return err
	}
	s.Kind = raw.Kind
	var err error
	switch s.Kind {
	case "fixed":
		s.Settings, err = settings[Fixed](raw.Settings)
	case "decaying":
		s.Settings, err = settings[Decaying](raw.Settings)
	case "adaptive":
		s.Settings, err = settings[Adaptive](raw.Settings)
	case "irregular":
		s.Settings, err = settings[ByHand](raw.Settings)
	}
	return err
}

func settings[R Rule](b []byte) (Rule, error) {
	var r R
	err := json.Unmarshal(b, &r)
	return r, err
}

// Join adds the runs of another truth about the same bench.
func (t *Truth) Join(o Truth) {
	for _, u := range o.Units {
		mine := t.unit(u.Name, u.Station)
		mine.Runs = append(mine.Runs, u.Runs...)
	}
}

// unit gives the unit of that name, new if need be.
func (t *Truth) unit(name, station string) *UnitTruth {
	for i := range t.Units {
		if t.Units[i].Name == name {
			return &t.Units[i]
		}
	}
	t.Units = append(t.Units, UnitTruth{Name: name, Station: station})
	return &t.Units[len(t.Units)-1]
}

func (t *Truth) add(label string, st Station, l *Life) {
	u := t.unit(st.Name, st.Call)
	for i := range l.Runs {
		u.Runs = append(u.Runs, l.truth(i, label))
	}
}

func (l *Life) truth(i int, label string) RunTruth {
	ran := l.Runs[i]
	b, hours := ran.Battery, ran.End.Sub(ran.Start).Hours()
	t := RunTruth{
		Label: label, Start: When(ran.Start), End: When(ran.End), Cause: ran.Cause,
		RuntimeS: round3(hours * secondsPerHour), AwakeS: round3(ran.Awake),
		IdleMA: b.Idle, AsleepMA: b.Asleep, MAhPerBeacon: b.Beacon,
		PrintedMAh: b.Printed, CapacityMAh: b.True, UsedMAh: round3(ran.Used),
		MeanMA: round3(ran.Used / hours), RatePerH: round3(float64(ran.Sent) / hours),
		Relayed: ran.Relayed, Schedule: ScheduleTruth{ran.Rule.Kind(), ran.Rule},
		Periods: l.periods(ran),
	}
	for _, s := range l.Sent {
		after := round3(s.At.Sub(ran.Start).Seconds())
		switch {
		case s.Run != i || s.Cause == Relay:
		case s.Cause == Restart:
			t.Afterlife = append(t.Afterlife, after)
		default:
			t.Sent = append(t.Sent, after)
		}
	}
	return t
}

func (l *Life) periods(ran Ran) (periods []PeriodTruth) {
	for _, s := range l.Way.stretches {
		shared := s.overlap(ran.span)
		if shared <= 0 {
			continue
		}
		p := PeriodTruth{State: "stationary", Carried: s.mode.String()}
		p.Start, p.End = When(l.At(max(s.from, ran.span.from))), When(l.At(min(s.until, ran.span.until)))
		if s.mode != Parked {
			p.State, p.Metres = "moving", math.Round(s.metres*shared/(s.until-s.from))
		}
		periods = append(periods, p)
	}
	return periods
}

func round3(v float64) float64 { return math.Round(v*1000) / 1000 }
