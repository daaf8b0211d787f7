package clock_test

import (
	"strings"
	"testing"
	"time"

	"lastbeacon/core/clock"
)

// wall gives what a complete stamp says as an instant, its zone set aside.
func wall(s clock.Stamp) string {
	y, m, d := s.Year, s.Month, s.Day
	switch s.Date {
	case clock.UnixTime:
		return s.At.String()
	case clock.NoDate:
		return s.Of.String()
	case clock.NoYear:
		y = 2000
	case clock.OpenDate:
		y, m, d = s.In(s.Likely)
	}
	return clock.At(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Add(s.Of)).String()
}

// The bar marks where the stamp ends. ISO 8601 forms are those of ISO 8601:2019; "Fri, 02 May 2031" is RFC 5322, "Fri May  2"
// the C library's ctime; the others are common practice, no source.
func TestScanStamp(t *testing.T) {
	cases := []struct {
		name, text, want string
		form             clock.DateForm
		step             time.Duration
		zone             clock.ZoneForm
		offset           time.Duration
	}{
		{"iso with Z", "2031-05-02T05:40:12Z‸ Q", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"iso with milliseconds", "2031-05-02T05:40:12.345Z‸", "2031-05-02T05:40:12.345Z", clock.FullDate, time.Millisecond, clock.ZoneOffset, 0},
		{"microseconds are cut", "2031-05-02T05:40:12.345999+02:00‸", "2031-05-02T05:40:12.345Z", clock.FullDate, time.Millisecond, clock.ZoneOffset, 2 * time.Hour},
		{"iso with a comma", "2031-05-02T05:40:12,345‸ ", "2031-05-02T05:40:12.345Z", clock.FullDate, time.Millisecond, clock.NoZone, 0},
		{"basic iso", "20310502T054012Z‸", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"fourteen digits", "20310502054012‸ ", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"named zone", "2031-05-02 07:40:12 CEST‸]", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 2 * time.Hour},
		{"numeric zone behind a blank", "2031-05-02 07:40:12 -0330‸", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, -210 * time.Minute},
		{"UTC and a step", "2031-05-02 07:40:12 UTC+2‸:", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 2 * time.Hour},
		{"an unsure zone", "2031-05-02 07:40:12 CST‸:", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneUnsure, 0},
		{"an unknown zone in brackets", "2031-05-02 07:40:12 QQT‸]", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneUnsure, 0},
		{"a place", "2031-05-02 07:40:12 Europe/Oslo‸ QX1ABC", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZonePlace, 0},
		{"a call is no zone", "2031-05-02 07:40:12‸ QX1ABC-7>", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"a call of letters is no zone", "2031-05-02 07:40:12‸ CET>APZ001", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"a tag is no zone", "2031-05-02 07:40:12‸ PORT 1", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"full stops", "02.05.2031 07:40:12‸", "2031-05-02T07:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"full stops everywhere", "2.5.31, 7.40.12‸", "2031-05-02T07:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"slashes leave the order open", "02/05/2031 07:40‸", "2031-05-02T07:40:00Z", clock.OpenDate, time.Minute, clock.NoZone, 0},
		{"slashes with a day over 12", "23/05/31 07:40:12‸", "2031-05-23T07:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"slashes with the month first", "5/23/2031, 12:05:09 AM‸", "2031-05-23T00:05:09Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"noon", "5/23/2031 12:05 p.m.‸", "2031-05-23T12:05:00Z", clock.OpenDate, time.Minute, clock.NoZone, 0},
		{"narrow no-break blank before PM", "5/23/2031, 1:05:09\u202fPM‸", "2031-05-23T13:05:09Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"no-break blank as joint", "2031-05-02\u00a007:40:12‸", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"month in letters", "2 May 2031 07:40:12 GMT‸", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"month in letters with dashes", "02-MAY-2031 07:40:12‸", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"mail", "Fri, 02 May 2031 07:40:12 +0200 (CEST)‸", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 2 * time.Hour},
		{"C library", "Fri May  2 07:40:12 2031‸", "2031-05-02T07:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"month, day, year", "May 2, 2031, 7:40:12 PM‸", "2031-05-02T19:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"no year", "May  2 07:40:12‸ host", "2000-05-02T07:40:12Z", clock.NoYear, time.Second, clock.NoZone, 0},
		{"time of day", "07:40:12‸ QX1ABC", "7h40m12s", clock.NoDate, time.Second, clock.NoZone, 0},
		{"time of day with Z", "07:40:12Z‸ QX1ABC", "7h40m12s", clock.NoDate, time.Second, clock.ZoneOffset, 0},
		{"time of day to the minute", "07:40‸ QX1ABC", "7h40m0s", clock.NoDate, time.Minute, clock.NoZone, 0},
		{"leap second", "2031-06-30T23:59:60Z‸", "2031-07-01T00:00:00Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"end of day", "2031-06-30T24:00:00Z‸", "2031-07-01T00:00:00Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"seconds since 1970", "1935466812‸ QX1ABC", "2031-05-02T05:40:12Z", clock.UnixTime, time.Second, clock.ZoneOffset, 0},
		{"with a fraction", "1935466812.25‸:", "2031-05-02T05:40:12.250Z", clock.UnixTime, 10 * time.Millisecond, clock.ZoneOffset, 0},
		{"milliseconds since 1970", "1935466812345‸", "2031-05-02T05:40:12.345Z", clock.UnixTime, time.Millisecond, clock.ZoneOffset, 0},
		{"nanoseconds since 1970", "1935466812345678901‸", "2031-05-02T05:40:12.345Z", clock.UnixTime, time.Millisecond, clock.ZoneOffset, 0},
		{"day of the year", "2031-122T05:40:12Z‸", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"day of the year behind a full stop", "2031.122 05:40:12‸ ", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"last day of a leap year", "2032-366T05:40:12Z‸", "2032-12-31T05:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"no such day of the year", "‸2031-366T05:40:12Z", "0s", 0, 0, 0, 0},
		{"week", "2031-W18-5T05:40:12Z‸", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"a week that begins the year before", "2026-W01-1T05:40:12Z‸", "2025-12-29T05:40:12Z", clock.FullDate, time.Second, clock.ZoneOffset, 0},
		{"no such week", "‸2031-W53-1T05:40:12Z", "0s", 0, 0, 0, 0},
		{"date behind the time", "05:40:12 2031-05-02‸ QX1ABC>", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"date and comma behind the time", "05:40:12, 23/05/2031‸ QX1ABC>", "2031-05-23T05:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"date with a month in letters behind the time", "05:40 UTC Fri 2 May 2031‸: QX1ABC>", "2031-05-02T05:40:00Z", clock.FullDate, time.Minute, clock.ZoneOffset, 0},
		{"another stamp behind the time", "05:40:12‸ 2031-05-02 07:40:12", "5h40m12s", clock.NoDate, time.Second, clock.NoZone, 0},
		{"numbers behind the time", "05:40:12‸ 144.800 12", "5h40m12s", clock.NoDate, time.Second, clock.NoZone, 0},
		{"German month", "2. Mai 2031 05:40:12‸ ", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"German month, short", "02. Okt. 2031, 05:40:12‸ ", "2031-10-02T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"French month", "1 février 2031 05:40:12‸ ", "2031-02-01T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"Spanish month", "2 de mayo de 2031 05:40:12‸ ", "2031-05-02T05:40:12Z", clock.FullDate, time.Second, clock.NoZone, 0},
		{"French hours", "02/05/2031 17h40:12‸ ", "2031-05-02T17:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"Zulu", "0540z‸ QX1ABC>", "5h40m0s", clock.NoDate, time.Minute, clock.ZoneOffset, 0},
		{"group of day and time", "020540Z MAY 31‸ QX1ABC>", "2031-05-02T05:40:00Z", clock.FullDate, time.Minute, clock.ZoneOffset, 0},
		{"six digits and z may be either", "‸020540z QX1ABC>", "0s", 0, 0, 0, 0},
		{"a call that looks like Zulu", "‸1200Z>APZ001", "0s", 0, 0, 0, 0},
		{"no such day", "‸2031-02-29 07:40:12", "0s", 0, 0, 0, 0},
		{"no such day, the month in letters", "‸30 Feb 2031 07:40:12", "0s", 0, 0, 0, 0},
		{"a month and a year are no day", "‸Feb 2031 07:40:12", "0s", 0, 0, 0, 0},
		{"no such hour", "‸2031-02-28 25:40:12", "0s", 0, 0, 0, 0},
		{"13 pm", "‸5/23/2031 13:05 PM", "0s", 0, 0, 0, 0},
		{"two figures between dashes", "45-05-02 07:40:12‸ QX1ABC>", "2045-05-02T07:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"two figures between dashes behind the time", "07:40:12 45-05-02‸ QX1ABC>", "2045-05-02T07:40:12Z", clock.OpenDate, time.Second, clock.NoZone, 0},
		{"no date in any order", "‸45-32-02 07:40:12", "0s", 0, 0, 0, 0},
		{"three numbers, two separators", "‸02-05/31 07:40:12", "0s", 0, 0, 0, 0},
		{"a date alone", "‸2031-05-02", "0s", 0, 0, 0, 0},
		{"a frequency", "‸144.800 QX1", "0s", 0, 0, 0, 0},
		{"a call", "‸QX1ABC-7>", "0s", 0, 0, 0, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			end := strings.Index(c.text, "‸")
			s, n := clock.ScanStamp([]byte(strings.Replace(c.text, "‸", "", 1)))
			if n != end {
				t.Fatalf("stamp ends at %d, want %d (%+v)", n, end, s)
			}
			if got := wall(s); got != c.want || s.Date != c.form || s.Step != c.step || s.Zone != c.zone || s.Offset != c.offset {
				t.Errorf("got %s %+v, want %+v", got, s, c)
			}
		})
	}
}

func TestScanStampDoesNotAllocate(t *testing.T) {
	for _, text := range []string{"2031-05-02 07:40:12 CEST] ", "Fri, 02 May 2031 07:40:12 +0200 ", "1935466812.25 ", "5/23/2031 1:05 PM QX"} {
		line := []byte(text)
		if n := testing.AllocsPerRun(100, func() { clock.ScanStamp(line) }); n != 0 {
			t.Errorf("%q: allocs = %v, want 0", text, n)
		}
	}
}

func FuzzScanStamp(f *testing.F) {
	for _, seed := range []string{"2031-05-02T05:40:12Z", "Fri May  2 07:40:12 2031", "5/23/31 1:05 PM", "1935466812", "07:40 UTC+14", "0:00AA)"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s, n := clock.ScanStamp(b)
		if n < 0 || n > len(b) || (n > 0 && s.Step <= 0) || s.Of < 0 || s.Of > 25*time.Hour {
			t.Fatalf("%q gives %+v, length %d", b, s, n)
		}
		if again, m := clock.ScanStamp(append(b[:n:n], ' ')); n > 0 && s.Zone != clock.ZoneUnsure && s.Date != clock.NoYear && (m < n-1 || again.Of != s.Of) {
			t.Fatalf("%q alone gives %+v, %d; want %+v, %d", b[:n], again, m, s, n)
		}
	})
}

// The common form is read by a short way; the name of a day ahead makes the same text go the long way.
func TestScanStampReadsTheCommonFormAsAnyOther(t *testing.T) {
	const day = "Fri, "
	for _, text := range []string{
		"2031-05-02T05:40:12Z Q", "2031-05-02 05:40:12Z QX", "2031-02-29T05:40:12Z QX", "2031-05-02T24:00:00Z QX", "2031-05-02T24:00:01Z QX",
		"2016-12-31T23:59:60Z QX", "2031-05-02T05:60:12Z QX", "2031-05-02T05:40:12Z (UTC) QX", "1969-05-02T05:40:12Z QX", "2200-05-02T05:40:12Z QX",
		"2031-00-02T05:40:12Z QX", "2031-05-02T05:40:12Z  Q", "2031-05-02T05:40:12Z\tQX", "2031-05-02t05:40:12Z QX", "2031-05-02T05:40:12z QX",
	} {
		short, n := clock.ScanStamp([]byte(text))
		long, m := clock.ScanStamp([]byte(day + text))
		if m > 0 {
			m -= len(day)
			long.ZoneAt, long.ZoneEnd = long.ZoneAt-len(day), long.ZoneEnd-len(day)
		}
		if short != long || n != m {
			t.Errorf("%q: got %+v (%d bytes), the long way %+v (%d bytes)", text, short, n, long, m)
		}
	}
}

// Which orders are in use is common practice, no source; the bar of a value is the calendar's.
func TestOrdersOfADate(t *testing.T) {
	const day, month, year = clock.DayFirst, clock.MonthFirst, clock.YearFirst
	for date, want := range map[string]clock.DateOrder{
		"02/05/2031": day | month, "23/05/2031": day, "05/23/2031": month, "02.05.2031": day, "02-05-2031": day | month,
		"31-05-02": day | year, "02-05-31": day | month | year, "31/05/02": day | year, "05-05-31": day | month | year, "45-05-02": year, "05-31-45": month, "30-02-15": year,
		"31-05-00": day, "2-5-31": day | month, "2/13/31": month, "31.05.02": day,
	} {
		s, n := clock.ScanStamp([]byte(date + " 07:40:12"))
		if n == 0 || s.Date != clock.OpenDate || s.Orders != want {
			t.Errorf("%s: form %d, orders %03b; want %03b", date, s.Date, s.Orders, want)
		}
	}
}
