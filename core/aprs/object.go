package aprs

import "bytes"

const objectNameLen = 9

// object reads name (nine bytes), * or _ for live or withdrawn, time, position. Source: 1.0.1 ch.11 p.58.
func (p *Packet) object(b []byte) {
	p.Kind, p.elsewhere = Object, true
	if len(b) < objectNameLen+1+stampLen {
		p.flaw(FlawShort)
		return
	}
	state := b[objectNameLen]
	p.Name = bytes.TrimRight(b[:objectNameLen], " ")
	if state != '*' && state != '_' || len(p.Name) == 0 {
		p.Name = nil
		p.flaw(FlawName)
		return
	}
	p.Killed = state == '_'
	b = b[objectNameLen+1:]
	p.stamp(b[:stampLen])
	p.position(b[stampLen:])
}

// item reads a name of up to nine bytes that ! or _ ends, for live or withdrawn, and a position. The standard asks for three
// bytes; shorter names occur. Source: 1.0.1 ch.11 p.59.
func (p *Packet) item(b []byte) {
	p.Kind, p.elsewhere = Item, true
	head := b[:min(len(b), objectNameLen+1)]
	end := index(head, '!')
	if underline := index(head, '_'); end < 0 || underline >= 0 && underline < end {
		end = underline
	}
	if end < 1 {
		p.flaw(FlawName)
		return
	}
	p.Name, p.Killed = b[:end], b[end] == '_'
	p.position(b[end+1:])
}
