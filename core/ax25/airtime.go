package ax25

import (
	"math"
	"time"
)

// A Modem is what decides how long a frame takes on the air. With LoRa nil it is an HDLC modem of Baud bits per second:
// Delay passes between keying and the first flag, Tail after the last. Common settings are 1200 or 9600 baud, 300 ms and
// 100 ms (APRS Protocol Reference 1.2 draft c, p.12).
type Modem struct {
	Baud        float64
	Delay, Tail time.Duration
	LoRa        *LoRa
}

// LoRa holds the settings of a long-range modem. Its packets carry monitor text behind Prefix bytes; 3 is common practice,
// no source. Preamble 0 means 8 symbols. The payload check is on and the header explicit.
type LoRa struct {
	Spreading int     // 5 to 12
	Bandwidth float64 // Hz
	Coding    int     // 5 to 8, for rates 4/5 to 4/8
	Preamble  int     // symbols
	Prefix    int     // bytes ahead of the text
}

// Airtime gives how long the unit is on the air to send h and info, and whether that can be said: not for calls that AX.25
// cannot carry, nor for settings out of range. h must be the packet as the unit sent it (see AsSent): a repeater's own call
// lengthens only the repeater's copy. Bit stuffing and the frame check are those of this very frame.
func (m Modem) Airtime(h Header, info []byte) (time.Duration, bool) {
	if m.LoRa != nil {
		text := len(AppendMonitor(nil, h, info))
		d, ok := m.LoRa.Airtime(text + m.LoRa.Prefix)
		return m.Delay + d + m.Tail, ok
	}
	if !(m.Baud > 0) || math.IsInf(m.Baud, 0) {
		return 0, false
	}
	frame, err := AppendFrame(make([]byte, 0, 400), h, info)
	if err != nil {
		return 0, false
	}
	return m.Delay + seconds(float64(FrameBits(frame))/m.Baud) + m.Tail, true
}

// Frames gives how long n frames take on the air that hold so many bytes together, frame checks included. Of their bits, one in
// 62 is taken for stuffed: a run of five 1s comes up that often in random ones. It cannot be said of LoRa, whose packets hold
// text instead.
func (m Modem) Frames(n, bytes int) (time.Duration, bool) {
	if m.LoRa != nil || !(m.Baud > 0) || math.IsInf(m.Baud, 0) {
		return 0, false
	}
	bits := 8 * float64(2*n+bytes) * (1 + 1.0/62)
	return time.Duration(n)*(m.Delay+m.Tail) + seconds(bits/m.Baud), true
}

// FrameBits gives the bits that a frame without check and flags takes: both flags, the frame, the frame check, and a stuffed
// 0 after every five 1s in a row. Source: AX.25 v2.0.
func FrameBits(frame []byte) int {
	crc := FCS(frame)
	n, run := 8*(len(frame)+fcsLen+2), uint8(0)
	for _, o := range frame { // hot: every packet on the channel during a run comes here, so by octets, not bits
		s := stuffed[run][o]
		n, run = n+int(s.zeros), s.run
	}
	for _, o := range []byte{byte(crc), byte(crc >> 8)} {
		s := stuffed[run][o]
		n, run = n+int(s.zeros), s.run
	}
	return n
}

// stuffed tells of an octet, sent least significant bit first behind a run of up to four 1s, how many 0s are put into it and
// the run that it leaves.
var stuffed = func() (all [5][256]struct{ zeros, run uint8 }) {
	for run := range all {
		for o := range all[run] {
			s := &all[run][o]
			s.run = uint8(run)
			for bit := range 8 {
				if o>>bit&1 == 0 {
					s.run = 0
				} else if s.run++; s.run == 5 {
					s.zeros, s.run = s.zeros+1, 0
				}
			}
		}
	}
	return all
}()

// Airtime gives the time on the air of a payload of n bytes, and whether the settings allow one. Symbols longer than 16 ms
// use the low data rate mode. Source: the time-on-air formula that the modem's data sheets publish.
func (l LoRa) Airtime(n int) (time.Duration, bool) {
	if l.Spreading < 5 || l.Spreading > 12 || !(l.Bandwidth > 0) || l.Coding < 5 || l.Coding > 8 || n < 0 || n > 255 {
		return 0, false
	}
	symbol := float64(int(1)<<l.Spreading) / l.Bandwidth
	slow := 0
	if symbol > 0.016 {
		slow = 1
	}
	preamble, sync, header := float64(l.Preamble), 4.25, 8
	if l.Preamble == 0 {
		preamble = 8
	}
	if l.Spreading < 7 {
		sync, header = 6.25, 0
	}
	payloadBits := 8*n - 4*l.Spreading + header + 16 + 20
	perBlock := 4 * (l.Spreading - 2*slow)
	blocks := max(0, (payloadBits+perBlock-1)/perBlock)
	symbols := preamble + sync + 8 + float64(blocks*l.Coding)
	return seconds(symbols * symbol), true
}

func seconds(s float64) time.Duration { return time.Duration(math.Round(s * float64(time.Second))) }
