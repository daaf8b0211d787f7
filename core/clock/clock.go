// Package clock holds times as this project keeps them: instants in Unix milliseconds UTC, and times that are known only
// within bounds. Spans are time.Duration. Nothing here reads the machine's clock or zone.
package clock

import (
	"math"
	"time"
)

// An Instant is a moment in Unix milliseconds, UTC. It compares with == and <.
type Instant int64

// None stands for an instant that is not known; in a Between it marks an open side.
const None Instant = math.MinInt64

// Set is 1990: what bears an earlier stamp was written by a clock that nobody had set, such as one that starts at 1970.
const Set Instant = 631_152_000_000

// At gives the instant of t, cut to the millisecond.
func At(t time.Time) Instant { return Instant(t.UnixMilli()) }

// Known tells whether t is an instant at all.
func (t Instant) Known() bool { return t != None }

// Add gives the instant d after t. None stays None.
func (t Instant) Add(d time.Duration) Instant {
	if t == None {
		return None
	}
	return t + Instant(d/time.Millisecond)
}

// Sub gives the time from u to t. Both must be known; spans beyond time.Duration are cut to its limits.
func (t Instant) Sub(u Instant) time.Duration {
	ms := int64(t) - int64(u)
	const most = int64(math.MaxInt64 / int64(time.Millisecond))
	return time.Duration(min(max(ms, -most), most)) * time.Millisecond
}

// Time gives t as a time.Time in UTC.
func (t Instant) Time() time.Time { return time.UnixMilli(int64(t)).UTC() }

// String gives t in RFC 3339, UTC, with milliseconds where there are any; "unknown" for None.
func (t Instant) String() string {
	if t == None {
		return "unknown"
	}
	return string(t.AppendTo(nil))
}

// AppendTo appends what String gives of a known instant.
func (t Instant) AppendTo(b []byte) []byte {
	layout := "2006-01-02T15:04:05Z"
	if t%1000 != 0 {
		layout = "2006-01-02T15:04:05.000Z"
	}
	return t.Time().AppendFormat(b, layout)
}

// Parse reads an RFC 3339 time with a zone.
func Parse(s string) (Instant, error) {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return None, err
	}
	return At(t), nil
}

// A Between is a time known within bounds: the limits hold it in 95 of 100 cases, Best is the median. None in Earliest or
// Latest leaves that side open; None in Best says that no best value can be given.
type Between struct{ Earliest, Best, Latest Instant }

// AnyTime is a moment of which nothing is known.
var AnyTime = Between{Earliest: None, Best: None, Latest: None}

// Exactly gives a Between without width.
func Exactly(t Instant) Between { return Between{t, t, t} }

// Within gives t plus or minus half.
func Within(t Instant, half time.Duration) Between { return Between{t.Add(-half), t, t.Add(half)} }

// Width gives Latest - Earliest and whether both are known.
func (b Between) Width() (time.Duration, bool) {
	if b.Earliest == None || b.Latest == None {
		return 0, false
	}
	return b.Latest.Sub(b.Earliest), true
}

// Seconds gives f seconds as a span, rounded to the millisecond.
func Seconds(f float64) time.Duration {
	return time.Duration(math.Round(f*1000)) * time.Millisecond
}
