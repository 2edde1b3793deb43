package gitstore

import (
	"io/fs"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"shedbook/ledger"
)

// diskUse returns the bytes and the number of the files under dir.
func diskUse(t testing.TB, dir string) (bytes int64, files int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		bytes += info.Size()
		files++
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return bytes, files
}

// timeAppends opens the store anew and appends one entry, n times, and returns
// the median time.
func timeAppends(t testing.TB, s *Store, d *device, n int) time.Duration {
	t.Helper()
	var all []time.Duration
	for range n {
		e := d.note(t)
		start := time.Now()
		appendTo(t, reopen(t, s), d.name, e)
		all = append(all, time.Since(start))
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// One entry a run, the worst case for size: a log takes little more room than
// its entries, in few files, and what an append and its files cost does not
// grow with it. SHEDBOOK_TEST=full writes 10,000 runs.
func TestSizeOfManyRuns(t *testing.T) {
	runs := 230
	if full() {
		runs = 10_000
	}
	s, founder := newBook(t)
	for range 8 {
		appendTo(t, s, founder.name, founder.note(t))
	}
	early := timeAppends(t, s, founder, 9)
	start := time.Now()
	var slowest time.Duration
	for n := 18; n < runs; n++ {
		e := founder.note(t)
		one := time.Now()
		if err := s.Update(func(tx *Tx) error { return tx.Append(founder.name, []*ledger.Entry{e}) }); err != nil {
			t.Fatal(err)
		}
		slowest = max(slowest, time.Since(one))
	}
	t.Logf("%d appends: %v, the slowest %v", runs-18, time.Since(start), slowest)
	if n := len(linesOf(t, s)[founder.name]); n != runs {
		t.Fatalf("%d entries, want %d", n, runs)
	}
	late := timeAppends(t, s, founder, 9)
	t.Logf("one append with opening: %v after 10 runs, %v after %d", early, late, runs)

	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	start = time.Now()
	lines := linesOf(t, s)[founder.name]
	took := time.Since(start)
	raw := 0
	for _, line := range lines {
		raw += len(line)
	}
	size, files := diskUse(t, s.git("objects"))
	t.Logf("%d entries of %d bytes on average: %d bytes each on disk, %d files, read in %v", len(lines), raw/len(lines), size/int64(len(lines)), files, took)
	if size > int64(raw)*3/2 {
		t.Errorf("%d bytes of entries take %d on disk", raw, size)
	}
	if names, err := s.packNames(); err != nil || len(names) > 10 || files > 2*len(names) {
		t.Errorf("%d packs and %d files are left: %v", len(names), files, err)
	}
	pending, err := s.readPending()
	if err != nil || len(pending.records) != 0 {
		t.Errorf("%d records are pending after packing: %v", len(pending.records), err)
	}
}
