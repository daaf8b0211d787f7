package intake_test

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

var update = flag.Bool("update", false, "rewrite the golden files; a person reads the difference")

// samples lists the inputs beside their expected answers.
func samples(t testing.TB) []string {
	t.Helper()
	var all []string
	err := filepath.WalkDir("../../testdata/intake", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && filepath.Ext(p) != ".golden" {
			all = append(all, p)
		}
		return err
	})
	if err != nil || len(all) < 30 {
		t.Fatalf("%d samples, %v", len(all), err)
	}
	return all
}

func TestGoldenSamples(t *testing.T) {
	for _, path := range samples(t) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			content, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			got := summary(readSample(t, content, filepath.Base(path)))
			if *update {
				if err := os.WriteFile(path+".golden", []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path + ".golden")
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			if renamed := summary(readSample(t, content, "unknown")); renamed != got && !strings.Contains(got, "in the file's name") {
				t.Errorf("under another name\n%s\nwant\n%s", renamed, got)
			}
		})
	}
}

func readSample(t *testing.T, content []byte, name string) *evidence.Source {
	t.Helper()
	s, err := intake.Read(bytes.NewReader(content), name, 0, intake.Settings{}, everything)
	if err != nil {
		t.Fatal(err)
	}
	addsUp(t, s)
	return s
}

// summary writes all that a source holds, except its name.
func summary(s *evidence.Source) string {
	var b strings.Builder
	f := s.File
	fmt.Fprintf(&b, "%s, %s, %d bytes\nlines %d, packets %d, fixes %d, readings %d, not used %d, empty %d\n", f.Format, f.Kind, f.Bytes, f.Lines,
		f.Packets, f.Fixes, f.Readings, f.NotUsed, f.Empty)
	fmt.Fprintf(&b, "%v to %v, zone %s (%s), step %g s\n", f.First, f.Last, f.Zone, f.ZoneBasis, f.Resolution)
	for _, a := range f.Ask {
		fmt.Fprintf(&b, "ask %s %v, taken %q: %s\n", a.Field, a.Choices, a.Taken, a.Why)
		for i := range a.Lines {
			fmt.Fprintf(&b, "  %d %q\n", a.Lines[i].No, a.Samples[i])
		}
	}
	for _, c := range f.Columns {
		fmt.Fprintf(&b, "column %d %q %q is %s\n", c.No, c.Header, c.Sample, c.Meaning)
	}
	for _, r := range s.Receptions {
		fmt.Fprintf(&b, "packet %d %v %v>%v heard %d receiver %v %q\n", r.Line.No, r.At, r.From, r.To, r.Heard, r.Receiver, r.Raw)
	}
	for _, tr := range s.Tracks {
		fmt.Fprintf(&b, "track %q\n", tr.Name)
		for _, x := range tr.Fixes {
			fmt.Fprintf(&b, "  fix %d %v %.7f %.7f %.3f m/s %.1f deg\n", x.Line.No, x.At, x.Place.Lat, x.Place.Lon, x.Speed, x.Course)
		}
	}
	for _, r := range s.Readings {
		fmt.Fprintf(&b, "reading %d %v %.4f V %.4f A\n", r.Line.No, r.At, r.Volts, r.Amps)
	}
	for _, p := range s.Presence {
		fmt.Fprintf(&b, "presence %v %v comments %v\n", p.Receiver, p.Spans, p.Comments)
	}
	for _, n := range s.Notes {
		fmt.Fprintf(&b, "note %d:%d %s x%d unused %v: %s | %q\n", n.Line.No, n.Column, n.Code, n.Count, n.Unused, n.Text, n.Excerpt)
	}
	return b.String()
}
