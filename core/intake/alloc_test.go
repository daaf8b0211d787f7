package intake

import (
	"testing"

	"lastbeacon/core/ax25"
)

// A line that is not kept must not allocate, whatever its form: other people's packets pass by the million.
func TestLinesThatAreNotKeptDoNotAllocate(t *testing.T) {
	for _, text := range []string{
		"2031-05-02T05:40:12Z QX1ABC-7>APZ001,WIDE1-1*,qAR,QL2GW:!6001.00N/01000.00E>123/017hill pack",
		"[2031-05-02 07:40:12 CEST] QX1ABC-7>UPQRST,WIDE1-1:`(_fn\"O>/]hill",
		"rx [1] 2031-05-02 05:40:12 QX1ABC-7>APZ001:>on duty",
		"2031-05-02T05:40:12Z no packet at all",
		"# 2031-05-02T05:40:12Z alive",
	} {
		rd := newReading("a", 0, Settings{}, Keep{Budget: 0, Station: func(ax25.Call) bool { return false }})
		m := &monitor{reading: rd, file: &rd.src.File, carried: -1}
		line := []byte(text)
		for range 30 { // the first ones fill tables
			if err := m.take(line, 1); err != nil {
				t.Fatal(err)
			}
		}
		if n := testing.AllocsPerRun(200, func() { m.take(line, 2) }); n != 0 {
			t.Errorf("%q: allocs = %v, want 0", text, n)
		}
	}
}
