package ax25

import "bytes"

// A Hop is one entry of the path. Used says that the packet has passed it: in monitor text a star stands behind the last
// used hop, and every hop left of it is used too; some loggers star each used hop. Starred says that a star stood behind
// this very entry.
type Hop struct {
	Call          Call
	Used, Starred bool
}

// A Header is who sent a packet, to whom, and the path. Path is reused by the next parse into the same Header.
type Header struct {
	From, To Call
	Path     []Hop
}

// A Fault says why a line or frame is no packet; its text is a stable code.
type Fault string

func (f Fault) Error() string { return string(f) }

// Faults of monitor text and frames.
const (
	NoSource    Fault = "header.no-source"   // no '>' or no valid call before it
	NoEnd       Fault = "header.no-end"      // no ':' that ends the header
	BadTo       Fault = "header.destination" // no valid destination
	BadHop      Fault = "header.hop"         // an entry of the path is no call
	LongPath    Fault = "header.long-path"   // more entries than MaxPath
	ShortFrame  Fault = "frame.short"        // fewer bytes than two addresses, control and protocol
	BadAddress  Fault = "frame.address"      // an address octet is not as AX.25 says
	NotUI       Fault = "frame.not-ui"       // another frame type or protocol than UI without layer 3
	NotOnAir    Fault = "frame.call"         // a call that AX.25 cannot carry
	BadEscape   Fault = "kiss.escape"        // another byte than TFEND or TFESC after FESC
	LongFrame   Fault = "kiss.long"          // a frame longer than MaxFrame
	CutOffFrame Fault = "kiss.cut-off"       // the stream ended inside a frame
)

// MaxPath bounds the path of monitor text. AX.25 has up to 8 hops; internet servers append their own.
const MaxPath = 48

// ParseHeader reads monitor text SRC>DST[,HOP...]:INFO into h. The first '>' ends the source, the first ':' the header;
// info is the offset of the information field, which may hold any byte. Nothing is allocated once h.Path has grown.
// A failed parse leaves h unspecified. Source: APRS Protocol Reference 1.2 draft c, ch.17 p.83; aprs-is.net ServerDesign.
func ParseHeader(line []byte, h *Header) (info int, err error) {
	h.Path = h.Path[:0]
	i := h.From.read(line)
	if i == 0 || i == len(line) || line[i] != '>' {
		return 0, NoSource
	}
	i++
	n := h.To.read(line[i:])
	i += n
	if n == 0 || i == len(line) || line[i] != ',' && line[i] != ':' {
		return 0, unended(line, BadTo)
	}
	used := 0
	for line[i] == ',' {
		if len(h.Path) == MaxPath {
			return 0, unended(line, LongPath)
		}
		i++
		h.Path = append(h.Path, Hop{})
		hop := &h.Path[len(h.Path)-1]
		n = hop.Call.read(line[i:])
		i += n
		if i < len(line) && line[i] == '*' {
			hop.Starred = true
			used = len(h.Path)
			i++
		}
		if n == 0 || i == len(line) || line[i] != ',' && line[i] != ':' {
			return 0, unended(line, BadHop)
		}
	}
	for i := range h.Path[:used] {
		h.Path[i].Used = true
	}
	return i + 1, nil
}

// unended gives the fault of a header that is broken: that it has no end goes before all others.
func unended(line []byte, other Fault) Fault {
	if bytes.IndexByte(line, ':') < 0 {
		return NoEnd
	}
	return other
}

// AppendMonitor appends h and info as monitor text. The star stands behind the last used hop, and behind every starred one.
func AppendMonitor(dst []byte, h Header, info []byte) []byte {
	dst = append(h.From.AppendTo(dst), '>')
	dst = h.To.AppendTo(dst)
	for i, hop := range h.Path {
		dst = hop.Call.AppendTo(append(dst, ','))
		if hop.Starred || hop.Used && (i+1 == len(h.Path) || !h.Path[i+1].Used) {
			dst = append(dst, '*')
		}
	}
	return append(append(dst, ':'), info...)
}
