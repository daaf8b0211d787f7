package session

import "testing"

// Units that share a station with others' packets, or none at all, may have due times that nobody heard; the analysis ends.
func TestUnitsOfAnotherTrialsBench(t *testing.T) {
	_, inputs := exampleInputs(t)
	text := answerTo(t, []byte(`{"schema":"lastbeacon.bench/1","units":[{"name":"Dunlin","match":[{"station":"QX1ABC-7"}]},{"name":"Plover","match":[{"station":"QL2KD"}]},`+
		`{"name":"Knot","match":[{"station":"QX1ABC-8"}]}]}`), inputs)
	holdsTogether(t, text)
}
