package gitstore

import (
	"errors"
	"path/filepath"
	"testing"
)

// What waits for a bulk write to be durable is told so only when it is: at each change of a file that fails, or at which the process ends, whoever was
// told finds all of it in the book, and whoever was not told and reads an error finds none of it. Where two changes fail in a row, as the end of a record and
// the cut that takes it away again, all or none of it is there.
func TestBulkDurable(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.note(t)) // packed first
	before := len(linesOf(t, s)[founder.name])
	entries := founder.notes(t, 5)
	disk := errors.New("the disk fails")
	told, refused := 0, 0
	for n, met := 1, true; met; n++ {
		for fails, dies := range []bool{true, false, false} { // 0: the process ends; else so many changes fail
			b := opened(t, s.Dir())
			met = false
			calls := 0
			_, crashed, err := until(b, n, func(op, path string) error {
				if met = true; dies {
					panic(crash{op, path})
				}
				once := b.disk.fault
				if fails == 2 {
					b.disk.fault = func(string, string) error { b.disk.fault = once; return disk }
				}
				return disk
			}, func() error {
				return b.Bulk(func(tx *Tx) error {
					for i := range entries {
						if err := tx.Append(founder.name, entries[i:i+1]); err != nil {
							return err
						}
					}
					return tx.Durable(func() error { calls++; return nil })
				})
			})
			held := len(linesOf(t, reopen(t, b))[founder.name]) - before
			if held != 0 && held != len(entries) || calls > 0 && held == 0 {
				t.Errorf("change %d, %d fail: told %d times, and %d of %d entries are there", n, fails, calls, held, len(entries))
			}
			if crashed == nil && fails < 2 && ((err == nil) != (calls == 1) || (err == nil) != (held > 0)) {
				t.Errorf("change %d: told %d times, %d entries are there, and the error is %v", n, calls, held, err)
			}
			told += calls
			if err != nil {
				refused++
			}
		}
	}
	if told == 0 || refused == 0 {
		t.Errorf("told %d times, refused %d times", told, refused)
	}
}

// opened is a copy of a book, opened.
func opened(t *testing.T, dir string) *Store {
	t.Helper()
	at := filepath.Join(t.TempDir(), "book")
	copyDir(t, dir, at)
	s, err := Open(at)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
