package intake_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lastbeacon/core/intake"
)

// endless gives the same text n times without holding it.
type endless struct {
	text string
	n    int
	rest string
}

func (e *endless) Read(p []byte) (int, error) {
	if e.rest == "" {
		if e.n == 0 {
			return 0, io.EOF
		}
		e.n--
		e.rest = e.text
	}
	n := copy(p, e.rest)
	e.rest = e.rest[n:]
	return n, nil
}

func gzipped(text string, n int) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	io.Copy(z, &endless{text: text, n: n})
	z.Close()
	return b.Bytes()
}

func zipped(name, text string, n int) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, _ := z.Create(name)
	io.Copy(w, &endless{text: text, n: n})
	z.Close()
	return b.Bytes()
}

// overlapping repeats the only entry of an archive's directory n times: all of them name the same packed bytes.
func overlapping(archive []byte, n int) []byte {
	at, end := bytes.LastIndex(archive, []byte("PK\x01\x02")), bytes.LastIndex(archive, []byte("PK\x05\x06"))
	all := slices.Concat(archive[:at], bytes.Repeat(archive[at:end], n), archive[end:])
	tail := all[len(all)-22:]
	binary.LittleEndian.PutUint16(tail[8:], uint16(n))
	binary.LittleEndian.PutUint16(tail[10:], uint16(n))
	binary.LittleEndian.PutUint32(tail[12:], uint32(n*(end-at)))
	return all
}

// Each input tries to make the reader hold or spend what is out of proportion. The limit is on memory newly taken.
func TestHostileFiles(t *testing.T) {
	zeros := strings.Repeat("\x00", 1<<20)
	cases := []struct {
		name, code string
		content    func() io.Reader
	}{
		{"gzip bomb", "gzip.bomb", func() io.Reader { return bytes.NewReader(gzipped(zeros, 200)) }},
		{"zip bomb", "gzip.bomb", func() io.Reader { return bytes.NewReader(zipped("a.log", zeros, 200)) }},
		{"a zip whose 200 members are the same 20 MB", "gzip.bomb", func() io.Reader { return bytes.NewReader(overlapping(zipped("a.log", zeros, 20), 200)) }},
		{"zip beyond its limit", "zip.too-large", func() io.Reader { return io.MultiReader(strings.NewReader("PK\x03\x04"), &endless{text: zeros, n: 40}) }},
		{"damaged zip", "zip.damaged", func() io.Reader { return strings.NewReader("PK\x03\x04 and no more") }},
		{"damaged gzip", "gzip.damaged", func() io.Reader { return strings.NewReader("\x1f\x8b and no more") }},
		{"a call sign of 10 MB", "line.too-long", func() io.Reader {
			return io.MultiReader(strings.NewReader("2031-05-02T05:40:12Z Q"), &endless{text: strings.Repeat("X", 1<<20), n: 10},
				strings.NewReader(">APZ001:>a\n2031-05-02T05:40:12Z "+packet+"\n"))
		}},
		{"one line of 50 MB", "file.unknown", func() io.Reader { return &endless{text: strings.Repeat("x", 1<<20), n: 50} }},
		{"XML nested 300,000 deep", "file.cut", func() io.Reader {
			return io.MultiReader(strings.NewReader("<gpx>"), &endless{text: "<a>", n: 300_000})
		}},
		{"XML whose entities multiply", "", func() io.Reader {
			doctype := `<!DOCTYPE gpx [<!ENTITY a0 "aaaaaaaaaa">`
			for k := range 9 {
				doctype += fmt.Sprintf(`<!ENTITY a%d "%s">`, k+1, strings.Repeat(fmt.Sprintf("&a%d;", k), 10))
			}
			return strings.NewReader(`<?xml version="1.0"?>` + doctype + "]><gpx><trk><name>&a9;</name></trk></gpx>")
		}},
		{"JSON nested deep", "json.deep", func() io.Reader {
			return strings.NewReader(`{"time":1}` + "\n" + strings.Repeat(`{"a":`, 10_000) + "1" + strings.Repeat("}", 10_000) + "\n")
		}},
		{"JSON array nested deep", "json.deep", func() io.Reader {
			return strings.NewReader(`[{"time":1},` + strings.Repeat(`{"a":`, 10_000) + "1" + strings.Repeat("}", 10_000) + "]")
		}},
		{"JSON nested 100,000 deep", "line.too-long", func() io.Reader {
			return strings.NewReader(`{"time":1}` + "\n" + strings.Repeat(`{"a":`, 100_000) + "1" + strings.Repeat("}", 100_000) + "\n")
		}},
		{"one JSON text of 50 MB", "json.damaged", func() io.Reader {
			return io.MultiReader(strings.NewReader(`[{"a":"`), &endless{text: strings.Repeat("x", 1<<20), n: 50})
		}},
		{"one feature of 60 MB", "json.damaged", func() io.Reader {
			return io.MultiReader(strings.NewReader(`{"type":"FeatureCollection","features":[{"a":"`), &endless{text: strings.Repeat("x", 1<<20), n: 60})
		}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := c.content()
			before := system()
			s, err := intake.Read(r, "a", 0, intake.Settings{}, everything)
			if err != nil {
				t.Fatal(err)
			}
			addsUp(t, s)
			if c.code != "" && noteOf(s, c.code) == nil {
				t.Errorf("no note %s among %+v", c.code, s.Notes)
			}
			if grown := system() - before; grown > 120<<20 {
				t.Errorf("took %d MB", grown>>20)
			}
		})
	}
}

// Archives whose directory lies, or names what nobody should follow: what can be read is read, the rest is said.
func TestHostileArchives(t *testing.T) {
	line := "2031-05-02T05:40:12Z " + packet + "\n"
	size, sum := uint64(len(line)), crc32.ChecksumIEEE([]byte(line))
	for _, c := range []struct {
		name, code string
		packets    int
		member     zip.FileHeader
		content    string
	}{
		{"a name that climbs out of its folder", "", 1, zip.FileHeader{Name: "../../../etc/a.log", UncompressedSize64: size, CRC32: sum}, line},
		{"a name of 60 KB", "", 1, zip.FileHeader{Name: strings.Repeat("n", 60<<10), UncompressedSize64: size, CRC32: sum}, line},
		{"encrypted", "zip.skipped", 0, zip.FileHeader{Name: "a", Flags: 1, UncompressedSize64: size, CRC32: sum}, line},
		{"packed in a way nobody knows", "zip.skipped", 0, zip.FileHeader{Name: "a", Method: 99, UncompressedSize64: size, CRC32: sum}, line},
		{"a wrong check sum", "zip.damaged", 1, zip.FileHeader{Name: "a", UncompressedSize64: size, CRC32: sum + 1}, line},
		{"less in it than stated", "file.cut", 1, zip.FileHeader{Name: "a", UncompressedSize64: 1 << 30, CRC32: sum}, line},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			z := zip.NewWriter(&b)
			c.member.CompressedSize64 = uint64(len(c.content))
			w, err := z.CreateRaw(&c.member)
			if err != nil {
				t.Fatal(err)
			}
			io.WriteString(w, c.content)
			z.Close()
			s := read(t, b.String(), intake.Settings{})
			if s.File.Packets != c.packets || c.code == "" && len(s.Notes) > 0 || c.code != "" && noteOf(s, c.code) == nil {
				t.Errorf("%d packets, notes %+v", s.File.Packets, s.Notes)
			}
		})
	}
}

// An archive of more entries than 16 bits can count: the first members are read, the others are counted.
func TestArchiveOfManyEntries(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := range 70_000 {
		w, _ := z.CreateHeader(&zip.FileHeader{Name: strconv.Itoa(i)})
		io.WriteString(w, "2031-05-02T05:40:12Z "+packet+"\n")
	}
	z.Close()
	s := read(t, b.String(), intake.Settings{})
	if n := noteOf(s, "zip.skipped"); n == nil || n.Text != "69800 files at the end of the archive's list were not read" || s.File.Packets != 200 || len(s.Notes) > 60 {
		t.Errorf("%d packets, notes %+v", s.File.Packets, s.Notes)
	}
}

func system() int64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.Sys)
}

// Rubbish of every kind of line must not make the list of notes grow.
func TestNotesStayFew(t *testing.T) {
	var b strings.Builder
	for i := range 50_000 {
		b.WriteString("2031-05-02T05:40:12Z QX1ABC>APZ001,")
		b.WriteString(strings.Repeat("?", i%300))
		b.WriteString(":!bad\n2031-05-02 odd\n")
	}
	s := read(t, b.String(), intake.Settings{})
	if len(s.Notes) > 200 || s.File.Lines != 100_000 {
		t.Errorf("%d notes, %d lines", len(s.Notes), s.File.Lines)
	}
}

// An error of the host is an error of Read, wherever in the file it comes.
func TestErrorsOfTheHost(t *testing.T) {
	broken := errors.New("the disk is gone")
	line := "2031-05-02T05:40:12Z " + packet + "\n"
	for name, r := range map[string]io.Reader{
		"at once":     &failing{err: broken},
		"in text":     io.MultiReader(strings.NewReader(strings.Repeat(line, 5000)), &failing{err: broken}),
		"in gzip":     io.MultiReader(bytes.NewReader(gzipped(line, 5000)[:500]), &failing{err: broken}),
		"in a zip":    io.MultiReader(strings.NewReader("PK\x03\x04"), &failing{err: broken}),
		"in GPX":      io.MultiReader(strings.NewReader("<gpx><trk>"), &failing{err: broken}),
		"in UTF-16":   io.MultiReader(strings.NewReader("\xff\xfea\x00"), &failing{err: broken}),
		"in a JSON":   io.MultiReader(strings.NewReader(`[{"time":`), &failing{err: broken}),
		"in a pcap":   io.MultiReader(strings.NewReader("\xd4\xc3\xb2\xa1\x02\x00\x04\x00"+strings.Repeat("\x00", 12)+"\x03\x00\x00\x00"), &failing{err: broken}),
		"in unknown":  io.MultiReader(strings.NewReader("words\n"), &failing{err: broken}),
		"in a header": io.MultiReader(strings.NewReader("\x1f\x8b"), &failing{err: broken}),
	} {
		if s, err := intake.Read(r, "a", 0, intake.Settings{}, everything); !errors.Is(err, broken) {
			t.Errorf("%s: %v, %v", name, s, err)
		}
	}
}

type failing struct{ err error }

func (f *failing) Read([]byte) (int, error) { return 0, f.err }
