package schedule

// IntervalAt gives the interval in seconds that an adaptive schedule keeps at a steady speed in m/s, corner beacons aside.
// It is not known for other kinds.
func (s Schedule) IntervalAt(speed float64) (seconds float64, known bool) {
	if s.Kind != Adaptive || s.Fast <= 0 {
		return 0, false
	}
	r := adaptRule{slow: s.Slow, fast: s.Fast, slowSpeed: s.SlowSpeed, fastSpeed: s.FastSpeed, uncapped: s.Uncapped}
	return r.interval(speed), true
}
