package aprs_test

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"testing"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
)

// An example is a packet that a standard prints, and what the standard says it means.
type example struct {
	ID, Source, Basis, Input, Note string
	Expect                         map[string]any
}

func examples(t *testing.T) (all []example) {
	t.Helper()
	f, err := os.Open("../../testdata/aprs/examples.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for sc := bufio.NewScanner(f); sc.Scan(); {
		var e example
		if err := json.Unmarshal(sc.Bytes(), &e); err != nil {
			t.Fatalf("%s: %v", sc.Bytes(), err)
		}
		all = append(all, e)
	}
	return all
}

// decode reads monitor text; it fails the test if the header is not valid.
func decode(t testing.TB, line string) *aprs.Packet {
	t.Helper()
	var h ax25.Header
	info, err := ax25.ParseHeader([]byte(line), &h)
	if err != nil {
		t.Fatalf("header of %q: %v", line, err)
	}
	p := &aprs.Packet{}
	aprs.Decode(h.To, []byte(line)[info:], p)
	return p
}

// TestPublishedExamples checks every worked example of the published texts; the table names the page beside each, and where
// a page contradicts the standard its note says so and the standard is followed.
func TestPublishedExamples(t *testing.T) {
	all := examples(t)
	if len(all) < 100 {
		t.Fatalf("%d examples, want at least 100", len(all))
	}
	for _, e := range all {
		t.Run(e.ID, func(t *testing.T) {
			got := facts(decode(t, e.Input))
			for key, want := range e.Expect {
				have, known := got[key]
				if !known {
					t.Fatalf("nothing in this test knows %q", key)
				}
				if !same(have, want) {
					t.Errorf("%s (%s)\n%s = %v, want %v", e.Input, e.Source, key, have, want)
				}
			}
		})
	}
}

// same compares as the pages print: numbers to the places given there.
func same(have, want any) bool {
	switch want := want.(type) {
	case nil:
		f, number := have.(float64)
		return have == nil || have == "" || number && math.IsNaN(f)
	case float64:
		f, ok := have.(float64)
		tolerance := 1e-9
		if want != math.Trunc(want) && want*10 == math.Trunc(want*10) {
			tolerance = 0.06 // one decimal in print
		}
		return ok && math.Abs(f-want) <= math.Max(tolerance, math.Abs(want)*2e-7)
	case map[string]any:
		h, ok := have.(map[string]any)
		for k, w := range want {
			ok = ok && same(h[k], w)
		}
		return ok
	case []any:
		h, ok := have.([]float64)
		ok = ok && len(h) == len(want)
		for i := range want {
			ok = ok && same(h[i], want[i])
		}
		return ok
	}
	return have == want
}

// facts gives a packet in the units of the pages.
func facts(p *aprs.Packet) map[string]any {
	const knot, mile, foot = 1852.0 / 3600, 1609.344, 0.3048
	f := map[string]any{
		"placed": p.Placed, "lat": math.NaN(), "lon": math.NaN(), "amb": float64(p.Ambiguity),
		"messaging": p.Messaging, "table": string(p.Symbol[:1]), "code": string(p.Symbol[1:]),
		"course": p.Course, "speed_kn": p.Speed / knot, "speed_kmh": math.Round(p.Speed * 3.6),
		"alt_m": p.Altitude, "alt_ft": math.Floor(p.Altitude/foot + 1e-6), "range_mi": round(p.Range/mile, 0.01),
		"comment": string(p.Comment), "status": string(p.Comment), "extension": string(p.Extension),
		"fix": string(p.Fix), "flaw": p.Flaw, "kind": string(p.Kind),
		"mtype": string(p.MicE), "prefix": string(rune(p.TypeFirst)), "suffix": string(p.TypeLast), "datum": string(rune(p.Datum)),
		"name": string(p.Name), "alive": !p.Killed,
		"to": string(p.Message.To), "text": string(p.Message.Text), "msgid": string(p.Message.ID),
		"ack": "", "rej": "",
		"grid": string(p.Status.Locator), "beam_deg": p.Status.Heading, "erp_w": p.Status.Power,
		"inner_from": p.InnerFrom.String(), "inner_to": p.InnerTo.String(),
		"stamp": stampFacts(p.Stamp), "tlm": telemetryFacts(p.Telemetry), "wx": weatherFacts(p.Weather),
	}
	if p.Placed {
		f["lat"], f["lon"] = p.Place.Lat, p.Place.Lon
	}
	if p.Message.Ack {
		f["ack"] = string(p.Message.ID)
	}
	if p.Message.Reject {
		f["rej"] = string(p.Message.ID)
	}
	if g, ok := p.PHG(); ok {
		f["phg"] = map[string]any{
			"power_w": g.Power, "haat_ft": g.Height / foot, "gain": g.Gain, "dir_deg": g.Direction, "range_mi": g.Range / mile,
		}
	}
	return f
}

func round(v, to float64) float64 { return math.Round(v/to) * to }

func stampFacts(s aprs.Stamp) map[string]any {
	names := map[aprs.StampKind]string{
		aprs.DayUTC: "dhm_utc", aprs.DayLocal: "dhm_local", aprs.ClockUTC: "hms", aprs.MonthUTC: "mdhm", aprs.DateUTC: "full",
	}
	return map[string]any{
		"kind": names[s.Kind], "year2": float64(s.Year % 100), "month": float64(s.Month), "day": float64(s.Day),
		"hour": float64(s.Hour), "min": float64(s.Minute), "sec": float64(s.Second),
	}
}

func telemetryFacts(c aprs.Channels) map[string]any {
	bits := make([]byte, 8)
	for i := range bits {
		bits[i] = '0' + c.Bits>>i&1
	}
	f := map[string]any{"vals": c.Values[:c.N], "bits": "", "seq": any(float64(c.Sequence))}
	if c.HasBits {
		f["bits"] = string(bits)
	}
	return f
}

func weatherFacts(w aprs.Conditions) map[string]any {
	const mph, inch = 1609.344 / 3600, 25.4
	return map[string]any{
		"wind_dir": w.Direction, "wind_mph": w.Wind / mph, "gust_mph": w.Gust / mph, "temp_f": w.Temperature*1.8 + 32,
		"rain_1h_in100": w.RainHour / inch * 100, "rain_24h_in100": w.RainDay / inch * 100, "rain_mid_in100": w.Rain / inch * 100,
		"hum": w.Humidity, "press_mb10": w.Pressure * 10,
	}
}
