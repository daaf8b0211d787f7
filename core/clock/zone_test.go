package clock_test

import (
	"archive/zip"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/clock"
)

// Clock changes of the EU (directive 2000/84/EC: last Sundays of March and October, 01:00 UTC) and of Lord Howe Island,
// whose clocks move by half an hour (IANA time zone data).
func TestZoneResolve(t *testing.T) {
	cases := []struct {
		name, zone, wall, early, late string
		passing                       clock.Passing
	}{
		{"winter", "Europe/Oslo", "2031-01-15T12:00:00Z", "2031-01-15T11:00:00Z", "2031-01-15T11:00:00Z", clock.Once},
		{"summer", "Europe/Oslo", "2031-05-02T07:40:12Z", "2031-05-02T05:40:12Z", "2031-05-02T05:40:12Z", clock.Once},
		{"just before the clock goes forward", "Europe/Oslo", "2031-03-30T01:59:59Z", "2031-03-30T00:59:59Z", "2031-03-30T00:59:59Z", clock.Once},
		{"skipped", "Europe/Oslo", "2031-03-30T02:30:00Z", "2031-03-30T00:30:00Z", "2031-03-30T01:30:00Z", clock.Never},
		{"just after", "Europe/Oslo", "2031-03-30T03:00:00Z", "2031-03-30T01:00:00Z", "2031-03-30T01:00:00Z", clock.Once},
		{"passed twice", "Europe/Oslo", "2031-10-26T02:30:00Z", "2031-10-26T00:30:00Z", "2031-10-26T01:30:00Z", clock.Twice},
		{"just after the hour passed twice", "Europe/Oslo", "2031-10-26T03:00:00Z", "2031-10-26T02:00:00Z", "2031-10-26T02:00:00Z", clock.Once},
		{"half an hour passed twice", "Australia/Lord_Howe", "2031-04-06T01:45:00Z", "2031-04-05T14:45:00Z", "2031-04-05T15:15:00Z", clock.Twice},
		{"west", "America/St_Johns", "2031-07-01T00:00:00Z", "2031-07-01T02:30:00Z", "2031-07-01T02:30:00Z", clock.Once},
		{"an offset", "+05:45", "2031-07-01T05:45:00Z", "2031-07-01T00:00:00Z", "2031-07-01T00:00:00Z", clock.Once},
		{"an abbreviation", "CEST", "2031-07-01T02:00:00Z", "2031-07-01T00:00:00Z", "2031-07-01T00:00:00Z", clock.Once},
		{"nothing", "", "2031-07-01T02:00:00Z", "2031-07-01T02:00:00Z", "2031-07-01T02:00:00Z", clock.Once},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			z, err := clock.ZoneNamed(c.zone)
			if err != nil {
				t.Fatal(err)
			}
			w, _ := clock.Parse(c.wall)
			for range 2 { // the second time from memory
				early, late, passing := z.Resolve(w)
				if early.String() != c.early || late.String() != c.late || passing != c.passing {
					t.Errorf("got %v, %v, %v, want %+v", early, late, passing, c)
				}
			}
		})
	}
}

// Every quarter of an hour of two years, in zones with odd rules, must come back from the instants it resolves to.
func TestZoneResolveComesBack(t *testing.T) {
	for _, name := range []string{"Europe/Oslo", "Africa/Casablanca", "America/Santiago", "Australia/Lord_Howe", "Asia/Tehran", "Pacific/Apia"} {
		z, err := clock.ZoneNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		loc, _ := time.LoadLocation(name)
		start := clock.At(time.Date(2029, 12, 1, 0, 0, 0, 0, time.UTC))
		for w := start; w < start.Add(2*366*24*time.Hour); w = w.Add(15 * time.Minute) {
			early, late, p := z.Resolve(w)
			shows := early.Time().In(loc).Format(time.DateTime) == w.Time().Format(time.DateTime) &&
				late.Time().In(loc).Format(time.DateTime) == w.Time().Format(time.DateTime)
			if shows == (p == clock.Never) || (p == clock.Once) != (early == late) {
				t.Fatalf("%s %v: %v, %v, %v", name, w, early, late, p)
			}
		}
	}
}

func TestZoneNamedRefuses(t *testing.T) {
	for _, name := range []string{"CST", "Local", "Europe", "Europe/Nowhere", "../etc/passwd", "/etc/passwd", "+99:00", "7", "Europe/../Oslo", strings.Repeat("A/", 100)} {
		if z, err := clock.ZoneNamed(name); err == nil {
			t.Errorf("%q gives %v", name, z)
		}
	}
}

// The release's own list of zones is the source: an abbreviation that we take for one offset has no other in any zone of it
// since 2020.
func TestAbbreviationsAreUnambiguous(t *testing.T) {
	list, err := zip.OpenReader(filepath.Join(runtime.GOROOT(), "lib", "time", "zoneinfo.zip"))
	if err != nil {
		t.Skip("no list of zones beside this Go")
	}
	defer list.Close()
	from, until := time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2037, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, f := range list.File {
		loc, err := time.LoadLocation(f.Name)
		if err != nil || strings.HasPrefix(f.Name, "Etc/") {
			continue
		}
		for at := from; at.Before(until); {
			name, off := at.In(loc).Zone()
			if z, err := clock.ZoneNamed(name); err == nil {
				if got, _, _ := z.Resolve(0); int64(got) != -int64(off)*1000 {
					t.Errorf("%s: %s stands for %v s east here, ZoneNamed says %v", f.Name, name, off, -got/1000)
				}
			}
			_, end := at.In(loc).ZoneBounds()
			if !end.After(at) { // no further change
				break
			}
			at = end
		}
	}
}
