package sentence

import (
	"math"
	"strings"
	"testing"

	"lastbeacon/core/estimate"
)

// plainSpaces shows no-break spaces as spaces, for readable tables.
func plainSpaces(s string) string { return strings.ReplaceAll(s, nbsp, " ") }

func same(t *testing.T, name, got, want string) {
	t.Helper()
	if got = plainSpaces(got); got != want {
		t.Errorf("%s:\n got %q\nwant %q", name, got, want)
	}
}

func TestNumbersAreRoundedToTheirUncertainty(t *testing.T) {
	for _, c := range []struct {
		name string
		e    estimate.Estimate
		unit string
		want string
	}{
		{"two digits of an uncertainty that begins with 1", estimate.Of(190.6, 203.8, 217.4), "mA", "204 mA (190 to 218)"},
		{"one digit otherwise", estimate.Of(0.688, 0.757, 0.832), "times", "0.76 times (0.68 to 0.84)"},
		{"ratio that may be next to nothing", estimate.Of(0.0475, 0.7595, 12.16), "times", "0.76 times (0.04 to 12.16)"},
		{"ratio above 1 by little", estimate.Of(1.0061, 1.11, 1.22), "times", "1.110 times (1.006 to 1.220)"},
		{"ratio below 1 by little", estimate.Of(0.82, 0.91, 0.9981), "times", "0.910 times (0.820 to 0.999)"},
		{"ratio", estimate.Of(1.108, 1.2112, 1.324), "times", "1.21 times (1.10 to 1.33)"},
		{"wide", estimate.Of(400, 1234, 2600), "mAh", "1,200 mAh (400 to 2,600)"},
		{"exact count", estimate.Exact(1850), "mAh", "1,850 mAh"},
		{"exact fraction", estimate.Exact(3.14159), "s", "3.142 s"},
		{"open above", estimate.AtLeast(325.9), "mA", "at least 325 mA"},
		{"open below, rounded up", estimate.Of(math.Inf(-1), 0.2501, 0.2501), "", "at most 0.251"},
		{"limits that binary fractions miss", estimate.Of(0.29, 0.6, 1.1), "A", "0.6 A (0.2 to 1.1)"},
		{"open below", estimate.Of(math.Inf(-1), 0.25, 0.25), "", "at most 0.250"},
		{"unknown", estimate.Unknown, "mA", "not known"},
		{"negative", estimate.Of(-6, -4, -2), "mA", "−4.0 mA (−6.0 to −2.0)"},
		{"nothing after rounding", estimate.Of(-3, -0.04, 3), "mA", "0 mA (−3 to 3)"},
		{"tiny", estimate.Of(0.000012, 0.0000156, 0.00002), "Ah", "0.000016 Ah (0.000012 to 0.000020)"},
	} {
		same(t, c.name, Bounded(c.e, c.unit), c.want)
	}
}

func TestNumberAndUnitStayOnOneLine(t *testing.T) {
	for _, s := range []string{Number(estimate.Exact(5), "mA"), Span(45780), Count(3, "run", "runs"), Percent(0.03), Size(84e6)} {
		if strings.Contains(s, " ") {
			t.Errorf("%q can be broken", s)
		}
	}
}

func TestSpans(t *testing.T) {
	for _, c := range []struct {
		seconds float64
		want    string
	}{
		{0, "0 s"}, {1.25, "1.2 s"}, {42, "42 s"}, {60, "60 s"}, {90, "90 s"}, {120, "2 min"}, {150, "150 s"}, {330, "5 min 30 s"},
		{600, "10 min"}, {2820, "47 min"}, {3599, "1 h"}, {45780, "12 h 43 min"}, {86400, "24 h"}, {-45780, "−12 h 43 min"},
		{math.Inf(1), "not known"}, {math.NaN(), "not known"},
	} {
		same(t, "span", Span(c.seconds), c.want)
	}
}

func TestRunTimes(t *testing.T) {
	for _, c := range []struct {
		name string
		e    estimate.Estimate
		want string
	}{
		{"to the minute", estimate.Of(45480, 45780, 46080), "12 h 43 min (12 h 38 min to 12 h 48 min)"},
		{"to five minutes", estimate.Of(42000, 43500, 45600), "12 h 5 min (11 h 40 min to 12 h 40 min)"},
		{"to ten minutes", estimate.Of(40000, 45780, 52000), "12 h 40 min (11 h to 14 h 30 min)"},
		{"never more than was seen", estimate.AtLeast(22259), "at least 6 h 10 min"},
		{"a whole minute that arithmetic left short", estimate.AtLeast(math.Exp(math.Log(75960)) - 1e-9), "at least 21 h 6 min"},
		{"limits rounded outward", estimate.Of(45539, 45780, 46021), "12 h 43 min (12 h 38 min to 12 h 48 min)"},
		{"open below, rounded up", estimate.Of(math.Inf(-1), 22259, 22259), "at most 6 h 11 min"},
		{"limits that fall together", estimate.Of(45780, 45781, 45782), "12 h 43 min"},
		{"unknown", estimate.Unknown, "not known"},
	} {
		same(t, c.name, LastingBounded(c.e), c.want)
	}
}

func TestCountsAndSizes(t *testing.T) {
	same(t, "one", Count(1, "packet", "packets"), "1 packet")
	same(t, "thousands", Count(9812, "packet", "packets"), "9,812 packets")
	for bytes, want := range map[int64]string{0: "0 B", 999: "999 B", 1_000: "1.0 kB", 9_940: "9.9 kB", 9_960: "10 kB", 999_600: "1.0 MB", 84_000_000: "84 MB", 3e12: "3.0 TB"} {
		same(t, "size", Size(bytes), want)
	}
	for n, want := range map[int]string{0: "0 runs", 999: "999 runs", 1000: "1,000 runs", 1234567: "1,234,567 runs", -1204: "-1,204 runs"} {
		same(t, "count", Count(n, "run", "runs"), want)
	}
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		same(t, "list", List(words), want)
	}
	same(t, "list", List([]string{"a", "b", "c"}), "a, b and c")
	same(t, "small percentage", Percent(0.0287), "2.9 %")
	same(t, "whole percentage", Percent(0.03), "3 %")
	same(t, "large percentage", Percent(0.806), "81 %")
}
