package aprs

import "math"

// Conditions is a weather report: NaN where the packet gives nothing. Rain is the fall of the last hour, the last 24 hours
// and since midnight.
type Conditions struct {
	Direction               float64 // degrees true; where the wind comes from
	Wind, Gust              float64 // m/s
	Temperature             float64 // degrees Celsius
	RainHour, RainDay, Rain float64 // mm
	Snow                    float64 // mm in 24 hours
	Humidity                float64 // per cent
	Pressure                float64 // hPa
	Luminosity              float64 // W/m2
}

var noConditions = Conditions{
	math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(),
}

const (
	milePerHour = metresPerMile / 3600 // m/s
	inch        = 25.4                 // mm
)

// wind reads ddd/sss of a position with the weather symbol. The speed is in miles per hour as in the rest of the weather
// report (1.0.1 ch.12 p.65); ch.7 says knots for the same bytes, against common practice.
func wind(b []byte) (direction, speed float64, rest []byte) {
	nan := math.NaN()
	if len(b) < 7 || b[3] != '/' {
		return nan, nan, b
	}
	d, okD := three(b[:3])
	s, okS := three(b[4:7])
	if !okD || !okS || d > 360 {
		return nan, nan, b
	}
	return d, s * milePerHour / knot, b[7:]
}

// weatherReport takes the wind (from a direction in degrees, in knots) and reads the fields behind it.
func (p *Packet) weatherReport(direction, knots float64, b []byte) {
	if p.Kind == Position || p.Kind == Compressed {
		p.Kind = Weather
	}
	p.Weather.Direction, p.Weather.Wind = direction, knots*knot
	b = p.Weather.fields(b)
	p.comment(b)
}

// positionless reads MMDDHHMM and the fields. Source: 1.0.1 ch.12 p.63-64.
func (p *Packet) positionless(b []byte) {
	p.Kind = Weather
	if len(b) < 8 {
		p.flaw(FlawWeather)
		return
	}
	month, okM := two(b)
	day, okD := two(b[2:])
	hour, okH := two(b[4:])
	minute, okN := two(b[6:])
	if okM && okD && okH && okN && month >= 1 && month <= 12 && day >= 1 && day <= 31 && hour < 24 && minute < 60 {
		p.Stamp = Stamp{Kind: MonthUTC, Month: month, Day: day, Hour: hour, Minute: minute}
	} else {
		p.flaw(FlawTime)
	}
	p.Comment = p.Weather.fields(b[8:])
}

// fields reads letters with their numbers until something else comes, and gives what is left. The letter s is the wind's
// speed right behind its direction c, elsewhere snow.
func (c *Conditions) fields(b []byte) []byte {
	last := byte(0)
	for len(b) > 1 {
		n := fieldLen(b)
		if n == 0 || len(b) < 1+n {
			return b
		}
		v, ok := reading(b[1 : 1+n])
		if !ok {
			return b
		}
		if b[0] == 's' && last == 'c' {
			c.Wind = v * milePerHour
		} else {
			c.take(b[0], v)
		}
		last, b = b[0], b[1+n:]
	}
	return b
}

// fieldLen gives the number of characters behind a letter; 0 for no field. Pressure with four digits is printed as an
// example in 1.0.1 ch.12 p.66.
func fieldLen(b []byte) int {
	switch b[0] {
	case 'c', 's', 'g', 't', 'r', 'p', 'P', 'L', 'l', '#':
		return 3
	case 'h':
		return 2
	case 'b':
		if len(b) == 5 || len(b) > 5 && !digit(b[5]) && b[5] != '.' && b[5] != ' ' {
			return 4
		}
		return 5
	}
	return 0
}

// reading reads digits, or a minus and digits; NaN for dots or blanks.
func reading(b []byte) (float64, bool) {
	if v, ok := natural(b); ok {
		return v, true
	}
	if v, ok := natural(b[1:]); ok && b[0] == '-' {
		return -v, true
	}
	for _, ch := range b {
		if ch != b[0] || ch != '.' && ch != ' ' {
			return 0, false
		}
	}
	return math.NaN(), true
}

// take puts one field in its place. Source: 1.0.1 ch.12 p.63-65.
func (c *Conditions) take(letter byte, v float64) {
	switch letter {
	case 'c':
		c.Direction = v
	case 'g':
		c.Gust = v * milePerHour
	case 't':
		c.Temperature = (v - 32) / 1.8
	case 'r':
		c.RainHour = v / 100 * inch
	case 'p':
		c.RainDay = v / 100 * inch
	case 'P':
		c.Rain = v / 100 * inch
	case 's':
		c.Snow = v * inch
	case 'h':
		if v == 0 {
			v = 100
		}
		c.Humidity = v
	case 'b':
		c.Pressure = v / 10
	case 'L':
		c.Luminosity = v
	case 'l':
		c.Luminosity = v + 1000
	}
}
