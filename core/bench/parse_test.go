package bench

import (
	"strings"
	"testing"
)

func TestParseNamesThePlace(t *testing.T) {
	const head = `{"schema": "lastbeacon.bench/1", `
	for _, c := range []struct{ name, text, want string }{
		{"another schema", `{"schema": "lastbeacon.bench/9"}`, `schema is "lastbeacon.bench/9"`},
		{"no schema", `{}`, "schema is"},
		{"not JSON", `{"schema"`, "not JSON"},
		{"a unit without a name", head + `"units": [{}]}`, "units[0].name"},
		{"two units of one name", head + `"units": [{"name": "A"}, {"name": "A"}]}`, "units[1].name"},
		{"a negative capacity", head + `"units": [{"name": "A", "battery": {"capacity_mah": -5}}]}`, "units[0].battery.capacity_mah"},
		{"a word where a number belongs", head + `"units": [{"name": "A", "battery": {"capacity_mah": "big"}}]}`, "units.battery.capacity_mah"},
		{"a number beyond a double", head + `"units": [{"name": "A", "battery": {"capacity_mah": 1e999}}]}`, "capacity_mah"},
		{"an unknown basis", head + `"units": [{"name": "A", "battery": {"basis": "guessed"}}]}`, "basis"},
		{"a time without a zone", head + `"units": [{"name": "A", "runs": [{"power_on": {"at": "2031-05-02 07:00"}}]}]}`, "units[0].runs[0].power_on.at"},
		{"a year beyond the calendar", head + `"units": [{"name": "A", "runs": [{"power_on": {"at": "9999-05-02T07:00:00Z"}}]}]}`, "year"},
		{"an unknown zone", head + `"files": [{"name": "a.log", "zone": "Middle/Earth"}]}`, "files[0].zone"},
		{"watched until before from", head + `"files": [{"name": "a.log", "watched": [{"from": "2031-05-02T07:00:00Z", "until": "2031-05-02T06:00:00Z"}]}]}`, "files[0].watched[0]"},
		{"an event without a kind", head + `"units": [{"name": "A", "runs": [{"events": [{"at": "2031-05-02T06:00:00Z"}]}]}]}`, "events[0].what"},
		{"deep nesting", head + `"units": ` + strings.Repeat("[", 100000) + strings.Repeat("]", 100000) + `}`, "deeper"},
	} {
		_, err := Parse([]byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

func TestParseTakesWhatIsRight(t *testing.T) {
	b, err := Parse([]byte("\xef\xbb\xbf" + `{"schema": "lastbeacon.bench/1", "display_zone": "Europe/Oslo", "files": [{"name": "ridge.log", "sha256": null,
		"watched": [{"from": null, "until": "2031-05-03T07:30:00Z"}]}], "units": [{"name": "Heron", "match": [{"station": "QX1ABC-7"}],
		"runs": [{"power_on": {"at": "2031-05-02T05:40:00+02:00", "precision_s": 30}}]}], "unheard_of": {"a": [1]}}`))
	if err != nil {
		t.Fatal(err)
	}
	if at := b.Units[0].Notes().Runs[0].PowerOn.At.String(); at != "2031-05-02T03:40:00Z" {
		t.Errorf("power-on is %s, want 2031-05-02T03:40:00Z", at)
	}
	if b.FileOf("ridge.log", "00ff") == nil {
		t.Error("a file without a digest is not found by its name")
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"schema": "lastbeacon.bench/1", "units": [{"name": "Heron", "battery": {"capacity_mah": 2000}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if b, err := Parse(data); err == nil {
			b.Traffic()
			b.Settings()
			for i := range b.Units {
				b.Units[i].Notes()
				b.Units[i].Draw(0)
				b.Units[i].Modem()
			}
		}
	})
}
