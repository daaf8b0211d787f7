package bench

import (
	"strings"
	"testing"
)

func TestParseNamesThePlace(t *testing.T) {
	const head = `{"schema": "lastbeacon.bench/1", `
	for _, c := range []struct{ name, text, want string }{
		{"another schema", `{"schema": "lastbeacon.bench/9"}`, `schema is "lastbeacon.bench/9"`},
		{"a schema of 1 MB", `{"schema": "` + strings.Repeat("n", 1<<20) + `"}`, `schema is "nnn`},
		{"a zone of 1 MB", head + `"display_zone": "` + strings.Repeat("n", 1<<20) + `"}`, `display_zone: "nnn`},
		{"no schema", `{}`, "schema is"},
		{"not JSON", `{"schema"`, "not JSON"},
		{"a unit without a name", head + `"units": [{}]}`, "units[0].name"},
		{"two units of one name", head + `"units": [{"name": "A"}, {"name": "A"}]}`, "units[1].name"},
		{"a negative capacity", head + `"units": [{"name": "A", "battery": {"capacity_mah": -5}}]}`, "units[0].battery.capacity_mah"},
		{"a word where a number belongs", head + `"units": [{"name": "A", "battery": {"capacity_mah": "big"}}]}`, "units[0].battery.capacity_mah: found a text, a number is wanted"},
		{"a number beyond a double", head + `"units": [{"name": "A", "battery": {"capacity_mah": 1e999}}]}`, "capacity_mah"},
		{"an unknown basis", head + `"units": [{"name": "A", "battery": {"basis": "guessed"}}]}`, "basis"},
		{"a time without a zone", head + `"units": [{"name": "A", "runs": [{"power_on": {"at": "2031-05-02 07:00"}}]}]}`, "units[0].runs[0].power_on.at"},
		{"a year beyond the calendar", head + `"units": [{"name": "A", "runs": [{"power_on": {"at": "9999-05-02T07:00:00Z"}}]}]}`, "year"},
		{"an unknown zone", head + `"files": [{"name": "a.log", "zone": "Middle/Earth"}]}`, "files[0].zone"},
		{"watched until before from", head + `"files": [{"name": "a.log", "watched": [{"from": "2031-05-02T07:00:00Z", "until": "2031-05-02T06:00:00Z"}]}]}`, "files[0].watched[0]"},
		{"an event without a kind", head + `"units": [{"name": "A", "runs": [{"events": [{"at": "2031-05-02T06:00:00Z"}]}]}]}`, "events[0].what"},
		{"a name of 1 MB", head + `"units": [{"name": "A"}, {"name": "` + strings.Repeat("n", 1<<20) + `"}]}`, "units[1]: a text is longer than 1000 bytes"},
		{"a condition of 1 MB", head + `"units": [{"name": "A", "conditions": {"antenna": "` + strings.Repeat("n", 1<<20) + `"}}]}`, "units[0]: a text is longer"},
		{"5000 runs", head + `"units": [{"name": "A", "runs": [{}` + strings.Repeat(", {}", 4999) + `]}]}`, "units[0].runs: more than 500"},
		{"5000 events", head + `"units": [{"name": "A", "runs": [{"events": [{}` + strings.Repeat(", {}", 4999) + `]}]}]}`, "units[0].runs[0].events: more than 1000"},
		{"201 units", head + `"units": [{"name": "A"}` + strings.Repeat(", {}", 200) + `]}`, "units: more than 200"},
		{"deep nesting", head + `"units": ` + strings.Repeat("[", 100000) + strings.Repeat("]", 100000) + `}`, "deeper"},
	} {
		_, err := Parse([]byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || len(err.Error()) > 1000 {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

// A refusal says field, what was found, what is wanted, and the line; it names no type of a program.
func TestParseNamesTheLine(t *testing.T) {
	for _, c := range []struct{ name, rest, want string }{
		{"a text for a number", `"units": [{"name": "A"}, {"name": "B",` + "\n" + `"battery": {"capacity_mah": "big"}}]}`, "units[1].battery.capacity_mah: found a text, a number is wanted (line 3)"},
		{"a number for a text", `"title": 7}`, "title: found a number, a text is wanted (line 2)"},
		{"a list for an object", `"compare":` + "\n" + `[1]}`, "compare: found a list, an object is wanted (line 3)"},
		{"an object for a list", `"units": {"name": "A"}}`, "units: found an object, a list is wanted (line 2)"},
		{"true for a text", `"display_zone": true}`, "display_zone: found true or false, a text is wanted (line 2)"},
		{"a part for a whole", `"outlook": {"shift": {"hours": 8, "units": 1.5}}}`, "outlook.shift.units: found 1.5, a whole number is wanted (line 2)"},
		{"a number beyond all", `"units": [{"name": "A", "battery": {"energy_wh": 1e999}}]}`, "units[0].battery.energy_wh: found 1e999, a number below 1e308 is wanted (line 2)"},
		{"a value out of its bounds", `"units": [{"name": "A"},` + "\n" + `{"name": "B", "battery": {"basis": "printed",` + "\n" + `"capacity_mah": -5}}]}`, "units[1].battery.capacity_mah: -5 is not above 0 and at most 1e+07 (line 4)"},
		{"a name that is missing", `"units": [{"name": "A"},` + "\n" + `{"kind": "x"}]}`, "units[1].name: a unit needs a name (line 3)"},
		{"an unknown meaning of a column", `"files": [{"name": "a.csv", "columns": [` + "\n" + `{"header": "U", "meaning": "tension"}]}]}`, `files[0].columns[0].meaning: "tension" is not one of time, date, lat`},
		{"a column without a header", `"files": [{"name": "a.csv", "columns": [{"header": " ", "meaning": "time"}]}]}`, "files[0].columns[0].header: a column needs its header"},
		{"no JSON", `"title": }`, "the bench file is not JSON: invalid character '}' looking for beginning of value (line 2)"},
		{"a file cut off", `"units": [` + "\n", "the bench file is not JSON: unexpected end of JSON input (line 4)"},
	} {
		_, err := Parse([]byte("{\"schema\": \"lastbeacon.bench/1\",\n" + c.rest + "\n"))
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
	if _, err := Parse([]byte("[]")); err == nil || err.Error() != "the bench file: found a list, an object is wanted" {
		t.Errorf("a list: %v", err)
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
