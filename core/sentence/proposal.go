package sentence

// Proposed says why a station is worth making a unit of: how many transmissions, how far apart (s), and how many of them
// (0 to 1) came from the station itself.
func Proposed(transmissions int, typical, direct float64) string {
	s := Count(transmissions, "transmission", "transmissions")
	if typical > 0 {
		s += ", typically " + gap(typical) + " apart"
	}
	if direct > 0 {
		s += ", " + Percent(direct) + " heard direct"
	}
	return s
}
