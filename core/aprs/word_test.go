package aprs

import (
	"bytes"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

// What is read eight bytes at a time is what packages bytes and strconv read, wherever a field lies in memory.
func TestWordsReadWhatBytesDo(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 7))
	for range 200_000 {
		field := make([]byte, r.IntN(18))
		alphabet := [...]string{"0123456789", "0123456789.", "0123456789.-+ ,", "\x00/09:;.,\x7f\x80\xb0\xff"}[r.IntN(4)]
		for i := range field {
			field[i] = alphabet[r.IntN(len(alphabet))]
		}
		b := append(field, "0099.,0099"[:r.IntN(11)]...)[:len(field)] // what lies behind a field must not count
		text := string(b)
		if got, want := index(b, ','), bytes.IndexByte(b, ','); got != want {
			t.Fatalf("index of ',' in %q: %d, want %d", text, got, want)
		}
		ahead, behind, found := upTo(b, '.')
		if wantAhead, wantBehind, want := bytes.Cut(b, []byte{'.'}); found != want || !bytes.Equal(ahead, wantAhead) || !bytes.Equal(behind, wantBehind) {
			t.Fatalf("up to '.' in %q: %q, %q, %v", text, ahead, behind, found)
		}
		isNumber := text != "" && strings.Trim(text, "0123456789") == ""
		if digits(b) != isNumber {
			t.Fatalf("digits of %q: %v", text, digits(b))
		}
		if isNumber && len(text) <= 15 {
			if want, _ := strconv.ParseFloat(text, 64); number(b) != want {
				t.Fatalf("number %q: %v, want %v", text, number(b), want)
			}
		}
		if len(b) <= 8 {
			if _, ok := natural(b); ok != isNumber {
				t.Fatalf("natural number %q: %v", text, ok)
			}
		}
		unsigned := strings.TrimPrefix(text, "-")
		if len(unsigned) == len(text) {
			unsigned = strings.TrimPrefix(text, "+")
		}
		size := len(unsigned) - strings.Count(unsigned, ".")
		want, err := strconv.ParseFloat(text, 64)
		isDecimal := err == nil && strings.Trim(unsigned, "0123456789.") == "" && size <= 15
		if got, ok := decimal(b); ok != isDecimal || ok && got != want {
			t.Fatalf("decimal %q: %v %v, want %v %v", text, got, ok, want, isDecimal)
		}
	}
}
