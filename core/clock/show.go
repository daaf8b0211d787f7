package clock

// Show gives t as a clock in the zone would: day, month, hours and minutes ("2 May 07:40"); "not known" for None.
func (z *Zone) Show(t Instant) string {
	if !t.Known() {
		return "not known"
	}
	east := z.off
	if !z.Fixed() {
		east = z.offset(int64(t))
	}
	return (t + Instant(east)).Time().Format("2 Jan 15:04")
}
