package aprs

import "lastbeacon/core/ax25"

// unwrap follows }SRC>DST,NET,GATE*:INFO to the innermost packet. Source: 1.2 draft c ch.17.
func (p *Packet) unwrap(info []byte) (to ax25.Call, inner []byte, ok bool) {
	for range MaxNested {
		n, err := ax25.ParseHeader(info[1:], &p.inner)
		if err != nil {
			p.flaw(FlawInner)
			return to, nil, false
		}
		info = info[1+n:]
		p.InnerFrom, p.InnerTo = p.inner.From, p.inner.To
		if len(info) == 0 || info[0] != '}' {
			return p.InnerTo, info, true
		}
	}
	p.flaw(FlawNested)
	return to, nil, false
}
