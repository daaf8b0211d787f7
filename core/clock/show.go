package clock

// ShowBy gives the first minute by which t has passed, as Show would: a latest moment is not shown too early.
func (z *Zone) ShowBy(t Instant) string {
	const minute = 60_000
	if late := t % minute; t.Known() && late > 0 {
		t += minute - late
	}
	return z.Show(t)
}

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
