// Package session runs the stages over dropped files and a bench: it holds the evidence between questions, says which files
// must be read again when a decision about them changed, and remembers what is costly to find (motion, schedules).
package session

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"
	"sort"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/bench"
	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
	"lastbeacon/core/report"
	"lastbeacon/core/traffic"
)

// Budget is how many bytes of receptions of one file are held before only those of the units' stations are.
const Budget = 24 << 20

// A Session holds the evidence of one sheet. It serves one caller at a time.
type Session struct {
	version string
	bench   *bench.Bench
	files   map[int]*file
	last    *analysis
	memory  memory
}

// A file is one dropped file: what it held, and the decisions and stations that its reading rested on.
type file struct {
	id     int
	name   string
	source *evidence.Source
	set    intake.Settings
	offset time.Duration   // how far its clock is ahead
	turned intake.Settings // what its own lines decided against what was assumed: day order, 12-hour clock
	kept   map[ax25.Call]bool
	saved  []savedUnit // of a saved report
}

// New gives an empty session; version is shown in reports.
func New(version string) *Session {
	return &Session{version: version, bench: &bench.Bench{Schema: bench.Schema}, files: map[int]*file{}}
}

// Prepare takes a bench before files are read, so that they are read under its settings.
func (s *Session) Prepare(text []byte) error {
	b, err := bench.Parse(text)
	if err != nil {
		return err
	}
	s.bench = b
	return nil
}

// Forget takes a file's evidence away.
func (s *Session) Forget(id int) {
	delete(s.files, id)
	s.last = nil
}

// An answer is what Analyse gives: a report, or the files that must be read again first. Files lists the host's numbers of the
// files in the order of the report's evidence.
type answer struct {
	Report    json.RawMessage `json:"report"`
	ReadAgain []int           `json:"read_again"`
	Files     []int           `json:"files"`
}

// around writes the answer as JSON around the pieces of a report. json.Marshal would read the report once more, which takes a tenth
// of an edit.
func (a answer) around(report [][]byte) ([]byte, error) {
	rest, err := json.Marshal(a)
	if err != nil {
		return nil, err
	}
	parts := append([][]byte{[]byte(`{"report":`)}, report...)
	return slices.Concat(append(parts, bytes.TrimPrefix(rest, []byte(`{"report":null`)))...), nil
}

// Analyse runs all stages under a bench and gives the answer as JSON.
func (s *Session) Analyse(text []byte) ([]byte, error) {
	if err := s.Prepare(text); err != nil {
		return nil, err
	}
	if again := s.stale(); len(again) > 0 {
		return json.Marshal(answer{ReadAgain: again})
	}
	files := s.ordered()
	s.memory.age()
	s.last = s.analyse(files)
	written, err := s.last.written()
	if err != nil {
		return nil, err
	}
	out := answer{ReadAgain: []int{}, Files: []int{}}
	for _, f := range files {
		out.Files = append(out.Files, f.id)
	}
	return out.around(written)
}

// Counts gives as JSON what each unit's rules come to under a bench, in a fraction of the time of the analysis for which that is a
// beginning: null where a file must be read again first.
func (s *Session) Counts(text []byte) ([]byte, error) {
	if err := s.Prepare(text); err != nil {
		return nil, err
	}
	if len(s.stale()) > 0 {
		return []byte("null"), nil
	}
	files := s.ordered()
	counts := []report.Counts{}
	for _, u := range s.gather(files, s.joined(files).Traffic()).units {
		counts = append(counts, countsOf(&u))
	}
	return json.Marshal(counts)
}

func countsOf(u *traffic.Unit) report.Counts {
	return report.Counts{Name: u.Name, Heard: u.Heard, Duplicates: u.Duplicates, Transmissions: len(u.Transmissions), Unassigned: u.Unassigned,
		Contested: u.Contested, Relayed: u.Relayed, Internet: u.Internet}
}

// stale lists the files whose reading rested on other decisions than the bench's, or lacks the packets of a new unit.
func (s *Session) stale() []int {
	var again []int
	for _, f := range s.files {
		if f.source == nil {
			continue
		}
		if set, offset := s.settings(f); !same(set, f.set) || offset != f.offset || !f.source.Whole && !s.keeps(f) {
			again = append(again, f.id)
		}
	}
	slices.Sort(again)
	return again
}

// keeps tells whether all stations of the bench's units were asked for when the file was read.
func (s *Session) keeps(f *file) bool {
	for call := range s.wanted() {
		if !f.kept[call] {
			return false
		}
	}
	return true
}

// wanted gives the stations whose packets are to be held: those of the units' rules.
func (s *Session) wanted() map[ax25.Call]bool {
	calls := map[ax25.Call]bool{}
	for i := range s.bench.Units {
		for _, m := range s.bench.Units[i].Match {
			if call, ok := ax25.ParseCall([]byte(m.Station)); ok {
				calls[call] = true
			}
		}
	}
	return calls
}

// settings gives what the bench decides about a file, else what its own lines decided.
func (s *Session) settings(f *file) (set intake.Settings, offset time.Duration) {
	set = intake.Settings{DayOrder: f.turned.DayOrder, HalfDay: f.turned.HalfDay, Pastes: f.turned.Pastes}
	if s.bench.Options != nil {
		set.Zone = s.bench.Options.DefaultZone
	}
	digest := ""
	if f.source != nil {
		digest = f.source.File.SHA256
	}
	known := s.bench.FileOf(f.name, digest)
	if known == nil {
		return set, 0
	}
	set.Zone = cmp.Or(known.Zone, set.Zone)
	set.DayOrder = cmp.Or(known.DayOrder, set.DayOrder)
	set.Half, set.Date = known.HalfDay, known.Date
	for _, c := range known.Columns {
		set.Columns = append(set.Columns, intake.Column(c))
	}
	return set, known.Offset()
}

func same(a, b intake.Settings) bool {
	return a.Zone == b.Zone && a.DayOrder == b.DayOrder && a.HalfDay == b.HalfDay && a.Half == b.Half && a.Date == b.Date && slices.Equal(a.Columns, b.Columns) && slices.Equal(a.Pastes, b.Pastes)
}

// ordered gives the files that were read, by name and content, so that the order of dropping changes nothing; their lines
// are renumbered to that order.
func (s *Session) ordered() []*file {
	var files []*file
	for _, f := range s.files {
		if f.source != nil {
			files = append(files, f)
		}
	}
	sort.Slice(files, func(i, j int) bool {
		a, b := files[i], files[j]
		return cmp.Or(cmp.Compare(a.name, b.name), cmp.Compare(a.source.File.SHA256, b.source.File.SHA256), cmp.Compare(a.id, b.id)) < 0
	})
	for i, f := range files {
		f.source.Renumber(evidence.FileID(i))
	}
	return files
}
