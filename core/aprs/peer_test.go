package aprs_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"lastbeacon/core/aprs"
)

// peerRow is one packet of the corpus and what this package reads in it; parts that the packet does not tell are absent.
type peerRow struct {
	Line      string   `json:"line"`
	Form      string   `json:"form"`
	Placed    bool     `json:"placed"`
	Lat       *float64 `json:"lat,omitempty"`
	Lon       *float64 `json:"lon,omitempty"`
	Ambiguity int      `json:"ambiguity"`
	Course    *float64 `json:"course_deg,omitempty"`
	Speed     *float64 `json:"speed_mps,omitempty"`
	Altitude  *float64 `json:"altitude_m,omitempty"`
	Range     *float64 `json:"range_m,omitempty"`
	Table     string   `json:"table"`
	Code      string   `json:"code"`
	Comment   string   `json:"comment"`
	Extension string   `json:"extension"`
	Name      string   `json:"name"`
	Text      string   `json:"text"`
	To        string   `json:"to"`
	ID        string   `json:"id"`
	Sequence  int      `json:"sequence"`
	Values    []any    `json:"values"`
}

// TestPeerCorpus makes packets of all forms, decodes them, and, when PEER_CORPUS names a file, writes both there for
// web/test/peer-decoder.test.mjs, which lets a decoder by other authors read the same packets.
func TestPeerCorpus(t *testing.T) {
	rows := peerCorpus(t)
	path := os.Getenv("PEER_CORPUS")
	if path == "" {
		return
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	enc := json.NewEncoder(f)
	enc.SetEscapeHTML(false)
	for _, r := range rows {
		if err := enc.Encode(r); err != nil {
			t.Fatal(err)
		}
	}
}

func peerCorpus(t testing.TB) (rows []peerRow) {
	rnd := rand.New(rand.NewPCG(31, 7))
	forms := []func(*rand.Rand) (string, string){peerPlain, peerCompressed, peerMicE, peerObject, peerItem, peerWeather, peerNMEA, peerMessage, peerTelemetry, peerDamaged}
	for i := range 4000 {
		form, line := forms[i%len(forms)](rnd)
		p := decode(t, line)
		if p.Placed == (form == "damaged" || form == "message" || form == "telemetry") {
			t.Fatalf("%s %q: placed %v, flaw %q", form, line, p.Placed, p.Flaw)
		}
		row := peerRow{Line: line, Form: form, Placed: p.Placed, Ambiguity: p.Ambiguity, Course: told(p.Course), Speed: told(p.Speed),
			Altitude: told(p.Altitude), Range: told(p.Range), Table: strings.Trim(string(p.Symbol[:1]), "\x00"), Code: strings.Trim(string(p.Symbol[1:]), "\x00"),
			Comment: string(p.Comment), Extension: string(p.Extension), Name: string(p.Name), Text: string(p.Message.Text), To: string(p.Message.To), ID: string(p.Message.ID), Sequence: p.Telemetry.Sequence}
		for _, v := range p.Telemetry.Values[:p.Telemetry.N] {
			row.Values = append(row.Values, v)
		}
		if p.Placed {
			row.Lat, row.Lon = told(p.Place.Lat), told(p.Place.Lon)
		}
		rows = append(rows, row)
	}
	return rows
}

func told(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

const peerHead = "QX1ABC-7>APZ001,QD1A*,WIDE2-1,qAR,QG1AAA:"

func peerPlain(rnd *rand.Rand) (string, string) {
	r := randomReport(rnd)
	if rnd.IntN(2) == 0 {
		return "plain", peerHead + string(aprs.AppendPlain(nil, r))
	}
	r.Digits, r.Ambiguity, r.Speed, r.Course = false, 0, math.NaN(), math.NaN()
	r.Comment = []string{"PHG5132", "RNG0050", "DFS2360", ""}[rnd.IntN(4)] + "text" + peerFields(rnd)
	r.Altitude = math.NaN()
	return "plain", peerHead + string(aprs.AppendPlain(nil, r))
}

// peerFields makes base-91 telemetry and !DAO! digits, either or both or none.
func peerFields(rnd *rand.Rand) string {
	digit := func() byte { return '!' + byte(rnd.IntN(91)) }
	var b []byte
	if rnd.IntN(2) == 0 {
		b = append(b, '|')
		for range 2 * (2 + rnd.IntN(5)) {
			b = append(b, digit())
		}
		b = append(b, '|')
	}
	if rnd.IntN(2) == 0 {
		b = append(b, '!', 'w', digit(), digit(), '!')
	}
	return string(b)
}

func peerCompressed(rnd *rand.Rand) (string, string) {
	r := randomReport(rnd)
	r.Stamp = aprs.Stamp{}
	info := aprs.AppendCompressed(nil, r)
	if c := &info[11]; *c != ' ' && rnd.IntN(10) == 0 {
		*c = '!' // a course of 0, which we never write
	}
	return "compressed", peerHead + string(info)
}

func peerMicE(rnd *rand.Rand) (string, string) {
	info, to := aprs.AppendMicE(nil, randomReport(rnd))
	return "mic-e", "QX1ABC-7>" + to.String() + ",QD1A*,WIDE2-1,qAR,QG1AAA:" + string(info)
}

func peerObject(rnd *rand.Rand) (string, string) {
	r := randomReport(rnd)
	r.Stamp = aprs.Stamp{}
	body := aprs.AppendPlain(nil, r)
	if rnd.IntN(2) == 0 {
		body = aprs.AppendCompressed(nil, r)
	}
	name := []string{"LEADER", "AID #2", "***", "9 letters"}[rnd.IntN(4)]
	return "object", fmt.Sprintf("%s;%-9s%c%02d%02d%02dz%s", peerHead, name, "*_"[rnd.IntN(2)], 1+rnd.IntN(28), rnd.IntN(24), rnd.IntN(60), body[1:])
}

func peerItem(rnd *rand.Rand) (string, string) {
	r := randomReport(rnd)
	r.Stamp = aprs.Stamp{}
	return "item", fmt.Sprintf("%s)%s%c%s", peerHead, []string{"AID", "AID #2", "9 letters"}[rnd.IntN(3)], "!_"[rnd.IntN(2)], aprs.AppendPlain(nil, r)[1:])
}

func peerWeather(rnd *rand.Rand) (string, string) {
	r := report()
	r.Symbol = [2]byte{'/', '_'}
	r.Place = randomReport(rnd).Place
	return "weather", fmt.Sprintf("%s%s%03d/%03dg%03dt%03dh%02db%05d", peerHead, aprs.AppendPlain(nil, r), 1+rnd.IntN(360), rnd.IntN(100), rnd.IntN(100), rnd.IntN(110), 1+rnd.IntN(99), 9000+rnd.IntN(1800))
}

func peerNMEA(rnd *rand.Rand) (string, string) {
	body := fmt.Sprintf("GPRMC,%02d%02d%02d,A,%02d%07.4f,%c,%03d%07.4f,%c,%05.1f,%05.1f,%02d0531,,", rnd.IntN(24), rnd.IntN(60), rnd.IntN(60),
		rnd.IntN(90), rnd.Float64()*59.9, "NS"[rnd.IntN(2)], rnd.IntN(180), rnd.Float64()*59.9, "EW"[rnd.IntN(2)], rnd.Float64()*90, 0.1+rnd.Float64()*359, 1+rnd.IntN(28))
	sum := byte(0)
	for i := range len(body) {
		sum ^= body[i]
	}
	return "nmea", fmt.Sprintf("%s$%s*%02X", peerHead, body, sum)
}

func peerMessage(rnd *rand.Rand) (string, string) {
	return "message", fmt.Sprintf("%s:%-9s:%s", peerHead, []string{"QX2ABC", "QX2ABC-11", "BLN1"}[rnd.IntN(3)], []string{"Hello{003", "Hello", "x:y{12", "no } number"}[rnd.IntN(4)])
}

func peerTelemetry(rnd *rand.Rand) (string, string) {
	return "telemetry", fmt.Sprintf("%sT#%03d,%03d,%d,%.1f,%03d,%d,%08b", peerHead, rnd.IntN(1000), rnd.IntN(256), rnd.IntN(256), rnd.Float64()*255, rnd.IntN(256), rnd.IntN(256), rnd.IntN(256))
}

// peerDamaged breaks a digit, a letter or the end of a position.
func peerDamaged(rnd *rand.Rand) (string, string) {
	r := report()
	r.Place = randomReport(rnd).Place
	b := aprs.AppendPlain(nil, r)
	switch rnd.IntN(4) {
	case 0:
		b[1+rnd.IntN(4)] = '?'
	case 1:
		b[18] = 'Q'
	case 2:
		b[3], b[4] = '6', '0'
	default:
		b = b[:4+rnd.IntN(14)]
	}
	return "damaged", peerHead + string(b)
}
