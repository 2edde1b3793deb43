package gitstore

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"shedbook/ledger"
)

// founding is what a new book is filled with: its founding entry and settings.
func founding(t *testing.T) (id ledger.ID, fill func(*Store) error) {
	t.Helper()
	d := newDevice(t, "founder", ledger.ID{})
	e := d.first(t)
	return e.ID(), func(s *Store) error {
		if err := s.Update(func(tx *Tx) error { return tx.Append(d.name, []*ledger.Entry{e}) }); err != nil {
			return err
		}
		local := s.Local()
		local.Writer = d.name
		return s.SetLocal(local)
	}
}

// A book that is founded is there with its first entry and its settings, or not
// at all, wherever the process ends or a change of a file fails; and founding it
// again succeeds.
func TestFoundIsWholeOrNothing(t *testing.T) {
	id, fill := founding(t)
	whole := func(s *Store, where any) {
		t.Helper()
		if n := len(linesOf(t, s)); n != 1 || s.Local().Writer == "" || s.BookID() != id {
			t.Fatalf("step %v: %d logs, settings %+v", where, n, s.Local())
		}
	}
	stride := 13
	if full() {
		stride = 1
	}
	for _, crashes := range []bool{true, false} {
		broken := errors.New("no space left")
		for n := 1; ; n += stride {
			dir := filepath.Join(t.TempDir(), "book")
			steps := 0
			fault := func(op, path string) error {
				if steps++; steps != n {
					return nil
				}
				if crashes {
					panic(crash{op, path})
				}
				return broken
			}
			var s *Store
			var err error
			func() {
				defer func() {
					if r := recover(); r != nil {
						err = broken
					}
				}()
				s, err = create(disk{fault: fault}, dir, id, fill)
			}()
			if err == nil && steps < n {
				whole(s, n)
				if n < 60 {
					t.Errorf("only %d steps were tried", n)
				}
				break
			}
			if err == nil { // a step after the acknowledgement failed, and was said
				whole(reopen(t, s), n)
				continue
			}
			if IsBook(dir) {
				s, err := Open(dir)
				if err != nil {
					t.Fatalf("step %d: %v", n, err)
				}
				whole(s, n)
			} else {
				if entries, _ := os.ReadDir(dir); !crashes && len(entries) > 0 {
					t.Fatalf("step %d left %v", n, entries)
				}
				s, err := Found(dir, id, fill)
				if err != nil {
					t.Fatalf("step %d: again: %v", n, err)
				}
				whole(s, n)
			}
		}
	}
}
