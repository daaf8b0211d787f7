package traffic

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lastbeacon/core/aprs"
	"lastbeacon/core/ax25"
	"lastbeacon/core/clock"
	"lastbeacon/core/evidence"
)

// A heard packet: seconds after an hour of an unimportant day, the file, and the line.
type heard struct {
	at   float64
	file evidence.FileID
	line string
}

const day = clock.Instant(1_935_000_000_000)

// evidenceOf turns lines into evidence, in order of time, as reading would.
func evidenceOf(t *testing.T, all []heard) *evidence.Evidence {
	t.Helper()
	ev := &evidence.Evidence{Files: []evidence.File{{ID: 0}, {ID: 1}}}
	slices.SortStableFunc(all, func(a, b heard) int { return int(math.Copysign(1, a.at-b.at)) })
	for i, h := range all {
		var head ax25.Header
		info, err := ax25.ParseHeader([]byte(h.line), &head)
		if err != nil {
			t.Fatalf("%q: %v", h.line, err)
		}
		way, gateway := aprs.Routing(&head)
		ev.Receptions = append(ev.Receptions, evidence.Reception{
			At: day.Add(clock.Seconds(h.at)), Line: evidence.Line{File: h.file, No: int32(i + 1)},
			From: head.From, To: head.To, Receiver: gateway, Heard: evidence.Heard(way), Info: int32(info), Raw: []byte(h.line),
		})
	}
	return ev
}

func unit(name string, rules ...Rule) Spec {
	for i := range rules {
		if rules[i].From == 0 {
			rules[i].From = clock.None
		}
		if rules[i].Until == 0 {
			rules[i].Until = clock.None
		}
	}
	return Spec{name, rules}
}

func of(t *testing.T, all []heard, specs ...Spec) []Unit {
	t.Helper()
	return Units(evidenceOf(t, all), Settings{Specs: specs})
}

const (
	here  = "!6201.90N/00937.01E["
	there = "!6203.90N/00939.01E["
)

func TestCopiesFold(t *testing.T) {
	const direct, via = "QX1ABC-7>APZ001,WIDE2-1:", "QX1ABC-7>APZ001,QD1RDG*,WIDE2-1:"
	dated := "/120000h6201.90N/00937.01E["
	for _, c := range []struct {
		name          string
		all           []heard
		transmissions int
		duplicates    int
	}{
		{"through a repeater, two seconds later", []heard{{0, 0, direct + here}, {2, 0, via + here}}, 1, 1},
		{"the repeater only", []heard{{2, 0, via + here}}, 1, 0},
		{"direct twice at one receiver", []heard{{0, 0, direct + here}, {20, 0, direct + here}}, 2, 0},
		{"direct at two receivers", []heard{{0, 0, direct + here}, {1, 1, direct + here}}, 1, 1},
		{"the destination's SSID differs", []heard{{0, 0, direct + here}, {2, 0, "QX1ABC-7>APZ001-2,QD1RDG*:" + here}}, 1, 1},
		{"another place", []heard{{0, 0, direct + here}, {2, 0, via + there}}, 2, 0},
		{"a gateway adds its text", []heard{{0, 0, direct + here + "hill pack"}, {1, 1, direct + here + "hill pack -104dBm"}}, 1, 1},
		{"a gateway trims blanks", []heard{{0, 0, direct + here + "hill pack  "}, {1, 1, direct + here + "hill pack"}}, 1, 1},
		{"one receiver, with and without comment", []heard{{0, 0, direct + here + "hill pack"}, {9, 0, direct + here}}, 2, 0},
		{"the window is passed", []heard{{0, 0, direct + here}, {40, 0, via + here}}, 2, 0},
		{"minutes late, but dated inside", []heard{{0, 0, direct + dated}, {150, 0, via + dated}}, 1, 1},
		{"minutes late, but numbered inside", []heard{{0, 0, "QX1ABC-7>APZ001:T#031,1,2,3,4,5,00000000"}, {150, 0, "QX1ABC-7>APZ001,QD1RDG*:T#031,1,2,3,4,5,00000000"}}, 1, 1},
		{"minutes late, and moved on meanwhile", []heard{{0, 0, direct + here}, {60, 0, direct + there}, {150, 0, via + here}}, 2, 1},
		{"minutes late from a unit that says it drives", []heard{{0, 0, direct + "!6201.90N/00937.01E>090/036"}, {100, 0, via + "!6201.90N/00937.01E>090/036"}}, 1, 1},
		{"a Mic-E destination carries the latitude", []heard{{0, 0, "QX1ABC-7>VRPQX9,WIDE1-1:'Al [/\">e}"}, {2, 0, "QX1ABC-7>VRPQY0,QD1RDG*:'Al [/\">e}"}}, 2, 0},
	} {
		u := of(t, c.all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
		if len(u.Transmissions) != c.transmissions || u.Duplicates != c.duplicates || u.Heard != len(c.all) {
			t.Errorf("%s: %d transmissions, %d copies of %d heard, want %d and %d of %d",
				c.name, len(u.Transmissions), u.Duplicates, u.Heard, c.transmissions, c.duplicates, len(c.all))
		}
	}
}

// A parked unit with a beacon every 20 s and equal bytes: two receivers that miss different ones must not make one of two.
func TestEqualBytesAtTwoReceivers(t *testing.T) {
	var all []heard
	for i := range 60 {
		at := float64(20 * i)
		if i%4 != 1 {
			all = append(all, heard{at, 0, "QX1ABC-7>APZ001:" + here})
		}
		if i%4 != 2 {
			all = append(all, heard{at + 1, 1, "QX1ABC-7>APZ001:" + here})
		}
	}
	u := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
	if len(u.Transmissions) != 60 {
		t.Errorf("%d transmissions, want 60", len(u.Transmissions))
	}
}

// Copies a minute late from a steady unit fall between its due times; a missed beacon heard through a repeater does not.
func TestLateCopiesOfASteadyUnit(t *testing.T) {
	var all []heard
	for i := range 40 {
		at := float64(300 * i)
		if i != 20 {
			all = append(all, heard{at, 0, "QX1ABC-7>APZ001:" + here})
		} else {
			all = append(all, heard{at + 2, 0, "QX1ABC-7>APZ001,QD1RDG*:" + here})
		}
		if i%10 == 5 {
			all = append(all, heard{at + 130, 0, "QX1ABC-7>APZ001,QD1RDG*:" + here})
		}
	}
	u := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
	if len(u.Transmissions) != 40 || u.Duplicates != 4 {
		t.Errorf("%d transmissions, %d copies, want 40 and 4", len(u.Transmissions), u.Duplicates)
	}
}

// A unit that all but never sends the same bytes again: what comes again through a repeater, minutes later, is a copy.
func TestLateCopiesOfAUnitThatNeverRepeats(t *testing.T) {
	var all []heard
	for i := range 20 {
		at := float64(180*i + 40*(i%3)) // no beat
		info := fmt.Sprintf("!6201.%02dN/00937.01E[", i)
		all = append(all, heard{at, 0, "QX1ABC-7>APZ001:" + info})
		if i%5 == 2 {
			all = append(all, heard{at + 120, 0, "QX1ABC-7>APZ001,QD1RDG*:" + info})
		}
	}
	u := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
	if len(u.Transmissions) != 20 || u.Duplicates != 4 {
		t.Errorf("%d transmissions, %d copies, want 20 and 4", len(u.Transmissions), u.Duplicates)
	}
}

// The interval of one test says nothing about the next: each is learned after a long silence anew.
func TestLateCopiesOfTwoTests(t *testing.T) {
	var all []heard
	add := func(from, every float64) {
		for i := range 30 {
			at := from + every*float64(i)
			all = append(all, heard{at, 0, "QX1ABC-7>APZ001:" + here})
			if i%10 == 5 {
				all = append(all, heard{at + 0.4*every, 0, "QX1ABC-7>APZ001,QD1RDG*:" + here})
			}
		}
	}
	add(0, 300)
	add(100000, 100) // the copy comes 40 s late, off the beat of this test
	u := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
	if len(u.Transmissions) != 60 || u.Duplicates != 6 {
		t.Errorf("%d transmissions, %d copies, want 60 and 6", len(u.Transmissions), u.Duplicates)
	}
}

// Two radios under one call sign send their comment in every fourth packet only.
func TestFingerprint(t *testing.T) {
	for _, c := range []struct {
		name     string
		a, b     string // header and position of the packets
		period   float64
		ownB     float64
		want     [2]int
		tolerant int // packets that may stay unassigned
	}{
		{"another encoding", "QX1ABC-7>APZ001:" + here, "QX1ABC-7>APZ001:!//-RJPu2K[!\";", 120, 120, [2]int{40, 40}, 0},
		{"another symbol", "QX1ABC-7>APZ001:" + here, "QX1ABC-7>APZ001:!6201.90N/00937.01E>", 120, 120, [2]int{40, 40}, 0},
		{"another path", "QX1ABC-7>APZ001,WIDE1-1:" + here, "QX1ABC-7>APZ001,WIDE2-1:" + here, 120, 120, [2]int{40, 40}, 0},
		{"another place", "QX1ABC-7>APZ001:" + here, "QX1ABC-7>APZ001:" + there, 120, 120, [2]int{40, 40}, 0},
		{"another phase and interval", "QX1ABC-7>APZ001:" + here, "QX1ABC-7>APZ001:" + here, 120, 170, [2]int{40, 40}, 12},
	} {
		var all []heard
		for i := range 40 {
			text := [2]string{}
			if i%4 == 0 {
				text = [2]string{"hill pack", "valley pack"}
			}
			all = append(all, heard{float64(i) * c.period, 0, c.a + text[0]}, heard{37 + float64(i)*c.ownB, 0, c.b + text[1]})
		}
		all = append(all, heard{5, 0, "QX1ABC-7>APZ001:" + here + "somebody else"})
		units := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7", Comment: "hill"}), unit("Lapwing", Rule{Station: "QX1ABC-7", Comment: "valley"}))
		missing := 0
		for i, u := range units {
			missing += c.want[i] - len(u.Transmissions)
			for _, tr := range u.Transmissions {
				since := tr.At.Sub(day).Seconds()
				offset, period := 0.0, c.period
				if i == 1 {
					offset, period = 37, c.ownB
				}
				if math.Abs(math.Remainder(since-offset, period)) > 0.1 {
					t.Fatalf("%s: %s got a packet of the other at %v s", c.name, u.Name, since)
				}
			}
			if u.Unassigned < 1 {
				t.Errorf("%s: %s: a stranger's packet is not counted as unassigned", c.name, u.Name)
			}
		}
		if missing < 0 || missing > c.tolerant {
			t.Errorf("%s: %d packets unassigned, at most %d may be", c.name, missing, c.tolerant)
		}
	}
}

func TestCounts(t *testing.T) {
	all := []heard{
		{0, 0, "QX1ABC-7>APZ001:" + here + "hill pack 7.92V"},
		{1, 0, "QX1ABC-7>APZ001,TCPIP*,qAC,T2LAST:" + here + "hill pack"},
		{60, 0, "QX1ABC-7>APZ001:" + here + "hill pack too"},
		{70, 0, "QL2KD-9>APZ001,QX1ABC-7*,WIDE2-1:" + there},
		{71, 0, "QL2KD-9>APZ001,QX1ABC-7,QD1RDG*:" + there},
		{80, 0, "QL2KD-9>APZ001,QD1RDG*:" + there},
		{90, 0, "QX1ABC-7>APZ001::QL2KD-9  :ack12"},
	}
	units := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7", Comment: "hill"}), unit("Lapwing", Rule{Comment: "too"}))
	u := units[0]
	if u.Heard != 4 || u.Internet != 1 || len(u.Transmissions) != 3 || u.Contested != 1 || u.Relayed != 1 || len(units[1].Transmissions) != 0 {
		t.Errorf("heard %d, internet %d, transmissions %d, contested %d, relayed %d", u.Heard, u.Internet, len(u.Transmissions), u.Contested, u.Relayed)
	}
	// two addresses and one hop of 7 bytes, control, protocol and check 4, information 20
	if u.RelayedBytes != 7*4+4+20 {
		t.Errorf("relayed %d bytes, want %d", u.RelayedBytes, 7*4+4+20)
	}
	if answer := u.Transmissions[2]; !answer.Ack || answer.Beacon || u.Transmissions[0].Ack {
		t.Errorf("the acknowledgement is %+v", answer)
	}
	first := u.Transmissions[0]
	if first.Volts != 7.92 || !first.Beacon || first.Encoding != "plain" || first.Fix == nil || !math.IsNaN(u.Transmissions[1].Volts) {
		t.Errorf("first transmission %+v", first)
	}
}

func TestVolts(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{
		{"7.92V", 7.92}, {"bat 13.8 V ok", 13.8}, {"Vbat", math.NaN()}, {"VHF 145.5", math.NaN()}, {"230V", math.NaN()}, {"2000mV", math.NaN()},
		{"4VIP", math.NaN()}, {"1.2.3V", math.NaN()}, {"", math.NaN()}, {".V", math.NaN()}, {"U=8V", 8},
	} {
		if got := volts([]byte(c.text)); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%q: %v, want %v", c.text, got, c.want)
		}
	}
}

func TestPropose(t *testing.T) {
	var all []heard
	for i := range 40 {
		at := float64(i)
		all = append(all,
			heard{at * 120, 0, "QX1ABC-7>APZ001:" + here + "hill pack"},
			heard{37 + at*170, 0, "QX1ABC-7>APZ001:!6201.90N/00937.01E>valley pack"},
			heard{11 + at*120, 0, fmt.Sprintf("QL2KD-9>APZ001:%s%s", here, []string{"first text", "second text"}[i%2])},
			heard{5 + at*600, 0, "QD1RDG>APZ001:!6204.68N/00942.27E#fill-in"},
			heard{7 + at*300, 0, "QW2FEL>APZ001,QD1RDG*:!6200.66N/00933.26E[far away"},
		)
	}
	all = append(all, heard{9, 0, "QV5NET>APZ001:" + there + "passing"})
	var strong []string
	total := 0
	proposals := NewRegister(evidenceOf(t, all)).Propose()
	for i, p := range proposals {
		total += p.Transmissions
		if p.Strong {
			strong = append(strong, p.Spec.Name)
		}
		if i > 0 && p.Strong && !proposals[i-1].Strong {
			t.Error("strong ones must come first")
		}
	}
	slices.Sort(strong)
	if want := []string{"QL2KD-9", "hill pack", "valley pack"}; !slices.Equal(strong, want) {
		t.Errorf("strong proposals %q, want %q", strong, want)
	}
	if total != 201 {
		t.Errorf("proposals hold %d transmissions, want 201", total)
	}
}

// What is read once more in other files, or with the files swapped, must give the same transmissions.
func TestOrderOfEqualTimes(t *testing.T) {
	all := []heard{{0, 0, "QX1ABC-7>APZ001:" + here}, {0, 1, "QX1ABC-7>APZ001:" + here}, {90, 1, "QX1ABC-7>APZ001:" + there}}
	swapped := []heard{{0, 1, all[0].line}, {0, 0, all[1].line}, {90, 0, all[2].line}}
	a := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
	b := of(t, swapped, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
	if len(a.Transmissions) != 2 || len(b.Transmissions) != 2 || a.Transmissions[1].At != b.Transmissions[1].At {
		t.Errorf("%d and %d transmissions, want 2 and 2", len(a.Transmissions), len(b.Transmissions))
	}
}

func TestUnrepeated(t *testing.T) {
	var all []heard
	for i := range 60 {
		moving := fmt.Sprintf("!62%02d.90N/00937.01E>", i)
		all = append(all,
			heard{float64(i) * 60, 0, "QX1ABC-7>APZ001:" + moving},
			heard{float64(i) * 60, 1, "QX1ABC-7>APZ001:" + moving},
			heard{float64(i) * 600, 1, fmt.Sprintf("QD1RDG>APZ001:!6204.68N/00942.27E#fill-in %d", i)},
		)
	}
	if got := Unrepeated(evidenceOf(t, all)); !slices.Equal(got, []evidence.FileID{0}) {
		t.Errorf("files that drop repeats: %v, want the first only", got)
	}
}

// A source that drops repeats for half an hour shows a parked unit of one minute every half an hour and a bit; a unit that
// keeps to half an hour itself, some of it lost, is none.
func TestUnrepeatedForAWhile(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	var strays, fenced []float64
	for range 60 {
		strays = append(strays, math.Round(300+20*(r.Float64()-r.Float64())))
		fenced = append(fenced, math.Round(300+60*r.Float64()))
	}
	for _, c := range []struct {
		name  string
		gaps  []float64
		found bool
	}{
		{"dropped for half an hour", []float64{1800, 1860, 1800, 1800, 1920, 1800, 1860, 1800, 1800, 1800}, true},
		{"half an hour itself", []float64{1800, 3600, 1802, 1799, 1800, 5400, 1801, 1800, 3600, 1800}, false},
		{"dropped for five minutes", fenced, true},
		{"five minutes itself, up to 20 s off", strays, false},
		{"sent by hand", []float64{300, 900, 4200, 1750, 600, 2400, 820, 450, 1300, 3900}, false},
	} {
		at, all := 0.0, []heard(nil)
		for _, gap := range c.gaps {
			all = append(all, heard{at, 0, "QX1ABC-7>APZ001:" + here})
			at += gap
		}
		all = append(all, heard{at, 0, "QX1ABC-7>APZ001:" + here})
		if got := len(Unrepeated(evidenceOf(t, all))) > 0; got != c.found {
			t.Errorf("%s: found %v, want %v", c.name, got, c.found)
		}
	}
}

func FuzzUnits(f *testing.F) {
	f.Add([]byte(here+"hill pack"), uint16(20), true)
	f.Add([]byte("T#001,1,2,3,4,5,00000000"), uint16(500), false)
	f.Fuzz(func(t *testing.T, info []byte, apart uint16, direct bool) {
		head := "QX1ABC-7>APZ001:"
		if !direct {
			head = "QX1ABC-7>APZ001,QD1RDG*:"
		}
		all := []heard{{0, 0, head + string(info)}, {float64(apart) / 10, 0, head + string(info)}, {float64(apart) / 5, 1, "QX1ABC-7>APZ001:x" + string(info)}}
		u := of(t, all, unit("Heron", Rule{Station: "QX1ABC-7"}))[0]
		if u.Heard != len(u.Transmissions)+u.Duplicates+u.Internet+u.Untimed || u.Heard != len(all) {
			t.Errorf("heard %d is not %d transmissions and %d copies", u.Heard, len(u.Transmissions), u.Duplicates)
		}
	})
}
