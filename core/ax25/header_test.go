package ax25_test

import (
	"bytes"
	"errors"
	"testing"

	"lastbeacon/core/ax25"
)

func TestParseHeader(t *testing.T) {
	cases := []struct {
		name, line, from, to string
		path                 string // entries as used: a star behind each used one
		info                 string
		err                  error
	}{
		{name: "no path", line: "QX1ABC>APZ001:>x", from: "QX1ABC", to: "APZ001", info: ">x"},
		{name: "star behind the last used hop only", line: "QX1ABC-7>APZ001,QD1A,WIDE1*,WIDE2-1:!", from: "QX1ABC-7", to: "APZ001",
			path: "QD1A* WIDE1* WIDE2-1", info: "!"},
		{name: "star behind each used hop", line: "QX1ABC>APZ001,QD1A*,WIDE1*,WIDE2-1:!", from: "QX1ABC", to: "APZ001",
			path: "QD1A* WIDE1* WIDE2-1", info: "!"},
		{name: "more colons and bytes of any value inside", line: "QX1ABC>APZ001::a:b\x00\xff>", from: "QX1ABC", to: "APZ001", info: ":a:b\x00\xff>"},
		{name: "internet call with a letter as SSID", line: "QX1ABC-L4>APZ001,TCPIP*,qAC,QSRV:x", from: "QX1ABC-L4", to: "APZ001",
			path: "TCPIP* qAC QSRV", info: "x"},
		{name: "ten entries behind a gateway", line: "Q1A>APZ001,Q1,Q2,Q3,Q4,Q5,Q6,Q7,Q8,qAR,Q9:x", from: "Q1A", to: "APZ001",
			path: "Q1 Q2 Q3 Q4 Q5 Q6 Q7 Q8 qAR Q9", info: "x"},
		{name: "empty information", line: "QX1ABC>APZ001:", from: "QX1ABC", to: "APZ001"},
		{name: "empty source", line: ">APZ001:x", err: ax25.NoSource},
		{name: "no >", line: "QX1ABC APZ001:x", err: ax25.NoSource},
		{name: "> only in the information", line: "QX1ABC:a>b", err: ax25.NoSource},
		{name: "no colon", line: "QX1ABC>APZ001", err: ax25.NoEnd},
		{name: "NUL in the source", line: "QX1ABC\x00>APZ001:x", err: ax25.NoSource},
		{name: "blank in the source", line: "QX1 ABC>APZ001:x", err: ax25.NoSource},
		{name: "ten characters in the source", line: "QX1ABCDEFG>APZ001:x", err: ax25.NoSource},
		{name: "empty destination", line: "QX1ABC>,WIDE1-1:x", err: ax25.BadTo},
		{name: "empty hop", line: "QX1ABC>APZ001,,WIDE1-1:x", err: ax25.BadHop},
		{name: "a path without end", line: "QX1ABC>APZ001" + string(bytes.Repeat([]byte(",Q"), ax25.MaxPath+1)) + ":x", err: ax25.LongPath},
		{name: "empty line", line: "", err: ax25.NoSource},
	}
	var h ax25.Header
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			n, err := ax25.ParseHeader([]byte(c.line), &h)
			if !errors.Is(err, c.err) {
				t.Fatalf("error = %v, want %v", err, c.err)
			}
			if err != nil {
				return
			}
			if h.From.String() != c.from || h.To.String() != c.to || path(h) != c.path || c.line[n:] != c.info {
				t.Errorf("got %v > %v [%s] %q", h.From, h.To, path(h), c.line[n:])
			}
		})
	}
}

func path(h ax25.Header) string {
	var b []byte
	for i, hop := range h.Path {
		if i > 0 {
			b = append(b, ' ')
		}
		b = hop.Call.AppendTo(b)
		if hop.Used {
			b = append(b, '*')
		}
	}
	return string(b)
}

func TestHeaderCostsNoMemory(t *testing.T) {
	line := []byte("QX1ABC-7>APZ001,QD1A,WIDE1*,WIDE2-1,qAR,QG1AAA:!4903.50N/07201.75W-")
	var h ax25.Header
	parse := func() {
		if _, err := ax25.ParseHeader(line, &h); err != nil {
			t.Fatal(err)
		}
	}
	parse()
	if n := testing.AllocsPerRun(100, parse); n != 0 {
		t.Errorf("allocations a line = %v, want 0", n)
	}
}

func TestCall(t *testing.T) {
	cases := []struct {
		call, base string
		ssid       int
		ok, onAir  bool
	}{
		{"QX1ABC", "QX1ABC", 0, true, true},
		{"QX1ABC-7", "QX1ABC", 7, true, true},
		{"QX1ABC-15", "QX1ABC", 15, true, true},
		{"QX1ABC-16", "QX1ABC", 0, false, false},
		{"QX1ABC-00", "QX1ABC", 0, false, false},
		{"QX1ABC-L4", "QX1ABC", 0, false, false},
		{"QX1ABCD", "QX1ABCD", 0, true, false},
		{"qx1abc", "qx1abc", 0, true, false},
		{"-5", "-5", 0, true, false},
	}
	for _, c := range cases {
		call, ok := ax25.ParseCall([]byte(c.call))
		if !ok {
			t.Fatalf("%q is refused", c.call)
		}
		ssid, ok := call.SSID()
		if call.Base().String() != c.base || ssid != c.ssid || ok != c.ok || call.OnAir() != c.onAir {
			t.Errorf("%s: base %v ssid %d %v on air %v", c.call, call.Base(), ssid, ok, call.OnAir())
		}
	}
}

// TestEveryByteOfACall holds a call against its definition byte by byte, with any byte at any place, at the end of what was given
// and amid more of it.
func TestEveryByteOfACall(t *testing.T) {
	for n := 1; n <= 10; n++ {
		for at := range n {
			for ch := range 256 {
				s := append([]byte("QX1ABC-123"[:n]), ">APZ001,WIDE1-1:text"...)
				s[at] = byte(ch)
				fits := ch > ' ' && ch <= '~' && ch != '>' && ch != ',' && ch != ':' && ch != '*'
				call, ok := ax25.ParseCall(s[:n:n])
				if ok != (fits && n <= 9) || ok && call.String() != string(s[:n]) {
					t.Fatalf("%q: call %v, %v", s[:n], call, ok)
				}
				var h ax25.Header
				end, err := ax25.ParseHeader(s, &h)
				whole := ok || ch == '>' && at > 0 // a '>' ends a shorter source, and leaves a destination that is none
				if (err == nil) != ok || err == nil && (h.From != call || string(s[end:]) != "text") || !whole && err != ax25.NoSource {
					t.Fatalf("%q: header %v, %v", s, h, err)
				}
			}
		}
	}
}

// The first two cases are the digipeater algorithm's own examples (4.3.2 a and b) turned round; the others follow its rules.
func TestAsSent(t *testing.T) {
	cases := []struct {
		name, heard, sent string
		certain           bool
	}{
		{"a repeater counted the alias down", "QX1ABC>APZ001,Q2OSZ*,WIDE2-1:", "WIDE2-2", false},
		{"a repeater replaced the alias", "QX1ABC>APZ001,Q2OSZ*:", "Q2OSZ", true},
		{"heard direct", "QX1ABC>APZ001,WIDE1-1,WIDE2-1:", "WIDE1-1 WIDE2-1", true},
		{"alias left behind", "QX1ABC>APZ001,QD1A,WIDE1*,WIDE2-2:", "WIDE1-1 WIDE2-2", true},
		{"both aliases used up", "QX1ABC>APZ001,QD1A,WIDE1,QD2B,QD3C,WIDE2*:", "WIDE1-1 WIDE2-2", true},
		{"two repeaters and no alias", "QX1ABC>APZ001,QD1A,QD2B*:", "QD1A QD2B", false},
		{"gateway", "QX1ABC>APZ001,WIDE1-1,qAR,QG1AAA:", "WIDE1-1", true},
		{"older form of the gateway", "QX1ABC>APZ001,WIDE1-1,QG1AAA,I:", "WIDE1-1", true},
		{"no path", "QX1ABC>APZ001:", "", true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var h ax25.Header
			if _, err := ax25.ParseHeader([]byte(c.heard), &h); err != nil {
				t.Fatal(err)
			}
			sent, certain := ax25.AsSent(h, nil)
			if path(sent) != c.sent || certain != c.certain {
				t.Errorf("got %q, certain %v; want %q, %v", path(sent), certain, c.sent, c.certain)
			}
		})
	}
}

func FuzzParseHeader(f *testing.F) {
	for _, s := range []string{"QX1ABC>APZ001,QD1A*,WIDE2-1:!x", ">:", "a>b:", "QX1ABC>APZ001,TCPIP*,qAC,QSRV::\x00", "Q>Q,Q,I:", "0>0000,0*,AAAAAAA1:"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		var h, again ax25.Header
		n, err := ax25.ParseHeader(line, &h)
		if err != nil {
			return
		}
		text := ax25.AppendMonitor(nil, h, line[n:])
		m, err := ax25.ParseHeader(text, &again)
		if err != nil || again.From != h.From || again.To != h.To || path(again) != path(h) || !bytes.Equal(text[m:], line[n:]) {
			t.Fatalf("%q became %q: %v", line, text, err)
		}
		if sent, _ := ax25.AsSent(h, nil); len(sent.Path) > len(h.Path) {
			t.Fatalf("%q was sent with a longer path %q", line, path(sent))
		}
	})
}
