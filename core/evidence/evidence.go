// Package evidence holds, as plain values, what the dropped files contain: receptions of packets, fixes of GPS tracks,
// meter readings, the stations heard, and notes about lines that were odd. Readers make Sources; Gather joins them.
package evidence

import (
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/geo"
)

// A FileID is the place of a file in the order in which files were added, from 0. It never changes.
type FileID int32

// A Line names one line (or record, for binary files) of a file; No counts from 1. Every result leads back to Lines.
type Line struct {
	File FileID
	No   int32
}

// Heard says how a packet came to the receiver.
type Heard uint8

const (
	Direct   Heard = iota // no used hop: the unit itself was heard
	Repeated              // at least one used hop
	Internet              // never on the air at this receiver (TCPIP*, qAC ...): no radio transmission
)

// A Reception is one packet at one receiver. Raw is the monitor form SRC>DST,PATH:info as bytes; Info is the offset of
// the information field in it. At is the receiver's time, corrected by nothing; None when the line carries no time.
type Reception struct {
	At       clock.Instant
	Line     Line
	From, To ax25.Call
	Receiver ax25.Call // the gateway's call; the zero call means the file itself
	Heard    Heard
	Again    bool // the line stood before in the same file: the list was pasted twice
	Info     int32
	Raw      []byte
}

// InfoField gives the information field.
func (r *Reception) InfoField() []byte { return r.Raw[r.Info:] }

// A Fix is a place at a time: a track point or a beacon's position alike. Speed is in m/s and Course in degrees, NaN when
// not given. Cell tells how coarsely the place was sent.
type Fix struct {
	At            clock.Instant
	Place         geo.Place
	Cell          geo.Cell
	Speed, Course float32
	Line          Line
}

// A Track is one recorded GPS track; fixes in file order, as recorded.
type Track struct {
	File  FileID
	Name  string
	Fixes []Fix
}

// A Reading is one sample of a meter: NaN where the file gives none.
type Reading struct {
	At          clock.Instant
	Volts, Amps float64
	Line        Line
}

// A Note says that one line, or a whole file (Line.No 0), was odd: what happened and what the reader can do about it.
// Code is stable ("time.no-zone"); equal notes of a file are counted and the first is quoted.
type Note struct {
	Line    Line
	Column  int32 // from 1; 0 when the whole line is meant
	Code    string
	Text    string
	Help    string
	Excerpt []byte // the line itself, cut to 200 bytes
	Count   int32  // how many lines it stands for, at least 1
	Unused  bool   // the lines it stands for gave no evidence
}

// A Span is a stretch of time from Start to End.
type Span struct{ Start, End clock.Instant }

// Kind says what a file holds.
type Kind string

const (
	Packets Kind = "packets"
	Tracks  Kind = "track"
	Meters  Kind = "meter"
	Mixed   Kind = "mixed"
	Reports Kind = "report"
	Nothing Kind = "nothing"
)

// A File describes one dropped file after it was read. Lines = used + NotUsed + Empty, where used lines held a packet, a
// fix, a reading or structure that belongs to them.
type File struct {
	ID                       FileID
	Name                     string
	SHA256                   string // hex, of the bytes as dropped
	Bytes                    int64
	Format                   string // shown to the reader: "monitor text", "GPX track"
	Kind                     Kind
	Lines                    int
	Packets, Fixes, Readings int
	NotUsed, Empty           int
	First, Last              clock.Instant // first and last time in the file
	Zone                     string        // IANA name or "+02:00" or "UTC": what was applied to stamps without a zone
	ZoneBasis                string        // stated in the file | set by you | assumed
	Resolution               float64       // seconds: the step of the stamps (1, 60, 0.001 ...)
	Ask                      []Ask
	Columns                  []Column // of a table, or the fields of objects: what each was taken for
}

// A Column is one column of a table or one field of objects, and what it was taken for.
type Column struct {
	No      int    // its place from 1
	Header  string // empty where the table has no headers
	Sample  []byte // its first value
	Meaning string // a word of intake.Meanings; "none" where it is not used
	Said    bool   // by somebody; otherwise by its header
}

// An Ask is a decision about a file that its content leaves open: the reader is asked, with two real lines to look at.
type Ask struct {
	Field   string   // "day_order", "half_day", "zone", "date", "columns"
	Choices []string // what may be set; empty for free text
	Taken   string   // what was assumed meanwhile
	Why     string
	Lines   []Line
	Samples [][]byte
}

// A Presence tells when one receiver (or the file itself, for the zero call) gave a sign of life: any packet it heard, or a
// comment line that its software wrote. Spans are joined where less than ten minutes lie between two signs.
type Presence struct {
	File     FileID
	Receiver ax25.Call
	Spans    []Span
	Comments bool // at least one sign was a comment line
	First    ax25.Call
	Several  bool // it heard other stations than First, the first one heard
}

// Heard notes that it heard a station.
func (p *Presence) Heard(station ax25.Call) {
	if p.First.Zero() {
		p.First = station
	}
	p.Several = p.Several || p.First != station
}

// A Station sums up one call sign heard, over all files. Comments and Destinations hold the most frequent few.
type Station struct {
	Call         ax25.Call
	Heard        int           // receptions, lines that stood already elsewhere left out
	Internet     int           // of these, never on the air here
	Again        int           // lines that stood already elsewhere
	First, Last  clock.Instant // None when no line had a time
	Typical      float64       // seconds between transmissions, median of the last; 0 when fewer than three
	Duplicates   int           // receptions that are copies of a transmission
	Comments     []string
	Sample       string // the first comment of a station whose every comment differs from those before, so that Comments is empty
	Destinations []string
	Relayed      int // packets of others that carry it as a used hop
}

// A Source is what one file held. Receptions stand in file order. Whole: every packet of the file is kept; otherwise only
// those of the stations that were asked for. Survey sums up all of them either way.
type Source struct {
	File       File
	Receptions []Reception
	Whole      bool
	Survey     *Survey
	Tracks     []Track
	Readings   []Reading
	Presence   []Presence
	Notes      []Note
	Report     []byte // the text of a saved report, which is no evidence itself; nil for any other file
}

// A Repeat is a line that stood already: what it held (of a fix or a reading its time alone), and the line that counts.
type Repeat struct {
	Reception
	Of Line
}

// MostRepeats bounds the lines that are kept of what a file repeats.
const MostRepeats = 2000

// Evidence is all Sources joined: lines that stand in two places count once, receptions stand in order of time, then line.
type Evidence struct {
	Files      []File
	Again      []int    // per file: lines that stood already in this or an earlier file
	Repeats    []Repeat // those lines, at most MostRepeats of each file, by file and line
	Receptions []Reception
	Stations   []Station
	Tracks     []Track
	Readings   []Reading
	Presence   []Presence
	Notes      []Note
}
