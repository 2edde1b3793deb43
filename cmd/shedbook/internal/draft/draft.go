// Package draft keeps what a person is keying in until it is recorded: one small file for each round of questions, beside the book and never synced.
//
// What holds: a line that [Draft.Add] has taken outlives the end of the process and of the machine, for it is forced to the medium before Add returns. A line
// cut off by a crash is left out when the file is read again, and any other that cannot be read is counted, not guessed at. Only one process at a time has a
// draft. Nothing removes a draft but [Draft.Remove], which whoever keeps one calls once its entries are safe, or [Draft.Aside], which keeps the file under
// another name.
//
// The file is text: each line is the CRC-32 (Castagnoli) of its JSON in eight hex digits, a blank, and the JSON. The first is the [Head]. The folder is
// for its owner only (0700), the files too (0600): they hold people's words.
package draft

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"
)

// Folder is where drafts lie inside a book's folder.
const Folder = "drafts"

// format is the form of the file this program writes.
const format = 1

// most is the longest draft that is read, in bytes: a round of some thousand places.
const most = 4 << 20

// patience is how long another process is waited for: one that ends just now, not one that is being typed into.
const patience = time.Second

// ErrBusy says that another process has the draft.
var ErrBusy = errors.New("another terminal has this draft open")

// Head is what the round is about: what its lines mean is fixed with it.
type Head struct {
	Format  int      `json:"draft"`
	Verb    string   `json:"verb"`
	Machine string   `json:"machine"` // its id
	Done    string   `json:"done"`    // when the work was done, farm-local, as an entry has it
	Words   []string `json:"words"`   // of the command line, after the machine's name
	Flags   []string `json:"flags,omitempty"`
}

// Line is one thing said. A later line about the same place stands for an earlier one.
type Line struct {
	At     string   `json:"at,omitempty"`     // the question: a reading and a place, or a job
	Say    string   `json:"say,omitempty"`    // the answer
	More   string   `json:"more,omitempty"`   // what was said beside it
	Left   bool     `json:"left,omitempty"`   // left out
	Doubt  string   `json:"doubt,omitempty"`  // an answer that was asked about and not yet confirmed
	Signed []string `json:"signed,omitempty"` // ids of the entries that were about to be recorded
}

// Draft is an open draft. It is not for several goroutines at once.
type Draft struct {
	Head  *Head // nil: nothing is kept yet
	Lines []Line
	Lost  int // lines that could not be read

	path   string
	file   *os.File
	size   int64
	unlock func()
}

// Name is the file name for a round of a verb over some things of a machine, in whatever order they are named.
func Name(verb, machine string, what []string) string {
	all := slices.Clone(what)
	slices.Sort(all)
	sum := sha256.Sum256([]byte(machine + "\n" + strings.Join(all, "\n")))
	return fmt.Sprintf("%s-%x", verb, sum[:6])
}

// Open takes hold of the draft of that name in a book's folder and reads what it keeps. The error is [ErrBusy] while another process has it, or one of the
// operating system. Nothing is written before [Draft.Begin] but the lock.
func Open(book, name string) (*Draft, error) {
	dir := filepath.Join(book, Folder)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	d := &Draft{path: filepath.Join(dir, name)}
	unlock, err := lock(d.path + ".lock")
	if err != nil {
		return nil, err
	}
	d.unlock = unlock
	if err := d.read(); err != nil {
		d.Close()
		return nil, err
	}
	return d, nil
}

// lock waits a moment for the file's lock, which ends with the process that has it.
func lock(path string) (unlock func(), err error) {
	type got struct {
		f   *lockedfile.File
		err error
	}
	c := make(chan got, 1)
	go func() {
		f, err := lockedfile.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
		c <- got{f, err}
	}()
	select {
	case g := <-c:
		if g.err != nil {
			return nil, g.err
		}
		return func() { g.f.Close() }, nil
	case <-time.After(patience):
		go func() { // it comes too late: whoever gets the draft next must have it
			if g := <-c; g.err == nil {
				g.f.Close()
			}
		}()
		return nil, ErrBusy
	}
}

// read takes in the file. What a crash left at its end, a line without an end, is cut off.
func (d *Draft) read() error {
	f, err := os.OpenFile(d.path, os.O_RDWR, 0)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	info, err := f.Stat()
	if err == nil && (!info.Mode().IsRegular() || info.Size() > most) {
		err = fmt.Errorf("%s is no draft", d.path)
	}
	data := []byte(nil)
	if err == nil {
		data, err = os.ReadFile(d.path)
	}
	if err != nil {
		f.Close()
		return err
	}
	d.size = int64(bytes.LastIndexByte(data, '\n') + 1)
	if d.size < int64(len(data)) {
		if err := f.Truncate(d.size); err != nil {
			f.Close()
			return err
		}
	}
	d.file = f
	for n, text := range bytes.Split(bytes.TrimSuffix(data[:d.size], []byte("\n")), []byte("\n")) {
		if n == 0 {
			var h Head
			if decode(text, &h) {
				d.Head = &h
			}
			if h.Format > format {
				return fmt.Errorf("%s was made by a newer shedbook", d.path)
			}
			continue
		}
		var l Line
		if !decode(text, &l) {
			d.Lost++
			continue
		}
		d.Lines = append(d.Lines, l)
	}
	switch {
	case d.Head != nil:
		return nil
	case len(d.Lines)+d.Lost == 0: // begun and never forced to the medium: nothing was asked yet
		return d.Remove()
	}
	_, err = d.Aside()
	return err
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// decode reads one line into v; false where it is not as it was written.
func decode(line []byte, v any) bool {
	sum, text, ok := bytes.Cut(line, []byte(" "))
	return ok && string(sum) == fmt.Sprintf("%08x", crc32.Checksum(text, castagnoli)) && json.Unmarshal(text, v) == nil
}

func encode(v any) ([]byte, error) {
	text, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return fmt.Appendf(nil, "%08x %s\n", crc32.Checksum(text, castagnoli), text), nil
}

// Begin makes the file. There must be none.
func (d *Draft) Begin(h Head) error {
	h.Format = format
	line, err := encode(h)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(d.path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	d.file, d.size = f, 0
	if err := d.append(line); err != nil {
		return errors.Join(err, d.Remove())
	}
	d.Head = &h
	return errors.Join(syncDir(filepath.Dir(d.path)), syncDir(filepath.Dir(filepath.Dir(d.path))))
}

// Add keeps one line. Once it returns nil the line is safe.
func (d *Draft) Add(l Line) error {
	line, err := encode(l)
	if err != nil {
		return err
	}
	if err := d.append(line); err != nil {
		return err
	}
	d.Lines = append(d.Lines, l)
	return nil
}

// append writes at the end and forces it to the medium; of a line that could not be written whole nothing stays.
func (d *Draft) append(line []byte) error {
	_, err := d.file.WriteAt(line, d.size)
	if err == nil {
		err = d.file.Sync()
	}
	if err != nil {
		_ = d.file.Truncate(d.size)
		return err
	}
	d.size += int64(len(line))
	return nil
}

// Remove deletes the draft: its entries are safe, or nothing was said. Another can be begun.
func (d *Draft) Remove() error {
	if d.file == nil {
		return nil
	}
	d.forget() // Windows deletes and renames no open file
	if err := os.Remove(d.path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(d.path))
}

// Aside keeps the file under another name, which it returns, and lets another draft begin.
func (d *Draft) Aside() (string, error) {
	for n := 1; ; n++ {
		to := fmt.Sprintf("%s.old-%d", d.path, n)
		if _, err := os.Lstat(to); err == nil {
			continue
		}
		d.forget()
		if err := os.Rename(d.path, to); err != nil {
			return "", err
		}
		return to, syncDir(filepath.Dir(d.path))
	}
}

func (d *Draft) forget() {
	d.file.Close()
	d.file, d.size, d.Head, d.Lines, d.Lost = nil, 0, nil, nil, 0
}

// Close lets go of the draft; what it keeps stays.
func (d *Draft) Close() {
	if d.file != nil {
		d.file.Close()
		d.file = nil
	}
	if d.unlock != nil {
		d.unlock()
		d.unlock = nil
	}
}

// syncDir forces a folder's names to the medium, where the system can.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" { // a folder cannot be opened for this there
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}
