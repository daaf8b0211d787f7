package session

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lastbeacon/core/bench"
	"lastbeacon/core/clock"
)

// spoiledCases is how many of each kind are tried; SPOILED asks for more, SPOILED_FROM for other seeds.
func spoiledCases(t *testing.T) (from, until int) {
	number := func(name string, usual int) int {
		if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
			return n
		}
		return usual
	}
	from = number("SPOILED_FROM", 1)
	return from, from + number("SPOILED", 12)
}

// Sound files of every form, cut up, mixed, repeated, put out of order and given impossible stamps and numbers: the pipeline
// holds together, and the order in which the files come changes nothing.
func TestSpoiledFiles(t *testing.T) {
	sound := soundFiles(t)
	from, until := spoiledCases(t)
	for seed := from; seed < until; seed++ {
		t.Run(strconv.Itoa(seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(uint64(seed), 1))
			var inputs []input
			for k := range 1 + r.IntN(3) {
				inputs = append(inputs, input{fmt.Sprintf("%c.log", 'a'+k), spoiledText(r, sound)})
			}
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			bare := fuzzBenches[r.IntN(len(fuzzBenches))]
			bare.Schema = bench.Schema
			given := withProposed(t, bare, answerTo(t, []byte(asJSON(bare)), inputs))
			s, text := analysed(t, given, inputs)
			holdsTogether(t, text)
			writesOut(t, s)
			runtime.ReadMemStats(&after)
			if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; taken > 1000 {
				t.Errorf("%d MB were taken", taken)
			}
			slices.Reverse(inputs)
			if again := answerTo(t, given, inputs); !bytes.Equal(again, text) {
				t.Errorf("files in another order give another report\n%.300s", differing(text, again))
			}
		})
	}
}

// A bench with values of the wrong kind, without measure or from outside of any schema is refused in words, or taken as sound.
func TestSpoiledBenches(t *testing.T) {
	b, inputs := exampleInputs(t)
	short := shortened(inputs)
	from, until := spoiledCases(t)
	for seed := from; seed < until; seed++ {
		t.Run(strconv.Itoa(seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(uint64(seed), 2))
			given := spoiledJSON(t, r, b)
			if err := New("test").Prepare(given); err != nil {
				if words := err.Error(); len(words) > 2000 || strings.Contains(words, "bench.") || strings.Contains(words, "Go ") {
					t.Errorf("refused with %.300s", words)
				}
				return
			}
			s, text := analysed(t, given, short)
			holdsTogether(t, text)
			writesOut(t, s)
		})
	}
}

// A saved report that somebody edited gives what is sound in it; the bench it leaves behind is one.
func TestSpoiledReports(t *testing.T) {
	text, bare := saved(t)
	from, until := spoiledCases(t)
	for seed := from; seed < until; seed++ {
		t.Run(strconv.Itoa(seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(uint64(seed), 3))
			s, answer := analysed(t, bare, []input{{"earlier.json", spoiledJSON(t, r, text)}})
			holdsTogether(t, answer)
			writesOut(t, s)
			if err := New("test").Prepare([]byte(asJSON(decoded(t, asSaved(t, s)).Bench))); err != nil {
				t.Error(err)
			}
		})
	}
}

func asSaved(t *testing.T, s *Session) []byte {
	t.Helper()
	text, err := s.Export("json")
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func differing(a, b []byte) string {
	at := 0
	for at < min(len(a), len(b)) && a[at] == b[at] {
		at++
	}
	at = max(0, at-100)
	return fmt.Sprintf("%s\nagainst\n%s", a[at:min(len(a), at+300)], b[at:min(len(b), at+300)])
}

// shortened keeps the beginning of each file, so that a case takes little time.
func shortened(inputs []input) []input {
	out := slices.Clone(inputs)
	for i := range out {
		if !bytes.HasPrefix(out[i].data, []byte{0x1f, 0x8b}) {
			out[i].data = out[i].data[:min(len(out[i].data), 20_000)]
		}
	}
	return out
}

func soundFiles(t *testing.T) [][]byte {
	t.Helper()
	var sound [][]byte
	for _, pattern := range []string{"../../testdata/golden/*/*", "../../testdata/intake/*/*", "../../testdata/example/*.log", "../../testdata/example/*.gpx"} {
		paths, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range paths {
			content, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasSuffix(path, ".golden") && len(content) > 0 {
				sound = append(sound, content[:min(len(content), 12_000)])
			}
		}
	}
	return sound
}

var (
	stampShape  = regexp.MustCompile(`\d{4}-\d\d-\d\d[ T]\d\d:\d\d:\d\d|\d\d:\d\d:\d\d|\d{10}`)
	numberShape = regexp.MustCompile(`\d+(\.\d+)?`)
)

var edgeStamps = []string{"0000-01-01 00:00:00", "9999-12-31T23:59:59", "1969-12-31 23:59:59", "1970-01-01T00:00:00", "2016-12-31 23:59:60", "2031-02-29 12:00:00",
	"2031-10-26 02:30:00", "2031-03-30T02:30:00", "24:00:00", "23:59:60", "00:00:00", "99:99:99", "-1", "0", "2147483648", "253402300800", "1e308", "NaN", ""}

var oddTexts = []string{"\x1b[2J", "\u202e", "<script>alert(1)</script>", "=1+1", "\x00", "\xff\xfe", "QX1ABC-7>APZ001:", "\"", "'", "}", "]]>", "&a;", ",,,,", "\t", "$GPRMC,", "\xc0\x00",
	"]T", "1e400", "-0", "NaN", "Infinity", "180", "-90.0000001", "99999999999999999999", "62°12.3'N", "Q\u00c5\u00c4", strings.Repeat("x", 3000)}

// spoiledText spoils a sound file in one to four ways.
func spoiledText(r *rand.Rand, sound [][]byte) []byte {
	text := slices.Clone(sound[r.IntN(len(sound))])
	for range 1 + r.IntN(4) {
		text = spoil(r, text, sound)
	}
	return text[:min(len(text), 60_000)]
}

func spoil(r *rand.Rand, text []byte, sound [][]byte) []byte {
	lines := bytes.SplitAfter(text, []byte("\n"))
	a, b := r.IntN(len(lines)), r.IntN(len(lines))
	a, b = min(a, b), max(a, b)
	odd := []byte(oddTexts[r.IntN(len(oddTexts))])
	switch r.IntN(16) {
	case 0:
		slices.Reverse(lines[a:b])
	case 1:
		r.Shuffle(b-a, func(i, j int) { lines[a+i], lines[a+j] = lines[a+j], lines[a+i] })
	case 2:
		lines = slices.Concat(lines[:b], lines[a:b], lines[b:])
	case 3:
		lines = slices.Delete(lines, a, b)
	case 4:
		return text[:r.IntN(len(text)+1)]
	case 5:
		other := sound[r.IntN(len(sound))]
		return slices.Concat(text[:r.IntN(len(text)+1)], other[r.IntN(len(other)):])
	case 6:
		other := bytes.SplitAfter(sound[r.IntN(len(sound))], []byte("\n"))
		lines = slices.Insert(lines, a, other[r.IntN(len(other))])
	case 7:
		lines[a] = bytes.Repeat(lines[a], 1+r.IntN(300))
	case 8:
		signs := []string{",", ";", "\t", " ", ":", ">", "|"}
		return bytes.ReplaceAll(text, []byte(signs[r.IntN(len(signs))]), []byte(signs[r.IntN(len(signs))]))
	case 9:
		ends := []string{"\r\n", "\r", "\n\n", "\x00", ""}
		return bytes.ReplaceAll(text, []byte("\n"), []byte(ends[r.IntN(len(ends))]))
	case 10, 11:
		return replaceSome(r, text, stampShape, func() string { return edgeStamps[r.IntN(len(edgeStamps))] })
	case 12:
		return replaceSome(r, text, numberShape, func() string { return string(odd) })
	case 13:
		at := r.IntN(len(text) + 1)
		return slices.Concat(text[:at], odd, text[at:])
	case 14:
		for range 1 + r.IntN(5) {
			if len(text) > 0 {
				text[r.IntN(len(text))] ^= byte(1 << r.IntN(8))
			}
		}
		return text
	case 15:
		var packed bytes.Buffer
		z := gzip.NewWriter(&packed)
		z.Write(text)
		z.Close()
		return packed.Bytes()
	}
	return slices.Concat(lines...)
}

// replaceSome replaces about a twentieth of what has a shape, at least one.
func replaceSome(r *rand.Rand, text []byte, shape *regexp.Regexp, by func() string) []byte {
	found := shape.FindAllIndex(text, -1)
	if len(found) == 0 {
		return text
	}
	var out []byte
	from, sure := 0, r.IntN(len(found))
	for i, at := range found {
		if i == sure || r.IntN(20) == 0 {
			out = append(append(out, text[from:at[0]]...), by()...)
			from = at[1]
		}
	}
	return append(out, text[from:]...)
}

var oddValues = []any{nil, true, "", "x", "__proto__", "constructor", "<img src=x onerror=alert(1)>", "\u202e\u0000", strings.Repeat("n", 20_000), json.Number("0"), json.Number("-1"), json.Number("1e308"),
	json.Number("-1e308"), json.Number("1e-320"), json.Number("1e400"), json.Number("0.5"), json.Number("99999999999999999999"), "0000-01-01T00:00:00Z", "9998-12-31T23:59:59Z", "1970-01-01T00:00:00Z",
	"2031-05-02T05:40:00+99:00", "ended", "noted", "stopped", "meter", "pack", "printed", "measured", []any{}, map[string]any{}, []any{nil, nil}, "lastbeacon.report/0", "lastbeacon.bench/2"}

// spoiledJSON replaces, takes away, repeats and swaps one to four values of a JSON text.
func spoiledJSON(t *testing.T, r *rand.Rand, text []byte) []byte {
	t.Helper()
	var v any
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	for range 1 + r.IntN(4) {
		spoilValue(r, v)
	}
	out, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// spoilValue goes down from v at random and spoils what it meets. Maps are walked in the order of their keys, so that a seed
// says the same again.
func spoilValue(r *rand.Rand, v any) {
	odd := func() any { return oddValues[r.IntN(len(oddValues))] }
	switch v := v.(type) {
	case map[string]any:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		if len(keys) == 0 {
			return
		}
		key := keys[r.IntN(len(keys))]
		switch _, inner := v[key].(map[string]any); {
		case r.IntN(12) == 0:
			delete(v, key)
		case r.IntN(12) == 0:
			v[key] = v[keys[r.IntN(len(keys))]]
		case inner || isList(v[key]) && r.IntN(15) > 0:
			spoilValue(r, v[key])
		default:
			v[key] = odd()
		}
	case []any:
		if len(v) == 0 {
			return
		}
		at := r.IntN(len(v))
		switch {
		case r.IntN(10) == 0:
			v[at] = odd()
		case r.IntN(10) == 0:
			v[at] = v[r.IntN(len(v))]
		default:
			spoilValue(r, v[at])
		}
	}
}

func isList(v any) bool {
	_, is := v.([]any)
	return is
}

// A clock that had lost its date puts millions of due times between two packets, which must not be held one by one; one that was
// not set at all tells no time.
func TestOneStampOfAnotherTime(t *testing.T) {
	for _, c := range []struct {
		stamp         string
		transmissions int
		counted       bool
	}{{"1970-01-01T00:00:00Z", 60, true}, {"1999-08-22T00:00:00Z", 61, false}} {
		log := []byte(c.stamp + " QX1ABC-7>APZ001:!6203.90N/00938.10E>on\n")
		for k := range 60 {
			log = fmt.Appendf(log, "%s QX1ABC-7>APZ001:!6203.90N/00938.10E>on\n", clock.At(time.Date(2031, 5, 2, 6, 0, 200*k, 0, time.UTC)))
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, text := analysed(t, []byte(`{"schema":"lastbeacon.bench/1","units":[{"name":"Heron","match":[{"station":"QX1ABC-7"}]}]}`), []input{{"a.log", log}})
		runtime.ReadMemStats(&after)
		if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; taken > 200 {
			t.Errorf("%s: %d MB were taken for %d bytes", c.stamp, taken, len(log))
		}
		holdsTogether(t, text)
		if run := decoded(t, text).Units[0].Runs[0]; run.Schedule.Kind != "fixed" || (run.Missed != nil) != c.counted || run.Transmissions != c.transmissions {
			t.Errorf("%s: %s, missed %v, %d transmissions", c.stamp, run.Schedule.Kind, run.Missed, run.Transmissions)
		}
	}
}
