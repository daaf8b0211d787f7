package report

import "testing"

// The characters are those with the property Bidi_Control (Unicode 16, PropList.txt), the two line separators, and the controls.
func TestCleanWritesOutWhatMovesWords(t *testing.T) {
	for _, r := range "\x00\x1b\x7f\u009b\u061c\u200e\u200f\u2028\u2029\u202a\u202e\u2066\u2069" {
		if got := clean("a" + string(r) + "b"); len(got) != 8 {
			t.Errorf("%U is shown as %q", r, got)
		}
	}
	for _, s := range []string{"plain", "Åse 4,8 W – “x”", "مرحبا", "👩\u200d🔧"} {
		if got := clean(s); got != s {
			t.Errorf("%q became %q", s, got)
		}
	}
}

func TestNoTextCellBeginsAFormula(t *testing.T) {
	for s, want := range map[string]string{
		"=1": "'=1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "＝1": "'＝1", "\t=1": `\u0009=1`,
		"a;=1": "a;'=1", "a,=1": "a,'=1", "a;;-1": "a;;'-1", "a = b": "a = b", "a-b@c": "a-b@c", "": "",
	} {
		if got := textCell(s); got != want {
			t.Errorf("%q became %q, want %q", s, got, want)
		}
	}
}
