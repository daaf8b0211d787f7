package ax25

import (
	"bufio"
	"io"
)

// KISS framing bytes. Source: The KISS TNC, 1987.
const (
	fend  = 0xC0
	fesc  = 0xDB
	tfend = 0xDC
	tfesc = 0xDD
)

// MaxFrame bounds the bytes of one KISS frame. An AX.25 frame has at most 330; longer ones are rubbish.
const MaxFrame = 4096

// A KISSFrame is one frame of a KISS stream. Data is reused by the next Next. Fault is "" for a sound frame; otherwise Data
// holds what could be read. Offset is where its type byte stands in the stream.
type KISSFrame struct {
	Port, Command byte // Command 0 is data; 1 to 6 and 15 set up the modem
	Data          []byte
	Offset        int64
	Fault         Fault
}

// A KISSReader pulls frames out of a KISS stream: a capture of what a modem handed to its host.
type KISSReader struct {
	r   *bufio.Reader
	at  int64
	buf []byte
}

// NewKISSReader reads frames from r.
func NewKISSReader(r io.Reader) *KISSReader { return &KISSReader{r: bufio.NewReader(r)} }

// Next gives the next frame, or io.EOF after the last. Several FENDs in a row are one boundary.
func (k *KISSReader) Next() (KISSFrame, error) {
	k.buf = k.buf[:0]
	f := KISSFrame{}
	escaped, started := false, false
	for {
		o, err := k.r.ReadByte()
		if err == io.EOF && started {
			f.Fault = CutOffFrame
			return k.finish(f), nil
		}
		if err != nil {
			return KISSFrame{}, err
		}
		k.at++
		if o == fend {
			if !started {
				continue
			}
			if escaped {
				f.Fault = BadEscape
			}
			return k.finish(f), nil
		}
		if !started {
			started, f.Offset = true, k.at-1
		}
		escaped = k.take(o, escaped, &f)
	}
}

// take adds one byte to the frame, undoing escapes, and tells whether an escape is open after it.
func (k *KISSReader) take(o byte, escaped bool, f *KISSFrame) bool {
	if o == fesc && !escaped {
		return true
	}
	if escaped {
		switch o {
		case tfend:
			o = fend
		case tfesc:
			o = fesc
		default:
			f.Fault = BadEscape
		}
	}
	if len(k.buf) > MaxFrame {
		f.Fault = LongFrame
		return false
	}
	k.buf = append(k.buf, o)
	return false
}

func (k *KISSReader) finish(f KISSFrame) KISSFrame {
	if len(k.buf) == 0 {
		return f
	}
	f.Port, f.Command = k.buf[0]>>4, k.buf[0]&15
	f.Data = k.buf[1:]
	return f
}

// AppendKISS appends a data frame for the port (0 to 15) in KISS framing.
func AppendKISS(dst []byte, port byte, frame []byte) []byte {
	dst = appendEscaped(append(dst, fend), port<<4)
	for _, o := range frame {
		dst = appendEscaped(dst, o)
	}
	return append(dst, fend)
}

func appendEscaped(dst []byte, o byte) []byte {
	switch o {
	case fend:
		return append(dst, fesc, tfend)
	case fesc:
		return append(dst, fesc, tfesc)
	}
	return append(dst, o)
}
