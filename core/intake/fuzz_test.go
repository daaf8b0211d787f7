package intake_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"testing"

	"lastbeacon/core/evidence"
	"lastbeacon/core/intake"
)

// Whatever the bytes are, reading ends, lines add up, places are on the Earth, a second reading says the same, and what is
// held stays in proportion to the file.
func FuzzRead(f *testing.F) {
	for _, path := range samples(f) {
		content, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(content)
	}
	f.Fuzz(func(t *testing.T, content []byte) {
		if len(content) > 1<<20 {
			return
		}
		s := readTwice(t, content)
		if s == nil {
			return
		}
		addsUp(t, s)
		for _, tr := range s.Tracks {
			for _, x := range tr.Fixes {
				if !(math.Abs(x.Place.Lat) <= 90 && math.Abs(x.Place.Lon) <= 180) || !x.At.Known() {
					t.Fatalf("fix %+v", x)
				}
			}
		}
		held := 0
		for _, r := range s.Receptions {
			held += len(r.Raw)
		}
		if limit := 4096 + 1100*len(content); held > limit || len(s.Notes) > 200 {
			t.Fatalf("%d bytes held and %d notes of %d bytes", held, len(s.Notes), len(content))
		}
		evidence.Gather([]*evidence.Source{s})
	})
}

// readTwice gives nil where the file asks to be read again.
func readTwice(t *testing.T, content []byte) *evidence.Source {
	t.Helper()
	a, errA := intake.Read(bytes.NewReader(content), "a", 0, intake.Settings{}, everything)
	b, errB := intake.Read(bytes.NewReader(content), "a", 0, intake.Settings{}, everything)
	if errA != nil || errB != nil {
		if !errors.Is(errA, intake.ErrReadAgain) || !errors.Is(errB, intake.ErrReadAgain) {
			t.Fatalf("%v, %v", errA, errB)
		}
		return nil
	}
	if summary(a) != summary(b) {
		t.Fatalf("first reading\n%s\nsecond\n%s", summary(a), summary(b))
	}
	return a
}
