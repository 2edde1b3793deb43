package gitstore

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
)

// full reports whether the large counts are asked for.
func full() bool { return os.Getenv("SHEDBOOK_TEST") == "full" }

// copyDir copies a book's folder.
func copyDir(t testing.TB, from, to string) {
	t.Helper()
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
}

// crash is the panic by which a test ends an operation in the middle: no code
// that tidies up after an error runs, as when the process is killed.
type crash struct{ op, path string }

// until runs f with a store whose n-th change of a file is met by hit, and
// returns how many changes there were, and the crash if there was one.
func until(s *Store, n int, hit func(op, path string) error, f func() error) (steps int, crashed *crash, err error) {
	s.disk.fault = func(op, path string) error {
		if steps++; steps == n {
			return hit(op, path)
		}
		return nil
	}
	defer func() {
		s.disk.fault = nil
		if r := recover(); r != nil {
			c, ok := r.(crash)
			if !ok {
				panic(r)
			}
			crashed = &c
		}
	}()
	return steps, nil, f()
}

// script is a row of writes: single runs, a long run, a second log that is
// begun, packing with merging, a bulk write, and a run after it. done is called
// as soon as something is acknowledged.
type script struct {
	founder, second *device
	writes          []write
}

type write struct {
	bulk    bool
	log     string
	entries []*ledger.Entry
	papers  [][]byte
}

// newScript signs the entries of a script, to follow what base holds.
func newScript(t testing.TB, founder *device, book ledger.ID) *script {
	sc := &script{founder: founder, second: newDevice(t, "second", book)}
	add := func(bulk bool, d *device, entries ...*ledger.Entry) {
		sc.writes = append(sc.writes, write{bulk, d.name, entries, nil})
	}
	photo := func(d *device, data ...string) {
		w := write{log: d.name}
		for _, one := range data {
			w.entries, w.papers = append(w.entries, d.photo(t, one)), append(w.papers, []byte(one))
		}
		sc.writes = append(sc.writes, w)
	}
	add(false, founder, founder.note(t))
	add(false, sc.second, sc.second.first(t))
	photo(founder, "a worn disc", "a serial plate")
	add(false, founder, founder.notes(t, 101)...)
	add(false, sc.second, sc.second.notes(t, 2)...) // the fourth: packs
	add(false, founder, founder.note(t))
	photo(sc.second, "an invoice")
	add(true, founder, founder.notes(t, 3)...) // packs first, then writes in bulk, then merges
	add(false, sc.second, sc.second.note(t))
	return sc
}

// run does the script's writes from number from on; acknowledged is called with
// the number of each write that has been acknowledged.
func (sc *script) run(s *Store, from int, acknowledged func(int)) error {
	s.packRuns = 4
	for i := from; i < len(sc.writes); i++ {
		w := sc.writes[i]
		update := s.Update
		if w.bulk {
			update = s.Bulk
		}
		err := update(func(tx *Tx) error {
			if err := tx.Append(w.log, w.entries, w.papers...); err != nil {
				return err
			}
			if !w.bulk {
				acknowledged(i)
			}
			return nil
		})
		if err != nil {
			return fmt.Errorf("write %d: %w", i, err)
		}
		acknowledged(i)
	}
	return nil
}

// held returns how many of the script's writes the store holds. They must be
// the first ones, each whole.
func (sc *script) held(t testing.TB, s *Store) int {
	t.Helper()
	logs := linesOf(t, s)
	have := map[string]bool{}
	total := 0
	for _, lines := range logs {
		for _, line := range lines {
			have[string(line)] = true
			total++
		}
	}
	n, counted := 0, 1 // the founding entry
	for ; n < len(sc.writes); n++ {
		some := 0
		for _, e := range sc.writes[n].entries {
			if have[string(e.Line())] {
				some++
			}
		}
		if some == 0 {
			break
		}
		if some != len(sc.writes[n].entries) {
			t.Fatalf("write %d is held in part: %d of %d entries", n, some, len(sc.writes[n].entries))
		}
		counted += some
		for _, p := range sc.writes[n].papers {
			if got, err := s.Paper(sha256.Sum256(p)); err != nil || !bytes.Equal(got, p) {
				t.Fatalf("write %d is held without its paper: %v", n, err)
			}
		}
	}
	if counted != total {
		t.Fatalf("the store holds %d entries, of which %d belong there", total, counted)
	}
	return n
}

// The process ends at any one change of a file: every acknowledged entry is
// there afterwards, at most the one being written is there besides, and the
// writing goes on.
func TestCrashAtEveryStep(t *testing.T) {
	base, founder := newBook(t)
	sc := newScript(t, founder, base.BookID())
	stride := 23
	if full() {
		stride = 1
	}
	seen := map[string]bool{}
	for n := 1; ; n += stride {
		dir := filepath.Join(t.TempDir(), "book")
		copyDir(t, base.Dir(), dir)
		s, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		acknowledged := -1
		_, crashed, err := until(s, n, func(op, path string) error { panic(crash{op, path}) }, func() error {
			return sc.run(s, 0, func(i int) { acknowledged = i })
		})
		if err != nil {
			t.Fatalf("step %d: %v", n, err)
		}
		if crashed == nil {
			if n < 100 || len(seen) < 6 {
				t.Errorf("only %d steps of %d kinds were tried", n, len(seen))
			}
			return
		}
		seen[crashed.op] = true
		where := fmt.Sprintf("step %d, before %s of %s", n, crashed.op, strings.TrimPrefix(crashed.path, dir))
		// The repair itself is ended in the middle, too.
		local, err := readLocal(filepath.Join(dir, localFile))
		if err != nil {
			t.Fatalf("%s: %v", where, err)
		}
		repair := &Store{dir: dir, packRuns: packRuns, patience: 20 * time.Millisecond, local: local}
		_, twice, err := until(repair, 1+n%13, func(op, path string) error { panic(crash{op, path}) }, func() error {
			_, err := repair.recover()
			return err
		})
		if err != nil {
			t.Fatalf("%s: repairing: %v", where, err)
		}
		if twice != nil {
			seen["again at "+twice.op] = true
			if _, err := repair.recover(); err != nil { // as Open does, with less patience
				t.Fatalf("%s: repairing again: %v", where, err)
			}
		}
		again, err := Open(dir)
		if err != nil {
			t.Fatalf("%s: %v", where, err)
		}
		held := sc.held(t, again)
		if held < acknowledged+1 || held > acknowledged+2 {
			t.Fatalf("%s: %d writes were acknowledged, %d are held", where, acknowledged+1, held)
		}
		if got := reopen(t, again).Recovered(); len(got) > 0 {
			t.Fatalf("%s: opening twice repairs twice: %q", where, got)
		}
		if err := sc.run(again, held, func(int) {}); err != nil {
			t.Fatalf("%s: going on: %v", where, err)
		}
		if held := sc.held(t, reopen(t, again)); held != len(sc.writes) {
			t.Fatalf("%s: %d of %d writes are held at the end", where, held, len(sc.writes))
		}
		if n%(5*stride) == 1 {
			wantSound(t, again)
		}
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
}

// Any one change of a file fails, as on a full disk: what was acknowledged is
// there, what was refused is not, and doing it again succeeds.
func TestFailAtEveryStep(t *testing.T) {
	base, founder := newBook(t)
	sc := newScript(t, founder, base.BookID())
	stride := 23
	if full() {
		stride = 1
	}
	fullDisk := &fs.PathError{Op: "write", Path: "somewhere", Err: errors.New("no space left on device")}
	for n := 3; ; n += stride {
		dir := filepath.Join(t.TempDir(), "book")
		copyDir(t, base.Dir(), dir)
		s, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		acknowledged := -1
		where := ""
		steps, _, err := until(s, n, func(op, path string) error {
			where = fmt.Sprintf("step %d, %s of %s", n, op, strings.TrimPrefix(path, dir))
			return fullDisk
		}, func() error {
			return sc.run(s, 0, func(i int) { acknowledged = i })
		})
		if steps < n {
			if n < 100 {
				t.Errorf("only %d steps were tried", n)
			}
			return
		}
		if err != nil && !errors.Is(err, fullDisk) {
			t.Fatalf("%s: %v", where, err)
		}
		held := sc.held(t, reopen(t, s))
		if held != acknowledged+1 {
			t.Fatalf("%s: %d writes were acknowledged, %d are held (%v)", where, acknowledged+1, held, err)
		}
		if err := sc.run(s, held, func(int) {}); err != nil {
			t.Fatalf("%s: again: %v", where, err)
		}
		if held := sc.held(t, reopen(t, s)); held != len(sc.writes) {
			t.Fatalf("%s: %d of %d writes are held at the end", where, held, len(sc.writes))
		}
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
}

// A write to pending/ that stops at any byte leaves what was there before.
func TestTornAtEveryByte(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.note(t))
	path := s.path(pendingDir, pendingFile)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "book")
	copyDir(t, s.Dir(), dir)
	e := founder.note(t)
	appendTo(t, s, founder.name, e)
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	stride := 5
	if full() {
		stride = 1
	}
	torn := filepath.Join(dir, pendingDir, pendingFile)
	for n := len(before) + 1; n < len(after); n += stride {
		for _, tail := range [][]byte{after[len(before):n], make([]byte, n-len(before))} {
			if err := os.WriteFile(torn, append(append([]byte(nil), before...), tail...), 0o666); err != nil {
				t.Fatal(err)
			}
			again, err := Open(dir)
			if err != nil {
				t.Fatalf("%d bytes: %v", n, err)
			}
			if got := again.Recovered(); len(got) != 1 || !strings.HasPrefix(got[0], "the last write to this book was interrupted") {
				t.Fatalf("%d bytes: recovered %q", n, got)
			}
			if now, _ := os.ReadFile(torn); string(now) != string(before) {
				t.Fatalf("%d bytes: the torn end is still there", n)
			}
		}
	}
	again, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(linesOf(t, again)[founder.name]); n != 2 {
		t.Fatalf("%d entries after the cuts, want 2", n)
	}
	if err := os.WriteFile(torn, after, 0o666); err != nil {
		t.Fatal(err)
	}
	again, err = Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if lines := linesOf(t, again)[founder.name]; len(lines) != 3 || string(lines[2]) != string(e.Line()) {
		t.Fatal("the whole record was not kept")
	}
	want := "the last write to the log of " + founder.name + " was interrupted; what it had recorded was put in its place (3 entries now)"
	if got := again.Recovered(); len(got) != 1 || got[0] != want {
		t.Errorf("recovered %q, want %q", got, want)
	}
}

// A damaged record with sound ones behind it is not a torn end: nothing is cut.
func TestPendingDamagedInside(t *testing.T) {
	s, founder := newBook(t)
	for range 3 {
		appendTo(t, s, founder.name, founder.note(t))
	}
	path := s.path(pendingDir, pendingFile)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 1
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	_, err = Open(s.Dir())
	var damaged *DamagedError
	if !errors.As(err, &damaged) || damaged.Path != path {
		t.Fatalf("got %v", err)
	}
	if now, _ := os.ReadFile(path); string(now) != string(data) {
		t.Error("the damaged file was changed")
	}
}

// A power cut may leave objects that were not fsynced empty or as zeros. What
// was acknowledged is still read, appended to, and packed.
func TestPowerCut(t *testing.T) {
	for name, damage := range map[string]func(path string, size int64) error{
		"empty":   func(path string, _ int64) error { return os.WriteFile(path, nil, 0o666) },
		"zeros":   func(path string, size int64) error { return os.WriteFile(path, make([]byte, size), 0o666) },
		"missing": func(path string, _ int64) error { return os.Remove(path) },
	} {
		t.Run(name, func(t *testing.T) {
			s, founder := newBook(t)
			want := founder.notes(t, 104)
			appendTo(t, s, founder.name, want[:99]...)
			if err := s.Pack(); err != nil {
				t.Fatal(err)
			}
			appendTo(t, s, founder.name, want[99:101]...)
			appendTo(t, s, founder.name, want[101])
			n := 0
			err := filepath.WalkDir(s.git("objects"), func(path string, e fs.DirEntry, err error) error {
				if err != nil {
					return err
				}
				if e.IsDir() {
					if e.Name() == "pack" {
						return fs.SkipDir
					}
					return nil
				}
				info, err := e.Info()
				if err != nil {
					return err
				}
				n++
				if err := os.Chmod(path, 0o666); err != nil {
					return err
				}
				return damage(path, info.Size())
			})
			if err != nil || n < 10 {
				t.Fatalf("%d objects damaged: %v", n, err)
			}
			s = reopen(t, s)
			if n := len(linesOf(t, s)[founder.name]); n != 103 {
				t.Fatalf("%d entries, want 103", n)
			}
			appendTo(t, s, founder.name, want[102])
			if err := s.Pack(); err != nil {
				t.Fatal(err)
			}
			appendTo(t, s, founder.name, want[103])
			wantSound(t, reopen(t, s))
			if n := len(linesOf(t, s)[founder.name]); n != 105 {
				t.Fatalf("%d entries, want 105", n)
			}
		})
	}
}
