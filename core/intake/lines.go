package intake

import (
	"bufio"
	"bytes"
)

// lines cuts text into lines without copying: CR LF, LF, or CR where the beginning of the text holds no LF. A line is at most
// maxLine bytes; a longer one is skipped and reported as such.
type lines struct {
	r   *bufio.Reader
	end byte
	no  int // of the line given last, from 1
}

// maxLine is the size of the reader's buffer, which bounds a line.
const maxLine = 64 << 10

func newLines(r *bufio.Reader, head []byte) *lines {
	l := &lines{r: r, end: '\n'}
	if bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0 {
		l.end = '\r'
	}
	return l
}

// next gives the next line without its end; it holds until the next call. long: the line was too long, b is its beginning.
func (l *lines) next() (b []byte, long, ok bool) {
	b, err := l.r.ReadSlice(l.end)
	if len(b) == 0 && err != nil {
		return nil, false, false
	}
	l.no++
	if err == bufio.ErrBufferFull {
		head := bytes.Clone(b[:maxExcerpt])
		for err == bufio.ErrBufferFull {
			_, err = l.r.ReadSlice(l.end)
		}
		return head, true, true
	}
	for len(b) > 0 && (b[len(b)-1] == '\n' || b[len(b)-1] == '\r') {
		b = b[:len(b)-1]
	}
	return b, false, true
}
