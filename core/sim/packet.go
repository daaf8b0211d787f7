package sim

import (
	"math"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/geo"
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
	TypeFirst    byte   // Mic-E: type byte before the text; 0 none
	TypeLast     string // Mic-E: type bytes behind it
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
	if w.StatusEvery > 0 && n%w.StatusEvery == w.StatusEvery-1 {
		return w.header, []byte(">" + w.Status)
	}
	return w.position(w.report(n, f, s, b), s.Fix)
}

// position writes a report; a radio without a fix repeats its last place and says that it is old, where the encoding can.
func (w *writer) position(r aprs.Report, current bool) (ax25.Header, []byte) {
	h := w.header
	switch w.Encoding {
	case MicE:
		r.OldFix = !current
		var info []byte
		info, h.To = aprs.AppendMicE(nil, r)
		return h, info
	case Compressed:
		info := aprs.AppendCompressed(nil, r)
		if !current {
			info[13] = '!' + 0x1a // the T byte without its bit for a current fix
		}
		return h, info
	}
	return h, aprs.AppendPlain(nil, r)
}

func (w *writer) report(n int, f fix, s Sent, b Battery) aprs.Report {
	r := aprs.Report{Place: f.place, Symbol: w.Symbol, Speed: f.speed, Course: f.course, Altitude: math.NaN()}
	r.TypeFirst, r.TypeLast = w.TypeFirst, w.TypeLast
	if w.Altitude {
		r.Altitude = f.altitude
	}
	if w.CommentEvery <= 1 || n%w.CommentEvery == 0 {
		r.Comment = w.Comment
	}
	if w.Sequence {
		r.Comment += "|" + base91(n%8281) + base91(int(100*b.volts(s.Used))) + "|"
	}
	return r
}

// appendPlain appends a plain position without its data type identifier.
func appendPlain(b []byte, p geo.Place, symbol [2]byte) []byte {
	r := aprs.Report{Place: p, Symbol: symbol, Speed: math.NaN(), Altitude: math.NaN()}
	return append(b, aprs.AppendPlain(nil, r)[1:]...)
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
