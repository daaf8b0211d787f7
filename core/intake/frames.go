package intake

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"io"
	"time"

	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
)

// Binary captures: what a packet modem handed to its host in KISS framing, which has no clock, and packet captures in pcap
// form with link type 3 (AX.25 frames) or 202 (the same behind a KISS type byte). Lines are frames, counted from 1.
// Sources: The KISS TNC, 1987; the list of link types at tcpdump.org.
func kissCapture() Format {
	return Format{Name: "KISS capture", Lacks: "no KISS frame", Sniff: sniffKISS, read: readKISS}
}

func sniffKISS(head []byte) Confidence {
	if len(head) < 18 || head[0] != 0xc0 {
		return 0
	}
	frame, err := ax25.NewKISSReader(bytes.NewReader(head)).Next()
	if err != nil || frame.Fault != "" {
		return 0
	}
	var h ax25.Header
	if frame.Command != 0 {
		return 20
	}
	if _, err := ax25.ParseFrame(frame.Data, &h); err != nil {
		return 20
	}
	return 100
}

// frames turns AX.25 frames into packets.
type frames struct {
	*reading
	header ax25.Header
	raw    []byte
}

// take reads one frame.
func (f *frames) take(frame []byte, at clock.Instant, no int) {
	info, err := ax25.ParseFrame(frame, &f.header)
	if err != nil {
		f.refuse(no, err.Error(), frame)
		return
	}
	f.raw = ax25.AppendMonitor(f.raw[:0], f.header, info)
	if at.Known() {
		f.seen(at)
	}
	if flaw := f.store.add(at, f.line(no), &f.header, f.raw, len(f.raw)-len(info)); flaw != "" {
		f.notes.add(note{code: flaw, line: f.line(no).No, excerpt: f.raw})
	}
}

func (f *frames) refuse(no int, code string, frame []byte) {
	f.src.File.NotUsed++
	f.notes.add(note{code: code, line: f.line(no).No, excerpt: frame, unused: true})
}

func readKISS(rd *reading, r *bufio.Reader) error {
	f := &frames{reading: rd}
	k := ax25.NewKISSReader(r)
	for no := 1; ; no++ {
		frame, err := k.Next()
		if err != nil {
			break // the end, or the host's error, which Read gives
		}
		rd.src.File.Lines++
		switch {
		case frame.Fault != "":
			f.refuse(no, string(frame.Fault), frame.Data)
		case frame.Command == 0:
			before := rd.src.File.Packets
			if f.take(frame.Data, clock.None, no); rd.src.File.Packets > before {
				rd.notes.add(note{code: "kiss.no-time", line: rd.line(no).No})
			}
		}
	}
	return nil
}

func pcapCapture() Format {
	return Format{Name: "packet capture (pcap)", Lacks: "no pcap header", Sniff: sniffPcap, read: readPcap}
}

// pcapOrder reads the magic number of a capture: the order of its bytes and the unit of its fractions.
func pcapOrder(head []byte) (order binary.ByteOrder, unit time.Duration) {
	if len(head) < 24 {
		return nil, 0
	}
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		switch order.Uint32(head) {
		case 0xa1b2c3d4:
			return order, time.Microsecond
		case 0xa1b23c4d:
			return order, time.Nanosecond
		}
	}
	return nil, 0
}

func sniffPcap(head []byte) Confidence {
	if order, _ := pcapOrder(head); order != nil {
		return 100
	}
	return 0
}

// Link types of captures that hold AX.25.
const (
	linkAX25     = 3
	linkAX25KISS = 202
	maxRecord    = 64 << 10
)

func readPcap(rd *reading, r *bufio.Reader) error {
	f := &frames{reading: rd}
	head := make([]byte, 24)
	io.ReadFull(r, head)
	order, unit := pcapOrder(head)
	if order == nil {
		return rd.pcapEnds(1, nil)
	}
	link := order.Uint32(head[20:]) & 0xffff
	if link != linkAX25 && link != linkAX25KISS {
		rd.notes.add(note{code: "pcap.link", unused: true})
		return nil
	}
	frame := make([]byte, maxRecord)
	for no := 1; ; no++ {
		n, err := io.ReadFull(r, head[:16])
		if n == 0 {
			return nil
		}
		size := order.Uint32(head[8:])
		if err != nil || size > maxRecord {
			return rd.pcapEnds(no, err)
		}
		if _, err := io.ReadFull(r, frame[:size]); err != nil {
			return rd.pcapEnds(no, err)
		}
		rd.src.File.Lines++
		at := clock.Instant(int64(order.Uint32(head))*1000 + int64(order.Uint32(head[4:]))*int64(unit)/int64(time.Millisecond))
		rd.dates.steps.add(time.Millisecond, time.Duration(at%60000)*time.Millisecond)
		rd.dates.state(utc)
		f.record(frame[:size], at, no, link)
	}
}

// record reads the frame of one record.
func (f *frames) record(b []byte, at clock.Instant, no int, link uint32) {
	if link == linkAX25KISS {
		if len(b) == 0 {
			f.refuse(no, string(ax25.ShortFrame), b)
			return
		}
		if b[0]&15 != 0 {
			return // settings of the modem
		}
		b = b[1:]
	}
	f.take(b, at, no)
}

// pcapEnds notes a capture that ends inside a record, or whose records make no sense from here on.
func (rd *reading) pcapEnds(no int, err error) error {
	code := "pcap.damaged"
	if err != nil {
		code = "file.cut"
	}
	rd.src.File.Lines++
	rd.src.File.NotUsed++
	rd.notes.add(note{code: code, line: rd.line(no).No, unused: true})
	return nil
}
