package intake_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime/metrics"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf8"

	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// Whatever the bytes are: reading ends, lines add up, places are on the Earth, a second reading says the same, and neither
// what is held nor what is allocated grows out of proportion to the file. Each format's reader is given what its sniffer
// would turn away too.

func FuzzMonitor(f *testing.F) { fuzzFormat(f, "monitor text", "monitor", intake.Settings{}) }
func FuzzGPX(f *testing.F)     { fuzzFormat(f, "GPX track", "gpx", intake.Settings{}) }
func FuzzKML(f *testing.F)     { fuzzFormat(f, "KML track", "kml", intake.Settings{}) }
func FuzzGeoJSON(f *testing.F) { fuzzFormat(f, "GeoJSON", "geojson", intake.Settings{}) }
func FuzzNMEA(f *testing.F)    { fuzzFormat(f, "NMEA 0183 track", "nmea", intake.Settings{}) }
func FuzzCapture(f *testing.F) { fuzzFormat(f, "KISS capture", "kiss", intake.Settings{}) }
func FuzzPcap(f *testing.F)    { fuzzFormat(f, "packet capture (pcap)", "pcap", intake.Settings{}) }
func FuzzJSON(f *testing.F)    { fuzzFormat(f, "JSON objects", "json", intake.Settings{}) }
func FuzzCSV(f *testing.F)     { fuzzFormat(f, "table (CSV)", "csv", intake.Settings{}) }
func FuzzSaved(f *testing.F)   { fuzzFormat(f, "saved report", "json", intake.Settings{}) }

// A table whose columns somebody named is read as a meter log.
func FuzzMeter(f *testing.F) {
	f.Add([]byte("a;b;c\n02/05/2031 06:00;7,4;250\n"))
	f.Add([]byte("1,2031-05-02T06:00:00Z,\"7.4\n\",1e308\n"))
	fuzzFormat(f, "table (CSV)", "csv", intake.Settings{Zone: "Europe/Oslo", DayOrder: "dmy", Columns: said("1", "time", "2", "volts V", "3", "amps mA")})
}

// FuzzRead lets the content decide the format.
func FuzzRead(f *testing.F) {
	seed(f, "")
	f.Fuzz(func(t *testing.T, content []byte) {
		check(t, content, func() (*evidence.Source, error) {
			return intake.Read(bytes.NewReader(content), "a", 0, intake.Settings{}, everything)
		})
	})
}

// FuzzPacked reads the same text plain and packed or encoded otherwise.
func FuzzPacked(f *testing.F) {
	for _, path := range samples(f) {
		if content, err := os.ReadFile(path); err == nil {
			for how := range byte(5) {
				f.Add(content, how)
			}
		}
	}
	f.Fuzz(func(t *testing.T, content []byte, how byte) {
		if len(content) == 0 || len(content) > 1<<16 {
			return
		}
		packed, comparable := pack(content, how)
		again := check(t, packed, func() (*evidence.Source, error) {
			return intake.Read(bytes.NewReader(packed), "a", 0, intake.Settings{}, everything)
		})
		plain, err := intake.Read(bytes.NewReader(content), "a", 0, intake.Settings{}, everything)
		if err != nil || again == nil || !comparable {
			return
		}
		plain.File.Bytes = again.File.Bytes
		if summary(plain) != summary(again) {
			t.Fatalf("plain\n%s\npacked in way %d\n%s", summary(plain), how%5, summary(again))
		}
	})
}

// pack gives the content in another dress, and whether it must read the same.
func pack(content []byte, how byte) (packed []byte, comparable bool) {
	signed := bytes.HasPrefix(content, []byte{0x1f, 0x8b}) || bytes.HasPrefix(content, []byte("PK"))
	var b bytes.Buffer
	switch how % 5 {
	case 0:
		z := gzip.NewWriter(&b)
		z.Write(content[:len(content)/2])
		z.Close()
		z.Reset(&b)
		z.Write(content[len(content)/2:])
		z.Close()
		return b.Bytes(), !signed
	case 1:
		z := zip.NewWriter(&b)
		w, _ := z.Create("a")
		w.Write(content)
		z.Close()
		return b.Bytes(), !signed
	case 2, 3:
		wideLike := bytes.IndexByte(content, 0) >= 0 || bytes.HasPrefix(content, []byte("\xef\xbb\xbf")) || bytes.HasPrefix(content, []byte("\xff\xfe"))
		mark := "\xff\xfe"
		if how%5 == 3 {
			mark = "\xfe\xff"
		}
		return []byte(mark + wide(string(content), how%5 == 3)), !signed && !wideLike && utf8.Valid(content)
	}
	return append([]byte("PK\x03\x04"), content...), false
}

// fuzzFormat fuzzes the reader of one format, from the samples in a folder.
func fuzzFormat(f *testing.F, format, folder string, set intake.Settings) {
	seed(f, folder)
	f.Fuzz(func(t *testing.T, content []byte) {
		s := check(t, content, func() (*evidence.Source, error) { return intake.ReadAs(format, content, set, everything) })
		if s == nil || folder == "kiss" || folder == "pcap" || bytes.IndexByte(content, '\r') >= 0 {
			return
		}
		want := bytes.Count(content, []byte{'\n'})
		if len(content) > 0 && content[len(content)-1] != '\n' {
			want++
		}
		if s.File.Lines != want {
			t.Fatalf("%d lines are counted, there are %d", s.File.Lines, want)
		}
	})
}

// seed adds the samples of a folder, of all folders for "".
func seed(f *testing.F, folder string) {
	for _, path := range samples(f) {
		if folder != "" && filepath.Base(filepath.Dir(path)) != folder {
			continue
		}
		content, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(content)
	}
}

// check reads twice and gives what was read, nil where the file asks to be read with other settings.
func check(t *testing.T, content []byte, read func() (*evidence.Source, error)) *evidence.Source {
	t.Helper()
	if len(content) > 1<<20 {
		return nil
	}
	before := allocated()
	s, err := read()
	if grown := allocated() - before; grown > 32<<20+3000*uint64(len(content)) {
		t.Fatalf("%d bytes were allocated for %d", grown, len(content))
	}
	again, errAgain := read()
	if err != nil || errAgain != nil {
		if !errors.Is(err, intake.ErrReadAgain) || !errors.Is(errAgain, intake.ErrReadAgain) {
			t.Fatalf("%v, %v", err, errAgain)
		}
		return nil
	}
	if summary(s) != summary(again) {
		t.Fatalf("first reading\n%s\nsecond\n%s", summary(s), summary(again))
	}
	addsUp(t, s)
	held := 0
	for _, r := range s.Receptions {
		held += len(r.Raw)
	}
	if limit := 4096 + 1100*len(content); held > limit || len(s.Notes) > 200 || len(s.File.Columns) > 200 {
		t.Fatalf("%d bytes held, %d notes and %d columns of %d bytes", held, len(s.Notes), len(s.File.Columns), len(content))
	}
	onEarth(t, s)
	evidence.Gather([]*evidence.Source{s})
	return s
}

func allocated() uint64 {
	sample := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}

func onEarth(t *testing.T, s *evidence.Source) {
	t.Helper()
	for _, tr := range s.Tracks {
		for _, x := range tr.Fixes {
			if !(math.Abs(x.Place.Lat) <= 90 && math.Abs(x.Place.Lon) <= 180) || !x.At.Known() {
				t.Fatalf("fix %+v", x)
			}
		}
	}
	for _, r := range s.Readings {
		if !r.At.Known() || math.Abs(r.Volts) > 1000 || math.Abs(r.Amps) > 1000 || math.IsNaN(r.Volts) && math.IsNaN(r.Amps) {
			t.Fatalf("reading %+v", r)
		}
	}
}

// Points that come byte by byte go through the XML decoder; whole ones by the short way, with the same outcome.
func FuzzPlainPoints(f *testing.F) {
	for _, point := range []string{
		`<trkpt lat="62.1" lon="9.6"><ele>612.5</ele><time>2031-05-02T06:00:00Z</time><speed>1.5</speed></trkpt>`,
		"<trkpt lon=\"9.6\" lat=\"62.1\">\r\n<time> 2031-05-02T06:00:00Z\n</time><hdop>1</hdop>text</trkpt>", `<trkpt lat="91" lon="9"><course>7</course></trkpt>`,
		`<trkpt lat="62" lon="9"><time>2031-05-02T06:00:00Z</time><time>x</time></trkpt>`, `<trkpt lat="62" lon="9"><name>a &amp; b</name><extensions><speed>1</speed></extensions></trkpt>`,
		`<trkpt lat="6>2" lon="9"><time/></trkpt><trkpt lat="62" lat="61" lon="9"><a></b></trkpt>`, `<trkpt lon="<" lat=""></trkpt>`, `<trkpt lat="62" lon="9"></trkpt ><trkpt lat="62" lon="9"><trkpt lat="1" lon="1"></trkpt></trkpt>`,
	} {
		f.Add([]byte(point))
	}
	f.Fuzz(func(t *testing.T, points []byte) {
		const first = `<trkpt lat="62" lon="9"><time>2031-05-02T05:59:50Z</time></trkpt>`
		text := "<gpx><trk><trkseg>\n" + first + string(points) + "\n" + first + "</trkseg></trk></gpx>\n"
		short := readFrom(t, strings.NewReader(text))
		long := readFrom(t, iotest.OneByteReader(strings.NewReader(text)))
		for _, s := range []*evidence.Source{short, long} {
			for i := range s.Notes {
				s.Notes[i].Column = 0 // not known by the short way
			}
		}
		if summary(short) != summary(long) {
			t.Fatalf("the short way\n%s\nthe decoder's\n%s", summary(short), summary(long))
		}
	})
}

func readFrom(t *testing.T, r io.Reader) *evidence.Source {
	t.Helper()
	s, err := intake.ReadFrom("GPX track", r, intake.Settings{}, everything)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
