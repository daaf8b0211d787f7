package aprs

import (
	"bytes"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// What is read eight bytes at a time is what Go's packages bytes and strconv read, wherever a field lies in memory.

// eachField has a test look at random fields, of digits and of what is near them, with more of the like behind some of them.
func eachField(longest int, look func(b []byte)) {
	r := rand.New(rand.NewPCG(4, 7))
	for range 200_000 {
		alphabet := [...]string{"0123456789", "0123456789.", "0123456789.-+ ,", "|!/ a", ",,7", "\x00/09:;.,\x7f\x80\xb0\xff"}[r.IntN(6)]
		b := make([]byte, r.IntN(longest+1)+r.IntN(9))
		for i := range b {
			b[i] = alphabet[r.IntN(len(alphabet))]
		}
		look(b[:r.IntN(min(longest, len(b))+1)])
	}
}

func TestIndexAndUpToFindWhatBytesDoes(t *testing.T) {
	eachField(20, func(b []byte) {
		if got, want := index(b, ','), bytes.IndexByte(b, ','); got != want {
			t.Fatalf("index of ',' in %q: %d, want %d", b, got, want)
		}
		ahead, behind, found := upTo(b, '.')
		wantAhead, wantBehind, want := bytes.Cut(b, []byte{'.'})
		if found != want || !bytes.Equal(ahead, wantAhead) || !bytes.Equal(behind, wantBehind) {
			t.Fatalf("up to '.' in %q: %q, %q, %v, want %q, %q, %v", b, ahead, behind, found, wantAhead, wantBehind, want)
		}
	})
}

func TestDigitsAndNumbersAreStrconvs(t *testing.T) {
	eachField(20, func(b []byte) {
		want, err := strconv.ParseFloat(string(b), 64)
		isNumber := err == nil && strings.Trim(string(b), "0123456789") == ""
		if digits(b) != isNumber {
			t.Fatalf("digits of %q: %v, want %v", b, !isNumber, isNumber)
		}
		if isNumber && len(b) <= 15 && number(b) != want {
			t.Fatalf("number %q: %v, want %v", b, number(b), want)
		}
		if len(b) > 8 {
			return
		}
		if got, ok := natural(b); ok != isNumber || ok && got != want {
			t.Fatalf("natural number %q: %v %v, want %v %v", b, got, ok, want, isNumber)
		}
	})
}

func TestDecimalsAreStrconvs(t *testing.T) {
	eachField(20, func(b []byte) {
		unsigned := strings.TrimLeft(string(b[:min(1, len(b))]), "+-") + string(b[min(1, len(b)):])
		want, err := strconv.ParseFloat(string(b), 64)
		isDecimal := err == nil && strings.Trim(unsigned, "0123456789.") == "" && len(unsigned)-strings.Count(unsigned, ".") <= 15
		if got, ok := decimal(b); ok != isDecimal || ok && got != want {
			t.Fatalf("decimal %q: %v %v, want %v %v", b, got, ok, want, isDecimal)
		}
	})
}

func TestSentencesAreSummedAndSplitAsByteByByte(t *testing.T) {
	eachField(60, func(b []byte) {
		sum := byte(0)
		for _, ch := range b {
			sum ^= ch
		}
		if got := xor(b); got != sum {
			t.Fatalf("xor of %q: %#x, want %#x", b, got, sum)
		}
		var f [16][]byte
		want := bytes.SplitN(b, []byte{','}, len(f))
		if n := split(b, &f); !bytes.Equal(bytes.Join(f[:n], []byte{'|'}), bytes.Join(want, []byte{'|'})) {
			t.Fatalf("%q at its commas: %q, want %q", b, f[:n], want)
		}
	})
}

func TestCommentsOpenWhatTheirBytesOpen(t *testing.T) {
	eachField(40, func(b []byte) {
		want := uint8(0)
		for at, ch := range []byte("|!/") {
			if bytes.IndexByte(b, ch) >= 0 {
				want |= 1 << at
			}
		}
		if got := opened(b); got != want {
			t.Fatalf("what %q opens: %b, want %b", b, got, want)
		}
	})
}

// A place without blanks is read at once; digit by digit it is the same.
func TestPlacesWithoutBlanksAreTheirDigits(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 8))
	for range 100_000 {
		written := []byte("dddmm.hh")
		for i, ch := range written {
			if ch != '.' {
				written[i] = '0' + byte(r.IntN(10))
			}
		}
		d, hundredths, _, _ := blanked(load(append(written[:5:5], written[6:]...)), 0)
		within := hundredths < 6000 && (d < 180 || d == 180 && hundredths == 0)
		deg, _, code := degrees(load(written), -1, 180)
		if within != (code == "") || within && deg != float64(d*6000+hundredths)/6000 {
			t.Fatalf("%s: %v %q, digit by digit %d degrees and %d hundredths", written, deg, code, d, hundredths)
		}
	}
}
