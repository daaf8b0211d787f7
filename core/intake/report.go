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
	counted := lineCount{last: '\n'}
	all := io.TeeReader(r, &counted)
	text, err := io.ReadAll(io.LimitReader(all, maxReport+1))
	if err == nil {
		_, err = io.Copy(io.Discard, all)
	}
	if err != nil {
		return err
	}
	rd.src.File.Lines += counted.lines()
	if len(text) > maxReport {
		rd.refuseAll("report.too-large", counted.lines())
		return nil
	}
	if bytes.HasPrefix(bytes.TrimSpace(text), []byte("<")) {
		_, rest, _ := bytes.Cut(text, reportOpen)
		text, _, _ = bytes.Cut(rest, reportClose)
	}
	if len(text) == 0 {
		rd.refuseAll("report.empty", counted.lines())
		return nil
	}
	rd.src.File.Kind, rd.src.Report = evidence.Reports, bytes.TrimSpace(text)
	return nil
}

// refuseAll counts the lines of a text that gave nothing.
func (rd *reading) refuseAll(code string, lines int) {
	rd.src.File.NotUsed += lines
	rd.notes.add(note{code: code, unused: lines > 0, count: lines})
}

// lineCount counts the lines of what is written to it; last is the byte before.
type lineCount struct {
	ends int
	last byte
}

func (c *lineCount) Write(p []byte) (int, error) {
	c.ends += bytes.Count(p, []byte{'\n'})
	if len(p) > 0 {
		c.last = p[len(p)-1]
	}
	return len(p), nil
}

func (c *lineCount) lines() int {
	if c.last != '\n' {
		return c.ends + 1
	}
	return c.ends
}
