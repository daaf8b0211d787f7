package session

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"testing"

	"lastbeacon/core/report"
)

// pour reads a file through a job as a host does, again when the job asks for it.
func pour(t *testing.T, s *Session, id int, name string, data []byte) {
	t.Helper()
	for range 3 {
		request, _ := json.Marshal(order{ID: id, Name: name, Mode: "evidence"})
		job, err := s.Open(request)
		if err != nil {
			t.Fatal(err)
		}
		if err := job.Run(bytes.NewReader(data)); err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(data)
		answer, err := job.Close(hex.EncodeToString(sum[:]))
		if err != nil {
			t.Fatal(err)
		}
		if string(answer) == `{"again":false}` {
			return
		}
	}
	t.Fatalf("%s asks to be read again and again", name)
}

type input struct {
	name string
	data []byte
}

func exampleInputs(t *testing.T) (bench []byte, inputs []input) {
	t.Helper()
	return inputsOf(t, "../../testdata/example")
}

// answerTo analyses inputs in the order given and reads files again as asked.
func answerTo(t *testing.T, bench []byte, inputs []input) []byte {
	t.Helper()
	_, text := analysed(t, bench, inputs)
	return text
}

// analysed gives the session behind the answer too.
func analysed(t *testing.T, bench []byte, inputs []input) (*Session, []byte) {
	t.Helper()
	s := New("test")
	if err := s.Prepare(bench); err != nil {
		t.Fatal(err)
	}
	for i, in := range inputs {
		pour(t, s, i, in.name, in.data)
	}
	for range 3 {
		text, err := s.Analyse(bench)
		if err != nil {
			t.Fatal(err)
		}
		var a answer
		if err := json.Unmarshal(text, &a); err != nil {
			t.Fatal(err)
		}
		if len(a.ReadAgain) == 0 {
			return s, a.Report
		}
		for _, id := range a.ReadAgain {
			pour(t, s, id, inputs[id].name, inputs[id].data)
		}
	}
	t.Fatal("the files are never read well enough")
	return nil, nil
}

func TestExampleAnswers(t *testing.T) {
	bench, inputs := exampleInputs(t)
	text := answerTo(t, bench, inputs)
	var r report.Report
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	if len(r.Units) != 2 || len(r.Comparisons) != 1 {
		t.Fatalf("%d units and %d comparisons, want 2 and 1", len(r.Units), len(r.Comparisons))
	}
	t.Logf("%s", report.Summary(&r))
}

// The order in which files are dropped changes nothing.
func TestOrderOfFiles(t *testing.T) {
	bench, inputs := exampleInputs(t)
	want := answerTo(t, bench, inputs)
	slices.Reverse(inputs)
	if got := answerTo(t, bench, inputs); !bytes.Equal(got, want) {
		t.Error("the report depends on the order of the files")
	}
}
