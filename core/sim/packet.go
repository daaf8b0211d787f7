package sim

import (
	"fmt"

	"lastbeacon/core/ax25"
)

// An Encoding is how a station writes its place.
type Encoding uint8

const (
	Plain Encoding = iota
	Compressed
	MicE
)

func (e Encoding) String() string { return [...]string{"plain", "compressed", "mic-e"}[e] }

// A Packet is how a station writes its beacons.
type Packet struct {
	Encoding     Encoding
	To           string // destination; Mic-E has its latitude there
	Symbol       [2]byte
	Comment      string
	CommentEvery int  // the comment stands in every n-th packet only; 0 and 1: in all
	Altitude     bool // tells the height
	Sequence     bool // numbers its packets from 0 after each power-on and tells the voltage, as base-91 telemetry
	Status       string
	StatusEvery  int    // every n-th transmission is a status text instead; 0 none
	Prefix       string // Mic-E: type byte before the text
	Suffix       string // Mic-E: type bytes after it
}

// A writer writes the packets of one station.
type writer struct {
	Packet
	header ax25.Header
	run, n int // of the packet to be written: its run, and how many went before in it
}

// write makes the packet of one transmission.
func (w *writer) write(f fix, s Sent, b Battery) (ax25.Header, []byte) {
	if s.Run != w.run || s.Cause == Restart {
		w.run, w.n = s.Run, 0
	}
	n := w.n
	w.n++
	h := w.header
	if w.StatusEvery > 0 && n%w.StatusEvery == w.StatusEvery-1 {
		return h, []byte(">" + w.Status)
	}
	text := w.text(n, f, s, b)
	if w.Encoding == MicE {
		var info []byte
		h.To, info = w.micE(f, s.Fix, text)
		return h, info
	}
	return h, w.place(f, s.Fix, text)
}

// text gives what stands behind the position.
func (w *writer) text(n int, f fix, s Sent, b Battery) (text string) {
	if w.Altitude && w.Encoding != MicE {
		text = fmt.Sprintf("/A=%06.0f", f.altitude/0.3048)
	}
	if w.CommentEvery <= 1 || n%w.CommentEvery == 0 {
		text += w.Comment
	}
	if w.Sequence {
		text += "|" + base91(n%8281) + base91(int(100*b.volts(s.Used))) + "|"
	}
	return text
}

// base91 writes 0 to 8280 in two bytes.
func base91(v int) string { return string([]byte{byte(v/91) + 33, byte(v%91) + 33}) }

// volts is a made-up discharge curve of two cells: 8.2 V when full, 6.6 V when spent, with a knee over the last tenth.
func (b Battery) volts(used float64) float64 {
	left := 1 - used/b.True
	if left < 0.1 {
		return 6.6 + 7*left
	}
	return 7.3 + (left - 0.1)
}
