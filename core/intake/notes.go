package intake

import (
	"slices"

	"lastbeacon/core/evidence"
)

// note is one odd line on its way to the list. Text and help come from the table of codes unless they are given.
type note struct {
	line    int32
	column  int
	code    string
	text    string
	help    string
	excerpt []byte
	unused  bool
	count   int // 0 means 1
}

// notes collects the notes of one file: equal ones are counted, the first is quoted. At most maxNotes differ; what comes
// beyond is counted in two last notes, one of lines not used, so that a file of rubbish costs no more than a sound one.
type notes struct {
	file    evidence.FileID
	list    []evidence.Note
	refused func(line int32, code string, text []byte) // told of every line that was not used; may be nil
}

const (
	maxNotes   = 200
	maxExcerpt = 200
)

func (n *notes) add(o note) {
	if o.unused && n.refused != nil && o.line > 0 {
		n.refused(o.line, o.code, o.excerpt)
	}
	o.count = max(o.count, 1)
	if i := n.find(o); i >= 0 {
		n.list[i].Count += int32(o.count)
		return
	}
	if len(n.list) >= maxNotes-2 {
		o = note{code: "notes.more", unused: o.unused, count: o.count}
		if i := n.find(o); i >= 0 {
			n.list[i].Count += int32(o.count)
			return
		}
	}
	words := texts[o.code]
	if o.text == "" {
		o.text = words.text
	}
	if o.help == "" {
		o.help = words.help
	}
	n.list = append(n.list, evidence.Note{
		Line: evidence.Line{File: n.file, No: o.line}, Column: int32(o.column), Code: o.code, Text: o.text, Help: o.help,
		Excerpt: slices.Clone(o.excerpt[:min(len(o.excerpt), maxExcerpt)]), Count: int32(o.count), Unused: o.unused,
	})
}

// find gives the place of an equal note: same code, same text, same use.
func (n *notes) find(o note) int {
	for i := range n.list {
		e := &n.list[i]
		if e.Code == o.code && e.Unused == o.unused && (o.text == "" || o.text == e.Text) {
			return i
		}
	}
	return -1
}
