package sim

import (
	"fmt"
	"math"

	"lastbeacon/core/ax25"
	"lastbeacon/core/geo"
)

const knot = 1852.0 / 3600

func appendPlain(b []byte, p geo.Place, symbol [2]byte) []byte {
	lat, lon := int(math.Round(math.Abs(p.Lat)*6000)), int(math.Round(math.Abs(p.Lon)*6000))
	ns, ew := byte('N'), byte('E')
	if p.Lat < 0 {
		ns = 'S'
	}
	if p.Lon < 0 {
		ew = 'W'
	}
	return fmt.Appendf(b, "%02d%02d.%02d%c%c%03d%02d.%02d%c%c", lat/6000, lat/100%60, lat%100, ns, symbol[0], lon/6000, lon/100%60, lon%100, ew, symbol[1])
}

func (w *writer) place(f fix, current bool, text string) []byte {
	if w.Encoding == Plain {
		b := appendPlain([]byte("!"), f.place, w.Symbol)
		return fmt.Appendf(b, "%03d/%03.0f%s", f.degrees(), f.speed/knot, text)
	}
	b := append([]byte("!"), w.Symbol[0])
	b = append91(b, int(math.Round(380926*(90-f.place.Lat))))
	b = append91(b, int(math.Round(190463*(180+f.place.Lon))))
	t := byte(0x1a)
	if current {
		t = 0x3a
	}
	b = append(b, w.Symbol[1], 33+byte(math.Round(f.course/4))%90, 33+byte(math.Round(math.Log(f.speed/knot+1)/math.Log(1.08))), 33+t)
	return append(b, text...)
}

func append91(b []byte, v int) []byte {
	return append(b, byte(v/753571)+33, byte(v/8281%91)+33, byte(v/91%91)+33, byte(v%91)+33)
}

func (w *writer) micE(f fix, current bool, text string) (ax25.Call, []byte) {
	lat, lon := int(math.Round(math.Abs(f.place.Lat)*6000)), int(math.Round(math.Abs(f.place.Lon)*6000))
	to := []byte(fmt.Sprintf("%02d%02d%02d", lat/6000, lat/100%60, lat%100))
	deg, hundredths := lon/6000, byte(lon%100)
	for i := range to {
		if i == 0 || i == 1 || i == 3 && f.place.Lat >= 0 || i == 4 && (deg < 10 || deg >= 100) || i == 5 && f.place.Lon < 0 {
			to[i] += 'P' - '0'
		}
	}
	d := byte(deg)
	switch {
	case deg < 10:
		d += 90
	case deg >= 110:
		d -= 100
	case deg >= 100:
		d -= 20
	}
	m := byte(lon / 100 % 60)
	if m < 10 {
		m += 60
	}
	knots, course := int(math.Round(f.speed/knot)), f.degrees()
	dti := byte('`')
	if !current {
		dti = '\''
	}
	b := []byte{dti, d + 28, m + 28, hundredths + 28, byte(knots/10) + 28, byte(knots%10*10+course/100) + 28, byte(course%100) + 28, w.Symbol[1], w.Symbol[0]}
	b = append(b, w.Prefix...)
	if w.Altitude {
		v := int(f.altitude) + 10000
		b = append(b, byte(v/8281)+33, byte(v/91%91)+33, byte(v%91)+33, '}')
	}
	b = append(b, text...)
	return call(string(to)), append(b, w.Suffix...)
}
