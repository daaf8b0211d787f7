package session

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"lastbeacon/core/report"
)

const packetsBench = `{"schema": "lastbeacon.bench/1", "units": [
	{"name": "Heron", "match": [{"station": "QX1ABC-7", "comment": "hill"}]},
	{"name": "Lapwing", "match": [{"station": "QX1ABC-7", "comment": "too"}, {"station": "QX1ABC-8"}]}]}`

const packetsLog = `2031-05-02 06:00:00Z QX1ABC-7>APZ001:!6123.45N/00812.30E>hill pack
2031-05-02 06:00:05Z QX1ABC-7>APZ001,QD1RDG*:!6123.45N/00812.30E>hill pack
2031-05-02 06:01:00Z QX1ABC-7>APZ001,TCPIP*,qAC,T2LAST:!6123.45N/00812.30E>hill pack
no header at all
2031-05-02 06:02:00Z QX1ABC-7>APZ001:!6123.46N/00812.30E>hill pack too
2031-05-02 06:02:00Z QX1ABC-7>APZ001:!6123.46N/00812.30E>hill pack too
2031-05-02 06:03:00Z QL2KD-9>APZ001,QX1ABC-7*,WIDE2-1:!6123.47N/00812.30E>walk
2031-05-02 06:03:03Z QL2KD-9>APZ001,QD1RDG*:!6123.47N/00812.30E>walk
2031-05-02 06:04:00Z QX1ABC-7>APZ001::QL2KD-9  :ack12
2031-05-02 06:05:00Z QX1ABC-8>APZ001:!6123.48N/00812.30E>lent
2031-05-02 06:02:04Z QX1ABC-7>APZ001,QD1RDG*:!6123.46N/00812.30E>hill pack too
`

// What stands behind each number of a report: as many lines as it counts, and those.
func TestPacketsBehindNumbers(t *testing.T) {
	s, text := analysed(t, []byte(packetsBench), []input{{"a.log", []byte(packetsLog)}, {"b.log", []byte(packetsLog)}})
	var r report.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	heron := r.Units[0]
	cases := []struct {
		name, query string
		count       int // as the report has it; -1: it has none
		want        string
	}{
		{"all of a unit", `{"unit": "Heron"}`, heron.Heard, "1 counted, 2 copy, 3 internet, 5 counted, 11 copy, 9 counted"},
		{"its transmissions", `{"unit": "Heron", "why": "counted"}`, heron.Transmissions, "1 counted, 5 counted, 9 counted"},
		{"its copies", `{"unit": "Heron", "why": "copy"}`, heron.Duplicates, "2 copy, 11 copy"},
		{"by internet", `{"unit": "Heron", "why": "internet"}`, heron.Internet, "3 internet"},
		{"that fit another unit too", `{"unit": "Heron", "why": "contested"}`, heron.Contested, "5 counted"},
		{"answers", `{"unit": "Heron", "why": "answer"}`, heron.Acknowledged, "9 counted"},
		{"repeated for others", `{"by": ["QX1ABC-7"]}`, heron.Relayed, "7 unassigned"},
		{"seen before, in the file itself", `{"file": 0, "why": "again"}`, r.Evidence[0].Again, "6 again of a.log 5"},
		{"seen before, in an earlier file", `{"file": 1, "why": "again"}`, -1,
			"1 again of a.log 1, 2 again of a.log 2, 3 again of a.log 3, 5 again of a.log 5, 6 again of a.log 6, 7 again of a.log 7, 8 again of a.log 8, 9 again of a.log 9, 10 again of a.log 10, 11 again of a.log 11"},
		{"runs of two units", `{"among": [{"unit": "Heron", "run": 0}, {"unit": "Lapwing", "run": -1}]}`, -1, "1 counted, 2 copy, 5 counted, 11 copy, 9 counted, 10 counted"},
		{"stations", `{"stations": ["QL2KD-9", "QX1ABC-8"]}`, -1, "7 unassigned, 8 unassigned, 10 counted"},
		{"others on the channel", `{"why": "unassigned"}`, -1, "7 unassigned, 8 unassigned"},
		{"around a line that was not used", `{"file": 0, "line": 4}`, -1,
			"1 counted, 2 copy, 3 internet, 4 not used, 5 counted, 7 unassigned, 8 unassigned, 9 counted"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			answer, err := s.Packets([]byte(c.query))
			if err != nil {
				t.Fatal(err)
			}
			var items []item
			if err := json.Unmarshal(answer, &items); err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, i := range items {
				line := fmt.Sprint(i.Line, " ", i.Why)
				if i.Of != nil {
					line += fmt.Sprint(" of ", i.Of.File, " ", i.Of.Line)
				}
				got = append(got, line)
			}
			if strings.Join(got, ", ") != c.want || c.count >= 0 && c.count != len(items) {
				t.Errorf("got %q, the report counts %d\nwant %q", strings.Join(got, ", "), c.count, c.want)
			}
		})
	}
}
