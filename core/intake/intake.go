// Package intake reads dropped files into evidence: packet logs in monitor text and its relatives, GPS tracks, meter logs.
// The content decides the format, never the file's name. Every reader is plain Go over an io.Reader and holds a bounded
// part of the file. A line that cannot be used becomes a note with its place, what was wrong and what can be done; used,
// unused and empty lines add up to the lines of the file. Compression, byte order marks and line ends are undone once, ahead
// of all readers.
package intake

import (
	"cmp"
	"errors"
	"fmt"
	"io"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// Settings are what somebody decided about one file. Empty fields leave the decision to the file's content.
type Settings struct {
	Zone     string   // of stamps that state none: an IANA name, an offset, UTC
	DayOrder string   // "dmy", "mdy" or "ymd", for dates such as 02/05/2031 and 31-05-02
	HalfDay  HalfDay  // of a 12-hour clock without AM and PM; what an earlier reading found
	Half     string   // "am" or "pm": the half of the day of the first line, where stamps of a 12-hour clock tell neither
	Pastes   []int32  // lines at which a list without dates was pasted again; what an earlier reading found
	Date     string   // 2031-05-02: the day of the first line, for files that state times of day only
	Columns  []Column // what columns of a table, or fields of objects, hold; the first that fits a column counts
}

// A Column says what one column holds, in a word of Meanings. Header is its header, or its number from 1.
type Column struct{ Header, Meaning string }

// Keep says which receptions are held: all of them while they take up to Budget bytes, beyond that only those of stations
// that Station accepts. A nil Station accepts none.
//
// The other fields let a host follow the reading; each may be nil. Begin is given the file's description, whose counts grow
// while the file is read. Each is given every packet with its information decoded, Refused every line that was not used and
// the code that says why; what they are given holds only during the call.
type Keep struct {
	Budget  int64
	Station func(ax25.Call) bool
	Begin   func(*evidence.File)
	Each    func(*evidence.Reception, *aprs.Packet)
	Refused func(line int32, code string, text []byte)
}

// A ReadAgain error says that a late line overturned what was assumed of the earlier ones. The file must be read again with
// Settings, which are those of the failed reading with the right decision put in.
type ReadAgain struct {
	Settings Settings
	Line     evidence.Line // the line that decided
}

// ErrReadAgain is what errors.Is finds in a ReadAgain error.
var ErrReadAgain = errors.New("the file must be read again with other settings")

func (e *ReadAgain) Error() string {
	return fmt.Sprintf("line %d overturned what was assumed of the stamps: %v", e.Line.No, ErrReadAgain)
}

func (e *ReadAgain) Unwrap() error { return ErrReadAgain }

// Read reads the file called name from r. The SHA-256 of its bytes is the host's to take, whose own is many times faster than ours
// in WebAssembly, and to put into the description. The error is one of r, or a *ReadAgain; content that is odd, cut off, hostile or
// of no known format gives notes and what could be read.
func Read(r io.Reader, name string, id evidence.FileID, set Settings, keep Keep) (*evidence.Source, error) {
	in := &counted{r: r}
	rd := newReading(name, id, set, keep)
	err := rd.unpack(in)
	if _, drained := io.Copy(io.Discard, in); in.err != nil {
		err = in.err
	} else if err == nil {
		err = drained
	}
	if err != nil {
		return nil, err
	}
	rd.src.File.Bytes = in.n
	return rd.finish(), nil
}

// counted counts the bytes as dropped, and remembers an error of the host, which is no fault of the content.
type counted struct {
	r   io.Reader
	n   int64
	err error
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	if err != nil && err != io.EOF {
		c.err = err
	}
	return n, err
}

// reading is one file while it is read.
type reading struct {
	name       string
	set        Settings
	src        *evidence.Source
	notes      notes
	store      store
	dates      dating
	jumps      jumps
	unitsBelow bool // a row below the headers of a table gives their units
	base       int  // lines of earlier members of the same archive
}

func newReading(name string, id evidence.FileID, set Settings, keep Keep) *reading {
	rd := &reading{name: name, set: set, src: &evidence.Source{}}
	rd.src.File = evidence.File{ID: id, Name: name, Kind: evidence.Nothing, First: clock.None, Last: clock.None}
	rd.notes = notes{file: id, refused: keep.Refused}
	if keep.Begin != nil {
		keep.Begin(&rd.src.File)
	}
	rd.store = newStore(rd.src, keep)
	rd.dates = newDating(name, set, &rd.notes)
	rd.jumps = jumps{beats: map[ax25.Call]*beat{}, last: clock.None}
	return rd
}

// finish settles what only the whole file tells.
func (rd *reading) finish() *evidence.Source {
	f := &rd.src.File
	rd.store.finish()
	rd.unset()
	rd.dates.finish(f)
	f.Kind = kindOf(f)
	f.Format = cmp.Or(f.Format, "unknown")
	if rd.src.Survey.Over > 0 {
		rd.notes.add(note{code: "stations.many", count: rd.src.Survey.Over})
	}
	rd.src.Notes = rd.notes.list
	return rd.src
}

func kindOf(f *evidence.File) evidence.Kind {
	if f.Kind == evidence.Reports {
		return evidence.Reports
	}
	kinds := 0
	kind := evidence.Nothing
	for _, k := range []struct {
		n    int
		kind evidence.Kind
	}{{f.Packets, evidence.Packets}, {f.Fixes, evidence.Tracks}, {f.Readings, evidence.Meters}} {
		if k.n > 0 {
			kind = k.kind
			kinds++
		}
	}
	if kinds > 1 {
		return evidence.Mixed
	}
	return kind
}

// seen widens the stretch of time that the file covers.
func (rd *reading) seen(at clock.Instant) {
	f := &rd.src.File
	if f.First == clock.None || at < f.First {
		f.First = at
	}
	f.Last = max(f.Last, at)
}

// line names line no of the text that is read now.
func (rd *reading) line(no int) evidence.Line {
	return evidence.Line{File: rd.src.File.ID, No: int32(rd.base + no)}
}
