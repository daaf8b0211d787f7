package intake

import (
	"bufio"
	"bytes"
	"io"

	"lastbeacon/core/evidence"
)

// ReadAs reads content as the format of that name, whatever it looks like.
func ReadAs(format string, content []byte, set Settings, keep Keep) (*evidence.Source, error) {
	return ReadFrom(format, bytes.NewReader(content), set, keep)
}

// ReadFrom reads a stream as the format of that name.
func ReadFrom(format string, r io.Reader, set Settings, keep Keep) (*evidence.Source, error) {
	for _, f := range Formats() {
		if f.Name == format {
			rd := newReading("a", 0, set, keep)
			rd.src.File.Format = f.Name
			err := f.read(rd, bufio.NewReaderSize(r, maxLine))
			return rd.finish(), err
		}
	}
	panic("there is no format " + format)
}
