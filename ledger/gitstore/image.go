package gitstore

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"hash/crc32"
	"io"
	"os"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// cache/book.image holds the image of the book as it was last loaded whole (see
// [ledger.Book.WriteImage]), after one line that says of which logs, up to where,
// by which program and when; a checksum ends it. With it a command reads of the
// logs only what came since. It may be deleted at any time.
//
// What an image says was verified once and is not looked at again, so that a
// disk that goes bad would not show: whoever opens one says how old it may be,
// and an audit opens none.

const imageFile = "book.image"

// Image is an opened image.
type Image struct {
	Data []byte // for [ledger.ReadImage]
	head imageHead
}

// imageHead is the first line.
type imageHead struct {
	Form    int               `json:"image"`
	Program string            `json:"program"`
	Read    string            `json:"read"` // the day on which all of it was last read from the logs
	Ends    map[string]string `json:"ends"` // log -> the commit up to which it goes
}

const imageForm = 1

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// OpenImage opens the image that the same program kept, if all of it was read
// from the logs on one of the days from since to today; nil where there is none.
// With mapped its Data is the file itself and is never released: for a process
// that ends soon.
func (s *Store) OpenImage(program, since, today string, mapped bool) *Image {
	data, err := readImageFile(s.path(cacheDir, imageFile), mapped)
	if err != nil || len(data) < crc32.Size {
		return nil
	}
	data, sum := data[:len(data)-crc32.Size], data[len(data)-crc32.Size:]
	line, rest, ok := bytes.Cut(data, []byte("\n"))
	var im Image
	if !ok || json.Unmarshal(line, &im.head) != nil || im.head.Form != imageForm || im.head.Program != program || im.head.Read < since || im.head.Read > today {
		return nil
	}
	if crc32.Checksum(data, castagnoli) != binary.LittleEndian.Uint32(sum) {
		return nil
	}
	im.Data = rest
	return &im
}

// Read returns the day on which all of the image was last read from the logs.
func (im *Image) Read() string { return im.head.Read }

// KeepImage keeps the image of what [Store.Logs] or [Store.LogsSince] returned
// last, written by write; read is the day on which all of it was read. It is a
// convenience only: nothing is reported if it cannot be written, and nothing is
// kept if write fails.
func (s *Store) KeepImage(program, read string, write func(io.Writer) error) {
	head := imageHead{Form: imageForm, Program: program, Read: read, Ends: map[string]string{}}
	s.mu.Lock()
	for name, end := range s.handed {
		if end.ref != end.tip && !end.ref.IsZero() {
			head.Ends = nil // something is on its way to its place
			break
		}
		head.Ends[name] = end.tip.String()
	}
	s.mu.Unlock()
	if len(head.Ends) == 0 {
		return
	}
	line, err := json.Marshal(head)
	if err != nil {
		return
	}
	path := s.path(cacheDir, imageFile)
	temp := path + ".tmp"
	f, err := s.disk.createTemp(temp, 0o666)
	if err != nil {
		return
	}
	sum := crc32.New(castagnoli)
	w := bufio.NewWriterSize(io.MultiWriter(diskWriter{s.disk, f}, sum), 1<<18)
	w.Write(append(line, '\n'))
	err = write(w)
	if ferr := w.Flush(); err == nil {
		err = ferr
	}
	if err == nil {
		err = s.disk.write(f, binary.LittleEndian.AppendUint32(nil, sum.Sum32()))
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil { // not forced to the medium: what a crash leaves of it does not have its sum
		err = s.disk.rename(temp, path)
	}
	if err != nil {
		os.Remove(temp)
	}
}

// diskWriter writes to a file through disk.
type diskWriter struct {
	disk disk
	f    *os.File
}

func (w diskWriter) Write(p []byte) (int, error) {
	if err := w.disk.write(w.f, p); err != nil {
		return 0, err
	}
	return len(p), nil
}

// errNotSince says that what came since cannot be told by itself.
var errNotSince = errors.New("the logs do not continue what was kept of them")

// LogsSince is [Store.Logs] without the lines that an image holds, of which
// held tells for each log how many and the last: the Lines are those after
// them. Any error means that the logs are to be read whole.
func (s *Store) LogsSince(im *Image, held func(log string) (lines int, last []byte)) ([]ledger.Log, error) {
	st, err := s.snapshot()
	if err != nil {
		return nil, err
	}
	seen, err := s.Seen()
	if err != nil {
		return nil, err
	}
	checked := map[string]ledger.ID{}
	for _, one := range seen {
		if _, _, lost := one.lost(); lost {
			return nil, errNotSince
		}
		checked[one.Log] = one.ID
	}
	for name := range im.head.Ends {
		if st.logs[name] == nil {
			return nil, errNotSince
		}
	}
	packs := s.openPacks()
	defer packs.close()
	from := s.history(packs)
	var logs []ledger.Log
	for _, name := range sortedNames(st.logs) {
		lines, err := s.readSince(st, name, im.head.Ends[name], held, from)
		if err != nil {
			return nil, err
		}
		if len(lines) > 0 {
			logs = append(logs, ledger.Log{Name: name, Lines: lines, Checked: checked[name]})
		}
	}
	s.mu.Lock()
	s.handed = st.ends()
	s.mu.Unlock()
	return logs, nil
}

// readSince reads what a log got after the commit at which it stood.
func (s *Store) readSince(st *state, name, had string, held func(string) (int, []byte), from fetch) ([][]byte, error) {
	l := st.logs[name]
	if l.tip().IsZero() {
		return nil, errNotSince
	}
	if ref := st.refs[name]; !ref.IsZero() && !l.passed(ref) { // something was written past what is pending
		if ref.String() == had {
			return nil, nil
		}
		return nil, errNotSince
	}
	since := -1 // the first of the runs that came since
	for i, at := range append([]plumbing.Hash{l.base}, l.commits()...) {
		if !at.IsZero() && at.String() == had {
			since = i
		}
	}
	var lines [][]byte
	if since < 0 {
		skip, last := held(name)
		var err error
		if lines, err = readLinesSince(name, l.base, skip, last, from); err != nil {
			return nil, err
		}
		since = 0
	}
	for _, r := range l.runs[since:] {
		lines = append(lines, r.lines...)
	}
	return lines, nil
}

// commits are those of the runs.
func (l *logState) commits() []plumbing.Hash {
	out := make([]plumbing.Hash, len(l.runs))
	for i, r := range l.runs {
		out[i] = r.commit
	}
	return out
}

// readLinesSince reads the lines of a log after the first skip, the last of
// which must be the one given.
func readLinesSince(log string, commit plumbing.Hash, skip int, last []byte, from fetch) ([][]byte, error) {
	if skip == 0 {
		return readLines(log, commit, from)
	}
	if commit.IsZero() {
		return nil, errNotSince
	}
	files, err := logFiles(log, commit, from)
	if err != nil {
		return nil, err
	}
	first := (skip - 1) / linesPerFile
	if first >= len(files) {
		return nil, errNotSince
	}
	lines, err := readFiles(log, files[first:], from, nil)
	if err != nil {
		return nil, err
	}
	after := skip - first*linesPerFile
	if len(lines) < after || !bytes.Equal(lines[after-1], last) {
		return nil, errNotSince
	}
	return lines[after:], nil
}
