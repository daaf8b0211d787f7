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
	end := bytes.IndexByte(line, ':')
	from := bytes.IndexByte(line, '>')
	var ok bool
	if from < 0 || end >= 0 && from > end {
		return 0, NoSource
	}
	if h.From, ok = ParseCall(line[:from]); !ok {
		return 0, NoSource
	}
	if end < 0 {
		return 0, NoEnd
	}
	to := line[from+1 : end]
	comma := bytes.IndexByte(to, ',')
	if comma >= 0 {
		to = to[:comma]
	}
	if h.To, ok = ParseCall(to); !ok {
		return 0, BadTo
	}
	if comma >= 0 {
		if err := h.parsePath(line[from+1+comma : end]); err != nil {
			return 0, err
		}
	}
	return end + 1, nil
}

// parsePath reads entries with a comma ahead of each.
func (h *Header) parsePath(b []byte) error {
	used := 0
	for i := 0; i < len(b); {
		if len(h.Path) == MaxPath {
			return LongPath
		}
		var hop Hop
		n := 0
		for i++; i < len(b) && callByte[b[i]]; i++ {
			if n == len(hop.Call.b) {
				return BadHop
			}
			hop.Call.b[n] = b[i]
			n++
		}
		hop.Call.n = uint8(n)
		if i < len(b) && b[i] == '*' {
			hop.Starred = true
			used = len(h.Path) + 1
			i++
		}
		if n == 0 || i < len(b) && b[i] != ',' {
			return BadHop
		}
		h.Path = append(h.Path, hop)
	}
	for i := range h.Path[:used] {
		h.Path[i].Used = true
	}
	return nil
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
