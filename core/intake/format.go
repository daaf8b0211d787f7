package intake

import (
	"bufio"
	"bytes"
	"strings"
)

// A Confidence says how sure a Sniff is, from 0 (not this format) to 100.
type Confidence int

// A Format is one kind of file that can be read. A new one costs a file of its own, one line in Formats, and a folder of
// samples.
type Format struct {
	Name   string                       // shown to the reader: "GPX track"
	Lacks  string                       // what a file of no known format would need to be of this one
	Mapped bool                         // Settings.Columns may tell what its fields mean
	Sniff  func(head []byte) Confidence // the beginning of the content; never the file's name
	read   func(rd *reading, r *bufio.Reader) error
}

// Formats lists what can be read. Of equal confidence, the earlier wins.
func Formats() []Format {
	return []Format{
		savedReport(),
		gpxTrack(),
		kmlTrack(),
		geoJSON(),
		pcapCapture(),
		kissCapture(),
		nmeaTrack(),
		jsonObjects(),
		csvTable(),
		monitorText(),
	}
}

// headSize is how much of the content the sniffers see. Where that tells nothing, as behind the headers of a mail, they see
// maxLine.
const headSize = 4 << 10

// read finds the format of the text and lets its reader work.
func (rd *reading) read(r *bufio.Reader) error {
	formats := Formats()
	best := rd.recognise(r, formats, headSize)
	if best < 0 {
		best = rd.recognise(r, formats, maxLine)
	}
	for best < 0 && rd.skipLong(r) {
		best = rd.recognise(r, formats, maxLine)
	}
	if best < 0 {
		return rd.unknown(r, formats)
	}
	if rd.src.File.Format == "" {
		rd.src.File.Format = formats[best].Name
	}
	return formats[best].read(rd, r)
}

// recognise gives the index of the format that the first n bytes look most like, -1 when none.
func (rd *reading) recognise(r *bufio.Reader, formats []Format, n int) int {
	head, _ := r.Peek(n)
	best, sure := -1, Confidence(0)
	for i := range formats {
		c := formats[i].Sniff(head)
		if c > 0 && formats[i].Mapped && len(rd.set.Columns) > 0 {
			c += 60 // somebody said which column is which
		}
		if c > sure {
			best, sure = i, c
		}
	}
	return best
}

// skipLong skips a line that is too long to tell anything.
func (rd *reading) skipLong(r *bufio.Reader) bool {
	head, err := r.Peek(maxLine)
	if err != nil || bytes.ContainsAny(head, "\r\n") {
		return false
	}
	start, _, _ := newLines(r, head).next()
	rd.src.File.Lines++
	rd.src.File.NotUsed++
	rd.notes.add(note{code: "line.too-long", line: rd.line(1).No, excerpt: start, unused: true})
	rd.base++
	return true
}

// unknown counts the lines of a file of no known format and says what each candidate missed.
func (rd *reading) unknown(r *bufio.Reader, formats []Format) error {
	lacks := make([]string, len(formats))
	for i, c := range formats {
		lacks[i] = c.Name + ": " + c.Lacks
	}
	why := texts["file.unknown"].text + " (" + strings.Join(lacks, "; ") + ")"
	head, _ := r.Peek(headSize)
	in := newLines(r, head)
	f := &rd.src.File
	for b, _, ok := in.next(); ok; b, _, ok = in.next() {
		f.Lines++
		if len(bytes.TrimSpace(b)) == 0 {
			f.Empty++
			continue
		}
		f.NotUsed++
		rd.notes.add(note{code: "file.unknown", line: rd.line(in.no).No, excerpt: b, unused: true, text: why})
	}
	switch {
	case f.Lines > 0 && f.Lines == f.Empty:
		rd.notes.add(note{code: "file.blank"})
	case in.no == 0 && f.NotUsed > 0:
		rd.notes.add(note{code: "file.unknown", text: why})
	}
	return nil
}
