package aprs

import "math"

// afterPlain reads what follows a plain position: a data extension of seven bytes, then the comment.
// Source: 1.0.1 ch.7 p.27-30.
func (p *Packet) afterPlain(b []byte) {
	if p.Symbol[1] == '_' {
		direction, speed, rest := wind(b)
		p.weatherReport(direction, speed, rest)
		return
	}
	p.comment(b[p.extension(b):])
}

// extension reads the data extension at the head of b and gives its length.
func (p *Packet) extension(b []byte) int {
	if len(b) < 7 {
		return 0
	}
	e := b[:7]
	switch {
	case string(e[:3]) == "PHG" && digit(e[3]) && e[4] >= '0' && e[4] <= '~' && digit(e[5]) && digit(e[6]):
		if len(b) >= 9 && b[8] == '/' && (b[7] >= '1' && b[7] <= '9' || b[7] >= 'A' && b[7] <= 'Z') {
			e = b[:9] // 1.2: the rate of beacons per hour
		}
	case string(e[:3]) == "RNG" && digits(e[3:]):
		p.Range = number(e[3:]) * metresPerMile
	case string(e[:3]) == "DFS" && digit(e[3]) && e[4] >= '0' && e[4] <= '~' && digit(e[5]) && digit(e[6]):
	case p.Symbol == [2]byte{'\\', 'l'} && digit(e[0]) && digits(e[1:3]) && (e[3] == '/' || e[3] == '1') && digits(e[5:7]):
		// an area object: Tyy/Cxx
	default:
		return p.motion(b)
	}
	p.Extension = e
	return len(e)
}

// motion reads ccc/sss, course and speed in knots, either of them unknown as dots or blanks, and for a direction finder
// the bearing and quality behind it. A course of 000 is unknown, 360 is north. Source: 1.0.1 ch.7 p.27, p.30.
func (p *Packet) motion(b []byte) int {
	course, okC := three(b[:3])
	speed, okS := three(b[4:7])
	if !okC || !okS || b[3] != '/' || course > 360 {
		return 0
	}
	if course > 0 {
		p.Course = course
	}
	p.Speed = speed * knot
	if p.Symbol == [2]byte{'/', '\\'} && len(b) >= 15 && b[7] == '/' && digits(b[8:11]) && b[11] == '/' && digits(b[12:15]) {
		p.Extension = b[8:15]
		return 15
	}
	return 7
}

// three reads three digits; NaN for dots or blanks, and for a negative number, which some senders write for unknown.
func three(b []byte) (float64, bool) {
	n, ok := natural(b)
	switch {
	case ok:
		return n, true
	case string(b) == "...", string(b) == "   ", b[0] == '-' && digits(b[1:]):
		return math.NaN(), true
	}
	return 0, false
}

// A PHG is what a station states of its transmitter: power in W, height of the antenna above the average ground in m, gain as
// a ratio, the favoured direction in degrees (NaN for none), the radio range in m, and beacons per hour (0 when not stated).
type PHG struct {
	Power, Height, Gain, Direction, Range float64
	PerHour                               int
}

// PHG reads the PHG extension, if the packet has one. Source: 1.0.1 ch.7 p.28-29; the rate: 1.2 draft c p.28.
func (p *Packet) PHG() (PHG, bool) {
	e := p.Extension
	if len(e) < 7 || string(e[:3]) != "PHG" {
		return PHG{}, false
	}
	watts := float64(e[3]-'0') * float64(e[3]-'0')
	feet := 10 * power(2, int(e[4]-'0'))
	g := PHG{Power: watts, Height: feet * metresPerFoot, Gain: math.Pow(10, float64(e[5]-'0')/10), Direction: math.NaN()}
	if d := e[6] - '0'; d > 0 && d < 9 {
		g.Direction = float64(d) * 45
	}
	g.Range = math.Sqrt(2*feet*math.Sqrt(watts/10*(g.Gain/2))) * metresPerMile
	if len(e) == 9 {
		g.PerHour = int(e[7] - '0')
		if e[7] >= 'A' {
			g.PerHour = int(e[7]-'A') + 10
		}
	}
	return g, true
}
