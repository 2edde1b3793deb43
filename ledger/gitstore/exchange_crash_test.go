package gitstore

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// interrupted is an exchange in which something comes, something goes, something
// is put back, and a second stick is begun.
type interrupted struct {
	base, stick string
	founder     *device
	creek       *device
	all         map[string]int // entries of each log in the end
}

func newInterrupted(t *testing.T) *interrupted {
	x := &interrupted{base: filepath.Join(t.TempDir(), "base"), stick: filepath.Join(t.TempDir(), "stick"), all: map[string]int{}}
	a, founder := newBookAt(t, x.base, "founder")
	x.founder = founder
	appendTo(t, a, founder.name, founder.notes(t, 3)...)
	lost := newWriter(t, a, "lost")
	exchangeWith(t, a, x.stick)
	b := joinFrom(t, x.stick)
	x.creek = newDevice(t, "creek", b.BookID())
	appendTo(t, b, x.creek.name, x.creek.first(t))
	appendTo(t, b, x.creek.name, x.creek.notes(t, 110)...)
	exchangeWith(t, b, x.stick)
	if err := os.Remove(filepath.Join(x.stick, "refs", "heads", "log", lost.name)); err != nil {
		t.Fatal(err)
	}
	appendTo(t, a, founder.name, founder.note(t))
	appendTo(t, a, founder.name, founder.notes(t, 2)...)
	x.all[founder.name], x.all[lost.name], x.all[x.creek.name] = 7, 1, 111
	return x
}

// run does the exchanges with s.
func (x *interrupted) run(s *Store, stick, second string) error {
	if _, err := s.Sync(context.Background(), stick, SyncOptions{}); err != nil {
		return err
	}
	_, err := s.Sync(context.Background(), second, SyncOptions{})
	return err
}

// open opens a copy, with little patience for locks that were left.
func openImpatient(t *testing.T, dir string) *Store {
	t.Helper()
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	s.patience = 20 * time.Millisecond
	return s
}

// wantWhole checks that what lies in a stick can be taken up by anyone: every
// log is whole as far as it goes.
func (x *interrupted) wantWhole(t *testing.T, where, stick string) {
	t.Helper()
	s, r, err := Join(context.Background(), stick, filepath.Join(t.TempDir(), "joined"), SyncOptions{})
	var none *NoExchangeError
	if errors.As(err, &none) && !isRepository(stick) { // not begun, or not finished
		return
	}
	if errors.As(err, &none) && none.Why == "there is no book in it yet" {
		return
	}
	if err != nil {
		t.Fatalf("%s: joining: %v", where, err)
	}
	if len(r.Refused) > 0 {
		t.Fatalf("%s: %+v", where, r.Refused)
	}
	wantSound(t, s)
}

// An exchange that ends at any one change of a file leaves both sides whole,
// and the next one completes it.
func TestInterruptedExchange(t *testing.T) {
	x := newInterrupted(t)
	stride := 37
	if full() {
		stride = 1
	}
	for _, how := range []struct {
		name string
		hit  func(op, path string) error
	}{
		{"killed", func(op, path string) error { panic(crash{op, path}) }},
		{"disk full", func(op, path string) error {
			return &os.PathError{Op: op, Path: path, Err: syscall.ENOSPC}
		}},
	} {
		t.Run(how.name, func(t *testing.T) {
			kinds := map[string]bool{}
			for n := 1; ; n += stride {
				root, err := os.MkdirTemp(t.TempDir(), "run")
				if err != nil {
					t.Fatal(err)
				}
				dir, stick, second := filepath.Join(root, "book"), filepath.Join(root, "stick"), filepath.Join(root, "second")
				copyDir(t, x.base, dir)
				copyDir(t, x.stick, stick)
				s := openImpatient(t, dir)
				hit := false
				where := ""
				_, _, err = until(s, n, func(op, path string) error {
					hit, kinds[op] = true, true
					where = fmt.Sprintf("step %d, %s of %s", n, op, strings.TrimPrefix(path, root))
					return how.hit(op, path)
				}, func() error { return x.run(s, stick, second) })
				if !hit {
					if err != nil {
						t.Fatal(err)
					}
					want := 4
					if full() {
						want = 9
					}
					if n < 60 || len(kinds) < want {
						t.Errorf("only %d steps of %d kinds were tried: %v", n, len(kinds), kinds)
					}
					return
				}
				x.wantWhole(t, where, stick)
				x.wantWhole(t, where, second)
				again := openImpatient(t, dir)
				wantSound(t, again)
				if err := x.run(again, stick, second); err != nil {
					t.Fatalf("%s: again: %v", where, err)
				}
				for _, end := range []*Store{again, joinFrom(t, stick), joinFrom(t, second)} {
					for log, want := range x.all {
						if got := len(linesOf(t, end)[log]); got != want {
							t.Fatalf("%s: log %s has %d entries, want %d", where, log, got, want)
						}
					}
					wantSound(t, end)
				}
				if r := exchangeWith(t, again, stick); !r.Idle() {
					t.Fatalf("%s: nothing to do: %+v", where, r)
				}
				os.RemoveAll(root)
			}
		})
	}
}

// A Join that ends at any one change of a file leaves a folder in which it can
// be done again.
func TestInterruptedJoin(t *testing.T) {
	x := newInterrupted(t)
	stride := 17
	if full() {
		stride = 1
	}
	root := t.TempDir()
	for n := 1; ; n += stride {
		dir := filepath.Join(root, fmt.Sprint(n))
		steps, hit := 0, ""
		d := disk{fault: func(op, path string) error {
			if steps++; steps == n {
				hit = op + " of " + path
				panic(crash{op, path})
			}
			return nil
		}}
		func() {
			defer func() {
				if r := recover(); r != nil {
					if _, ok := r.(crash); !ok {
						panic(r)
					}
				}
			}()
			_, _, err := join(context.Background(), d, x.stick, dir, SyncOptions{})
			if err != nil {
				t.Fatalf("step %d: %v", n, err)
			}
		}()
		if hit == "" {
			if n < 30 {
				t.Errorf("only %d steps were tried", n)
			}
			return
		}
		s, _, err := Join(context.Background(), x.stick, dir, SyncOptions{})
		if err != nil && IsBook(dir) { // all was recorded before
			s, err = Open(dir)
		}
		if err != nil {
			t.Fatalf("step %d, %s: joining again: %v", n, hit, err)
		}
		if got := len(linesOf(t, s)[x.founder.name]); got != 4 {
			t.Fatalf("step %d, %s: %d entries", n, hit, got)
		}
		wantSound(t, s)
	}
}

// A log that someone moved meanwhile is not moved back.
func TestMovedMeanwhile(t *testing.T) {
	a, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	appendTo(t, a, founder.name, founder.note(t))
	path := filepath.Join(stick, "refs", "heads", "log", founder.name)
	elsewhere := strings.Repeat("cd", 20) + "\n"
	onLock := func(content string, andThen func()) {
		a.disk.fault = func(op, at string) error {
			if op == "sync" && at == path+".lock" {
				if err := os.WriteFile(path, []byte(content), 0o666); err != nil {
					t.Error(err)
				}
				andThen()
			}
			return nil
		}
	}
	defer func() { a.disk.fault = nil }()
	a.disk.fault = func(op, at string) error {
		if op == "create" && at == path+".lock" {
			return os.WriteFile(path, []byte(elsewhere), 0o666)
		}
		return nil
	}
	_, err := a.Sync(context.Background(), stick, SyncOptions{})
	var none *NoExchangeError
	if want := fmt.Sprintf("the log of %s was changed by another program while it was written", founder.name); !errors.As(err, &none) || none.Why != want {
		t.Errorf("error %v", err)
	}
	if now, _ := os.ReadFile(path); string(now) != elsewhere {
		t.Errorf("it was moved to %s", now)
	}
	if exists(path + ".lock") {
		t.Error("the lock was left")
	}
	// Another device took the lock for left, and wrote what this one was about to.
	onLock(refsOf(t, a)[founder.name]+"\n", func() { os.Remove(path + ".lock") })
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if r := exchangeWith(t, a, stick); len(r.Unsent) > 0 {
		t.Errorf("the same from another device: %+v", r)
	}
}

// A reference's lock that a device left at a stick when it was cut off does not
// keep others from it for ever; one that says something else is respected.
func TestLockLeftAtTarget(t *testing.T) {
	a, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	a.patience = 20 * time.Millisecond
	lock := filepath.Join(stick, "refs", "heads", "log", founder.name+".lock")
	for _, left := range []func() string{
		func() string { return "" },
		func() string { return "0123" },
		func() string { return refsOf(t, a)[founder.name] + "\n" },
	} {
		appendTo(t, a, founder.name, founder.note(t))
		if err := os.WriteFile(lock, []byte(left()), 0o666); err != nil {
			t.Fatal(err)
		}
		appendTo(t, a, founder.name, founder.note(t))
		if r := exchangeWith(t, a, stick); len(r.Sent) != 1 || len(r.Unsent) > 0 {
			t.Errorf("left %q: %+v", left(), r)
		}
	}
	appendTo(t, a, founder.name, founder.note(t))
	if err := os.WriteFile(lock, []byte(strings.Repeat("ab", 20)+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	r, err := a.Sync(context.Background(), stick, SyncOptions{})
	var none *NoExchangeError
	if !errors.As(err, &none) {
		t.Errorf("held: %v", err)
	}
	want := []Refusal{{Log: founder.name, Why: (&BusyError{Log: founder.name, Path: lock}).Error()}}
	if len(r.Unsent) != 1 || r.Unsent[0] != want[0] || len(r.Sent) > 0 {
		t.Errorf("held: %+v", r)
	}
}
