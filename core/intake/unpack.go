package intake

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"unicode/utf16"
	"unicode/utf8"
)

// Limits of what is unpacked. Logs pack 5 to 20 times; gzip cannot pack more than about 1030 times.
const (
	maxZip     = 32 << 20
	bombSize   = 64 << 20
	bombRatio  = 300
	maxMembers = 200
	maxNamed   = 50
)

// encrypted is the flag of an encrypted member (APPNOTE 4.4.4, bit 0).
const encrypted = 1

// unpack undoes compression and hands the text to the reader of its format.
func (rd *reading) unpack(in *counted) error {
	r := bufio.NewReaderSize(in, 32<<10)
	head, _ := r.Peek(4)
	switch {
	case len(head) == 0:
		if in.err == nil {
			rd.notes.add(note{code: "file.empty"})
		}
		rd.src.File.Format = "empty file"
		return nil
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}):
		return rd.gunzip(r, in)
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("PK\x05\x06")):
		return rd.unzip(r)
	}
	return rd.text(r)
}

// gunzip reads through gzip; joined members are normal.
func (rd *reading) gunzip(r io.Reader, in *counted) error {
	z, err := gzip.NewReader(r)
	if err != nil {
		rd.notes.add(note{code: "gzip.damaged"})
		return nil
	}
	watch := &watched{r: z, packed: &in.n}
	if err := rd.text(watch); err != nil {
		return err
	}
	if rd.blame(watch.err, "gzip.damaged"); watch.n == 0 && watch.err == nil {
		rd.notes.add(note{code: "file.empty"})
	}
	return nil
}

// blame notes what ended the unpacking too early.
func (rd *reading) blame(err error, damaged string) {
	switch {
	case err == nil:
	case errors.Is(err, errBomb):
		rd.notes.add(note{code: "gzip.bomb"})
	case errors.Is(err, gzip.ErrHeader):
		rd.notes.add(note{code: "gzip.trailing"})
	case errors.Is(err, io.ErrUnexpectedEOF):
		rd.notes.add(note{code: "file.cut"})
	default:
		rd.notes.add(note{code: damaged})
	}
}

var errBomb = errors.New("unpacked size out of proportion")

// watched ends the stream quietly where the packed data are damaged or grow out of proportion, and keeps the reason.
type watched struct {
	r      io.Reader
	packed *int64
	n      int64
	err    error
}

func (w *watched) Read(p []byte) (int, error) {
	n, err := w.r.Read(p)
	w.n += int64(n)
	if w.n > bombSize && w.n/bombRatio > *w.packed {
		err = errBomb
	}
	if err != nil && err != io.EOF {
		w.err, err = err, io.EOF
	}
	return n, err
}

// unzip reads the members of an archive one after the other, as if they were one file.
func (rd *reading) unzip(r io.Reader) error {
	packed, err := io.ReadAll(io.LimitReader(r, maxZip+1))
	if err != nil {
		return nil // the host's error, which Read gives
	}
	if len(packed) > maxZip {
		rd.notes.add(note{code: "zip.too-large"})
		return nil
	}
	packed = withoutComment(packed)
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil || len(z.File) == 0 && bytes.HasPrefix(packed, []byte("PK\x03\x04")) {
		rd.notes.add(note{code: "zip.damaged"})
		return nil
	}
	members := z.File[:0:0]
	for _, m := range z.File {
		if !m.FileInfo().IsDir() && m.UncompressedSize64 > 0 {
			members = append(members, m)
		}
	}
	if len(members) == 0 {
		rd.notes.add(note{code: "file.empty"})
	}
	size := int64(len(packed))
	watch := &watched{packed: &size} // over all members, since several may name the same packed bytes
	for i, m := range members {
		if i == maxMembers || errors.Is(watch.err, errBomb) {
			rd.notes.add(note{code: "zip.skipped", text: fmt.Sprintf("%d files at the end of the archive's list were not read", len(members)-i)})
			break
		}
		before := rd.src.File.Lines
		if err := rd.member(m, watch); err != nil {
			return err
		}
		if lines := rd.src.File.Lines; len(members) > 1 && lines > before {
			rd.notes.add(memberNote(i, m.Name, before+1, lines))
		}
	}
	return nil
}

// endRecord is the length of what ends an archive's list, its comment aside (APPNOTE 4.3.16).
const endRecord = 22

// withoutComment takes the comment from an archive, which may hold what looks like another end of the list: the true one is the
// first that lies right behind the list it tells of and whose comment reaches to the end. Where there is none, as in an archive with
// something ahead of it, all stays.
func withoutComment(packed []byte) []byte {
	for i := max(0, len(packed)-endRecord-math.MaxUint16); ; i += 4 {
		k := bytes.Index(packed[i:], []byte("PK\x05\x06"))
		if k < 0 {
			return packed
		}
		i += k
		end := packed[i:]
		if len(end) < endRecord {
			return packed
		}
		size, offset, comment := binary.LittleEndian.Uint32(end[12:]), binary.LittleEndian.Uint32(end[16:]), binary.LittleEndian.Uint16(end[20:])
		if int64(size)+int64(offset) == int64(i) && endRecord+int(comment) == len(end) {
			end[20], end[21] = 0, 0
			return packed[:i+endRecord]
		}
	}
}

// memberNote says which lines are those of member i; an archive of very many must not fill the list of notes.
func memberNote(i int, name string, first, last int) note {
	text := "further files of the archive follow, in the order of its list"
	if i < maxNamed {
		text = fmt.Sprintf("the archive holds several files; lines %d to %d are those of %q", first, last, name)
	}
	return note{code: "zip.members", line: int32(first), text: text}
}

func (rd *reading) member(m *zip.File, watch *watched) error {
	src, err := m.Open()
	if err == nil && m.Flags&encrypted != 0 {
		err = errors.New("it is encrypted")
	}
	if err != nil {
		rd.notes.add(note{code: "zip.skipped", text: fmt.Sprintf("%q in the archive was not read: %v", m.Name, err)})
		return nil
	}
	defer src.Close()
	watch.r, watch.err = src, nil
	if err := rd.text(watch); err != nil {
		return err
	}
	rd.blame(watch.err, "zip.damaged")
	return nil
}

// text undoes byte order marks and UTF-16, finds the format and lets its reader work.
func (rd *reading) text(r io.Reader) error {
	rd.base = rd.src.File.Lines
	b := bufio.NewReaderSize(r, 64<<10)
	head, _ := b.Peek(wideHead)
	switch big, wide := wideUnmarked(head); {
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}), bytes.HasPrefix(head, []byte("PK\x03\x04")):
		rd.notes.add(note{code: "file.packed"})
		_, err := io.Copy(io.Discard, b)
		return err
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		b.Discard(3)
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		big = head[0] == 0xfe
		b.Discard(2)
		return rd.wide(b, big)
	case wide:
		return rd.wide(b, big)
	}
	return rd.read(b)
}

// wide reads UTF-16 text.
func (rd *reading) wide(r *bufio.Reader, big bool) error {
	text := &wideText{r: r, big: big}
	err := rd.read(bufio.NewReaderSize(text, 64<<10))
	if text.broken {
		rd.notes.add(note{code: "text.not-decoded"})
	}
	return err
}

// wideHead is how many bytes tell UTF-16 that has no byte order mark.
const wideHead = 64

// wideUnmarked tells whether a text that begins so is UTF-16 without a byte order mark, and whether the big end comes first:
// of every pair of bytes one is zero, always the same one, and the other is an ASCII character.
func wideUnmarked(head []byte) (big, wide bool) {
	if len(head) < 8 {
		return false, false
	}
	big = head[0] == 0
	for i := 0; i+1 < len(head); i += 2 {
		upper, lower := head[i+1], head[i]
		if big {
			upper, lower = lower, upper
		}
		if upper != 0 || lower > '~' || lower < ' ' && bytes.IndexByte([]byte("\t\r\n"), lower) < 0 {
			return false, false
		}
	}
	return big, true
}

// wideText turns UTF-16 into UTF-8.
type wideText struct {
	r      *bufio.Reader
	big    bool
	high   rune // first half of a surrogate pair
	out    []byte
	broken bool
}

func (w *wideText) Read(p []byte) (int, error) {
	for len(w.out) < len(p) {
		u, err := w.unit()
		if err != nil {
			if len(w.out) == 0 {
				return 0, err
			}
			break
		}
		w.take(u)
	}
	n := copy(p, w.out)
	w.out = append(w.out[:0], w.out[n:]...)
	return n, nil
}

func (w *wideText) unit() (rune, error) {
	a, err := w.r.ReadByte()
	if err != nil {
		return 0, err
	}
	b, err := w.r.ReadByte()
	if err != nil {
		w.broken = true
		return 0, io.EOF
	}
	if w.big {
		a, b = b, a
	}
	return rune(b)<<8 | rune(a), nil
}

func (w *wideText) take(u rune) {
	if w.high != 0 {
		r := utf16.DecodeRune(w.high, u)
		w.high = 0
		w.broken = w.broken || r == utf8.RuneError
		w.out = utf8.AppendRune(w.out, r)
		if r != utf8.RuneError {
			return
		}
	}
	switch {
	case u >= 0xd800 && u < 0xdc00:
		w.high = u
	case utf16.IsSurrogate(u):
		w.broken = true
		w.out = utf8.AppendRune(w.out, utf8.RuneError)
	default:
		w.out = utf8.AppendRune(w.out, u)
	}
}
