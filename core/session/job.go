package session

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// A Job is the reading of one file, as evidence or to write its packets out. Run pulls; Drain gives the host what there is
// to say after each chunk.
type Job struct {
	house  *Session
	file   *file
	set    intake.Settings
	offset time.Duration
	tally  *evidence.File // grows while the file is read
	rows   *rows          // of a reading that writes packets; nil when it takes evidence
	again  bool
	budget int64 // bytes of receptions to hold before only those of the units' stations are
}

type order struct {
	ID   int    `json:"id"`
	Name string `json:"name"`
	Mode string `json:"mode"` // evidence | excerpt: some lines of a file, among them all that name the units' stations | packets
}

// Open begins the reading of a file.
func (s *Session) Open(request []byte) (*Job, error) {
	var o order
	if err := json.Unmarshal(request, &o); err != nil {
		return nil, err
	}
	if o.Mode == "packets" {
		return s.openRows(o)
	}
	f := s.files[o.ID]
	if f == nil || f.name != o.Name {
		f = &file{id: o.ID, name: o.Name}
	}
	j := &Job{house: s, file: f, tally: &evidence.File{}, budget: Budget}
	if o.Mode == "excerpt" {
		j.budget = 0
	}
	j.set, j.offset = s.settings(f)
	return j, nil
}

func (s *Session) openRows(o order) (*Job, error) {
	f := s.files[o.ID]
	if f == nil || s.last == nil {
		return nil, errors.New("the packets can be written once the files have been analysed")
	}
	return &Job{house: s, file: f, set: f.set, rows: newRows(s.last, f)}, nil
}

// Run reads everything from r. Only an error of r is an error here; odd content becomes notes.
func (j *Job) Run(r io.Reader) error {
	keep := intake.Keep{Begin: func(f *evidence.File) { j.tally = f }}
	if j.rows != nil {
		keep.Each, keep.Refused = j.rows.packet, j.rows.refused
		_, err := intake.Read(r, j.file.name, evidence.FileID(j.file.id), j.set, keep)
		return err
	}
	wanted := j.house.wanted()
	keep.Budget = j.budget
	keep.Station = func(c ax25.Call) bool { return wanted[c] }
	source, err := intake.Read(r, j.file.name, evidence.FileID(j.file.id), j.set, keep)
	var again *intake.ReadAgain
	if errors.As(err, &again) {
		if again.Settings.DayOrder != j.set.DayOrder {
			j.file.turned.DayOrder = again.Settings.DayOrder
		}
		j.file.turned.HalfDay, j.file.turned.Pastes = again.Settings.HalfDay, again.Settings.Pastes
		j.again = true
		return nil
	}
	if err != nil {
		return fmt.Errorf("%s: %w", j.file.name, err)
	}
	source.Shift(-j.offset)
	j.file.source, j.file.set, j.file.offset, j.file.kept = source, j.set, j.offset, wanted
	return nil
}

// Drain gives the tally so far as JSON, or the rows written since the last call.
func (j *Job) Drain() ([]byte, error) {
	if j.rows != nil {
		return j.rows.drain(), nil
	}
	return json.Marshal(map[string]int{"lines": j.tally.Lines, "packets": j.tally.Packets, "notUsed": j.tally.NotUsed})
}

// Close ends the job. The evidence counts from now on, unless the file must be read again under what its own lines decided.
// digest is the file's SHA-256 in hex.
func (j *Job) Close(digest string) ([]byte, error) {
	if j.rows != nil {
		return j.rows.drain(), nil
	}
	j.house.files[j.file.id] = j.file
	if j.again {
		return []byte(`{"again":true}`), nil
	}
	j.file.source.File.SHA256 = digest
	j.file.saved = savedOf(j.file.source) // with the digest, which its runs are named by
	j.house.last = nil
	return []byte(`{"again":false}`), nil
}
