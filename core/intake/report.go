package intake

import (
	"bufio"
	"bytes"
	"io"

	"lastbeacon/core/evidence"
)

// A report saved earlier, as JSON, or as a page that carries the JSON in an inert element. Its text is handed on as it is; what
// it says is checked where it is used, and nothing in it is ever run.
func savedReport() Format {
	return Format{Name: "saved report", Lacks: "no schema lastbeacon.report", Sniff: sniffReport, read: readReport}
}

// Marks of a saved report: the schema of its JSON, and what stands around that JSON in a page.
var (
	reportSchema = []byte(`"lastbeacon.report/`)
	reportPage   = []byte(`<meta name="generator" content="Lastbeacon report">`)
	reportOpen   = []byte(`<template id="lastbeacon-report">`)
	reportClose  = []byte(`</template>`)
)

// maxReport bounds a saved report.
const maxReport = 16 << 20

func sniffReport(head []byte) Confidence {
	switch text := bytes.TrimSpace(head); {
	case bytes.HasPrefix(text, []byte("{")) && bytes.Contains(text, reportSchema):
		return 100
	case bytes.HasPrefix(text, []byte("<!doctype html>")) && bytes.Contains(text, reportPage):
		return 100
	}
	return 0
}

func readReport(rd *reading, r *bufio.Reader) error {
	text, err := io.ReadAll(io.LimitReader(r, maxReport+1))
	f := &rd.src.File
	f.Lines = 1 + bytes.Count(bytes.TrimRight(text, "\r\n"), []byte("\n"))
	switch {
	case err != nil:
		return err
	case len(text) > maxReport:
		f.NotUsed = f.Lines
		rd.notes.add(note{code: "report.too-large"})
		return nil
	}
	if bytes.HasPrefix(bytes.TrimSpace(text), []byte("<")) {
		_, rest, _ := bytes.Cut(text, reportOpen)
		text, _, _ = bytes.Cut(rest, reportClose)
	}
	if len(text) == 0 {
		f.NotUsed = f.Lines
		rd.notes.add(note{code: "report.empty"})
		return nil
	}
	f.Kind, rd.src.Report = evidence.Reports, bytes.TrimSpace(text)
	return nil
}
