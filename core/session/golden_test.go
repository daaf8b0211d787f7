package session

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// A case is a folder under testdata/golden or the example: files, perhaps a bench, and the report they give. The shipped
// engine gives the same bytes under Node (web/test/golden.test.ts).
func goldenCases(t *testing.T) map[string]string {
	t.Helper()
	cases := map[string]string{"example": "../../testdata/example"}
	entries, err := os.ReadDir("../../testdata/golden")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.IsDir() {
			cases[e.Name()] = filepath.Join("../../testdata/golden", e.Name())
		}
	}
	return cases
}

func inputsOf(t *testing.T, folder string) (bench []byte, inputs []input) {
	t.Helper()
	bench = []byte(`{"schema":"lastbeacon.bench/1"}`)
	paths, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%s holds no files: %v", folder, err)
	}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		switch name := filepath.Base(p); name {
		case "bench.json":
			bench = data
		case "truth.json":
		default:
			inputs = append(inputs, input{name, data})
		}
	}
	return bench, inputs
}

func TestGoldenReports(t *testing.T) {
	for name, folder := range goldenCases(t) {
		bench, inputs := inputsOf(t, folder)
		var got bytes.Buffer
		if err := json.Indent(&got, answerTo(t, bench, inputs), "", " "); err != nil {
			t.Fatal(err)
		}
		got.WriteByte('\n')
		golden := "../../testdata/golden/" + name + ".report.json"
		if *update {
			if err := os.WriteFile(golden, got.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got.Bytes(), want) {
			t.Errorf("%s: the report differs from %s at byte %d; see what changed and run make golden if it is meant", name, golden, differ(got.Bytes(), want))
		}
	}
}

func differ(a, b []byte) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}
